//! Quantities that were meant for a slot but are written wrong.

use super::{Matcher, read::Read};
use crate::{
    error::SyntaxError,
    fact::Value,
    lexer::Kind,
    matching::read::{measured, unknown},
    nearest::nearest,
    shape::{Part, SlotKind, TOP},
    units::{Dimension, Unit, misspelt, unit},
};

impl Matcher<'_> {
    /// A quantity whose unit is missing, unknown or of another kind.
    pub(super) fn quantity_slip(&self, dimension: Dimension, at: usize, required: bool) -> Read {
        let number = self.number_at(at);
        let Some(number) = number else {
            if let Some(read) = self.unit_before_number(dimension, at) {
                return read;
            }
            if !required && !self.text_at(at).bytes().any(|byte| byte.is_ascii_digit()) {
                return Read::No;
            }
            return self.letter_for_digit(at, |number, unit| {
                let unit = unit?;
                (unit.dimension() == dimension).then(|| measured(number, unit))
            });
        };
        let span = self.span_at(at);
        let written = self.slice(span);
        let usual = self.likely_unit(dimension);
        let assumed = measured(number, unit(usual).unwrap_or(Unit::Plain(dimension, 1.0)));
        let behind = self.text_at(at + 1);
        let close = self.touches(at + 1);
        if self.kind_at(at + 1) == Some(Kind::Word) {
            if let Some((other, next)) = self.unit_behind(at) {
                // `0.5 mm 0.4 m`: the first of two lengths was meant as a section.
                if dimension == Dimension::Section && behind == "mm" && self.number_at(next).is_some() {
                    let span = self.span_at(at + 1);
                    let error = self.wrong_unit(dimension, other, at, next).fix(
                        span,
                        "mm2",
                        format!("write {written} mm2"),
                    );
                    return Read::slip(Some(measured(number, Unit::Plain(dimension, 1.0))), next, error);
                }
                // An optional slot leaves it to a later one of the right kind.
                if !required {
                    return Read::No;
                }
                let error = self.wrong_unit(dimension, other, at, next);
                if dimension == Dimension::Minutes && behind == "m" {
                    let error = error.fix(self.span_at(at + 1), "min", format!("write {written} min"));
                    return Read::slip(Some(measured(number, Unit::Plain(dimension, 1.0))), next, error);
                }
                return Read::slip(Some(unknown(dimension)), next, error);
            }
            if close {
                let fixed = self.letter_for_digit(at, |number, unit| {
                    let unit = unit?;
                    (unit.dimension() == dimension).then(|| measured(number, unit))
                });
                if !matches!(fixed, Read::No) {
                    return fixed;
                }
            }
            if close || self.looks_like_unit(behind) {
                return self.unknown_unit(dimension, number, at, required);
            }
        }
        let error = SyntaxError::new(
            "missing-unit",
            span,
            format!(
                "`{written}` has no unit; {} is written in {}: `{written} {usual}`",
                self.slot_noun(dimension),
                dimension.plural()
            ),
        )
        .help("a number alone could mean anything; where the value is not known, write `unknown`")
        .fix(span.end_point(), format!(" {usual}"), format!("write {written} {usual}"));
        Read::slip(Some(assumed), at + 1, error)
    }

    /// `AWG 14`: the unit before its number.
    fn unit_before_number(&self, dimension: Dimension, at: usize) -> Option<Read> {
        let written = self.text_at(at);
        let unit = unit(written).filter(|unit| unit.dimension() == dimension)?;
        let number = self.number_at(at + 1)?;
        let span = self.span_of(at, at + 2);
        let mended = format!("{} {written}", self.text_at(at + 1));
        let error =
            SyntaxError::new("wrong-order", span, format!("`{}` has its unit in front", self.slice(span)))
                .help(format!("the unit follows the number: `{mended}`"))
                .fix(span, mended.clone(), format!("write {mended}"));
        Some(Read::slip(Some(measured(number, unit)), at + 2, error))
    }

    fn unknown_unit(&self, dimension: Dimension, number: f64, at: usize, required: bool) -> Read {
        let written = self.text_at(at + 1);
        let span = self.span_at(at + 1);
        let meant = misspelt(written).or_else(|| nearest(written, dimension.spellings().split(", ")));
        let meant_unit = meant.and_then(|meant| Some((meant, unit(meant)?)));
        if let Some((_, other)) = meant_unit.filter(|(_, other)| other.dimension() != dimension) {
            // `5 ohms` for minutes is two slips in one word; the kind matters more.
            if !required {
                return Read::No;
            }
            let error = self.wrong_unit(dimension, other, at, at + 2);
            return Read::slip(Some(unknown(dimension)), at + 2, error);
        }
        let error =
            SyntaxError::new("unknown-unit", span, format!("`{written}` is no unit that is known here"))
                .help(format!("{} is written in {}", self.slot_noun(dimension), dimension.spellings()));
        match meant_unit {
            Some((meant, unit)) => {
                let gap = if self.touches(at + 1) { " " } else { "" };
                let error = SyntaxError {
                    message: format!("`{written}` is not how the unit is written; it is `{meant}`"),
                    ..error
                }
                .fix(
                    span,
                    format!("{gap}{meant}"),
                    format!("write {} {meant}", self.text_at(at)),
                );
                Read::slip(Some(measured(number, unit)), at + 2, error)
            }
            None => Read::slip(Some(unknown(dimension)), at + 2, error),
        }
    }

    pub(super) fn wrong_unit(&self, wanted: Dimension, found: Unit, at: usize, next: usize) -> SyntaxError {
        let span = self.span_of(at, next);
        let written = self.slice(span);
        SyntaxError::new(
            "wrong-unit",
            span,
            format!(
                "`{written}` is {}, but {} is {}, written in {}",
                found.dimension().noun(),
                self.slot_noun(wanted),
                wanted.noun(),
                wanted.spellings()
            ),
        )
        .help("write the value in one of these units, or `unknown`")
    }

    /// `suspicion 3 V`: a number that takes no unit.
    pub(super) fn needless_unit(&self, value: Value, at: usize, next: usize) -> Read {
        let span = self.span_of(at + 1, next);
        let error = SyntaxError::new(
            "wrong-unit",
            span,
            format!(
                "`{}` takes a number without a unit, and this one has `{}`",
                self.shape.keyword,
                self.slice(span)
            ),
        )
        .fix(self.span_at(at).end_point().to(span), "", "leave the unit out");
        Read::slip(Some(value), next, error)
    }

    /// Whether a word behind a bare number was meant as its unit.
    fn looks_like_unit(&self, word: &str) -> bool {
        if self.is_known(word) || word == "unknown" || crate::colour::is_colour(word) {
            return false;
        }
        let short = word.chars().count() <= 8;
        misspelt(word).is_some()
            || short
                && word.chars().all(|c| c.is_alphabetic() || "²%°".contains(c))
                && word.chars().any(char::is_lowercase)
    }

    /// What a quantity of this statement is called: `a wire's length`, `reach`, `the current of draws`.
    fn slot_noun(&self, dimension: Dimension) -> String {
        let mut name = None;
        crate::shape::walk(&self.shape.pieces, &mut |piece| {
            if let Part::Slot { name: slot, kind: SlotKind::Quantity(of) } = &piece.part {
                if *of == dimension && name.is_none() {
                    name = Some(slot.as_str());
                }
            }
        });
        let keyword = self.shape.keyword;
        match name {
            Some(name) if self.shape.allowed_in(TOP) => format!("a {keyword}'s {name}"),
            Some(name) if !DIMENSION_NAMES.contains(&name) => format!("the {name} of `{keyword}`"),
            _ => format!("`{keyword}`"),
        }
    }

    /// The unit that this statement's example uses for a dimension: `mA` for a sensor, `A` for a fuse.
    fn likely_unit(&self, dimension: Dimension) -> &'static str {
        let words = self.shape.entry.example.split_whitespace();
        words
            .filter(|word| !word.starts_with('"'))
            .find(|word| unit(word).is_some_and(|unit| unit.dimension() == dimension))
            .unwrap_or(dimension.usual())
    }
}

/// Slot names that only repeat what is measured.
const DIMENSION_NAMES: [&str; 8] =
    ["volts", "amps", "ohms", "watts", "metres", "section", "minutes", "celsius"];
