//! What the client can ask, one handler each.
//!
//! Every handler is one statement that queues its work before it waits for
//! anything. Nothing is decided here.

use std::path::PathBuf;
use std::pin::Pin;
use std::sync::{Arc, OnceLock};

use halfsplit_base::{FileId, Span, disk};
use halfsplit_ide::FilePosition;
use serde_json::{Value, json};
use tokio::sync::Notify;
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::notification::Notification;
use tower_lsp::lsp_types::request::{
    GotoDeclarationParams, GotoDeclarationResponse, GotoImplementationParams, GotoImplementationResponse,
    GotoTypeDefinitionParams, GotoTypeDefinitionResponse,
};
use tower_lsp::lsp_types::*;
use tower_lsp::{Client, LanguageServer, async_trait};

use crate::capabilities::capabilities;
use crate::log::Log;
use crate::painted::{self, Painted};
use crate::profile::Profile;
use crate::queue::{Job, Queue};
use crate::snapshot::Snapshot;
use crate::{answers, commands, convert, publish, pull, uri, workspace};

/// The files whose changes on the disk matter.
const WATCHED: &[&str] = &["**/*.circuit", "**/*.case", "**/halfsplit.toml"];

/// Puts what the client says on the queue.
#[derive(Debug)]
pub(crate) struct Backend {
    queue: Queue,
    client: Client,
    log: Log,
    profile: OnceLock<Profile>,
    painted: Arc<Painted>,
    /// Told when the editor's process is gone.
    orphaned: Arc<Notify>,
}

impl Backend {
    /// Fills `queue`.
    pub(crate) fn new(queue: Queue, client: Client, log: Log, orphaned: Arc<Notify>) -> Backend {
        Backend { queue, client, log, profile: OnceLock::new(), painted: Arc::default(), orphaned }
    }

    /// `$/setTrace`, which the protocol library leaves to us.
    pub(crate) async fn set_trace(&self, params: SetTraceParams) {
        self.log.set_trace(params.value);
    }
}

/// How often we look whether the editor still runs.
const LOOK: std::time::Duration = std::time::Duration::from_secs(2);

/// When a process was born, in the system's own count, where the system shows its processes as folders; a later
/// process of the same number was born at another time.
fn born(process: u32) -> Option<String> {
    let stat = std::fs::read_to_string(format!("/proc/{process}/stat")).ok()?;
    // The name in brackets may hold anything; behind it the birth is the twentieth word.
    stat.rsplit_once(')')?.1.split_whitespace().nth(19).map(str::to_owned)
}

/// Says when a process is gone.
async fn watch_over(process: u32, birth: String, orphaned: Arc<Notify>) {
    while born(process).as_ref() == Some(&birth) {
        tokio::time::sleep(LOOK).await;
    }
    orphaned.notify_one();
}

#[async_trait]
impl LanguageServer for Backend {
    async fn initialize(&self, params: InitializeParams) -> Result<InitializeResult> {
        let profile = Profile::new(&params);
        self.queue.push(Job::Start(profile.clone()));
        self.log.set_trace(params.trace.unwrap_or_default());
        // One that is not to be seen lives in another container, and is not taken for dead.
        if let Some((process, birth)) = params.process_id.and_then(|process| Some((process, born(process)?)))
        {
            tokio::spawn(watch_over(process, birth, Arc::clone(&self.orphaned)));
        }
        let capabilities = capabilities(&profile);
        // The protocol library lets `initialize` through once.
        let _ = self.profile.set(profile);
        Ok(InitializeResult {
            capabilities,
            server_info: Some(ServerInfo {
                name: "halfsplit".into(),
                version: Some(env!("CARGO_PKG_VERSION").into()),
            }),
        })
    }

