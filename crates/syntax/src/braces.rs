//! Puts braces in order before the grammar reads them, in one pass over the tokens.
//!
//! Afterwards every `{` has its `}`: what was left out is put in where it most likely belongs, what is too
//! much is left out, and each of these is reported once. So the grammar never has to search for an end, and a
//! forgotten brace does not swallow the rest of the file.
//!
//! Where a block ends is guessed from how far lines stand in and from what the table allows in a block. Braces
//! that balance are taken at their word unless both speak against them.

mod layout;
mod report;

use self::layout::Layout;
use crate::{
    error::Errors,
    lexer::{Kind, Tokens},
    shape::{self, Inside},
    span::Span,
};

/// Deepest nesting that is read. Circuit text needs four.
pub const DEEPEST: usize = 32;

/// Tokens that say something, braces balanced.
pub(crate) struct Balanced {
    kinds: Vec<Kind>,
    /// The token of each; for one that was put in, the token before which it stands.
    tokens: Vec<u32>,
    /// Positions that were put in, rising.
    put_in: Vec<u32>,
}

impl Balanced {
    /// Kinds, as the grammar reads them.
    pub(crate) fn kinds(&self) -> &[Kind] {
        &self.kinds
    }

    /// The token at a position.
    pub(crate) fn token(&self, at: u32) -> u32 {
        self.tokens.get(at as usize).copied().unwrap_or(u32::MAX)
    }

    /// The token at a position, unless it was put in.
    pub(crate) fn written(&self, at: u32) -> Option<u32> {
        match self.put_in.binary_search(&at) {
            Ok(_) => None,
            Err(_) => Some(self.token(at)),
        }
    }

    /// Where a position stands in the text.
    pub(crate) fn place(&self, tokens: &Tokens, at: u32) -> Span {
        match self.written(at) {
            Some(token) => tokens.span(token),
            None => Span::empty(tokens.start(self.token(at))),
        }
    }

    fn push(&mut self, kind: Kind, token: u32) {
        self.kinds.push(kind);
        self.tokens.push(token);
    }

    fn put_in(&mut self, kind: Kind, before: u32) {
        self.put_in.push(self.kinds.len() as u32);
        self.push(kind, before);
    }

    /// Takes back line ends, so that a block can follow its line.
    fn join_lines(&mut self) {
        while self.kinds.last() == Some(&Kind::Newline) {
            let at = self.kinds.len() as u32 - 1;
            if self.put_in.last() == Some(&at) {
                self.put_in.pop();
            }
            self.kinds.pop();
            self.tokens.pop();
        }
    }
}

/// A block that is open.
struct Open {
    /// The token `{`; `None` where it was left out.
    brace: Option<u32>,
    /// First token of the line that the block belongs to, if it has one.
    line: Option<u32>,
    /// How far that line stands in.
    indent: u32,
    /// Whether a line of the block stands further in: then the author uses indentation.
    deeper: bool,
    inside: Inside,
}

/// A line without a block, as long as nothing follows it.
#[derive(Clone, Copy)]
struct Above {
    first: u32,
    last: u32,
    indent: u32,
}

/// Balances the braces of a text.
pub(crate) fn balance(text: &str, tokens: &Tokens, errors: &mut Errors) -> Balanced {
    let pass = Pass {
        text,
        tokens,
        errors,
        layout: Layout::of(tokens),
        out: Balanced {
            kinds: Vec::with_capacity(tokens.len()),
            tokens: Vec::with_capacity(tokens.len()),
            put_in: Vec::new(),
        },
        open: Vec::new(),
        too_deep: 0,
        indent: 0,
        line_start: true,
        first: None,
        above: None,
    };
    pass.run()
}

struct Pass<'t, 'e> {
    text: &'t str,
    tokens: &'t Tokens,
    errors: &'e mut Errors,
    layout: Layout,
    out: Balanced,
    open: Vec<Open>,
    /// Braces beyond the deepest level that are still open.
    too_deep: usize,
    /// How far the current line stands in.
    indent: u32,
    line_start: bool,
    /// First token of the current statement.
    first: Option<u32>,
    /// The line above, if it opened no block.
    above: Option<Above>,
}

