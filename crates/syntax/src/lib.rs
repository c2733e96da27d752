//! Circuit text to tokens to tree to facts.

mod span;

pub use span::Span;