    async fn initialized(&self, _: InitializedParams) {
        let Some(profile) = self.profile.get().cloned() else { return };
        let queue = self.queue.clone();
        let (folders, encoding) = (profile.folders.clone(), profile.encoding);
        tokio::task::spawn_blocking(move || workspace::index(&queue, &folders, encoding));
        if !profile.watch_files {
            return;
        }
        let watchers: Vec<_> = WATCHED.iter().map(|glob| json!({ "globPattern": glob })).collect();
        let registration = Registration {
            id: "watched-files".into(),
            method: "workspace/didChangeWatchedFiles".into(),
            register_options: Some(json!({ "watchers": watchers })),
        };
        // A task of its own, never given up: the protocol library breaks when an
        // answer comes for a question that nobody waits for any more.
        let client = self.client.clone();
        let log = self.log.clone();
        tokio::spawn(async move {
            if let Err(error) = client.register_capability(vec![registration]).await {
                log.trace(format_args!("the client does not watch files: {error}"));
            }
        });
    }

    async fn shutdown(&self) -> Result<()> {
        Ok(())
    }

    async fn did_open(&self, params: DidOpenTextDocumentParams) {
        let document = params.text_document;
        self.queue.push(Job::Open { uri: document.uri, version: document.version, text: document.text });
    }

    async fn did_change(&self, params: DidChangeTextDocumentParams) {
        let document = params.text_document;
        let changes = params.content_changes;
        self.queue.push(Job::Change { uri: document.uri, version: document.version, changes });
    }

    async fn did_close(&self, params: DidCloseTextDocumentParams) {
        self.queue.push(Job::Close { uri: params.text_document.uri });
    }

    async fn did_change_watched_files(&self, params: DidChangeWatchedFilesParams) {
        self.queue.push(Job::Disk(params.changes.into_iter().map(|change| change.uri).collect()));
    }

    async fn did_save(&self, params: DidSaveTextDocumentParams) {
        self.queue.push(Job::Saved { uri: params.text_document.uri });
    }

    async fn did_change_workspace_folders(&self, params: DidChangeWorkspaceFoldersParams) {
        let Some(profile) = self.profile.get() else { return };
        let added = params.event.added.iter().map(|folder| &folder.uri).filter(|uri| uri::is_on_disk(uri));
        let folders: Vec<_> = added.map(uri::path).collect();
        let (queue, encoding) = (self.queue.clone(), profile.encoding);
        tokio::task::spawn_blocking(move || workspace::index(&queue, &folders, encoding));
    }

    async fn did_change_configuration(&self, _: DidChangeConfigurationParams) {}

    async fn hover(&self, params: HoverParams) -> Result<Option<Hover>> {
        let answer = self.at("hover", params.text_document_position_params, |snapshot, at| {
            let hover = snapshot.analysis.hover(at)?;
            Some(convert::hover(snapshot, at.file, hover))
        });
        answer.await
    }

    async fn goto_definition(&self, params: GotoDefinitionParams) -> Result<Option<GotoDefinitionResponse>> {
        self.at("definition", params.text_document_position_params, definition).await
    }

    async fn goto_declaration(
        &self,
        params: GotoDeclarationParams,
    ) -> Result<Option<GotoDeclarationResponse>> {
        self.at("declaration", params.text_document_position_params, definition).await
    }

    async fn goto_type_definition(
        &self,
        params: GotoTypeDefinitionParams,
    ) -> Result<Option<GotoTypeDefinitionResponse>> {
        let answer = self.at("type definition", params.text_document_position_params, |snapshot, at| {
            let target = snapshot.analysis.type_definition(at)?;
            convert::location(snapshot, target).map(GotoDefinitionResponse::Scalar)
        });
        answer.await
    }

    async fn goto_implementation(
        &self,
        params: GotoImplementationParams,
    ) -> Result<Option<GotoImplementationResponse>> {
        let answer = self.at("implementation", params.text_document_position_params, |snapshot, at| {
            let targets = snapshot.analysis.implementations(at).into_iter();
            let places = targets.filter_map(|target| convert::location(snapshot, target)).collect();
            Some(GotoDefinitionResponse::Array(places))
        });
        answer.await
    }

