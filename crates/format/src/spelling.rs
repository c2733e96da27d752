//! Spellings that the layout settles: units, quotation marks, colours.

use std::borrow::Cow;

use halfsplit_syntax::{Kind, colour::is_colour, units::unit};

/// A unit as it is spelt in tidy files: `mm2`, `kohm`, `uA`. `None` if the word is no unit.
pub(crate) fn canonical_unit(word: &str) -> Option<Cow<'_, str>> {
    let value = unit(word)?;
    if word.is_ascii() {
        return Some(Cow::Borrowed(word));
    }
    let mut spelt = String::with_capacity(word.len() + 2);
    for letter in word.chars() {
        match letter {
            '²' => spelt.push('2'),
            'Ω' | '\u{2126}' => spelt.push_str("ohm"),
            'µ' | 'μ' => spelt.push('u'),
            '°' => {}
            other => spelt.push(other),
        }
    }
    // A spelling that means something else is none.
    (unit(&spelt) == Some(value)).then_some(Cow::Owned(spelt))
}

/// A text with quotation marks of a word processor, between plain ones; `None` where it holds plain ones itself.
pub(crate) fn plain_text(smart: &str) -> Option<String> {
    let mut inside = smart.chars();
    inside.next();
    inside.next_back();
    let inside = inside.as_str();
    (!inside.contains('"')).then(|| format!("\"{inside}\""))
}

/// Whether two tokens say the same in two spellings that are settled here.
pub(crate) fn same(before: (Kind, &str), after: (Kind, &str)) -> bool {
    match (before.0, after.0) {
        (Kind::Comment | Kind::CommentSlip, kind) if kind == before.0 => {
            before.1.trim_end() == after.1.trim_end()
        }
        (kind, other) if kind == other && before.1 == after.1 => true,
        (Kind::SmartText, Kind::Text) => plain_text(before.1).is_some_and(|plain| plain == after.1),
        (Kind::Word, Kind::Word) => {
            canonical_unit(before.1).is_some_and(|spelt| spelt == after.1)
                || is_colour(after.1) && before.1.to_uppercase() == after.1
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_have_one_spelling() {
        for (written, spelt) in [
            ("mm²", "mm2"),
            ("mm2", "mm2"),
            ("Ω", "ohm"),
            ("k\u{2126}", "kohm"),
            ("mΩ", "mohm"),
            ("MΩ", "Mohm"),
            ("µA", "uA"),
            ("\u{3bc}A", "uA"),
            ("°C", "C"),
            ("AWG", "AWG"),
        ] {
            assert_eq!(canonical_unit(written).as_deref(), Some(spelt), "{written}");
        }
        assert_eq!(canonical_unit("X34:2"), None);
    }
}
