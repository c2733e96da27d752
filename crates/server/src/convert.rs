//! Between the protocol's types and ours. The only file that knows both.

use std::collections::{BTreeMap, HashMap};
use std::iter;
use std::path::{Path, PathBuf};

use halfsplit_base::{Edit, Encoding, File, FileId, Finding, Severity, Span, WirePosition, disk};
use halfsplit_ide as ide;
use serde::{Deserialize, Serialize};
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types::{
    CodeAction, CodeActionKind, CreateFile, CreateFileOptions, Diagnostic, DiagnosticRelatedInformation,
    DiagnosticSeverity, DocumentChangeOperation, DocumentChanges, DocumentSymbol, DocumentSymbolResponse,
    Hover, HoverContents, Location, MarkupContent, MarkupKind, NumberOrString, OneOf,
    OptionalVersionedTextDocumentIdentifier, Position, Range, ResourceOp, SymbolInformation, SymbolKind,
    TextDocumentContentChangeEvent, TextDocumentEdit, TextDocumentPositionParams, TextEdit, Url,
    WorkspaceEdit,
};

use crate::snapshot::Snapshot;
use crate::uri;

/// Who speaks, in a client that shows diagnostics of several servers.
const SOURCE: &str = "halfsplit";

/// The protocol's code for a request that was sound but could not be carried out.
const REQUEST_FAILED: i64 = -32803;

/// The text after one change. Places outside the text mean its nearest place.
pub(crate) fn changed_text(
    before: &File,
    change: &TextDocumentContentChangeEvent,
    encoding: Encoding,
) -> String {
    let Some(range) = change.range else { return change.text.clone() };
    let span = span_in(before, range, encoding);
    let mut after = String::with_capacity(before.text.len() + change.text.len());
    after.push_str(&before.text[..span.start as usize]);
    after.push_str(&change.text);
    after.push_str(&before.text[span.end as usize..]);
    after
}

/// The place that a request speaks of, if its file is known.
pub(crate) fn position(
    snapshot: &Snapshot,
    params: &TextDocumentPositionParams,
) -> Option<ide::FilePosition> {
    let file = snapshot.file(&params.text_document.uri)?;
    let text = snapshot.analysis.files().get(file);
    let offset = text.wire_offset(wire(params.position), snapshot.profile.encoding);
    Some(ide::FilePosition { file, offset })
}

/// A range of a known file.
pub(crate) fn span(snapshot: &Snapshot, file: FileId, range: Range) -> Span {
    span_in(snapshot.analysis.files().get(file), range, snapshot.profile.encoding)
}

/// Everything that the findings of a circuit say, by the file that they are in.
pub(crate) fn diagnostics(snapshot: &Snapshot, file: FileId) -> Vec<(FileId, Diagnostic)> {
    let findings = snapshot.analysis.findings(file).iter();
    findings.map(|finding| (finding.file, diagnostic(snapshot, finding))).collect()
}

/// A hover.
pub(crate) fn hover(snapshot: &Snapshot, file: FileId, hover: ide::Hover) -> Hover {
    let contents = if snapshot.profile.markdown {
        MarkupContent { kind: MarkupKind::Markdown, value: hover.markdown }
    } else {
        // Emphasis is all the markup there is.
        MarkupContent { kind: MarkupKind::PlainText, value: hover.markdown.replace("**", "") }
    };
    Hover { contents: HoverContents::Markup(contents), range: Some(range(snapshot, file, hover.span)) }
}

/// A place in a file.
pub(crate) fn location(snapshot: &Snapshot, target: ide::Target) -> Option<Location> {
    Some(Location { uri: snapshot.uri(target.file)?, range: range(snapshot, target.file, target.span) })
}

/// An outline, nested where the client can show that.
pub(crate) fn symbols(
    snapshot: &Snapshot,
    file: FileId,
    symbols: Vec<ide::Symbol>,
) -> Option<DocumentSymbolResponse> {
    if snapshot.profile.nested_symbols {
        let nested = symbols.into_iter().map(|symbol| nested(snapshot, file, symbol)).collect();
        return Some(DocumentSymbolResponse::Nested(nested));
    }
    let mut all = Vec::new();
    flatten(snapshot, file, &snapshot.uri(file)?, symbols, None, &mut all);
    Some(DocumentSymbolResponse::Flat(all))
}

