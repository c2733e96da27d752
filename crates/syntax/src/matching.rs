//! Statements to facts: lays each line beside the table's patterns.
//!
//! The matcher walks a pattern and a line together. Where they part it decides which of the two to
//! move on, reports that once, and keeps every value it could read.

mod given;
mod leftover;
mod quantities;
mod read;
mod statements;
mod words;

pub use self::given::{Argument, taken};
pub(crate) use self::statements::{facts, instance};

use self::{given::Givens, read::Read};
use crate::{
    error::{Errors, SyntaxError},
    fact::{Slot, Value},
    lexer::Kind,
    shape::{self, Part, Piece, Shape, SlotKind, Times},
    span::Span,
    tree::Tree,
};

/// A line being laid beside a pattern.
pub(crate) struct Matcher<'t> {
    tree: &'t Tree,
    /// Tokens of the line that say something; what is given for a parameter is numbered behind them.
    items: &'t [u32],
    givens: &'t Givens,
    /// The item to read next.
    at: usize,
    shape: &'static Shape,
    /// What has been read; lent, to spare an allocation a line.
    slots: &'t mut Vec<Slot>,
    /// Names of the first `looked_at` slots, each once.
    come: Vec<&'static str>,
    looked_at: usize,
    errors: &'t mut Errors,
    /// After a mismatch, until something fits again: further mismatches are consequences.
    confused: bool,
    /// Nothing has been reported yet.
    whole: bool,
}

impl<'t> Matcher<'t> {
    fn new(
        tree: &'t Tree,
        items: &'t [u32],
        givens: &'t Givens,
        shape: &'static Shape,
        slots: &'t mut Vec<Slot>,
        errors: &'t mut Errors,
    ) -> Self {
        Self {
            tree,
            items,
            givens,
            at: 0,
            shape,
            slots,
            come: Vec::new(),
            looked_at: 0,
            errors,
            confused: false,
            whole: true,
        }
    }

    /// Lays the whole line beside the shape's pattern. Whether all of it was good.
    fn run(mut self) -> bool {
        let mut pieces = self.shape.pieces.as_slice();
        if self.shape.opens_with_keyword() {
            // It led to this shape, if need be in spite of its spelling.
            pieces = pieces.get(1..).unwrap_or(&[]);
            self.at = 1;
        }
        self.sequence(pieces);
        self.leftover(pieces);
        self.whole
    }

    /// Reads pieces in order. Whether nothing was missing.
    fn sequence(&mut self, pieces: &'static [Piece]) -> bool {
        let mut complete = true;
        for (at, piece) in pieces.iter().enumerate() {
            let rest = pieces.get(at + 1..).unwrap_or(&[]);
            match piece.times {
                Times::Once => complete &= self.required(piece, rest),
                Times::Maybe => {
                    self.optional(piece);
                }
                Times::Many => while self.optional(piece) {},
                Times::Some => {
                    complete &= self.required(piece, rest);
                    while self.optional(piece) {}
                }
            }
        }
        complete
    }

    /// Reads a piece if it is there. Whether it was.
    fn optional(&mut self, piece: &'static Piece) -> bool {
        match &piece.part {
            Part::Word(_) | Part::Arrow => self.literal(&piece.part),
            Part::Slot { name, kind } => match self.read(kind, false) {
                Read::No => false,
                read => {
                    self.take(name, read);
                    true
                }
            },
            Part::Group(alternatives) => {
                let Some(alternative) = alternatives.iter().find(|pieces| self.starts(pieces)) else {
                    return false;
                };
                self.group(alternative);
                true
            }
        }
    }

    /// Reads a group that has begun. Half a group is worse than none: pairs would fall apart.
    fn group(&mut self, pieces: &'static [Piece]) {
        let before = self.slots.len();
        if !self.sequence(pieces) {
            self.slots.truncate(before);
        }
    }

    /// Reads a piece that must be there. Whether it was.
    fn required(&mut self, piece: &'static Piece, rest: &'static [Piece]) -> bool {
        let read = match &piece.part {
            Part::Word(_) | Part::Arrow => self.literal(&piece.part),
            Part::Slot { name, kind } => match self.read(kind, true) {
                Read::No => false,
                read => {
                    self.take(name, read);
                    true
                }
            },
            Part::Group(alternatives) => {
                let found = alternatives.iter().find(|pieces| self.starts(pieces));
                found.is_some_and(|pieces| self.sequence(pieces))
            }
        };
        if read {
            self.confused = false;
            return true;
        }
        if self.said_by_kind(piece) {
            return true;
        }
        self.mismatch(piece, rest)
    }

    /// Whether a piece may be left out because the part is of a kind that says it.
    fn said_by_kind(&mut self, piece: &Piece) -> bool {
        shape::is_said_by_kind(piece) && self.has_slot("as")
    }

    fn literal(&mut self, part: &Part) -> bool {
        let fits = self.literal_at(part, self.at);
        if fits {
            self.at += 1;
        }
        fits
    }

    fn literal_at(&self, part: &Part, at: usize) -> bool {
        match part {
            Part::Word(word) => {
                matches!(self.kind_at(at), Some(Kind::Word | Kind::AtLeast)) && self.text_at(at) == *word
            }
            Part::Arrow => matches!(self.kind_at(at), Some(Kind::Arrow | Kind::ArrowSlip)),
            _ => false,
        }
    }

