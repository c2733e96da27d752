//! Answers of the features, in the protocol's types.

use halfsplit_base::{FileId, Span};
use halfsplit_ide as ide;
use serde_json::json;
use tower_lsp::lsp_types::{
    CallHierarchyItem, CodeLens, Color, ColorInformation, ColorPresentation, Command, CompletionItem,
    CompletionItemKind, CompletionList, CompletionTextEdit, DocumentHighlight, DocumentHighlightKind,
    DocumentLink, Documentation, FoldingRange, FoldingRangeKind, InlayHint, InlayHintLabel, InlayHintTooltip,
    InsertTextFormat, Location, MarkupContent, MarkupKind, ParameterInformation, ParameterLabel, Position,
    Range, SelectionRange, SemanticToken, SemanticTokenModifier, SemanticTokenType, SignatureHelp,
    SignatureInformation, SymbolInformation, SymbolKind, TextEdit, Url,
};

use crate::convert::{range, symbol_kind};
use crate::snapshot::Snapshot;
use crate::uri;

/// What a menu shows; what is chosen replaces the word at hand.
pub(crate) fn completions(snapshot: &Snapshot, file: FileId, found: ide::Completions) -> CompletionList {
    let replaces = range(snapshot, file, found.replaces);
    let uri = snapshot.uri(file);
    let item = |(number, offer): (usize, ide::Completion)| {
        let snippet = offer.snippet.filter(|_| snapshot.profile.snippets);
        // A client that knows no snippets gets the words, without places to fill in.
        let is_template = offer.label.contains('…');
        let new_text = snippet.clone().unwrap_or_else(|| offer.label.clone());
        if is_template && snippet.is_none() {
            return None;
        }
        Some(CompletionItem {
            kind: Some(completion_kind(offer.kind)),
            detail: Some(offer.detail).filter(|detail| !detail.is_empty()),
            sort_text: Some(format!("{number:05}")),
            filter_text: is_template.then(String::new),
            insert_text_format: snippet.map(|_| InsertTextFormat::SNIPPET),
            text_edit: Some(CompletionTextEdit::Edit(TextEdit { range: replaces, new_text })),
            data: uri.as_ref().map(|uri| json!({ "uri": uri, "word": offer.label })),
            label: offer.label,
            ..CompletionItem::default()
        })
    };
    let items = found.offers.into_iter().enumerate().filter_map(item).collect();
    CompletionList { is_incomplete: found.cut, items }
}

/// An offer with what is known of it.
pub(crate) fn resolved(snapshot: &Snapshot, mut item: CompletionItem) -> CompletionItem {
    let data = item.data.as_ref();
    let uri = data.and_then(|data| data["uri"].as_str()).and_then(|uri| Url::parse(uri).ok());
    let word = data.and_then(|data| data["word"].as_str());
    if let (Some(file), Some(word)) = (uri.and_then(|uri| snapshot.file(&uri)), word) {
        let page = snapshot.analysis.completion_page(file, word);
        item.documentation = page.map(|page| Documentation::MarkupContent(markup(snapshot, page)));
    }
    item
}

fn markup(snapshot: &Snapshot, markdown: String) -> MarkupContent {
    match snapshot.profile.markdown {
        true => MarkupContent { kind: MarkupKind::Markdown, value: markdown },
        false => MarkupContent { kind: MarkupKind::PlainText, value: markdown.replace("**", "") },
    }
}

fn completion_kind(kind: ide::CompletionKind) -> CompletionItemKind {
    use ide::CompletionKind as Kind;
    match kind {
        Kind::Statement | Kind::Word => CompletionItemKind::KEYWORD,
        Kind::Part => CompletionItemKind::CLASS,
        Kind::Connector => CompletionItemKind::INTERFACE,
        Kind::Pin => CompletionItemKind::FIELD,
        Kind::Kind => CompletionItemKind::TYPE_PARAMETER,
        Kind::Parameter => CompletionItemKind::PROPERTY,
        Kind::Colour => CompletionItemKind::COLOR,
        Kind::Unit => CompletionItemKind::UNIT,
        Kind::Value => CompletionItemKind::VALUE,
        Kind::State => CompletionItemKind::ENUM_MEMBER,
        Kind::Rule => CompletionItemKind::REFERENCE,
        Kind::File => CompletionItemKind::FILE,
        Kind::NewName => CompletionItemKind::VARIABLE,
    }
}

/// The pattern of a line.
pub(crate) fn signature(snapshot: &Snapshot, found: ide::Signature) -> SignatureHelp {
    // Places in the label are counted in UTF-16 whatever the documents are counted in.
    let units = |at: u32| found.label[..at as usize].encode_utf16().count() as u32;
    let value = |(span, about): &(Span, String)| ParameterInformation {
        label: ParameterLabel::LabelOffsets([units(span.start), units(span.end)]),
        documentation: Some(Documentation::String(about.clone())),
    };
    let active = found.active.map(|active| active as u32);
    let information = SignatureInformation {
        documentation: Some(Documentation::MarkupContent(markup(snapshot, found.about.clone()))),
        parameters: Some(found.values.iter().map(value).collect()),
        active_parameter: active,
        label: found.label,
    };
    SignatureHelp { signatures: vec![information], active_signature: Some(0), active_parameter: active }
}