/// An offer to do something; without its edit where that takes a while to work out.
pub(crate) fn action(snapshot: &Snapshot, action: ide::Action) -> Option<CodeAction> {
    let (kind, diagnostics) = match &action.kind {
        ide::ActionKind::Write => (CodeActionKind::SOURCE, None),
        ide::ActionKind::Fix { finding } => {
            (CodeActionKind::QUICKFIX, Some(vec![diagnostic(snapshot, finding)]))
        }
    };
    let (edit, data) = match action.change {
        ide::Change::Edits(edits) => (Some(workspace_edit(snapshot, edit_texts(snapshot, edits)?)), None),
        ide::Change::Plan { file, pin } => {
            let order = PlanOrder { uri: snapshot.uri(file)?, pin };
            (None, Some(serde_json::to_value(order).ok()?))
        }
    };
    Some(CodeAction {
        title: action.title,
        is_preferred: diagnostics.is_some().then_some(true),
        kind: Some(kind),
        diagnostics,
        edit,
        data,
        ..CodeAction::default()
    })
}

/// What a code action carries until it is chosen.
#[derive(Debug, Serialize, Deserialize)]
struct PlanOrder {
    uri: Url,
    pin: String,
}

/// Works out the edit of an offer that came without one.
///
/// # Errors
///
/// In words for the user, when it cannot be done.
pub(crate) fn complete(snapshot: &Snapshot, mut action: CodeAction) -> Result<CodeAction> {
    let Some(data) = action.data.take().filter(|_| action.edit.is_none()) else { return Ok(action) };
    let order: PlanOrder =
        serde_json::from_value(data).map_err(|error| Error::invalid_params(error.to_string()))?;
    let file = snapshot.file(&order.uri).ok_or_else(|| failed("the circuit is no longer open".into()))?;
    let plan = snapshot.analysis.plan(file, &order.pin).map_err(failed)?;
    let path = free_path(snapshot, &plan.path);
    let uri = uri::uri(&path).ok_or_else(|| failed("the circuit has no folder: save it first".into()))?;
    action.edit = Some(workspace_edit(snapshot, create(uri, plan.text)));
    Ok(action)
}

/// An error that the client shows to its user.
fn failed(words: String) -> Error {
    Error { code: ErrorCode::ServerError(REQUEST_FAILED), message: words.into(), data: None }
}

/// A path like `wanted` where nothing is yet: `x.plan.md`, `x.plan-2.md`, `x.plan-3.md`.
fn free_path(snapshot: &Snapshot, wanted: &Path) -> PathBuf {
    let is_free = |path: &Path| snapshot.analysis.files().id(path).is_none() && !path.exists();
    let stem = wanted.file_stem().unwrap_or_default().to_string_lossy();
    let numbered = (2..1_000).map(|number| wanted.with_file_name(format!("{stem}-{number}.md")));
    iter::once(wanted.to_path_buf())
        .chain(numbered)
        .find(|path| is_free(path))
        .unwrap_or_else(|| wanted.into())
}

fn workspace_edit(snapshot: &Snapshot, operations: Vec<DocumentChangeOperation>) -> WorkspaceEdit {
    if snapshot.profile.create_files {
        let changes = DocumentChanges::Operations(operations);
        WorkspaceEdit { document_changes: Some(changes), ..WorkspaceEdit::default() }
    } else {
        WorkspaceEdit { changes: Some(plain(operations)), ..WorkspaceEdit::default() }
    }
}

fn edit_texts(snapshot: &Snapshot, edits: Vec<Edit>) -> Option<Vec<DocumentChangeOperation>> {
    let mut by_file: BTreeMap<FileId, Vec<TextEdit>> = BTreeMap::new();
    for edit in edits {
        let range = range(snapshot, edit.file, edit.span);
        by_file.entry(edit.file).or_default().push(TextEdit { range, new_text: edit.text });
    }
    let edit = |(file, edits)| Some(text_edits(snapshot.uri(file)?, snapshot.version(file), edits));
    by_file.into_iter().map(edit).collect()
}

fn create(uri: Url, text: String) -> Vec<DocumentChangeOperation> {
    let options = CreateFileOptions { overwrite: Some(false), ignore_if_exists: Some(false) };
    let create = CreateFile { uri: uri.clone(), options: Some(options), annotation_id: None };
    let insert = TextEdit { range: Range::default(), new_text: text };
    vec![DocumentChangeOperation::Op(ResourceOp::Create(create)), text_edits(uri, None, vec![insert])]
}

fn text_edits(uri: Url, version: Option<i32>, edits: Vec<TextEdit>) -> DocumentChangeOperation {
    DocumentChangeOperation::Edit(TextDocumentEdit {
        text_document: OptionalVersionedTextDocumentIdentifier { uri, version },
        edits: edits.into_iter().map(OneOf::Left).collect(),
    })
}

