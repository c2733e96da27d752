//! Commands: what an editor orders and waits for.

use std::pin::Pin;
use std::time::Duration;

use halfsplit_base::disk;
use halfsplit_ide::Class;
use serde::Deserialize;
use serde_json::{Value, json};
use tower_lsp::Client;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::notification::Progress;
use tower_lsp::lsp_types::{
    ExecuteCommandParams, MessageActionItem, MessageType, NumberOrString, Position, ProgressParams,
    ProgressParamsValue, Range, ShowDocumentParams, Url, WorkDoneProgress, WorkDoneProgressBegin,
    WorkDoneProgressEnd, WorkspaceEdit,
};

use crate::convert;
use crate::profile::Profile;
use crate::queue::Queue;

/// Writes the isolation plan of a pin and opens it. Takes `{uri, pin, reading}`; asks for the reading where
/// none is given.
pub(crate) const PLAN: &str = "halfsplit.plan";

/// Puts the cursor somewhere. Takes `{uri, line, character}`.
pub(crate) const SELECT: &str = "halfsplit.select";

/// Every command.
pub(crate) const ALL: [&str; 2] = [PLAN, SELECT];

/// How long a client may take to answer a question to its user.
const USER: Duration = Duration::from_secs(600);

#[derive(Debug, Deserialize)]
struct PlanOrder {
    uri: Url,
    pin: String,
    reading: Option<String>,
}

#[derive(Debug, Deserialize)]
struct SelectOrder {
    uri: Url,
    line: u32,
    character: u32,
}

/// Carries a command out.
///
/// # Errors
///
/// In words for the user, when it cannot be done; "cancelled" when nobody wants it any more.
pub(crate) async fn run(
    queue: Queue,
    client: Client,
    profile: Profile,
    params: ExecuteCommandParams,
) -> Result<Option<Value>> {
    let argument = params.arguments.into_iter().next().unwrap_or_default();
    let invalid = |error: serde_json::Error| Error::invalid_params(error.to_string());
    match params.command.as_str() {
        PLAN => {
            let order: PlanOrder = serde_json::from_value(argument).map_err(invalid)?;
            let token = params.work_done_progress_params.work_done_token;
            // Where the reading is known the work is queued before anything is waited for.
            let drawn = order.reading.clone().map(|reading| draw(&queue, &order, &reading)).transpose()?;
            tell(&client, token.as_ref(), true).await;
            let done = plan(&queue, &client, &profile, order, drawn).await;
            tell(&client, token.as_ref(), false).await;
            done.map(Some)
        }
        SELECT => {
            let order: SelectOrder = serde_json::from_value(argument).map_err(invalid)?;
            let at = Position { line: order.line, character: order.character };
            show(&client, &profile, order.uri, Some(Range { start: at, end: at }));
            Ok(None)
        }
        other => Err(Error::invalid_params(format!("there is no command `{other}`"))),
    }
}

/// Says that work has begun or is over, where the client gave a token for it.
async fn tell(client: &Client, token: Option<&NumberOrString>, begins: bool) {
    let Some(token) = token.cloned() else { return };
    let value = if begins {
        let title = "Working out the isolation plan".into();
        WorkDoneProgress::Begin(WorkDoneProgressBegin {
            title,
            cancellable: Some(true),
            ..Default::default()
        })
    } else {
        WorkDoneProgress::End(WorkDoneProgressEnd::default())
    };
    client
        .send_notification::<Progress>(ProgressParams { token, value: ProgressParamsValue::WorkDone(value) })
        .await;
}

/// A plan under way: the edit that writes it, and the file.
type Drawn = Pin<Box<dyn Future<Output = Result<(WorkspaceEdit, Url)>> + Send>>;

