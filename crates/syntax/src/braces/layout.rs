//! What the braces of a text look like as a whole, and how far its lines stand in.

use crate::{
    lexer::{Kind, Tokens},
    span::Span,
};

/// A first look at all braces, before any is judged.
pub(super) struct Layout {
    /// Opening braces without a closing one.
    pub(super) unclosed: usize,
    /// Closing braces without an opening one.
    pub(super) stray: usize,
}

impl Layout {
    pub(super) fn of(tokens: &Tokens) -> Self {
        let mut layout = Self { unclosed: 0, stray: 0 };
        for kind in tokens.kinds() {
            match kind {
                Kind::LBrace => layout.unclosed += 1,
                Kind::RBrace if layout.unclosed > 0 => layout.unclosed -= 1,
                Kind::RBrace => layout.stray += 1,
                _ => {}
            }
        }
        layout
    }
}

/// How far a line stands in: spaces count one, tabs go to the next multiple of four, a byte-order mark counts nothing.
pub(super) fn width(text: &str, space: Span) -> u32 {
    let mut width = 0;
    for letter in text.get(space.range()).unwrap_or("").chars() {
        width = match letter {
            '\t' => (width / 4 + 1) * 4,
            '\u{FEFF}' => width,
            _ => width + 1,
        };
    }
    width
}
