//! Places in a text, in bytes.

use std::ops::Range;

/// A stretch of text: byte offsets from the start of the file, end exclusive.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Span {
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// From `start` up to, without, `end`.
    pub fn new(start: u32, end: u32) -> Self {
        Self { start, end: end.max(start) }
    }

    /// An empty span: a place between two bytes.
    pub fn empty(at: u32) -> Self {
        Self { start: at, end: at }
    }

    /// The smallest span that covers both.
    pub fn to(self, other: Self) -> Self {
        Self { start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// Whether nothing lies in it.
    pub fn is_empty(self) -> bool {
        self.start >= self.end
    }

    /// Whether a byte offset lies in it, its end included, as a text cursor does.
    pub fn touches(self, offset: u32) -> bool {
        self.start <= offset && offset <= self.end
    }

    /// The place behind it.
    pub fn end_point(self) -> Self {
        Self::empty(self.end)
    }

    /// As a range for slicing.
    pub fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }
}

/// A value and where it was written.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Spanned<T> {
    /// What was written.
    pub value: T,
    /// Where.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// A value at a place.
    pub fn new(value: T, span: Span) -> Self {
        Self { value, span }
    }

    /// Another value at the same place.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Spanned<U> {
        Spanned::new(change(self.value), self.span)
    }
}