/// Queues the work on a plan. Dropping what comes back, as a cancel does, lets the search see that nobody waits
/// any more.
fn draw(queue: &Queue, order: &PlanOrder, word: &str) -> Result<Drawn> {
    let reading = Class::from_word(word).ok_or_else(|| {
        Error::invalid_params(format!("`{word}` is no reading: `0.235 V`, `low`, `dead`, `floats`"))
    })?;
    let (uri, pin) = (order.uri.clone(), order.pin.clone());
    Ok(Box::pin(queue.ask("plan", move |snapshot, wanted| {
        let file =
            snapshot.file(&uri).ok_or_else(|| convert::failed("the circuit is no longer open".into()))?;
        let plan =
            snapshot.analysis.plan(file, &pin, reading, &|| !wanted.still()).map_err(convert::failed)?;
        let target = crate::uri::uri(&plan.path)
            .ok_or_else(|| convert::failed("the circuit has no folder: save it first".into()))?;
        let before = match snapshot.analysis.files().id(&plan.path) {
            Some(file) => Some(snapshot.analysis.files().get(file).text.to_string()),
            None => disk::read(&plan.path).ok(),
        };
        Ok((convert::whole_file(snapshot, target.clone(), before.as_deref(), plan.text), target))
    })))
}

async fn plan(
    queue: &Queue,
    client: &Client,
    profile: &Profile,
    order: PlanOrder,
    drawn: Option<Drawn>,
) -> Result<Value> {
    let drawn = match drawn {
        Some(drawn) => drawn,
        None => match ask(client, &order.pin).await? {
            Some(word) => draw(queue, &order, &word)?,
            None => return Ok(Value::Null),
        },
    };
    let (edit, target) = drawn.await?;
    if !profile.apply_edits {
        return Ok(json!({ "uri": target, "edit": edit }));
    }
    applied(client, edit).await?;
    show(client, profile, target.clone(), None);
    Ok(json!({ "uri": target }))
}

/// Asks the user what the meter shows; `None` where no answer comes.
async fn ask(client: &Client, pin: &str) -> Result<Option<String>> {
    let classes = [Class::NearZero, Class::Dead, Class::Low, Class::High, Class::Floats];
    let item = |class: Class| MessageActionItem {
        title: format!("It {}", class.words()),
        properties: Default::default(),
    };
    let items: Vec<MessageActionItem> = classes.into_iter().map(item).collect();
    let question = format!("{pin}: what does the meter show?");
    // The question goes on by itself when nobody waits for it: an answer to a question that was dropped
    // would break the protocol library.
    let client = client.clone();
    let asked =
        tokio::spawn(
            async move { client.show_message_request(MessageType::INFO, question, Some(items)).await },
        );
    let Ok(Ok(answer)) = tokio::time::timeout(USER, asked).await else { return Ok(None) };
    let chosen = answer?.map(|item| item.title);
    let class = classes.into_iter().find(|class| chosen.as_deref() == Some(&format!("It {}", class.words())));
    Ok(class.map(Class::word))
}

/// Has the client apply an edit.
async fn applied(client: &Client, edit: WorkspaceEdit) -> Result<()> {
    let client = client.clone();
    let sent = tokio::spawn(async move { client.apply_edit(edit).await });
    match tokio::time::timeout(USER, sent).await {
        Ok(Ok(Ok(answer))) if answer.applied => Ok(()),
        Ok(Ok(Ok(answer))) => {
            let why = answer.failure_reason.unwrap_or_else(|| "the editor did not take the plan".into());
            Err(convert::failed(why))
        }
        Ok(Ok(Err(error))) => Err(error),
        _ => Err(convert::failed("the editor did not answer".into())),
    }
}

/// Has the client open a document, if it can.
fn show(client: &Client, profile: &Profile, uri: Url, selection: Option<Range>) {
    if !profile.show_documents {
        return;
    }
    let client = client.clone();
    tokio::spawn(async move {
        let params = ShowDocumentParams { uri, external: Some(false), take_focus: Some(true), selection };
        let _ = client.show_document(params).await;
    });
}
