//! Where a line and its pattern part: values that are missing, and text that nothing takes.

use super::{Matcher, read::Read};
use crate::{
    error::SyntaxError,
    lexer::Kind,
    nearest::nearest,
    shape::{Part, Piece, SlotKind, Times},
    span::Span,
    units::Dimension,
};

impl Matcher<'_> {
    /// A required piece does not fit the next item. Decides which of the two to pass over, and whether the piece was
    /// read in the end.
    pub(super) fn mismatch(&mut self, piece: &'static Piece, rest: &'static [Piece]) -> bool {
        if self.at >= self.items.len() {
            self.report_mismatch(|matcher| matcher.missing(piece, None));
            return false;
        }
        if self.replaced(piece) {
            self.at += 1;
            self.confused = false;
            return true;
        }
        // The line goes on with something that comes later: the piece was left out.
        if self.starts(rest) && !rest.is_empty() || self.is_connective(piece) && self.fits_next(rest) {
            let connective = self.is_connective(piece);
            if connective && self.stands_behind_unknown() {
                // `A - B`: the character in the connective's place has been reported with the tokens.
                self.whole = false;
            } else {
                self.report_mismatch(|matcher| matcher.missing(piece, Some(matcher.at)));
            }
            return connective;
        }
        // The piece comes right behind: something stands before it that nothing takes.
        if self.starts_at(std::slice::from_ref(piece), self.at + 1) {
            self.report_mismatch(|matcher| matcher.unexpected(matcher.at, matcher.at + 1));
            self.at += 1;
            self.confused = false;
            return self.required(piece, rest);
        }
        self.report_mismatch(|matcher| matcher.instead(piece));
        self.at += 1;
        false
    }

    /// A connective word or arrow that another stands in for: `:` or `to` for `->`, `->` for `to`, `Key` for `key`.
    fn replaced(&mut self, piece: &Piece) -> bool {
        let at = self.at;
        let found = self.kind_at(at);
        let text = self.text_at(at);
        let span = self.span_at(at);
        let error = match &piece.part {
            Part::Arrow
                if text == "to" || matches!(found, Some(Kind::Colon | Kind::Range | Kind::RangeSlip)) =>
            {
                SyntaxError::new(
                    "missing-arrow",
                    span,
                    format!("`{text}` stands where the direction belongs"),
                )
                .help("direction, from where to where the current flows, is written `->`")
                .fix(span, "->", "write ->")
            }
            Part::Word("to")
                if matches!(found, Some(Kind::Arrow | Kind::ArrowSlip | Kind::Colon | Kind::Range)) =>
            {
                SyntaxError::new(
                    "missing-to",
                    span,
                    format!("`{text}` stands between the two ends of {}", self.subject()),
                )
                .help("the ends of a wire are joined by the word `to`; a wire has no direction")
                .fix(span, "to", "write to")
            }
            Part::Word(word @ "cavities") if COUNTED.contains(&text) => SyntaxError::new(
                "unknown-word",
                span,
                format!("`{text}` is not a word of `{}`", self.shape.keyword),
            )
            .help("the places in a connector are counted as `cavities`")
            .fix(span, *word, format!("write {word}")),
            Part::Word(word) if found == Some(Kind::Word) && nearest(text, [*word].into_iter()).is_some() => {
                SyntaxError::new(
                    "unknown-word",
                    span,
                    format!("`{text}` is not a word of `{}`", self.shape.keyword),
                )
                .help(format!("did you mean `{word}`?"))
                .fix(span, *word, format!("write {word}"))
            }
            _ => return false,
        };
        if self.stands_behind_unknown() {
            // `3-way`: the character before it has been reported with the tokens.
            self.whole = false;
        } else {
            self.report(error);
        }
        true
    }

    fn is_connective(&self, piece: &Piece) -> bool {
        matches!(piece.part, Part::Word(_) | Part::Arrow)
    }

    /// Whether a character that means nothing stands right before the next item.
    fn stands_behind_unknown(&self) -> bool {
        let tokens = self.tree.tokens();
        let Some(token) = self.items.get(self.at).filter(|token| (**token as usize) < tokens.len()) else {
            return false;
        };
        let before = (0..*token).rev().map(|token| tokens.kind(token)).find(|kind| *kind != Kind::Space);
        before == Some(Kind::Unknown)
    }

    /// Whether the piece behind a connective fits the next item.
    fn fits_next(&self, rest: &'static [Piece]) -> bool {
        rest.first().is_some_and(|piece| match &piece.part {
            Part::Slot { kind, .. } => !matches!(self.read_at(kind, self.at, true), Read::No),
            part => self.literal_at(part, self.at),
        })
    }

    /// A piece was left out, at the line's end or before an item.
    fn missing(&self, piece: &Piece, before: Option<usize>) -> SyntaxError {
        let at = match before {
            Some(at) => self.span_at(at),
            None => Span::empty(self.line_end()),
        };
        let line = format!("written like this: `{}`", self.example());
        match &piece.part {
            Part::Arrow => {
                let error = SyntaxError::new(
                    "missing-arrow",
                    at,
                    format!("{} lacks the `->` between its two pins", self.subject()),
                )
                .help(format!("`->` says from where to where the current flows; {line}"));
                match before {
                    Some(_) => error.fix(Span::empty(at.start), "-> ", "put -> in"),
                    None => error,
                }
            }
            Part::Word("to") => {
                let error = SyntaxError::new(
                    "missing-to",
                    at,
                    format!("{} lacks the `to` between its two ends", self.subject()),
                )
                .help(line);
                match before {
                    Some(_) => error.fix(Span::empty(at.start), "to ", "put to in"),
                    None => error,
                }
            }
            Part::Word(word) => {
                let error = SyntaxError::new(
                    "missing-value",
                    at,
                    format!("{} lacks the word `{word}`", self.subject()),
                )
                .help(line);
                match before {
                    Some(_) => error.fix(Span::empty(at.start), format!("{word} "), format!("put {word} in")),
                    None => error,
                }
            }
            part => {
                let wanted = describe(part);
                let message = match before {
                    Some(at) => format!("before `{}`, {} lacks {wanted}", self.text_at(at), self.subject()),
                    None => format!("{} ends before {wanted}", self.subject()),
                };
                SyntaxError::new("missing-value", at, message).help(line)
            }
        }
    }

    /// Something else stands where a piece belongs.
    fn instead(&self, piece: &Piece) -> SyntaxError {
        let at = self.at;
        SyntaxError::new(
            "unexpected-text",
            self.span_at(at),
            format!("`{}` stands where {} belongs", self.text_at(at), describe(&piece.part)),
        )
        .help(format!("written like this: `{}`", self.example()))
    }

    /// Items that nothing takes.
    fn unexpected(&self, first: usize, next: usize) -> SyntaxError {
        let span = self.span_of(first, next);
        SyntaxError::new(
            "unexpected-text",
            span,
            format!("`{}` means nothing in {}", self.slice(span), self.subject()),
        )
        .help(format!("written like this: `{}`; remarks go behind `#` or into `note`", self.example()))
    }

    fn example(&self) -> &'static str {
        self.shape.entry.example
    }

    /// The line goes on although its pattern has ended: parts in another order, quantities in the wrong unit, and text
    /// that nothing takes.
    pub(super) fn leftover(&mut self, pieces: &'static [Piece]) {
        let mut junk: Option<usize> = None;
        while self.at < self.items.len() {
            let at = self.at;
            if self.resume(pieces, junk.is_some()) || self.leftover_quantity() {
                self.end_junk(junk.take(), at);
            } else {
                junk.get_or_insert(at);
                self.at += 1;
            }
        }
        self.end_junk(junk, self.items.len());
    }

    fn end_junk(&mut self, junk: Option<usize>, next: usize) {
        let Some(first) = junk else { return };
        if next == self.items.len() && self.quote_rest(first) {
            return;
        }
        self.report_mismatch(|matcher| matcher.unexpected(first, next));
        self.confused = false;
    }

    /// Takes the rest of the line for the text that the pattern still offers: `14 GY/RD reference A`.
    fn quote_rest(&mut self, first: usize) -> bool {
        let shape = self.shape;
        let open = shape.pieces.iter().find_map(|piece| match &piece.part {
            Part::Slot { name, kind: SlotKind::Text } if !self.has_slot(name) => Some(name.as_str()),
            _ => None,
        });
        let Some(name) = open.filter(|_| self.kind_at(first) == Some(Kind::Word)) else { return false };
        let read = self.unquoted(first);
        self.at = first;
        self.take(name, read);
        true
    }

    /// Goes on with an optional part that has not come yet.
    fn resume(&mut self, pieces: &'static [Piece], after_junk: bool) -> bool {
        let begun = self.at;
        for piece in pieces {
            if piece.times == Times::Once || self.has_come(piece) {
                continue;
            }
            let before = self.slots.len();
            if !self.optional(piece) && !self.misspelt_group(piece) {
                continue;
            }
            let read = self.slots.get(before).map(|slot| slot.name);
            if let Some(name) = read.filter(|_| !after_junk && self.whole) {
                self.report_mismatch(|matcher| matcher.wrong_order(name, begun));
                self.confused = false;
            }
            return true;
        }
        false
    }

    /// A group whose first word is misspelt: `typ C`.
    fn misspelt_group(&mut self, piece: &'static Piece) -> bool {
        let Part::Group(alternatives) = &piece.part else {
            return false;
        };
        if self.kind_at(self.at) != Some(Kind::Word) {
            return false;
        }
        let found = alternatives.iter().find(|pieces| self.replaced_first(pieces));
        if let Some((_, rest)) = found.and_then(|pieces| pieces.split_first()) {
            self.at += 1;
            self.group(rest);
            return true;
        }
        false
    }

    fn replaced_first(&mut self, pieces: &[Piece]) -> bool {
        pieces.first().is_some_and(|piece| matches!(piece.part, Part::Word(_)) && self.replaced(piece))
    }

    /// Whether an optional part has been read already.
    fn has_come(&mut self, piece: &'static Piece) -> bool {
        if piece.times == Times::Many || piece.times == Times::Some {
            return false;
        }
        match &piece.part {
            Part::Slot { name, .. } => self.has_slot(name),
            Part::Group(alternatives) => alternatives.iter().flatten().any(|piece| match &piece.part {
                Part::Slot { name, .. } => self.has_slot(name),
                _ => false,
            }),
            _ => true,
        }
    }

    fn wrong_order(&self, name: &str, begun: usize) -> SyntaxError {
        let span = self.span_of(begun, self.at);
        SyntaxError::new(
            "wrong-order",
            span,
            format!("`{}`: its {name} comes earlier in the line", self.slice(span)),
        )
        .help(format!("written like this: `{}`", self.example()))
    }

    /// A quantity that no slot took, because its unit is of the wrong kind or its slot is taken.
    fn leftover_quantity(&mut self) -> bool {
        let at = self.at;
        let (Some(_), Some((unit, next))) = (self.number_at(at), self.unit_behind(at)) else {
            return false;
        };
        let shape = self.shape;
        let open = shape.pieces.iter().find_map(|piece| match &piece.part {
            Part::Slot { name, kind: SlotKind::Quantity(dimension) } if !self.has_slot(name) => {
                Some((name.as_str(), *dimension))
            }
            _ => None,
        });
        let Some((name, dimension)) = open else {
            return false;
        };
        let error = self.wrong_unit(dimension, unit, at, next);
        self.report(error);
        self.at = next;
        let span = self.span_of(at, next);
        let value = super::read::unknown(dimension);
        self.slots.push(crate::Slot { name, value, span });
        true
    }
}

