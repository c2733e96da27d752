//! Values that were meant for a slot but are spelt wrong.

use super::{Matcher, read::Read};
use crate::{
    colour::wrong_colour,
    error::SyntaxError,
    fact::{Range, Value},
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
            if !required && !self.text_at(at).bytes().any(|byte| byte.is_ascii_digit()) {
                return Read::No;
            }
            return self.letter_for_digit(at, |number, unit| {
                let unit = unit?;
                (unit.dimension() == dimension).then(|| measured(number, unit))
            });
        };
        let span = self.span_at(at);
        let written = self.tree.slice(span);
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
        let written = self.tree.slice(span);
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
                self.tree.slice(span)
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

    /// `1O` for `10`, `O.5`, `l2`: letters that look like digits, in a place where a number belongs.
    pub(super) fn letter_for_digit(
        &self,
        at: usize,
        value: impl Fn(f64, Option<Unit>) -> Option<Value>,
    ) -> Read {
        let mut next = at + 1;
        while self.touches(next) && matches!(self.kind_at(next), Some(Kind::Word | Kind::Number)) {
            next += 1;
        }
        let span = self.span_of(at, next);
        let written = self.tree.slice(span);
        if written.len() > 24 || !written.contains(['O', 'o', 'l', 'I']) {
            return Read::No;
        }
        // The longest tail that is a unit is the unit; the rest must be a number once the letters are digits.
        let cuts = written.char_indices().map(|(cut, _)| cut).chain([written.len()]);
        for cut in cuts.filter(|cut| *cut > 0) {
            let (head, tail) = written.split_at(cut);
            let inside = if tail.is_empty() { None } else { unit(tail) };
            if !tail.is_empty() && inside.is_none() {
                continue;
            }
            let digits: String = head.chars().map(digit_for).collect();
            let Some(number) = digits.parse::<f64>().ok().filter(|_| digits != head) else {
                continue;
            };
            let behind = if tail.is_empty() && self.kind_at(next) == Some(Kind::Word) {
                unit(self.text_at(next))
            } else {
                None
            };
            let after = if behind.is_some() { next + 1 } else { next };
            let Some(value) = value(number, inside.or(behind)) else {
                continue;
            };
            let from = self.span_at(at).start;
            let head_span = crate::Span::new(from, from + head.len() as u32);
            let error = SyntaxError::new(
                "letter-for-digit",
                head_span,
                format!("`{head}` holds a letter where a number belongs"),
            )
            .help(format!("the letters O, l and I look like the digits 0 and 1; likely `{digits}` is meant"))
            .fix(head_span, digits.clone(), format!("write {digits}"));
            return Read::slip(Some(value), after, error);
        }
        Read::No
    }

    /// `X34:1O`: numbered cavities have no letters that look like digits.
    pub(super) fn letter_for_digit_in_pin(&self, kind: &SlotKind, at: usize) -> Option<Read> {
        if *kind != SlotKind::Pin {
            return None;
        }
        let word = self.text_at(at);
        let (owner, cavity) = word.rsplit_once(':')?;
        let mixed = cavity.contains(['O', 'I', 'l'])
            && cavity.bytes().any(|byte| byte.is_ascii_digit())
            && cavity.chars().all(|c| c.is_ascii_digit() || "OIl".contains(c));
        if !mixed {
            return None;
        }
        let digits: String = cavity.chars().map(digit_for).collect();
        let mended = format!("{owner}:{digits}");
        let span = self.span_at(at);
        let error = SyntaxError::new(
            "letter-for-digit",
            span,
            format!("cavity `{cavity}` mixes digits with letters that look like digits"),
        )
        .help(format!("the letters O, l and I look like the digits 0 and 1; likely `{mended}` is meant"))
        .fix(span, mended.clone(), format!("write {mended}"));
        Some(Read::slip(Some(Value::Word(mended.into())), at + 1, error))
    }

    /// `X34:` with nothing behind the colon.
    pub(super) fn pin_without_cavity(&self, word: &str, at: usize) -> Read {
        let span = self.span_of(at, at + 2);
        let error = SyntaxError::new("missing-value", span, format!("`{word}:` names no cavity"))
            .help(format!("write the cavity behind the colon, without a space: `{word}:1`"));
        // A number behind the gap was meant as the cavity.
        match (self.kind_at(at + 2), self.number_at(at + 2)) {
            (Some(Kind::Number), Some(_)) => {
                let mended = format!("{word}:{}", self.text_at(at + 2));
                let whole = self.span_of(at, at + 3);
                let error = error.fix(whole, mended.clone(), format!("write {mended}"));
                Read::slip(Some(Value::Word(mended.into())), at + 3, error)
            }
            _ => Read::slip(None, at + 2, error),
        }
    }

    /// A word that is near one of a set, or stands where only the set may stand.
    pub(super) fn near_word(&self, words: &[&'static str], word: &str, at: usize, required: bool) -> Read {
        // Colours and pins are no misspelt words; looking that up would cost more than all the rest.
        if !required
            && (self.is_known(word) || word.contains(|letter: char| !letter.is_alphabetic() && letter != '-'))
        {
            return Read::No;
        }
        let near = nearest(word, words.iter().copied());
        if !required && (near.is_none() || crate::colour::is_colour(word)) {
            return Read::No;
        }
        let span = self.span_at(at);
        let error = SyntaxError::new("unknown-word", span, format!("`{word}` is none of {}", list(words)));
        match near {
            Some(near) => {
                let error =
                    error.help(format!("did you mean `{near}`?")).fix(span, near, format!("write {near}"));
                Read::slip(Some(Value::Word(near.into())), at + 1, error)
            }
            None => Read::slip(None, at + 1, error.help("write one of these words")),
        }
    }

    pub(super) fn wrong_colour(&self, word: &str, at: usize) -> Read {
        if self.is_known(word) {
            return Read::No;
        }
        let Some(wrong) = wrong_colour(word) else {
            return Read::No;
        };
        let span = self.span_at(at);
        let error = SyntaxError::new("unknown-colour", span, wrong.why);
        match wrong.meant {
            Some(meant) => {
                let error = error
                    .help(format!(
                        "colours are written base/tracer in the letters of IEC 60757: likely `{meant}`"
                    ))
                    .fix(span, meant.clone(), format!("write {meant}"));
                Read::slip(Some(Value::Colour(meant.into())), at + 1, error)
            }
            None => {
                let error = error.help(
                    "BK BN RD OG YE GN BU VT GY WH PK TQ GD SR or GNYE, base/tracer: `GY/RD`; or `unknown`",
                );
                Read::slip(Some(Value::Unknown), at + 1, error)
            }
        }
    }

    pub(super) fn not_whole(&self, at: usize) -> Read {
        let span = self.span_at(at);
        let error = SyntaxError::new(
            "unexpected-text",
            span,
            format!("`{}` is not a whole number", self.text_at(at)),
        )
        .help("a count or a cavity number is a whole number: `14`");
        Read::slip(None, at + 1, error)
    }

    /// `15-19`, which comes as two numbers; and a plain single number.
    pub(super) fn range_with_dash(&self, first: Range, at: usize) -> Read {
        let second = self.text_at(at + 1);
        let last = second.strip_prefix('-').and_then(|digits| digits.parse::<u32>().ok());
        let Some(last) = last.filter(|last| self.touches(at + 1) && *last >= first.first) else {
            return Read::Yes(Value::Range(first), at + 1);
        };
        let span = self.span_of(at, at + 2);
        let mended = format!("{}..{last}", first.first);
        let error = SyntaxError::new(
            "range-spelling",
            span,
            format!("`{}` is not how a range is written", self.tree.slice(span)),
        )
        .help(format!("from and to are joined by two dots: `{mended}`"))
        .fix(span, mended.clone(), format!("write {mended}"));
        Read::slip(Some(Value::Range(Range { first: first.first, last })), at + 2, error)
    }

    pub(super) fn bad_range(&self, first: Range, last: Option<Range>, at: usize) -> Read {
        if last.is_none() && self.kind_at(at + 1) == Some(Kind::RangeSlip) {
            // Reported with the tokens.
            return Read::Yes(Value::Range(first), at + 2);
        }
        let next = if self.number_at(at + 2).is_some() { at + 3 } else { at + 2 };
        let span = self.span_of(at, next);
        let error = match last {
            Some(last) => {
                let mended = format!("{}..{}", last.first, first.first);
                SyntaxError::new(
                    "range-spelling",
                    span,
                    format!("the range runs backwards, from {} to {}", first.first, last.first),
                )
                .help("write the lower number first")
                .fix(span, mended.clone(), format!("write {mended}"))
            }
            None => {
                SyntaxError::new("missing-value", span, format!("the range from {} has no end", first.first))
                    .help(format!("write first and last: `{}..{}`", first.first, first.first + 1))
            }
        };
        let value = last.map(|last| Value::Range(Range { first: last.first, last: first.first }));
        Read::slip(value.or(Some(Value::Range(first))), next, error)
    }

    /// Whether a word is one that the pattern spells out.
    pub(super) fn is_literal(&self, word: &str) -> bool {
        self.shape.literals.contains(&word)
    }

    /// Whether a word is one that the pattern spells out or offers for choice.
    fn is_known(&self, word: &str) -> bool {
        let mut found = false;
        crate::shape::walk(&self.shape.pieces, &mut |piece| {
            found |= matches!(&piece.part, Part::Slot { kind: SlotKind::OneOf(words), .. } if words.contains(&word));
        });
        found || self.is_literal(word)
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

fn digit_for(letter: char) -> char {
    match letter {
        'O' | 'o' => '0',
        'l' | 'I' => '1',
        other => other,
    }
}

/// `yes`, `no` or `perhaps`.
pub(super) fn list(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => format!("`{one}`"),
        [first @ .., last] => {
            let first: Vec<String> = first.iter().map(|word| format!("`{word}`")).collect();
            format!("{} or `{last}`", first.join(", "))
        }
    }
}