    async fn references(&self, params: ReferenceParams) -> Result<Option<Vec<Location>>> {
        let declaration = params.context.include_declaration;
        let answer = self.at("references", params.text_document_position, move |snapshot, at| {
            let snapshot = &wide(snapshot, at);
            let found = snapshot.analysis.references(at, declaration).into_iter();
            Some(found.filter_map(|target| convert::location(snapshot, target)).collect())
        });
        answer.await
    }

    async fn document_highlight(
        &self,
        params: DocumentHighlightParams,
    ) -> Result<Option<Vec<DocumentHighlight>>> {
        let answer = self.at("highlight", params.text_document_position_params, |snapshot, at| {
            Some(answers::highlights(snapshot, at.file, snapshot.analysis.highlights(at)))
        });
        answer.await
    }

    async fn prepare_rename(
        &self,
        params: TextDocumentPositionParams,
    ) -> Result<Option<PrepareRenameResponse>> {
        let answer = self.queue.ask("rename", move |snapshot, _| {
            let Some(at) = convert::position(snapshot, &params) else { return Ok(None) };
            let (span, placeholder) = snapshot.analysis.rename_range(at).map_err(convert::failed)?;
            let range = convert::range(snapshot, at.file, span);
            Ok(Some(PrepareRenameResponse::RangeWithPlaceholder { range, placeholder }))
        });
        answer.await
    }

    async fn rename(&self, params: RenameParams) -> Result<Option<WorkspaceEdit>> {
        let answer = self.queue.ask("rename", move |snapshot, _| {
            let Some(at) = convert::position(snapshot, &params.text_document_position) else {
                return Ok(None);
            };
            let snapshot = &wide(snapshot, at);
            let edits = snapshot.analysis.rename(at, &params.new_name).map_err(convert::failed)?;
            Ok(convert::edits_of(snapshot, edits))
        });
        answer.await
    }

    async fn linked_editing_range(
        &self,
        params: LinkedEditingRangeParams,
    ) -> Result<Option<LinkedEditingRanges>> {
        let answer = self.at("linked editing", params.text_document_position_params, |snapshot, at| {
            let spans = snapshot.analysis.linked(at)?.into_iter();
            let ranges = spans.map(|span| convert::range(snapshot, at.file, span)).collect();
            Some(LinkedEditingRanges { ranges, word_pattern: Some("[A-Za-z0-9_-]+".into()) })
        });
        answer.await
    }

    async fn completion(&self, params: CompletionParams) -> Result<Option<CompletionResponse>> {
        let answer = self.at("completion", params.text_document_position, |snapshot, at| {
            let found = snapshot.analysis.completions(at)?;
            Some(CompletionResponse::List(answers::completions(snapshot, at.file, found)))
        });
        answer.await
    }

    async fn completion_resolve(&self, item: CompletionItem) -> Result<CompletionItem> {
        self.queue.ask("completion", move |snapshot, _| Ok(answers::resolved(snapshot, item))).await
    }

    async fn signature_help(&self, params: SignatureHelpParams) -> Result<Option<SignatureHelp>> {
        let answer = self.at("signature", params.text_document_position_params, |snapshot, at| {
            Some(answers::signature(snapshot, snapshot.analysis.signature(at)?))
        });
        answer.await
    }

    async fn symbol(&self, params: WorkspaceSymbolParams) -> Result<Option<Vec<SymbolInformation>>> {
        let answer = self.queue.ask("workspace symbols", move |snapshot, _| {
            Ok(Some(answers::workspace_symbols(snapshot, &params.query)))
        });
        answer.await
    }

    async fn document_symbol(&self, params: DocumentSymbolParams) -> Result<Option<DocumentSymbolResponse>> {
        let answer = self.of("document symbols", params.text_document, |snapshot, file| {
            convert::symbols(snapshot, file, snapshot.analysis.symbols(file))
        });
        answer.await
    }

