//! A stretch of text, in bytes.

use std::ops::Range;

/// A half-open range of byte offsets into one text.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Span {
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// The span from `start` up to, not including, `end`.
    pub fn new(start: u32, end: u32) -> Span {
        Span { start, end: end.max(start) }
    }

    /// Whether an offset lies inside or at either edge, as a cursor does.
    pub fn touches(self, offset: u32) -> bool {
        self.start <= offset && offset <= self.end
    }

    /// The smallest span that holds both.
    pub fn to(self, other: Span) -> Span {
        Span { start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// Indices into the text.
    pub fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }
}
