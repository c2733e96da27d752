//! What the client can ask, one handler each.
//!
//! Every handler is one statement that queues its work before it waits for
//! anything. Nothing is decided here.

use std::sync::OnceLock;

use serde_json::json;
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{
    CodeAction, CodeActionKind, CodeActionOptions, CodeActionOrCommand, CodeActionParams,
    CodeActionProviderCapability, CodeActionResponse, DidChangeTextDocumentParams,
    DidChangeWatchedFilesParams, DidCloseTextDocumentParams, DidOpenTextDocumentParams, DocumentSymbolParams,
    DocumentSymbolResponse, GotoDefinitionParams, GotoDefinitionResponse, Hover, HoverParams,
    HoverProviderCapability, InitializeParams, InitializeResult, InitializedParams, OneOf, Registration,
    ServerCapabilities, ServerInfo, SetTraceParams, TextDocumentSyncCapability, TextDocumentSyncKind,
    TextDocumentSyncOptions,
};
use tower_lsp::{Client, LanguageServer, async_trait};

use crate::convert;
use crate::log::Log;
use crate::profile::Profile;
use crate::queue::{Job, Queue};

/// The files whose changes on the disk matter.
const WATCHED: &[&str] = &["**/*.circuit", "**/*.case", "**/halfsplit.toml"];

/// Puts what the client says on the queue.
#[derive(Debug)]
pub(crate) struct Backend {
    queue: Queue,
    client: Client,
    log: Log,
    profile: OnceLock<Profile>,
}

impl Backend {
    /// Fills `queue`.
    pub(crate) fn new(queue: Queue, client: Client, log: Log) -> Backend {
        Backend { queue, client, log, profile: OnceLock::new() }
    }

    /// `$/setTrace`, which the protocol library leaves to us.
    pub(crate) async fn set_trace(&self, params: SetTraceParams) {
        self.log.set_trace(params.value);
    }
}

#[async_trait]
impl LanguageServer for Backend {
    async fn initialize(&self, params: InitializeParams) -> Result<InitializeResult> {
        let profile = Profile::new(&params);
        self.queue.push(Job::Start(profile.clone()));
        self.log.set_trace(params.trace.unwrap_or_default());
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
        if !self.profile.get().is_some_and(|profile| profile.watch_files) {
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

    async fn hover(&self, params: HoverParams) -> Result<Option<Hover>> {
        let answer = self.queue.ask("hover", move |snapshot, _| {
            let at = convert::position(snapshot, &params.text_document_position_params);
            let hover = at.and_then(|at| Some((at.file, snapshot.analysis.hover(at)?)));
            Ok(hover.map(|(file, hover)| convert::hover(snapshot, file, hover)))
        });
        answer.await
    }

    async fn goto_definition(&self, params: GotoDefinitionParams) -> Result<Option<GotoDefinitionResponse>> {
        let answer = self.queue.ask("definition", move |snapshot, _| {
            let at = convert::position(snapshot, &params.text_document_position_params);
            let target = at.and_then(|at| snapshot.analysis.definition(at));
            let location = target.and_then(|target| convert::location(snapshot, target));
            Ok(location.map(GotoDefinitionResponse::Scalar))
        });
        answer.await
    }

    async fn document_symbol(&self, params: DocumentSymbolParams) -> Result<Option<DocumentSymbolResponse>> {
        let answer = self.queue.ask("document symbols", move |snapshot, _| {
            let file = snapshot.file(&params.text_document.uri);
            Ok(file.and_then(|file| convert::symbols(snapshot, file, snapshot.analysis.symbols(file))))
        });
        answer.await
    }

    async fn code_action(&self, params: CodeActionParams) -> Result<Option<CodeActionResponse>> {
        let answer = self.queue.ask("code actions", move |snapshot, wanted| {
            let Some(file) = snapshot.file(&params.text_document.uri) else { return Ok(None) };
            let only = params.context.only.as_deref();
            let span = convert::span(snapshot, file, params.range);
            let offers = snapshot.analysis.actions(file, span).into_iter();
            let offers = offers.filter_map(|offer| convert::action(snapshot, offer));
            let mut actions = Vec::new();
            for action in offers.filter(|offer| is_asked_for(offer.kind.as_ref(), only)) {
                if snapshot.profile.late_edits {
                    actions.push(action);
                } else if wanted.still() {
                    // What cannot be done is not offered.
                    actions.extend(convert::complete(snapshot, action).ok());
                }
            }
            Ok(Some(actions.into_iter().map(CodeActionOrCommand::CodeAction).collect()))
        });
        answer.await
    }

    async fn code_action_resolve(&self, action: CodeAction) -> Result<CodeAction> {
        let answer = self.queue.ask("code action", move |snapshot, _| convert::complete(snapshot, action));
        answer.await
    }
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

/// What we answer to `initialize`.
fn capabilities(profile: &Profile) -> ServerCapabilities {
    ServerCapabilities {
        position_encoding: Some(profile.encoding_kind()),
        text_document_sync: Some(TextDocumentSyncCapability::Options(TextDocumentSyncOptions {
            open_close: Some(true),
            change: Some(TextDocumentSyncKind::INCREMENTAL),
            ..TextDocumentSyncOptions::default()
        })),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        definition_provider: Some(OneOf::Left(true)),
        document_symbol_provider: Some(OneOf::Left(true)),
        code_action_provider: profile.code_actions.then(|| {
            CodeActionProviderCapability::Options(CodeActionOptions {
                code_action_kinds: Some(vec![CodeActionKind::QUICKFIX, CodeActionKind::SOURCE]),
                resolve_provider: Some(profile.late_edits),
                ..CodeActionOptions::default()
            })
        }),
        ..ServerCapabilities::default()
    }
}