    async fn semantic_tokens_full(
        &self,
        params: SemanticTokensParams,
    ) -> Result<Option<SemanticTokensResult>> {
        let painted = Arc::clone(&self.painted);
        let answer = self.of("semantic tokens", params.text_document, move |snapshot, file| {
            let data = painted_words(snapshot, file, None);
            let result_id = Some(painted.keep(file, data.clone()));
            Some(SemanticTokensResult::Tokens(SemanticTokens { result_id, data }))
        });
        answer.await
    }

    async fn semantic_tokens_full_delta(
        &self,
        params: SemanticTokensDeltaParams,
    ) -> Result<Option<SemanticTokensFullDeltaResult>> {
        let painted = Arc::clone(&self.painted);
        let answer = self.of("semantic tokens", params.text_document, move |snapshot, file| {
            let data = painted_words(snapshot, file, None);
            let before = painted.known(file, &params.previous_result_id);
            let result_id = Some(painted.keep(file, data.clone()));
            Some(match before {
                Some(before) => {
                    let edits = painted::difference(&before, &data);
                    SemanticTokensFullDeltaResult::TokensDelta(SemanticTokensDelta { result_id, edits })
                }
                None => SemanticTokensFullDeltaResult::Tokens(SemanticTokens { result_id, data }),
            })
        });
        answer.await
    }

    async fn semantic_tokens_range(
        &self,
        params: SemanticTokensRangeParams,
    ) -> Result<Option<SemanticTokensRangeResult>> {
        let answer = self.of("semantic tokens", params.text_document, move |snapshot, file| {
            let data = painted_words(snapshot, file, Some(params.range));
            Some(SemanticTokensRangeResult::Tokens(SemanticTokens { result_id: None, data }))
        });
        answer.await
    }

    async fn inlay_hint(&self, params: InlayHintParams) -> Result<Option<Vec<InlayHint>>> {
        let answer = self.of("inlay hints", params.text_document, move |snapshot, file| {
            let span = convert::span(snapshot, file, params.range);
            Some(answers::hints(snapshot, file, snapshot.analysis.hints(file, span)))
        });
        answer.await
    }

    async fn code_lens(&self, params: CodeLensParams) -> Result<Option<Vec<CodeLens>>> {
        let answer = self.of("code lens", params.text_document, |snapshot, file| {
            Some(answers::lenses(snapshot, file, snapshot.analysis.lenses(file)))
        });
        answer.await
    }

    async fn folding_range(&self, params: FoldingRangeParams) -> Result<Option<Vec<FoldingRange>>> {
        let answer = self.of("folding", params.text_document, |snapshot, file| {
            Some(answers::folds(snapshot, file, snapshot.analysis.folds(file)))
        });
        answer.await
    }

    async fn selection_range(&self, params: SelectionRangeParams) -> Result<Option<Vec<SelectionRange>>> {
        let answer = self.of("selection", params.text_document, move |snapshot, file| {
            let one = |position| {
                let offset = convert::span(snapshot, file, Range { start: position, end: position }).start;
                let spans = snapshot.analysis.selections(FilePosition { file, offset });
                answers::selection(snapshot, file, spans)
            };
            Some(params.positions.into_iter().map(one).collect())
        });
        answer.await
    }

    async fn document_color(&self, params: DocumentColorParams) -> Result<Vec<ColorInformation>> {
        let answer = self.of("colours", params.text_document, |snapshot, file| {
            Some(answers::swatches(snapshot, file, snapshot.analysis.swatches(file)))
        });
        Ok(answer.await?.unwrap_or_default())
    }

    async fn color_presentation(&self, params: ColorPresentationParams) -> Result<Vec<ColorPresentation>> {
        Ok(answers::presentations(params.color, params.range))
    }