    /// Whether a sequence could begin with the next item.
    fn starts(&self, pieces: &'static [Piece]) -> bool {
        self.starts_at(pieces, self.at)
    }

    fn starts_at(&self, pieces: &'static [Piece], at: usize) -> bool {
        if let [
            Piece { part: Part::Slot { kind: SlotKind::Pin, .. }, .. },
            Piece { part: Part::Word(word), .. },
            ..,
        ] = pieces
        {
            // Any word can be a pin; without what follows a pin here, it must at least look like one.
            let looks = self.text_at(at).contains(|letter: char| letter == ':' || letter.is_ascii_digit());
            if !looks && self.text_at(at + 1) != *word {
                return false;
            }
        }
        for piece in pieces {
            let fits = match &piece.part {
                Part::Word(_) | Part::Arrow => self.literal_at(&piece.part, at),
                Part::Slot { kind, .. } => matches!(self.read_at(kind, at, false), Read::Yes(..)),
                Part::Group(alternatives) => alternatives.iter().any(|pieces| self.starts_at(pieces, at)),
            };
            if fits || matches!(piece.times, Times::Once | Times::Some) {
                return fits;
            }
        }
        false
    }

    /// Keeps what was read and moves on behind it.
    fn take(&mut self, name: &'static str, read: Read) {
        let first = self.at;
        let (value, next) = match read {
            Read::No => return,
            Read::Yes(value, next) => (Some(value), next),
            Read::Slip(value, next, error) => {
                self.report(*error);
                (value, next)
            }
        };
        self.at = next;
        if let Some(value) = value {
            let span = self.place_of(first, next);
            self.slots.push(Slot { name, value, span });
        }
    }

    fn read(&self, kind: &'static SlotKind, required: bool) -> Read {
        self.read_at(kind, self.at, required)
    }

    fn report(&mut self, error: SyntaxError) {
        self.whole = false;
        self.errors.push(error);
    }

    /// Reports a mismatch, unless it follows from one already reported.
    fn report_mismatch(&mut self, error: impl FnOnce(&Self) -> SyntaxError) {
        self.whole = false;
        if !self.confused && !self.errors.full() {
            let error = error(self);
            self.errors.push(error);
        }
        self.confused = true;
    }

    fn kind_at(&self, at: usize) -> Option<Kind> {
        self.items.get(at).map(|token| match self.givens.get(*token) {
            Some(given) => given.kind,
            None => self.tree.tokens().kind(*token),
        })
    }

    fn span_at(&self, at: usize) -> Span {
        match self.items.get(at) {
            Some(token) => match self.givens.get(*token) {
                Some(given) => given.span,
                None => self.tree.tokens().span(*token),
            },
            None => Span::empty(self.line_end()),
        }
    }

    /// As [`Matcher::span_of`], but where a parameter was written and not what is given for it.
    fn place_of(&self, first: usize, next: usize) -> Span {
        let place = |at: usize| match self.items.get(at).and_then(|token| self.givens.get(*token)) {
            Some(given) => given.place,
            None => self.span_at(at),
        };
        if next <= first { place(first) } else { place(first).to(place(next - 1)) }
    }

    fn slice(&self, span: Span) -> &'t str {
        self.givens.slice(span).unwrap_or_else(|| self.tree.slice(span))
    }

    /// From one item up to, without, another.
    fn span_of(&self, first: usize, next: usize) -> Span {
        let start = self.span_at(first);
        if next <= first { start } else { start.to(self.span_at(next - 1)) }
    }

    fn text_at(&self, at: usize) -> &'t str {
        self.items.get(at).map_or("", |token| match self.givens.get(*token) {
            Some(given) => &given.text,
            None => self.tree.token_text(*token),
        })
    }

    /// Whether an item is written against the one before it.
    fn touches(&self, at: usize) -> bool {
        at > 0 && at < self.items.len() && self.span_at(at - 1).end == self.span_at(at).start
    }

    /// The end of the line's last item.
    fn line_end(&self) -> u32 {
        self.items.last().map_or(0, |token| match self.givens.get(*token) {
            Some(given) => given.place.end,
            None => self.tree.tokens().span(*token).end,
        })
    }

    /// Whether a slot has been read. Looks at each slot once, however often it is asked: a line may repeat without end.
    fn has_slot(&mut self, name: &str) -> bool {
        self.looked_at = self.looked_at.min(self.slots.len());
        for slot in self.slots.get(self.looked_at..).unwrap_or(&[]) {
            if !self.come.contains(&slot.name) {
                self.come.push(slot.name);
            }
        }
        self.looked_at = self.slots.len();
        self.come.contains(&name)
    }

    /// The name that the line declares, if it has been read: for messages.
    fn subject(&self) -> String {
        let name = self.slots.iter().find(|slot| slot.name == "name").map(|slot| &slot.value);
        match name {
            Some(Value::Word(name)) => format!("`{} {name}`", self.shape.keyword),
            _ => format!("`{}`", self.shape.keyword),
        }
    }
}

#[cfg(test)]
mod tests;
