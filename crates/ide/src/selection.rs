//! What a growing selection takes in: word, value, line, statement, block, what holds it, file.

use halfsplit_base::Span;
use halfsplit_syntax::Tree;

use crate::scene::Scene;

/// The stretches around an offset, smallest first, each inside the next.
pub(crate) fn selections(scene: Scene, offset: u32) -> Vec<Span> {
    let tree = scene.tree();
    let whole = Span::new(0, tree.text().len() as u32);
    let mut found = Vec::new();
    if let Some((_, token)) = scene.token_at(offset) {
        let text = tree.slice(token);
        // Inside a dotted name its pieces come first, inside quotation marks the words.
        let at = (offset - token.start) as usize;
        let quoted = text.starts_with('"') && text.ends_with('"') && text.len() > 1;
        if quoted && at > 0 && at < text.len() {
            found.push(Span::new(token.start + 1, token.end - 1));
        } else if let (Some(before), Some(after)) = (text.get(..at), text.get(at..)) {
            let start = before.rfind(['.', ':', '/']).map_or(0, |dot| dot + 1);
            let end = after.find(['.', ':', '/']).map_or(text.len(), |dot| at + dot);
            found.push(Span::new(token.start + start as u32, token.start + end as u32));
        }
        found.push(token);
        let slots = scene.fact_at(offset).into_iter().flat_map(|fact| &fact.slots);
        found.extend(slots.map(|slot| slot.span).find(|span| span.touches(offset)));
    }
    let mut at = tree.statement_at(offset);
    while let Some(id) = at {
        let Some(statement) = tree.statement(id) else { break };
        let line = items(tree, id);
        found.extend(line);
        if let Some(block) = statement.block {
            let span = |token| tree.tokens().span(token);
            let inner = Span::new(
                block.open.map_or(statement.span.start, |open| span(open).end),
                block.close.map_or(statement.span.end, |close| span(close).start),
            );
            found.push(inner);
        }
        found.push(statement.span);
        at = statement.parent;
    }
    found.push(whole);
    let holds = |outer: Span, inner: Span| outer.start <= inner.start && inner.end <= outer.end;
    let mut nested: Vec<Span> = Vec::new();
    for span in found {
        let around =
            span.touches(offset) && nested.last().is_none_or(|last| holds(span, *last) && span != *last);
        if around {
            nested.push(span);
        }
    }
    nested
}

/// A statement's own line without its block.
fn items(tree: &Tree, id: halfsplit_syntax::StatementId) -> Option<Span> {
    let first = tree.items(id).next()?;
    let last = tree.items(id).last()?;
    Some(tree.tokens().span(first).to(tree.tokens().span(last)))
}

#[cfg(test)]
mod tests {
    use crate::testing::marked;

    #[test]
    fn a_selection_grows_from_piece_to_file() {
        let text =
            "halfsplit 1\nsensor B4 \"20 °C 🔧\" {\n  draws 8 mA at 5 V  X34.part:$02 -> X34:1 # 中\n}\n";
        let (analysis, at) = marked(text);
        let text = text.replace("$0", "");
        let found: Vec<&str> = analysis.selections(at).into_iter().map(|span| &text[span.range()]).collect();
        assert_eq!(found[..3], ["2", "X34.part:2", "draws 8 mA at 5 V  X34.part:2 -> X34:1"]);
        assert!(found[3].starts_with("\n  draws") && found[4].starts_with("sensor"), "{found:?}");
        assert_eq!(found.last(), Some(&text.as_str()));
    }
}
