//! The lossless tree: the text, its tokens and its statements.

use std::{ops::Range, sync::Arc};

use crate::{
    lexer::{Kind, Tokens},
    span::Span,
};

/// A statement's number, in reading order.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct StatementId(pub u32);

/// One line of items, with the block behind it if it has one.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Statement {
    /// The statement whose block holds this one; `None` at the top of the file.
    pub parent: Option<StatementId>,
    /// Tokens of the line, spaces between them included, without the block. Empty for a block without a line.
    pub items: Range<u32>,
    /// The block.
    pub block: Option<Block>,
    /// From the first item to the last item or closing brace.
    pub span: Span,
    /// One past the last statement inside this one.
    next: u32,
}

/// The braces of a block.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Block {
    /// The token `{`; `None` where it was left out.
    pub open: Option<u32>,
    /// The token `}`; `None` where it was left out.
    pub close: Option<u32>,
}

/// A text, its tokens and its statements. Cheap to share, never changed.
#[derive(Clone, Debug)]
pub struct Tree {
    text: Arc<str>,
    tokens: Tokens,
    statements: Vec<Statement>,
}

impl Tree {
    pub(crate) fn new(text: Arc<str>, tokens: Tokens) -> Self {
        Self { text, tokens, statements: Vec::new() }
    }

    pub(crate) fn open(
        &mut self,
        parent: Option<StatementId>,
        items: Range<u32>,
        block: Option<Block>,
    ) -> StatementId {
        let id = StatementId(self.statements.len() as u32);
        let first = if items.is_empty() {
            block.and_then(|block| block.open).unwrap_or(items.start)
        } else {
            items.start
        };
        let start = self.tokens.start(first);
        let end = if items.is_empty() { start } else { self.tokens.start(items.end) };
        self.statements.push(Statement { parent, items, block, span: Span::new(start, end), next: id.0 + 1 });
        id
    }

    /// Ends a statement whose block reaches to `inside` at least. Returns where it ends.
    pub(crate) fn close(&mut self, id: StatementId, inside: u32) -> u32 {
        let next = self.statements.len() as u32;
        let Some(statement) = self.statements.get_mut(id.0 as usize) else {
            return inside;
        };
        statement.next = next;
        let brace = statement.block.and_then(|block| block.close.or(block.open));
        let brace = brace.map_or(0, |token| self.tokens.span(token).end);
        statement.span.end = statement.span.end.max(inside).max(brace);
        statement.span.end
    }

    /// The text, byte for byte as it came in.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// A stretch of the text; empty where the span does not fit.
    pub fn slice(&self, span: Span) -> &str {
        self.text.get(span.range()).unwrap_or("")
    }

    /// All tokens.
    pub fn tokens(&self) -> &Tokens {
        &self.tokens
    }

    /// The text of a token.
    pub fn token_text(&self, token: u32) -> &str {
        self.slice(self.tokens.span(token))
    }

    /// A statement by its number.
    pub fn statement(&self, id: StatementId) -> Option<&Statement> {
        self.statements.get(id.0 as usize)
    }

    /// All statements in reading order, inner ones behind the one that holds them.
    pub fn statements(&self) -> &[Statement] {
        &self.statements
    }

    /// The statements at the top of the file.
    pub fn top(&self) -> impl Iterator<Item = StatementId> + '_ {
        self.siblings(0, self.statements.len() as u32)
    }

    /// The statements directly inside one.
    pub fn children(&self, id: StatementId) -> impl Iterator<Item = StatementId> + '_ {
        let end = self.statement(id).map_or(0, |statement| statement.next);
        self.siblings(id.0 + 1, end)
    }

    fn siblings(&self, mut at: u32, end: u32) -> impl Iterator<Item = StatementId> + '_ {
        std::iter::from_fn(move || {
            let statement = self.statements.get(at as usize).filter(|_| at < end)?;
            let id = StatementId(at);
            at = statement.next;
            Some(id)
        })
    }

    /// The tokens of a statement's line that say something, in order.
    pub fn items(&self, id: StatementId) -> impl Iterator<Item = u32> + '_ {
        let items = self.statement(id).map_or(0..0, |statement| statement.items.clone());
        items.filter(|token| is_item(self.tokens.kind(*token)))
    }

    /// The word a statement opens with; empty where it has none.
    pub fn keyword(&self, id: StatementId) -> &str {
        self.items(id).next().map_or("", |token| self.token_text(token))
    }

    /// The innermost statement whose text or block touches a byte offset.
    pub fn statement_at(&self, offset: u32) -> Option<StatementId> {
        let after = self.statements.partition_point(|statement| statement.span.start <= offset);
        let mut at = after.checked_sub(1).map(|last| StatementId(last as u32));
        while let Some(id) = at {
            let statement = self.statement(id)?;
            if statement.span.touches(offset) {
                return Some(id);
            }
            at = statement.parent;
        }
        None
    }
}

/// Whether a token can be part of a statement's line.
pub(crate) fn is_item(kind: Kind) -> bool {
    !kind.is_trivia() && !matches!(kind, Kind::Newline | Kind::LBrace | Kind::RBrace)
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_innermost_statement_at_an_offset() {
        let text = "halfsplit 1\n\nsensor B4 {\n  reach 5 min\n}\n# end\nsplice SP1";
        let tree = crate::parse(text).tree;
        let keyword = |at: &str| {
            let offset = text.find(at).unwrap() as u32;
            tree.statement_at(offset).map(|id| tree.keyword(id))
        };
        assert_eq!(keyword("halfsplit"), Some("halfsplit"));
        assert_eq!(keyword("\nsensor"), None);
        assert_eq!(keyword("B4"), Some("sensor"));
        assert_eq!(keyword("min"), Some("reach"));
        assert_eq!(keyword("}"), Some("sensor"));
        assert_eq!(keyword(" end"), None);
        assert_eq!(keyword("SP1"), Some("splice"));
        assert_eq!(tree.statement_at(text.len() as u32).map(|id| tree.keyword(id)), Some("splice"));
    }
}
