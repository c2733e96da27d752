//! Puts braces in order before the grammar reads them, in one pass over the tokens.
//!
//! Afterwards every `{` has its `}`: what was left out is put in where it most likely belongs,
//! what is too much is left out, and each of these is reported once. So the grammar never has to search
//! for an end, and a forgotten brace does not swallow the rest of the file.

use crate::{
    error::{Errors, SyntaxError},
    lexer::{Kind, Tokens},
    span::Span,
};

/// Deepest nesting that is read. Circuit text needs four.
pub const DEEPEST: usize = 32;

/// Tokens that say something, braces balanced.
pub(crate) struct Balanced {
    kinds: Vec<Kind>,
    /// The token of each; for a brace that was put in, the token before which it stands.
    tokens: Vec<u32>,
    /// Positions of braces that were put in, rising.
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
}

/// Balances the braces of a text.
pub(crate) fn balance(tokens: &Tokens, errors: &mut Errors) -> Balanced {
    let mut balanced = Balanced {
        kinds: Vec::with_capacity(tokens.len()),
        tokens: Vec::with_capacity(tokens.len()),
        put_in: Vec::new(),
    };
    let mut open: Vec<u32> = Vec::new();
    let mut too_deep = 0usize;
    for (token, kind) in tokens.kinds().iter().enumerate() {
        let token = token as u32;
        match kind {
            kind if kind.is_trivia() => {}
            Kind::LBrace if open.len() >= DEEPEST => {
                if too_deep == 0 {
                    errors.push_with(|| too_deep_error(tokens.span(token)));
                }
                too_deep += 1;
            }
            Kind::LBrace => {
                open.push(token);
                balanced.push(Kind::LBrace, token);
            }
            Kind::RBrace if too_deep > 0 => too_deep -= 1,
            Kind::RBrace => {
                if open.pop().is_some() {
                    balanced.push(Kind::RBrace, token);
                } else {
                    errors.push_with(|| {
                        SyntaxError::new("stray-brace", tokens.span(token), "this `}` closes nothing")
                    });
                }
            }
            kind => balanced.push(*kind, token),
        }
    }
    for token in open.into_iter().rev() {
        errors
            .push_with(|| SyntaxError::new("unclosed-brace", tokens.span(token), "this `{` is never closed"));
        balanced.put_in(Kind::RBrace, tokens.len() as u32);
    }
    balanced
}

fn too_deep_error(at: Span) -> SyntaxError {
    SyntaxError::new("too-deep", at, format!("blocks stand more than {DEEPEST} deep in one another here"))
        .help("a circuit needs four at most: a block inside a connector inside a part; deeper braces are not read")
}
