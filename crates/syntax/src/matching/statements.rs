//! Walks the tree, finds each statement's shape, and gathers the facts.

use super::Matcher;
use crate::{
    error::{Errors, SyntaxError},
    fact::Fact,
    lexer::Kind,
    nearest::nearest,
    shape::{self, Inside, Part, Shape},
    span::Span,
    tree::{StatementId, Tree},
};

/// All facts of a file.
pub(crate) fn facts(tree: &Tree, errors: &mut Errors) -> Vec<Fact> {
    let mut walk = Walk { tree, errors, lifted: Vec::new() };
    walk.header();
    let mut facts = Vec::new();
    for id in tree.top() {
        if let Some(fact) = walk.statement(id, shape::top(), shape::TOP) {
            facts.push(fact);
        }
        facts.append(&mut walk.lifted);
    }
    facts
}

struct Walk<'t> {
    tree: &'t Tree,
    errors: &'t mut Errors,
    /// Statements found in a block that belong at the top.
    lifted: Vec<Fact>,
}

impl Walk<'_> {
    fn statement(&mut self, id: StatementId, inside: Inside, place: &str) -> Option<Fact> {
        let tree = self.tree;
        let statement = tree.statement(id)?;
        let items: Vec<u32> =
            tree.items(id).filter(|token| tree.tokens().kind(*token) != Kind::Unknown).collect();
        let first = *items.first()?;
        let keyword = Span::new(tree.tokens().start(first), tree.tokens().span(first).end);
        let (shape, at_home) = self.shape_of(id, &items, inside, place)?;
        let (slots, whole) = Matcher::new(tree, &items, shape, self.errors).run();
        let mut fact = Fact {
            shape,
            statement: id,
            span: statement.span,
            keyword_span: keyword,
            slots,
            facts: Vec::new(),
            whole,
        };
        let within = shape.inside();
        if let Some(block) = statement.block.filter(|_| within.is_empty()) {
            let brace = block.open.map_or(keyword, |token| tree.tokens().span(token));
            self.errors.push_with(|| {
                SyntaxError::new(
                    "wrong-place",
                    brace,
                    format!("`{}` takes no block; everything about it stands on its own line", shape.keyword),
                )
            });
        } else {
            for child in tree.children(id) {
                fact.facts.extend(self.statement(child, within, shape.keyword));
            }
        }
        if at_home {
            return Some(fact);
        }
        if shape.allowed_in(shape::TOP) {
            self.lifted.push(fact);
        }
        None
    }

    /// The shape that a statement follows, and whether it may stand here.
    fn shape_of(
        &mut self,
        id: StatementId,
        items: &[u32],
        inside: Inside,
        place: &str,
    ) -> Option<(&'static Shape, bool)> {
        let tree = self.tree;
        let first = *items.first()?;
        let word = tree.token_text(first);
        if let Some(shape) = inside.find(word) {
            return Some((shape, true));
        }
        if let Some(shape) = inside.wordless().filter(|shape| opens(tree, items, shape)) {
            return Some((shape, true));
        }
        let _ = (id, place);
        let at = tree.tokens().span(first);
        let known = shape::anywhere(word).next();
        if let Some(shape) = known {
            self.errors
                .push_with(|| SyntaxError::new("wrong-place", at, format!("`{word}` does not belong here")));
            return Some((shape, false));
        }
        let words = inside.shapes().filter(|shape| shape.opens_with_keyword()).map(|shape| shape.keyword);
        let near = nearest(word, words);
        self.errors.push_with(|| SyntaxError::new("unknown-word", at, format!("`{word}` is no statement")));
        near.and_then(|near| inside.find(near)).map(|shape| (shape, true))
    }

    fn header(&mut self) {
        let tree = self.tree;
        let first = tree.top().next();
        if !first.is_some_and(|id| tree.keyword(id) == "halfsplit") {
            self.errors.push_with(|| {
                SyntaxError::new("missing-header", Span::empty(0), "the first line is not `halfsplit 1`")
            });
        }
    }
}

/// Whether a line can be one that opens with a slot: with a number, or with a word that is followed by what the pattern wants.
fn opens(tree: &Tree, items: &[u32], shape: &Shape) -> bool {
    let kind = |at: usize| items.get(at).map(|token| tree.tokens().kind(*token));
    if matches!(kind(0), Some(Kind::Number | Kind::CommaNumber)) {
        return true;
    }
    match shape.pieces.get(1).map(|piece| &piece.part) {
        Some(Part::Word(word)) => items.get(1).is_some_and(|token| tree.token_text(*token) == *word),
        _ => false,
    }
}
