//! Patterns of the table, taken apart.

use crate::units::Dimension;

/// One part of a pattern and how often it may come.
#[derive(Clone, PartialEq, Debug)]
pub struct Piece {
    /// What comes.
    pub part: Part,
    /// How often.
    pub times: Times,
}

/// How often a part may come.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Times {
    /// Exactly once.
    Once,
    /// Once or not at all.
    Maybe,
    /// Any number of times.
    Many,
    /// At least once.
    Some,
}

/// What a part of a pattern is.
#[derive(Clone, PartialEq, Debug)]
pub enum Part {
    /// A word that stands for itself.
    Word(&'static str),
    /// `->`
    Arrow,
    /// A value.
    Slot {
        /// What it is called.
        name: String,
        /// What it takes.
        kind: SlotKind,
    },
    /// Alternatives, each a sequence.
    Group(Vec<Vec<Piece>>),
}

/// What a slot takes.
#[derive(Clone, PartialEq, Debug)]
pub enum SlotKind {
    /// A name that is declared here: `W7`, `REF_A`.
    Name,
    /// A place where a probe can rest: `X34:2`, `SP10`, `F12:load`, `30`, `stub`.
    Pin,
    /// A declared thing: `B4`, `A10.X2`.
    Item,
    /// A terminal number or letter: `30`, `87a`.
    Terminal,
    /// Text in quotation marks.
    Text,
    /// A colour, base/tracer.
    Colour,
    /// A number without unit.
    Number,
    /// A whole number.
    Integer,
    /// A whole number or a range `1..13`.
    Range,
    /// A number with a unit.
    Quantity(Dimension),
    /// Any one word.
    Word,
    /// Any value: a name, a pin, a number with or without its unit, a range, a colour, text.
    Value,
    /// One of these words.
    OneOf(Vec<&'static str>),
}

/// Key states, for slots of type `KEY`.
pub(crate) const KEYS: [&str; 4] = ["off", "accessory", "run", "crank"];
/// What an ohmmeter shows above its range, for slots of type `OL`.
pub(crate) const OVER_RANGE: &str = "OL";
/// Dangers, for slots of type `HAZARD`.
pub(crate) const HAZARDS: [&str; 6] = ["airbag", "high-voltage", "fuel", "hot", "fan", "moving"];

impl SlotKind {
    fn of(name: &'static str) -> Option<Self> {
        Some(match name {
            "NAME" => Self::Name,
            "PIN" => Self::Pin,
            "ITEM" => Self::Item,
            "TERMINAL" => Self::Terminal,
            "TEXT" => Self::Text,
            "COLOUR" => Self::Colour,
            "NUMBER" => Self::Number,
            "INTEGER" => Self::Integer,
            "RANGE" => Self::Range,
            "VOLTS" => Self::Quantity(Dimension::Volts),
            "AMPS" => Self::Quantity(Dimension::Amps),
            "OHMS" => Self::Quantity(Dimension::Ohms),
            "WATTS" => Self::Quantity(Dimension::Watts),
            "METRES" => Self::Quantity(Dimension::Metres),
            "SECTION" => Self::Quantity(Dimension::Section),
            "MINUTES" => Self::Quantity(Dimension::Minutes),
            "CELSIUS" => Self::Quantity(Dimension::Celsius),
            "BITRATE" => Self::Quantity(Dimension::BitRate),
            "WORD" => Self::Word,
            "VALUE" => Self::Value,
            "KEY" => Self::OneOf(KEYS.to_vec()),
            "HAZARD" => Self::OneOf(HAZARDS.to_vec()),
            "OL" => Self::OneOf(vec![OVER_RANGE]),
            words if words.bytes().all(|byte| byte.is_ascii_lowercase() || b"-|".contains(&byte)) => {
                Self::OneOf(words.split('|').collect())
            }
            _ => return None,
        })
    }
}

/// Takes a pattern apart. What is misspelt in the table becomes a literal word, which the tests of the table refuse.
pub(crate) fn pieces(pattern: &'static str) -> Vec<Piece> {
    let mut words = pattern.split_whitespace();
    alternatives(&mut words).0.into_iter().next().unwrap_or_default()
}

/// Reads up to the group's closing bracket; the second value is what stands behind that bracket.
fn alternatives(words: &mut dyn Iterator<Item = &'static str>) -> (Vec<Vec<Piece>>, Times) {
    let mut all = Vec::new();
    let mut current = Vec::new();
    while let Some(word) = words.next() {
        if word == "(" {
            let (group, times) = alternatives(words);
            current.push(Piece { part: Part::Group(group), times });
        } else if word == "|" {
            all.push(std::mem::take(&mut current));
        } else if let Some(suffix) = word.strip_prefix(')') {
            all.push(current);
            return (all, times(suffix).1);
        } else {
            current.push(piece(word));
        }
    }
    all.push(current);
    (all, Times::Once)
}

fn times(word: &'static str) -> (&'static str, Times) {
    for (suffix, times) in [('?', Times::Maybe), ('*', Times::Many), ('+', Times::Some)] {
        if let Some(rest) = word.strip_suffix(suffix) {
            return (rest, times);
        }
    }
    (word, Times::Once)
}

fn piece(word: &'static str) -> Piece {
    let (word, times) = times(word);
    let (name, kind) = word.split_once(':').unwrap_or((word, word));
    let is_slot = name.bytes().all(|byte| byte.is_ascii_uppercase() || byte == b'_');
    let part = match SlotKind::of(kind) {
        _ if word == "->" => Part::Arrow,
        Some(kind) if is_slot => Part::Slot { name: name.to_lowercase(), kind },
        _ => Part::Word(word),
    };
    Piece { part, times }
}

/// Visits every part of a pattern, groups before what is in them.
pub(crate) fn walk<'p>(pieces: &'p [Piece], visit: &mut dyn FnMut(&'p Piece)) {
    for piece in pieces {
        visit(piece);
        if let Part::Group(alternatives) = &piece.part {
            for alternative in alternatives {
                walk(alternative, visit);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patterns_come_apart() {
        let found = pieces(
            "contact FROM:TERMINAL -> TO:TERMINAL ( key KEYS:KEY+ | in WHERE:NAME+ )? SIDE:low|high TEXT?",
        );
        let Part::Group(group) = &found[4].part else { panic!("{found:?}") };
        assert_eq!(found[4].times, Times::Maybe);
        assert_eq!(group.len(), 2);
        assert_eq!(found[0].part, Part::Word("contact"));
        assert_eq!(found[2].part, Part::Arrow);
        assert_eq!(
            found[5].part,
            Part::Slot { name: "side".into(), kind: SlotKind::OneOf(vec!["low", "high"]) }
        );
        assert_eq!(found[6].part, Part::Slot { name: "text".into(), kind: SlotKind::Text });
    }
}
