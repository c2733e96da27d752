//! Between the protocol's types and ours. The only file that knows both.

use std::collections::{BTreeMap, HashMap};
use std::path::PathBuf;

use halfsplit_base::{Edit, Encoding, File, FileId, Finding, Severity, Span, WirePosition, disk};
use halfsplit_ide as ide;
use serde_json::json;
use tower_lsp::jsonrpc::{Error, ErrorCode};
use tower_lsp::lsp_types::{
    CodeAction, CodeActionKind, Command, CreateFile, CreateFileOptions, Diagnostic,
    DiagnosticRelatedInformation, DiagnosticSeverity, DocumentChangeOperation, DocumentChanges,
    DocumentSymbol, DocumentSymbolResponse, Hover, HoverContents, Location, MarkupContent, MarkupKind,
    NumberOrString, OneOf, OptionalVersionedTextDocumentIdentifier, Position, Range, ResourceOp,
    SymbolInformation, SymbolKind, TextDocumentContentChangeEvent, TextDocumentEdit,
    TextDocumentPositionParams, TextEdit, Url, WorkspaceEdit,
};

use crate::commands;
use crate::snapshot::Snapshot;

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

/// An offer to do something. A plan is worked out when its command comes, never to fill a menu.
pub(crate) fn action(snapshot: &Snapshot, action: ide::Action) -> Option<CodeAction> {
    let (kind, diagnostics) = match &action.kind {
        ide::ActionKind::Fix { finding } => {
            (CodeActionKind::QUICKFIX, Some(vec![diagnostic(snapshot, finding)]))
        }
        ide::ActionKind::FixAll => (CodeActionKind::SOURCE_FIX_ALL, None),
        ide::ActionKind::Rewrite | ide::ActionKind::Plan => (CodeActionKind::REFACTOR_REWRITE, None),
    };
    let (edit, command) = match action.change {
        ide::Change::Edits(edits) => {
            let select = action.cursor.and_then(|cursor| select(snapshot, &action.title, &edits, cursor));
            (Some(edits_of(snapshot, edits)?), select)
        }
        ide::Change::Plan { file, pin, reading } => {
            let order = json!({ "uri": snapshot.uri(file)?, "pin": pin, "reading": reading.word() });
            let command = Command {
                title: action.title.clone(),
                command: commands::PLAN.into(),
                arguments: Some(vec![order]),
            };
            (None, Some(command))
        }
    };
    Some(CodeAction {
        title: action.title,
        is_preferred: action.preferred.then_some(true),
        kind: Some(kind),
        diagnostics,
        edit,
        command,
        ..CodeAction::default()
    })
}

/// The command that puts the cursor where the text goes on after an edit.
fn select(snapshot: &Snapshot, title: &str, edits: &[Edit], cursor: u32) -> Option<Command> {
    let edit = edits.first().filter(|_| snapshot.profile.show_documents && edits.len() == 1)?;
    let before = snapshot.analysis.files().get(edit.file);
    let text = format!(
        "{}{}{}",
        &before.text[..edit.span.start as usize],
        edit.text,
        &before.text[edit.span.end as usize..]
    );
    let after = File::new(before.path.clone(), text);
    let place = after.wire_position(cursor, snapshot.profile.encoding);
    let order = json!({ "uri": snapshot.uri(edit.file)?, "line": place.line, "character": place.column });
    Some(Command { title: title.into(), command: commands::SELECT.into(), arguments: Some(vec![order]) })
}

/// Changes of several files as one edit.
pub(crate) fn edits_of(snapshot: &Snapshot, edits: Vec<Edit>) -> Option<WorkspaceEdit> {
    Some(workspace_edit(snapshot, edit_texts(snapshot, edits)?))
}

/// Changes of one file.
pub(crate) fn text_edits_of(snapshot: &Snapshot, edits: Vec<Edit>) -> Vec<TextEdit> {
    let one = |edit: Edit| TextEdit { range: range(snapshot, edit.file, edit.span), new_text: edit.text };
    edits.into_iter().map(one).collect()
}

/// An error that the client shows to its user.
pub(crate) fn failed(words: String) -> Error {
    Error { code: ErrorCode::ServerError(REQUEST_FAILED), message: words.into(), data: None }
}

/// An edit that gives a file this text: it is created, or what is in it is replaced.
pub(crate) fn whole_file(snapshot: &Snapshot, uri: Url, before: Option<&str>, text: String) -> WorkspaceEdit {
    let before = File::new(PathBuf::new(), before.unwrap_or_default());
    let end = before.wire_position(before.text.len() as u32, snapshot.profile.encoding);
    let end = Position { line: end.line, character: end.column };
    let options = CreateFileOptions { overwrite: Some(false), ignore_if_exists: Some(true) };
    let create = CreateFile { uri: uri.clone(), options: Some(options), annotation_id: None };
    let edit = TextEdit { range: Range { start: Position::default(), end }, new_text: text };
    let operations =
        vec![DocumentChangeOperation::Op(ResourceOp::Create(create)), text_edits(uri, None, vec![edit])];
    workspace_edit(snapshot, operations)
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

/// The protocol's sort of a symbol.
pub(crate) fn symbol_kind(kind: ide::SymbolKind) -> SymbolKind {
    match kind {
        ide::SymbolKind::Circuit => SymbolKind::FILE,
        ide::SymbolKind::Vehicle => SymbolKind::NAMESPACE,
        ide::SymbolKind::Source => SymbolKind::EVENT,
        ide::SymbolKind::Switching => SymbolKind::BOOLEAN,
        ide::SymbolKind::Load => SymbolKind::OBJECT,
        ide::SymbolKind::Connector => SymbolKind::INTERFACE,
        ide::SymbolKind::Pin => SymbolKind::FIELD,
        ide::SymbolKind::Copper => SymbolKind::VARIABLE,
        ide::SymbolKind::Bus => SymbolKind::ARRAY,
        ide::SymbolKind::Where => SymbolKind::PACKAGE,
        ide::SymbolKind::Use => SymbolKind::MODULE,
        ide::SymbolKind::Option => SymbolKind::ENUM_MEMBER,
        ide::SymbolKind::Expectation => SymbolKind::CONSTANT,
        ide::SymbolKind::Case => SymbolKind::FILE,
        ide::SymbolKind::Reading => SymbolKind::NUMBER,
    }
}

/// A stretch of a file.
pub(crate) fn range(snapshot: &Snapshot, file: FileId, span: Span) -> Range {
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