    async fn document_link(&self, params: DocumentLinkParams) -> Result<Option<Vec<DocumentLink>>> {
        let answer = self.of("links", params.text_document, |snapshot, file| {
            Some(answers::links(snapshot, file, snapshot.analysis.links(file)))
        });
        answer.await
    }

    async fn formatting(&self, params: DocumentFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let answer = self.queue.ask("formatting", move |snapshot, _| {
            let Some(file) = snapshot.file(&params.text_document.uri) else { return Ok(None) };
            let edits = snapshot.analysis.layout(file, None).map_err(convert::failed)?;
            Ok(Some(convert::text_edits_of(snapshot, edits)))
        });
        answer.await
    }

    async fn range_formatting(&self, params: DocumentRangeFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let answer = self.queue.ask("formatting", move |snapshot, _| {
            let Some(file) = snapshot.file(&params.text_document.uri) else { return Ok(None) };
            let span = convert::span(snapshot, file, params.range);
            let edits = snapshot.analysis.layout(file, Some(span)).map_err(convert::failed)?;
            Ok(Some(convert::text_edits_of(snapshot, edits)))
        });
        answer.await
    }

    async fn on_type_formatting(
        &self,
        params: DocumentOnTypeFormattingParams,
    ) -> Result<Option<Vec<TextEdit>>> {
        let answer = self.at("formatting", params.text_document_position, |snapshot, at| {
            // What is half written may not be laid out; that is no fault to speak of.
            let edits = snapshot.analysis.layout_ended(at).ok()?;
            Some(convert::text_edits_of(snapshot, edits))
        });
        answer.await
    }

    async fn prepare_call_hierarchy(
        &self,
        params: CallHierarchyPrepareParams,
    ) -> Result<Option<Vec<CallHierarchyItem>>> {
        let answer = self.at("call hierarchy", params.text_document_position_params, |snapshot, at| {
            let start = snapshot.analysis.hierarchy_start(at)?;
            Some(vec![answers::stop(snapshot, at.file, start)?])
        });
        answer.await
    }

    async fn incoming_calls(
        &self,
        params: CallHierarchyIncomingCallsParams,
    ) -> Result<Option<Vec<CallHierarchyIncomingCall>>> {
        let stops = self.stops(params.item, true).await?;
        let call =
            |from: CallHierarchyItem| CallHierarchyIncomingCall { from_ranges: vec![from.range], from };
        Ok(stops.map(|stops| stops.into_iter().map(call).collect()))
    }

    async fn outgoing_calls(
        &self,
        params: CallHierarchyOutgoingCallsParams,
    ) -> Result<Option<Vec<CallHierarchyOutgoingCall>>> {
        let here = params.item.range;
        let stops = self.stops(params.item, false).await?;
        let call = |to| CallHierarchyOutgoingCall { to, from_ranges: vec![here] };
        Ok(stops.map(|stops| stops.into_iter().map(call).collect()))
    }

    async fn diagnostic(&self, params: DocumentDiagnosticParams) -> Result<DocumentDiagnosticReportResult> {
        let uri = params.text_document.uri;
        // What is being typed is wrong on the way; the answer waits until it pauses. A newer edit cancels it.
        let wanted = uri.clone();
        let typing = self.queue.ask("diagnostics", move |snapshot, _| {
            Ok(snapshot.typing.filter(|typing| snapshot.file(&wanted) == Some(typing.file)))
        });
        let previous = params.previous_result_id;
        let typing = typing.await?;
        if let Some(typing) = typing {
            tokio::time::sleep_until(typing.at + publish::QUIET).await;
        }
        let answer = self.queue.ask("diagnostics", move |snapshot, _| {
            let Some(file) = snapshot.file(&uri) else {
                return Ok(DocumentDiagnosticReport::Full(Default::default()));
            };
            Ok(pull::document(snapshot, file, previous.as_deref()))
        });
        Ok(DocumentDiagnosticReportResult::Report(answer.await?))
    }

