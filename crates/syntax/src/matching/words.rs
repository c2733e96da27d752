//! Words, numbers and texts that were meant for a slot but are written wrong.

use super::{Matcher, read::Read};
use crate::{
    colour::wrong_colour,
    error::SyntaxError,
    fact::{Range, Value},
    lexer::Kind,
    nearest::nearest,
    shape::{Part, SlotKind},
    span::Span,
    units::{Unit, unit},
};

impl Matcher<'_> {
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
        let written = self.slice(span);
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
            let head_span = Span::new(from, from + head.len() as u32);
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
        let meant = MEANT.iter().find(|(written, meant)| *written == word && words.contains(meant));
        let near = meant.map(|(_, meant)| *meant).or_else(|| nearest(word, words.iter().copied()));
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
            format!("`{}` is not how a range is written", self.slice(span)),
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

    /// Text without quotation marks, up to the line's end.
    pub(super) fn unquoted(&self, at: usize) -> Read {
        let span = self.span_of(at, self.items.len());
        let written = self.slice(span);
        let plain = written.replace('"', "");
        let error =
            SyntaxError::new("unquoted-text", span, format!("`{written}` stands without quotation marks"))
                .help(format!("a text stands between quotation marks: `\"{plain}\"`"))
                .fix(span, format!("\"{plain}\""), "put quotation marks around it");
        Read::slip(Some(Value::Text(plain.as_str().into())), self.items.len(), error)
    }

    /// A number as the name of a terminal; those have no sign.
    pub(super) fn number_as_name(&self, at: usize) -> Read {
        let written = self.text_at(at);
        let Some(bare) = written.strip_prefix(['+', '-']) else {
            return Read::Yes(Value::Word(written.into()), at + 1);
        };
        let span = self.span_at(at);
        let error = SyntaxError::new(
            "unexpected-text",
            span,
            format!("`{written}` has a sign, and terminals have none"),
        )
        .help("positive and negative follow from what the terminal is, not from a sign")
        .fix(span, bare, format!("write {bare}"));
        Read::slip(Some(Value::Word(bare.into())), at + 1, error)
    }

    /// `GY RD` and `GY / RD`: base and tracer apart.
    pub(super) fn parted_colour(&self, base: &str, at: usize) -> Read {
        let tracer = self.text_at(at + 1);
        let whole = self.span_of(at, at + 2);
        let written = self.slice(whole);
        let mended = format!("{base}/{tracer}");
        if !crate::colour::is_colour(&mended) {
            return Read::Yes(Value::Colour(base.into()), at + 1);
        }
        let value = Value::Colour(mended.as_str().into());
        if written.contains('/') {
            // The lonely slash has been reported with the tokens.
            return Read::Yes(value, at + 2);
        }
        let error = SyntaxError::new(
            "unknown-colour",
            whole,
            format!("`{written}`: base and tracer are parted by a slash"),
        )
        .help(format!("two colours of one wire are written without a space: `{mended}`"))
        .fix(whole, mended.clone(), format!("write {mended}"));
        Read::slip(Some(value), at + 2, error)
    }

    /// Whether a word is one that the pattern spells out.
    pub(super) fn is_literal(&self, word: &str) -> bool {
        self.shape.literals.contains(&word)
    }

    /// Whether a word is one that the pattern spells out or offers for choice.
    pub(super) fn is_known(&self, word: &str) -> bool {
        let mut found = false;
        crate::shape::walk(&self.shape.pieces, &mut |piece| {
            found |= matches!(&piece.part, Part::Slot { kind: SlotKind::OneOf(words), .. } if words.contains(&word));
        });
        found || self.is_literal(word)
    }
}

/// What people write for words of a set.
const MEANT: [(&str, &str); 10] = [
    ("on", "run"),
    ("ignition", "run"),
    ("ign", "run"),
    ("start", "crank"),
    ("acc", "accessory"),
    ("true", "yes"),
    ("false", "no"),
    ("warm", "hot"),
    ("wires", "wire-side"),
    ("front", "mating-face"),
];

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