/// What people call cavities.
const COUNTED: [&str; 8] = ["pin", "pins", "way", "ways", "pole", "poles", "cavity", "positions"];

/// What belongs in a place.
pub(super) fn describe(part: &Part) -> String {
    match part {
        Part::Word(word) => format!("the word `{word}`"),
        Part::Arrow => "`->`".to_owned(),
        Part::Group(alternatives) => {
            let first: Vec<String> = alternatives
                .iter()
                .filter_map(|pieces| pieces.first())
                .map(|piece| describe(&piece.part))
                .collect();
            first.join(" or ")
        }
        Part::Slot { name, kind } => describe_slot(name, kind),
    }
}

fn describe_slot(name: &str, kind: &SlotKind) -> String {
    match kind {
        SlotKind::Name => "its name".to_owned(),
        SlotKind::Pin => "a pin like `X34:2`".to_owned(),
        SlotKind::Item => "the name of a part".to_owned(),
        SlotKind::Terminal => "a terminal like `30`".to_owned(),
        SlotKind::Text => "a text in quotation marks".to_owned(),
        SlotKind::Colour => "a colour like `GY/RD`".to_owned(),
        SlotKind::Number => format!("its {name}, a number"),
        SlotKind::Integer => format!("its {name}, a whole number"),
        SlotKind::Range => "a number or a range like `15..19`".to_owned(),
        SlotKind::Quantity(dimension) => quantity(*dimension),
        SlotKind::Word => format!("its {name}, a word"),
        SlotKind::Value => format!("its {name}, a value such as `X34` or `8 mA`"),
        SlotKind::OneOf(words) => super::words::list(words),
    }
}

fn quantity(dimension: Dimension) -> String {
    format!("{} in {}", dimension.noun(), dimension.spellings())
}