    async fn workspace_diagnostic(
        &self,
        params: WorkspaceDiagnosticParams,
    ) -> Result<WorkspaceDiagnosticReportResult> {
        let client = self.client.clone();
        let token = params.partial_result_params.partial_result_token;
        let known = params.previous_result_ids.into_iter().map(|known| (known.uri, known.value)).collect();
        let handle = tokio::runtime::Handle::current();
        let answer = self.queue.ask("workspace diagnostics", move |snapshot, wanted| {
            let mut all = Vec::new();
            pull::workspace(snapshot, &known, wanted, &mut |items| match &token {
                // Handed on a part at a time, where the client takes parts.
                Some(token) if !items.is_empty() => {
                    let part = json!({ "token": token, "value": { "items": items } });
                    handle.block_on(client.send_notification::<Part>(part));
                }
                _ => all.extend(items),
            });
            Ok(all)
        });
        let items = answer.await?;
        Ok(WorkspaceDiagnosticReportResult::Report(WorkspaceDiagnosticReport { items }))
    }

    async fn will_rename_files(&self, params: RenameFilesParams) -> Result<Option<WorkspaceEdit>> {
        let answer = self.queue.ask("rename files", move |snapshot, _| {
            let moves = moves(&params);
            let users = moves.iter().flat_map(|(from, _)| {
                let under = snapshot.analysis.index().iter().map(|(path, _)| path);
                let moved: Vec<_> = under.filter(|path| path.starts_with(from)).collect();
                moved.into_iter().flat_map(|path| snapshot.analysis.index().users(path)).collect::<Vec<_>>()
            });
            let users = users
                .map(|path| {
                    let root = disk::library_root(&path);
                    (path, root)
                })
                .collect::<Vec<_>>();
            let analysis = snapshot.analysis.widened(&users, &mut disk::read_in);
            let snapshot = &Snapshot { analysis, ..snapshot.clone() };
            let edits = snapshot.analysis.moved(&moves);
            Ok(convert::edits_of(snapshot, edits).filter(|_| !moves.is_empty()))
        });
        answer.await
    }

    async fn did_rename_files(&self, params: RenameFilesParams) {
        let uris = params.files.iter().flat_map(|file| [&file.old_uri, &file.new_uri]);
        self.queue.push(Job::Disk(uris.filter_map(|uri| uri.parse().ok()).collect()));
    }

    async fn code_action(&self, params: CodeActionParams) -> Result<Option<CodeActionResponse>> {
        let answer = self.of("code actions", params.text_document, move |snapshot, file| {
            let only = params.context.only.as_deref();
            let span = convert::span(snapshot, file, params.range);
            let offers = snapshot.analysis.actions(file, span).into_iter();
            let offers = offers.filter_map(|offer| convert::action(snapshot, offer));
            let asked = offers.filter(|offer| is_asked_for(offer.kind.as_ref(), only));
            Some(asked.map(CodeActionOrCommand::CodeAction).collect())
        });
        answer.await
    }

    async fn execute_command(&self, params: ExecuteCommandParams) -> Result<Option<Value>> {
        let profile = self.profile.get().cloned().unwrap_or_default();
        commands::run(self.queue.clone(), self.client.clone(), profile, params).await
    }
}

/// An answer under way.
type Answer<T> = Pin<Box<dyn Future<Output = Result<Option<T>>> + Send>>;

/// `$/progress` with a part of an answer.
enum Part {}

impl Notification for Part {
    type Params = Value;
    const METHOD: &'static str = "$/progress";
}