impl<'t> Pass<'t, '_> {
    fn run(mut self) -> Balanced {
        for (token, kind) in self.tokens.kinds().iter().enumerate() {
            let token = token as u32;
            match *kind {
                Kind::Space if self.line_start => {
                    self.indent = layout::width(self.text, self.tokens.span(token))
                }
                kind if kind.is_trivia() => {}
                Kind::Newline => self.newline(token),
                Kind::LBrace => self.opening(token),
                Kind::RBrace => self.closing(token),
                kind => self.item(kind, token),
            }
        }
        self.finish()
    }

    fn newline(&mut self, token: u32) {
        self.out.push(Kind::Newline, token);
        self.first = None;
        self.line_start = true;
        self.indent = 0;
    }

    fn item(&mut self, kind: Kind, token: u32) {
        if self.line_start {
            if self.too_deep == 0 {
                self.close_before(token);
                self.open_before(token);
            }
            if let Some(open) = self.open.last_mut() {
                open.deeper |= self.indent > open.indent;
            }
        }
        self.line_start = false;
        let first = *self.first.get_or_insert(token);
        self.above = Some(Above { first, last: token, indent: self.indent });
        self.out.push(kind, token);
    }

    fn opening(&mut self, token: u32) {
        if self.open.len() >= DEEPEST {
            if self.too_deep == 0 {
                self.report_too_deep(token);
            }
            self.too_deep += 1;
            self.first = None;
            return;
        }
        let mut line = self.first;
        let mut indent = self.indent;
        if self.line_start {
            if let Some(above) = self.above.filter(|above| self.takes_block(above.first)) {
                self.report_brace_below(above.last, token);
                self.out.join_lines();
                line = Some(above.first);
                indent = above.indent;
            }
        }
        self.line_start = false;
        self.push_open(Some(token), line, indent);
        self.out.push(Kind::LBrace, token);
    }

    fn push_open(&mut self, brace: Option<u32>, line: Option<u32>, indent: u32) {
        let keyword = line.map_or("", |token| self.word(token));
        let inside = shape::inside(keyword);
        self.open.push(Open { brace, line, indent, deeper: false, inside });
        self.first = None;
        self.above = None;
    }

    fn closing(&mut self, token: u32) {
        let at_line_start = std::mem::replace(&mut self.line_start, false);
        self.first = None;
        self.above = None;
        if self.too_deep > 0 {
            self.too_deep -= 1;
            return;
        }
        if at_line_start && self.layout.unclosed > 0 {
            // A brace that stands left of its block closes one further out.
            let reaches = self.open.iter().any(|open| open.indent <= self.indent);
            while reaches
                && self.layout.unclosed > 0
                && self.open.last().is_some_and(|open| open.indent > self.indent)
            {
                self.close_unclosed(token);
            }
        }
        let misplaced = self.open.last().is_some_and(|open| at_line_start && open.indent != self.indent);
        if self.open.is_empty() || misplaced && self.layout.stray > 0 {
            self.layout.stray = self.layout.stray.saturating_sub(1);
            self.report_stray(token);
            return;
        }
        if self.open.pop().is_some_and(|open| open.brace.is_none()) {
            self.layout.stray = self.layout.stray.saturating_sub(1);
        }
        self.out.push(Kind::RBrace, token);
    }

    /// Closes blocks that a line cannot belong to, going by its first word and by how far it stands in.
    fn close_before(&mut self, token: u32) {
        while let Some(open) = self.open.last() {
            if self.indent > open.indent {
                return;
            }
            let invented = open.brace.is_none();
            let fits_here = self.fits(open.inside, token);
            let outer = self.open.get(..self.open.len() - 1).unwrap_or(&[]);
            let fits_outside =
                self.fits(shape::top(), token) || outer.iter().any(|open| self.fits(open.inside, token));
            let evidence = open.deeper || self.indent < open.indent || self.layout.unclosed > 0;
            let close = match (fits_here, fits_outside) {
                (false, true) => evidence || invented,
                (true, true) => open.deeper && self.layout.unclosed > 0,
                _ => false,
            };
            let ends_by_indent = invented && self.layout.stray == 0;
            if !close && !ends_by_indent {
                return;
            }
            self.close_unclosed(token);
        }
    }

    /// Opens a block that was meant by a line standing further in than the one above, which is the likely place for it.
    fn open_before(&mut self, token: u32) {
        let Some(above) = self.above.filter(|above| self.indent > above.indent) else {
            return;
        };
        let here = self.open.last().map_or(shape::top(), |open| open.inside);
        let meant = shape::inside(self.word(above.first));
        // A line that may stand here as well was meant for a block only if a closing brace is left over.
        let fits_here = self.fits(here, token) && self.layout.stray == 0;
        if self.open.len() >= DEEPEST || fits_here || !self.fits(meant, token) {
            return;
        }
        self.report_missing_open(above.first, above.last);
        self.out.join_lines();
        self.out.put_in(Kind::LBrace, token);
        self.push_open(None, Some(above.first), above.indent);
    }

    /// Puts a closing brace in for the innermost block, before a token.
    fn close_unclosed(&mut self, before: u32) {
        let Some(open) = self.open.pop() else { return };
        self.out.put_in(Kind::RBrace, before);
        self.out.put_in(Kind::Newline, before);
        self.above = None;
        if open.brace.is_some() {
            self.layout.unclosed = self.layout.unclosed.saturating_sub(1);
            // A block without a line is reported for that; once is enough.
            if open.line.is_some() {
                self.report_unclosed(&open, before);
            }
        }
    }

    fn finish(mut self) -> Balanced {
        let end = self.tokens.len() as u32;
        while !self.open.is_empty() {
            self.close_unclosed(end);
        }
        self.out
    }

    fn word(&self, token: u32) -> &'t str {
        self.text.get(self.tokens.span(token).range()).unwrap_or("")
    }

    /// Whether a line that opens with this token may stand in a place.
    fn fits(&self, inside: Inside, token: u32) -> bool {
        match self.tokens.kind(token) {
            Kind::Word => inside.find(self.word(token)).is_some(),
            Kind::Number => inside.wordless().is_some(),
            _ => false,
        }
    }

    fn takes_block(&self, first: u32) -> bool {
        !shape::inside(self.word(first)).is_empty()
    }
}

#[cfg(test)]
mod tests;
