//! Reads the value of one slot.

use super::Matcher;
use crate::{
    colour::is_colour,
    error::SyntaxError,
    fact::{Quantity, Range, Section, Value},
    lexer::Kind,
    shape::SlotKind,
    units::{Dimension, Unit, unit},
};

/// The outcome of reading a slot. The number is the item behind it.
pub(super) enum Read {
    /// Something else stands there.
    No,
    /// Read.
    Yes(Value, usize),
    /// Meant for this slot but wrong; with the value where it is plain all the same.
    Slip(Option<Value>, usize, Box<SyntaxError>),
}

impl Read {
    pub(super) fn slip(value: Option<Value>, next: usize, error: SyntaxError) -> Self {
        Self::Slip(value, next, Box::new(error))
    }
}

impl Matcher<'_> {
    /// Reads a slot at an item. A required slot takes things for a slip that an optional one leaves alone.
    pub(super) fn read_at(&self, kind: &'static SlotKind, at: usize, required: bool) -> Read {
        let Some(found) = self.kind_at(at) else {
            return Read::No;
        };
        match kind {
            SlotKind::Text => self.read_text(at, found, required),
            SlotKind::Quantity(dimension) => self.read_quantity(*dimension, at, found, required),
            SlotKind::Colour => self.read_colour(at, found),
            SlotKind::Name | SlotKind::Pin | SlotKind::Item | SlotKind::Terminal | SlotKind::Word => {
                self.read_word(kind, at, found)
            }
            SlotKind::OneOf(words) => self.read_one_of(words, at, found, required),
            SlotKind::Number => self.read_number(at, found, required),
            SlotKind::Integer => self.read_integer(at, found, required),
            SlotKind::Range => self.read_range(at, found, required),
            SlotKind::Value => self.read_value(at, found),
        }
    }

    fn read_text(&self, at: usize, found: Kind, required: bool) -> Read {
        let text = self.text_at(at);
        let inside = match found {
            Kind::Text => text.strip_prefix('"').and_then(|text| text.strip_suffix('"')).unwrap_or(text),
            // Both were reported with the tokens.
            Kind::OpenText => text.strip_prefix('"').unwrap_or(text).trim(),
            Kind::SmartText => {
                let mut inside = text.chars();
                inside.next();
                inside.next_back();
                inside.as_str()
            }
            Kind::Word | Kind::Number if required => return self.unquoted(at),
            _ => return Read::No,
        };
        Read::Yes(Value::Text(inside.into()), at + 1)
    }

    fn read_word(&self, kind: &SlotKind, at: usize, found: Kind) -> Read {
        let numbers = matches!(kind, SlotKind::Pin | SlotKind::Terminal);
        match found {
            Kind::Word if self.is_literal(self.text_at(at)) => Read::No,
            Kind::Word if *kind == SlotKind::Pin && CONNECTIVES.contains(&self.text_at(at)) => Read::No,
            Kind::Word => {
                let word = self.text_at(at);
                if *kind == SlotKind::Pin && self.kind_at(at + 1) == Some(Kind::Colon) && self.touches(at + 1)
                {
                    return self.pin_without_cavity(word, at);
                }
                match self.letter_for_digit_in_pin(kind, at) {
                    Some(read) => read,
                    None => Read::Yes(Value::Word(word.into()), at + 1),
                }
            }
            // `87a` and `2X` come as a number with a word against it.
            Kind::Number if self.kind_at(at + 1) == Some(Kind::Word) && self.touches(at + 1) => {
                let whole = self.span_of(at, at + 2);
                Read::Yes(Value::Word(self.slice(whole).into()), at + 2)
            }
            Kind::Number if numbers => self.number_as_name(at),
            _ => Read::No,
        }
    }

    /// A value of whatever type; what it is worth shows where it is put.
    fn read_value(&self, at: usize, found: Kind) -> Read {
        let touching_word = self.kind_at(at + 1) == Some(Kind::Word) && self.touches(at + 1);
        let next = match found {
            Kind::Text => return self.read_text(at, found, true),
            Kind::Word if self.is_literal(self.text_at(at)) => return Read::No,
            Kind::Word => at + 1,
            Kind::Number if self.kind_at(at + 1) == Some(Kind::Range) => at + 3,
            Kind::Number if touching_word || self.unit_behind(at).is_some() => at + 2,
            Kind::Number => at + 1,
            _ => return Read::No,
        };
        let next = next.min(self.items.len());
        // One token may stand for a parameter in part only, and is not written so anywhere.
        let written = if next == at + 1 { self.text_at(at) } else { self.slice(self.span_of(at, next)) };
        Read::Yes(Value::Word(written.into()), next)
    }

    fn read_one_of(&self, words: &[&'static str], at: usize, found: Kind, required: bool) -> Read {
        if found != Kind::Word {
            return Read::No;
        }
        let word = self.text_at(at);
        match words.iter().find(|known| **known == word) {
            Some(_) => Read::Yes(Value::Word(word.into()), at + 1),
            None => self.near_word(words, word, at, required),
        }
    }

    fn read_colour(&self, at: usize, found: Kind) -> Read {
        if found != Kind::Word {
            return Read::No;
        }
        match self.text_at(at) {
            "unknown" => Read::Yes(Value::Unknown, at + 1),
            word if is_colour(word) && is_colour(self.text_at(at + 1)) => self.parted_colour(word, at),
            word if is_colour(word) => Read::Yes(Value::Colour(word.into()), at + 1),
            word => self.wrong_colour(word, at),
        }
    }

    fn read_number(&self, at: usize, found: Kind, required: bool) -> Read {
        match (found, self.number_at(at)) {
            (Kind::Word, _) if self.text_at(at) == "unknown" => Read::Yes(Value::Unknown, at + 1),
            (_, Some(number)) => match self.unit_behind(at) {
                Some((_, next)) => self.needless_unit(Value::Number(number), at, next),
                None => Read::Yes(Value::Number(number), at + 1),
            },
            _ if required => self.letter_for_digit(at, |number, _| Some(Value::Number(number))),
            _ => Read::No,
        }
    }

    fn read_integer(&self, at: usize, found: Kind, required: bool) -> Read {
        match (found, self.number_at(at)) {
            (Kind::Word, _) if self.text_at(at) == "unknown" => Read::Yes(Value::Unknown, at + 1),
            (_, Some(number)) => match whole(number) {
                Some(_) if self.kind_at(at + 1) == Some(Kind::Word) && self.touches(at + 1) => {
                    self.letter_for_digit(at, |number, _| whole(number).map(Value::Integer))
                }
                Some(integer) => Read::Yes(Value::Integer(integer), at + 1),
                None => self.not_whole(at),
            },
            _ if required => self.letter_for_digit(at, |number, _| whole(number).map(Value::Integer)),
            _ => Read::No,
        }
    }

    fn read_range(&self, at: usize, found: Kind, required: bool) -> Read {
        let Some(number) = self.number_at(at).filter(|_| found != Kind::Word) else {
            if required {
                return self.letter_for_digit(at, |number, _| cavity(number).map(Value::Range));
            }
            return Read::No;
        };
        let Some(first) = cavity(number) else {
            return self.not_whole(at);
        };
        match self.kind_at(at + 1) {
            Some(Kind::Range | Kind::RangeSlip) => {}
            Some(Kind::Word) if self.touches(at + 1) => {
                return self.letter_for_digit(at, |number, _| cavity(number).map(Value::Range));
            }
            _ => return self.range_with_dash(first, at),
        }
        match self.number_at(at + 2).and_then(cavity) {
            Some(last) if last.first >= first.first => {
                let range = Range { first: first.first, last: last.first };
                Read::Yes(Value::Range(range), at + 3)
            }
            last => self.bad_range(first, last, at),
        }
    }

    fn read_quantity(&self, dimension: Dimension, at: usize, found: Kind, required: bool) -> Read {
        if found == Kind::Word && self.text_at(at) == "unknown" {
            return Read::Yes(unknown(dimension), at + 1);
        }
        let Some(number) = self.number_at(at) else {
            return match found {
                Kind::Word => self.quantity_slip(dimension, at, required),
                _ => Read::No,
            };
        };
        match self.unit_behind(at) {
            Some((unit, next)) if unit.dimension() == dimension => Read::Yes(measured(number, unit), next),
            _ if found == Kind::CommaNumber || found == Kind::Number => {
                self.quantity_slip(dimension, at, required)
            }
            _ => Read::No,
        }
    }

    /// The number an item writes; with a decimal comma too, which was reported with the tokens.
    pub(super) fn number_at(&self, at: usize) -> Option<f64> {
        match self.kind_at(at)? {
            Kind::Number => self.text_at(at).parse().ok(),
            Kind::CommaNumber => self.text_at(at).replace(',', ".").parse().ok(),
            _ => None,
        }
    }

    /// The unit behind the number at an item, and the item behind the unit.
    pub(super) fn unit_behind(&self, at: usize) -> Option<(Unit, usize)> {
        if self.kind_at(at + 1)? != Kind::Word {
            return None;
        }
        unit(self.text_at(at + 1)).map(|unit| (unit, at + 2))
    }
}

/// Words that people put before a pin and that are no pins.
const CONNECTIVES: [&str; 6] = ["from", "between", "and", "with", "at", "via"];

/// A number in a unit, in the base unit of what it measures.
pub(super) fn measured(number: f64, unit: Unit) -> Value {
    match unit {
        Unit::Awg => Value::Section(Section::Awg(number as i32)),
        Unit::Sae => Value::Section(Section::Sae(number as i32)),
        Unit::Plain(Dimension::Section, factor) => Value::Section(Section::Area(number * factor)),
        Unit::Plain(dimension, factor) => {
            Value::Quantity(Quantity { value: Some(number * factor), dimension })
        }
    }
}

/// The word `unknown` for a quantity.
pub(super) fn unknown(dimension: Dimension) -> Value {
    match dimension {
        Dimension::Section => Value::Section(Section::Unknown),
        dimension => Value::Quantity(Quantity { value: None, dimension }),
    }
}

fn whole(number: f64) -> Option<u64> {
    (number >= 0.0 && number.fract() == 0.0 && number < 1e15).then_some(number as u64)
}

fn cavity(number: f64) -> Option<Range> {
    let number = whole(number).and_then(|number| u32::try_from(number).ok())?;
    Some(Range { first: number, last: number })
}