impl Backend {
    /// Asks something about a place; nothing is known of a file that is not.
    fn at<T: Send + 'static>(
        &self,
        name: &'static str,
        params: TextDocumentPositionParams,
        work: impl FnOnce(&Snapshot, FilePosition) -> Option<T> + Send + 'static,
    ) -> Answer<T> {
        Box::pin(self.queue.ask(name, move |snapshot, _| {
            Ok(convert::position(snapshot, &params).and_then(|at| work(snapshot, at)))
        }))
    }

    /// Asks something about a file.
    fn of<T: Send + 'static>(
        &self,
        name: &'static str,
        document: TextDocumentIdentifier,
        work: impl FnOnce(&Snapshot, FileId) -> Option<T> + Send + 'static,
    ) -> Answer<T> {
        Box::pin(self.queue.ask(name, move |snapshot, _| {
            Ok(snapshot.file(&document.uri).and_then(|file| work(snapshot, file)))
        }))
    }

    /// The next stops from one on the way of the current.
    fn stops(
        &self,
        item: CallHierarchyItem,
        up: bool,
    ) -> impl Future<Output = Result<Option<Vec<CallHierarchyItem>>>> + use<> {
        self.queue.ask("call hierarchy", move |snapshot, _| {
            let data = item.data.unwrap_or_default();
            let uri = data["uri"].as_str().and_then(|uri| Url::parse(uri).ok());
            let file = uri.and_then(|uri| snapshot.file(&uri));
            let (Some(file), Some(pin)) = (file, data["pin"].as_str()) else { return Ok(None) };
            let stops = snapshot.analysis.hierarchy_next(file, pin, up).into_iter();
            Ok(Some(stops.filter_map(|stop| answers::stop(snapshot, file, stop)).collect()))
        })
    }
}

fn definition(snapshot: &Snapshot, at: FilePosition) -> Option<GotoDefinitionResponse> {
    let target = snapshot.analysis.definition(at)?;
    convert::location(snapshot, target).map(GotoDefinitionResponse::Scalar)
}

/// The snapshot with every circuit of the workspace that uses the file in which the name at a place is declared.
fn wide(snapshot: &Snapshot, at: FilePosition) -> Snapshot {
    let declared = snapshot.analysis.definition(at).map_or(at.file, |target| target.file);
    let path = &snapshot.analysis.files().get(declared).path;
    let users = snapshot.analysis.index().users(path).into_iter();
    let users: Vec<_> = users
        .map(|path| {
            let root = disk::library_root(&path);
            (path, root)
        })
        .collect();
    let analysis = snapshot.analysis.widened(&users, &mut disk::read_in);
    Snapshot { analysis, ..snapshot.clone() }
}

fn painted_words(snapshot: &Snapshot, file: FileId, range: Option<Range>) -> Vec<SemanticToken> {
    let whole = Span::new(0, snapshot.analysis.files().get(file).text.len() as u32);
    let span = range.map_or(whole, |range| convert::span(snapshot, file, range));
    answers::tokens(snapshot, file, &snapshot.analysis.tokens(file, span))
}

fn moves(params: &RenameFilesParams) -> Vec<(PathBuf, PathBuf)> {
    let path = |uri: &str| Url::parse(uri).ok().filter(uri::is_on_disk).map(|uri| uri::path(&uri));
    params.files.iter().filter_map(|file| Some((path(&file.old_uri)?, path(&file.new_uri)?))).collect()
}

/// Whether a kind is among those asked for; a kind asked for includes what is under it.
fn is_asked_for(kind: Option<&CodeActionKind>, only: Option<&[CodeActionKind]>) -> bool {
    let (Some(kind), Some(only)) = (kind, only) else { return true };
    only.iter().any(|asked| {
        let (kind, asked) = (kind.as_str(), asked.as_str());
        asked.is_empty()
            || kind.strip_prefix(asked).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kind_asked_for_includes_what_is_under_it() {
        let asked = [CodeActionKind::REFACTOR];
        assert!(is_asked_for(Some(&CodeActionKind::REFACTOR_REWRITE), Some(&asked)));
        assert!(!is_asked_for(Some(&CodeActionKind::QUICKFIX), Some(&asked)));
        assert!(is_asked_for(Some(&CodeActionKind::QUICKFIX), None));
    }
}