/// The words of a net.
pub(crate) fn highlights(
    snapshot: &Snapshot,
    file: FileId,
    found: Vec<ide::Highlight>,
) -> Vec<DocumentHighlight> {
    let one = |found: ide::Highlight| DocumentHighlight {
        range: range(snapshot, file, found.span),
        kind: Some(if found.declares { DocumentHighlightKind::WRITE } else { DocumentHighlightKind::READ }),
    };
    found.into_iter().map(one).collect()
}

/// The sorts of words, in the order of their numbers.
pub(crate) const TOKEN_TYPES: [SemanticTokenType; 15] = [
    SemanticTokenType::KEYWORD,
    SemanticTokenType::CLASS,
    SemanticTokenType::VARIABLE,
    SemanticTokenType::INTERFACE,
    SemanticTokenType::PROPERTY,
    SemanticTokenType::TYPE,
    SemanticTokenType::PARAMETER,
    SemanticTokenType::MACRO,
    SemanticTokenType::ENUM_MEMBER,
    SemanticTokenType::NUMBER,
    SemanticTokenType::MODIFIER,
    SemanticTokenType::STRING,
    SemanticTokenType::COMMENT,
    SemanticTokenType::OPERATOR,
    SemanticTokenType::DECORATOR,
];

/// What can be said of a word besides.
pub(crate) const TOKEN_MODIFIERS: [SemanticTokenModifier; 1] = [SemanticTokenModifier::DECLARATION];

/// Words as the protocol packs them: each by its distance from the one before.
pub(crate) fn tokens(snapshot: &Snapshot, file: FileId, found: &[ide::Token]) -> Vec<SemanticToken> {
    let mut last = Position::default();
    let mut packed = Vec::with_capacity(found.len());
    for token in found {
        let place = range(snapshot, file, token.span);
        // A word never runs over a line's end, so its length is that of its columns.
        let delta_line = place.start.line - last.line;
        let delta_start =
            if delta_line == 0 { place.start.character - last.character } else { place.start.character };
        packed.push(SemanticToken {
            delta_line,
            delta_start,
            length: place.end.character.saturating_sub(place.start.character),
            token_type: token.kind as u32,
            token_modifiers_bitset: u32::from(token.declares),
        });
        last = place.start;
    }
    packed
}

/// Hints beside the text.
pub(crate) fn hints(snapshot: &Snapshot, file: FileId, found: Vec<ide::Hint>) -> Vec<InlayHint> {
    let one = |hint: ide::Hint| InlayHint {
        position: range(snapshot, file, Span::empty(hint.offset)).start,
        label: InlayHintLabel::String(hint.label),
        kind: None,
        text_edits: None,
        tooltip: Some(InlayHintTooltip::String(hint.about)),
        padding_left: Some(true),
        padding_right: None,
        data: None,
    };
    found.into_iter().map(one).collect()
}

/// Lines above lines.
pub(crate) fn lenses(snapshot: &Snapshot, file: FileId, found: Vec<ide::Lens>) -> Vec<CodeLens> {
    let uri = snapshot.uri(file);
    let one = |lens: ide::Lens| {
        let (command, arguments) = match lens.does {
            ide::LensAction::Plan(pin) => {
                (crate::commands::PLAN, Some(vec![json!({ "uri": uri, "pin": pin })]))
            }
            ide::LensAction::Nothing | ide::LensAction::Show(_) => ("", None),
        };
        let command = Command { title: lens.title, command: command.into(), arguments };
        CodeLens { range: range(snapshot, file, lens.span), command: Some(command), data: None }
    };
    found.into_iter().map(one).collect()
}

/// What can be folded.
pub(crate) fn folds(snapshot: &Snapshot, file: FileId, found: Vec<ide::Fold>) -> Vec<FoldingRange> {
    let one = |fold: ide::Fold| {
        let place = range(snapshot, file, fold.span);
        FoldingRange {
            start_line: place.start.line,
            start_character: Some(place.start.character).filter(|_| fold.kind == ide::FoldKind::Block),
            // The closing brace stays to be seen.
            end_line: match fold.kind {
                ide::FoldKind::Block => place.end.line.saturating_sub(1).max(place.start.line),
                _ => place.end.line,
            },
            end_character: None,
            kind: match fold.kind {
                ide::FoldKind::Block => None,
                ide::FoldKind::Comment => Some(FoldingRangeKind::Comment),
                ide::FoldKind::Uses => Some(FoldingRangeKind::Imports),
            },
            collapsed_text: None,
        }
    };
    found.into_iter().map(one).filter(|fold| fold.end_line > fold.start_line).collect()
}