/// For clients that only know text edits: a text edited at its start is created.
fn plain(operations: Vec<DocumentChangeOperation>) -> HashMap<Url, Vec<TextEdit>> {
    let edit = |operation| match operation {
        DocumentChangeOperation::Edit(edit) => {
            let edits = edit.edits.into_iter().map(|edit| match edit {
                OneOf::Left(edit) => edit,
                OneOf::Right(annotated) => annotated.text_edit,
            });
            Some((edit.text_document.uri, edits.collect()))
        }
        DocumentChangeOperation::Op(_) => None,
    };
    operations.into_iter().filter_map(edit).collect()
}

fn diagnostic(snapshot: &Snapshot, finding: &Finding) -> Diagnostic {
    let message = match &finding.help {
        Some(help) => format!("{}\n{help}", finding.message),
        None => finding.message.clone(),
    };
    Diagnostic {
        range: range(snapshot, finding.file, finding.span),
        severity: Some(match finding.severity {
            Severity::Error => DiagnosticSeverity::ERROR,
            Severity::Warning => DiagnosticSeverity::WARNING,
            Severity::Note => DiagnosticSeverity::INFORMATION,
        }),
        code: Some(NumberOrString::String(finding.rule.into())),
        source: Some(SOURCE.into()),
        message,
        related_information: related(snapshot, finding),
        ..Diagnostic::default()
    }
}

fn related(snapshot: &Snapshot, finding: &Finding) -> Option<Vec<DiagnosticRelatedInformation>> {
    if !snapshot.profile.related_places || finding.related.is_empty() {
        return None;
    }
    let places = finding.related.iter().filter_map(|place| {
        let location = location(snapshot, ide::Target { file: place.file, span: place.span })?;
        Some(DiagnosticRelatedInformation { location, message: place.message.clone() })
    });
    Some(places.collect())
}

#[allow(deprecated, reason = "the types have no other way to be built")]
fn nested(snapshot: &Snapshot, file: FileId, symbol: ide::Symbol) -> DocumentSymbol {
    let children = symbol.children.into_iter().map(|child| nested(snapshot, file, child));
    let children: Vec<_> = children.collect();
    DocumentSymbol {
        name: symbol.name,
        detail: Some(symbol.detail),
        kind: symbol_kind(symbol.kind),
        tags: None,
        deprecated: None,
        range: range(snapshot, file, symbol.span),
        selection_range: range(snapshot, file, symbol.focus),
        children: (!children.is_empty()).then_some(children),
    }
}

#[allow(deprecated, reason = "the types have no other way to be built")]
fn flatten(
    snapshot: &Snapshot,
    file: FileId,
    uri: &Url,
    symbols: Vec<ide::Symbol>,
    container: Option<&str>,
    all: &mut Vec<SymbolInformation>,
) {
    for symbol in symbols {
        all.push(SymbolInformation {
            name: symbol.name.clone(),
            kind: symbol_kind(symbol.kind),
            tags: None,
            deprecated: None,
            location: Location { uri: uri.clone(), range: range(snapshot, file, symbol.span) },
            container_name: container.map(Into::into),
        });
        flatten(snapshot, file, uri, symbol.children, Some(&symbol.name), all);
    }
}

fn symbol_kind(kind: ide::SymbolKind) -> SymbolKind {
    match kind {
        ide::SymbolKind::Circuit => SymbolKind::FILE,
        ide::SymbolKind::Vehicle => SymbolKind::NAMESPACE,
        ide::SymbolKind::Source => SymbolKind::EVENT,
        ide::SymbolKind::Switching => SymbolKind::BOOLEAN,
        ide::SymbolKind::Load => SymbolKind::OBJECT,
        ide::SymbolKind::Connector => SymbolKind::INTERFACE,
        ide::SymbolKind::Pin => SymbolKind::FIELD,
        ide::SymbolKind::Copper => SymbolKind::VARIABLE,
        ide::SymbolKind::Expectation => SymbolKind::CONSTANT,
    }
}

fn range(snapshot: &Snapshot, file: FileId, span: Span) -> Range {
    let file = snapshot.analysis.files().get(file);
    let place = |offset| {
        let place = file.wire_position(offset, snapshot.profile.encoding);
        Position { line: place.line, character: place.column }
    };
    Range { start: place(span.start), end: place(span.end) }
}

fn span_in(file: &File, range: Range, encoding: Encoding) -> Span {
    let start = file.wire_offset(wire(range.start), encoding);
    let end = file.wire_offset(wire(range.end), encoding);
    Span::new(start.min(end), start.max(end))
}

fn wire(position: Position) -> WirePosition {
    // Clients say "end of line" with the largest number there is; a column is added to the
    // line's start, so it is cut to what no line exceeds and no sum with it overflows.
    WirePosition { line: position.line, column: position.character.min(disk::LARGEST as u32) }
}