/// A growing selection.
pub(crate) fn selection(snapshot: &Snapshot, file: FileId, spans: Vec<Span>) -> SelectionRange {
    let mut outer = None;
    for span in spans.into_iter().rev() {
        outer = Some(Box::new(SelectionRange { range: range(snapshot, file, span), parent: outer }));
    }
    outer.map_or(SelectionRange { range: Range::default(), parent: None }, |found| *found)
}

/// Swatches.
pub(crate) fn swatches(snapshot: &Snapshot, file: FileId, found: Vec<ide::Swatch>) -> Vec<ColorInformation> {
    let one = |swatch: ide::Swatch| {
        let [red, green, blue] = swatch.shade.map(|part| f32::from(part) / 255.0);
        ColorInformation {
            range: range(snapshot, file, swatch.span),
            color: Color { red, green, blue, alpha: 1.0 },
        }
    };
    found.into_iter().map(one).collect()
}

/// The letters of the colours nearest to a shade.
pub(crate) fn presentations(color: Color, place: Range) -> Vec<ColorPresentation> {
    let byte = |part: f32| (part.clamp(0.0, 1.0) * 255.0).round() as u8;
    let shade = [byte(color.red), byte(color.green), byte(color.blue)];
    let one = |(code, name): (&str, &str)| ColorPresentation {
        label: format!("{code} {name}"),
        text_edit: Some(TextEdit { range: place, new_text: code.into() }),
        additional_text_edits: None,
    };
    ide::nearest_colours(shade).into_iter().take(4).map(one).collect()
}

/// Words that name files.
pub(crate) fn links(snapshot: &Snapshot, file: FileId, found: Vec<ide::Link>) -> Vec<DocumentLink> {
    let one = |link: ide::Link| DocumentLink {
        range: range(snapshot, file, link.span),
        target: uri::uri(&link.path),
        tooltip: None,
        data: None,
    };
    found.into_iter().map(one).collect()
}

/// A stop on the way of the current.
pub(crate) fn stop(snapshot: &Snapshot, file: FileId, stop: ide::Stop) -> Option<CallHierarchyItem> {
    let place = range(snapshot, stop.file, stop.span);
    Some(CallHierarchyItem {
        data: Some(json!({ "uri": snapshot.uri(file)?, "pin": stop.pin })),
        name: stop.pin,
        kind: SymbolKind::FIELD,
        tags: None,
        detail: Some(stop.over).filter(|over| !over.is_empty()),
        uri: snapshot.uri(stop.file)?,
        range: place,
        selection_range: place,
    })
}

/// Symbols found before the rest is left out.
const MOST_SYMBOLS: usize = 200;

/// Names of the whole workspace: of open texts as they are, of the others as they were last read.
#[allow(deprecated, reason = "the types have no other way to be built")]
pub(crate) fn workspace_symbols(snapshot: &Snapshot, wanted: &str) -> Vec<SymbolInformation> {
    let mut found = Vec::new();
    let files = snapshot.analysis.files();
    for (&file, document) in snapshot.documents.iter() {
        let mut waiting = snapshot.analysis.symbols(file);
        while let Some(symbol) = waiting.pop() {
            if let Some(rank) = ide::rank(&symbol.name, wanted) {
                let location =
                    Location { uri: document.uri.clone(), range: range(snapshot, file, symbol.focus) };
                found.push((rank, symbol.name, symbol_kind(symbol.kind), location, symbol.detail));
            }
            waiting.extend(symbol.children);
        }
    }
    for (path, indexed) in snapshot.analysis.index().iter() {
        if files.id(path).is_some_and(|file| snapshot.documents.contains_key(&file)) {
            continue;
        }
        for name in &indexed.names {
            let Some(rank) = ide::rank(&name.name, wanted) else { continue };
            let Some(uri) = uri::uri(path) else { continue };
            let place =
                |place: halfsplit_base::WirePosition| Position { line: place.line, character: place.column };
            let range = Range { start: place(name.place.0), end: place(name.place.1) };
            let location = Location { uri, range };
            found.push((
                rank,
                name.name.to_string(),
                symbol_kind(name.kind),
                location,
                name.detail.to_string(),
            ));
        }
    }
    found.sort_by(|a, b| (a.0, a.1.len(), &a.1, &a.3.uri).cmp(&(b.0, b.1.len(), &b.1, &b.3.uri)));
    found.truncate(MOST_SYMBOLS);
    let one =
        |(_, name, kind, location, detail): (u8, String, SymbolKind, Location, String)| SymbolInformation {
            name,
            kind,
            tags: None,
            deprecated: None,
            location,
            container_name: Some(detail).filter(|detail| !detail.is_empty()),
        };
    found.into_iter().map(one).collect()
}
