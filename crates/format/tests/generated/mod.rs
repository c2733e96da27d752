//! Circuit text out of the table of statements: every statement, with and without its optional parts, loosely written.

use halfsplit_syntax::{
    shape::{self, Inside, Part, Piece, Shape, SlotKind, Times},
    units::Dimension,
};

/// A sequence of numbers that looks random and is the same for the same seed (xorshift).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// A number below `end`.
    pub fn below(&mut self, end: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 16) as usize % end.max(1)
    }

    /// Whether an event of so many in a hundred happens.
    pub fn percent(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    pub fn pick<'a, T: ?Sized>(&mut self, from: &[&'a T]) -> &'a T {
        from[self.below(from.len())]
    }
}

/// A file.
pub fn file(dice: &mut Dice) -> String {
    let mut out = String::from(if dice.percent(5) { "\u{FEFF}" } else { "" });
    gap_lines(dice, &mut out);
    out += "halfsplit 1";
    end_line(dice, &mut out);
    for _ in 0..dice.below(14) {
        gap_lines(dice, &mut out);
        statement(dice, shape::top(), 0, &mut out);
    }
    if dice.percent(20) {
        out = out.trim_end().to_owned();
    }
    if dice.percent(20) {
        out = out.replace('\n', "\r\n");
    }
    out
}

/// A statement that may stand in a place, with its block and line end.
fn statement(dice: &mut Dice, inside: Inside, depth: usize, out: &mut String) {
    let shapes: Vec<&Shape> = inside.shapes().filter(|shape| shape.keyword != "halfsplit").collect();
    if shapes.is_empty() {
        return;
    }
    let shape = dice.pick(&shapes);
    *out += dice.pick(&["", "", "  ", "    ", "\t", " \u{a0}"]);
    sequence(dice, &shape.pieces, out);
    if !shape.inside().is_empty() && depth < 4 && dice.percent(60) {
        *out += dice.pick(&[" {", "{", "   {"]);
        if dice.percent(15) {
            // On one line, with at most one fact.
            let mut inner = String::new();
            statement(dice, shape.inside(), 9, &mut inner);
            let fits = !inner.contains('#') && dice.percent(90);
            *out += if fits { inner.trim() } else { "" };
            *out += dice.pick(&[" }", "}"]);
        } else {
            end_line(dice, out);
            for _ in 0..dice.below(5) {
                gap_lines(dice, out);
                statement(dice, shape.inside(), depth + 1, out);
            }
            gap_lines(dice, out);
            *out += dice.pick(&["}", "  }", "\t}"]);
        }
    }
    end_line(dice, out);
}

fn end_line(dice: &mut Dice, out: &mut String) {
    if dice.percent(10) {
        *out += dice.pick(&["# seen", " #", "   # 12 \" of # it  ", "\t#{ Ω"]);
    }
    *out += dice.pick(&["\n", "\n", "\n", " \t\n"]);
}

/// Blank and comment lines.
fn gap_lines(dice: &mut Dice, out: &mut String) {
    while dice.percent(20) {
        *out += dice.pick(&["\n", "  \n", "# a remark\n", "   #  }\n", "\n\n\n"]);
    }
}

fn sequence(dice: &mut Dice, pieces: &[Piece], out: &mut String) {
    for piece in pieces {
        let times = match piece.times {
            Times::Once => 1,
            Times::Maybe => dice.below(2),
            Times::Many => dice.below(3),
            Times::Some => 1 + dice.below(3),
        };
        for _ in 0..times {
            let tight = matches!(piece.part, Part::Arrow) && dice.percent(30);
            if !out.ends_with(['\n', ' ', '\t', '\u{a0}']) && !out.is_empty() && !tight {
                *out += dice.pick(&[" ", " ", "  ", "    ", "\t"]);
            }
            match &piece.part {
                Part::Word(word) => *out += word,
                Part::Arrow => *out += "->",
                Part::Slot { kind, .. } => *out += &value(dice, kind),
                Part::Group(alternatives) => {
                    let alternative = &alternatives[dice.below(alternatives.len())];
                    sequence(dice, alternative, out);
                }
            }
        }
    }
}

fn value(dice: &mut Dice, kind: &SlotKind) -> String {
    let number = dice.below(60);
    match kind {
        SlotKind::Name => format!("{}{number}", dice.pick(&["W", "X", "SP", "REF_A", "Öl"])),
        SlotKind::Pin => match dice.below(5) {
            0 => format!("A10.X2:{number}"),
            1 => format!("SP{number}"),
            2 => format!("X21.body_of_the_left_loom:{number}"),
            3 => format!("F{number}:load"),
            _ => format!("X{number}:1"),
        },
        SlotKind::Item => format!("B{number}"),
        SlotKind::Terminal => dice.pick(&["30", "87a", "85", "B"]).to_owned(),
        SlotKind::Text => {
            let inside = dice.pick(&["left cowl", "", "20 cm from A10  # 3", "Ölfilter – links", "{ }"]);
            let marks = dice.pick(&["\"\"", "\"\"", "\"\"", "“”"]).chars().collect::<Vec<_>>();
            format!("{}{inside}{}", marks[0], marks[1])
        }
        SlotKind::Colour => dice.pick(&["BK", "GY/RD", "GNYE", "unknown", "BU/WH", "ye/bu"]).to_owned(),
        SlotKind::Number => dice.pick(&["3", "0.25", "unknown"]).to_owned(),
        SlotKind::Integer => format!("{number}"),
        SlotKind::Range => match dice.below(3) {
            0 => format!("{number}"),
            1 => format!("{number}..{}", number + 5),
            _ => format!("{number} .. {}", number + 5),
        },
        SlotKind::Quantity(dimension) => {
            let units: &[&str] = match dimension {
                Dimension::Volts => &["V", "mV"],
                Dimension::Amps => &["A", "mA", "µA", "uA"],
                Dimension::Ohms => &["ohm", "kohm", "Ω", "kΩ", "m\u{2126}"],
                Dimension::Watts => &["W"],
                Dimension::Metres => &["m", "cm"],
                Dimension::Section => &["mm2", "mm²", "AWG"],
                Dimension::Minutes => &["min", "s"],
                Dimension::Celsius => &["C", "°C"],
                #[allow(
                    unreachable_patterns,
                    reason = "a dimension that is added is tested in its usual unit"
                )]
                other => &[other.usual()],
            };
            let unit = dice.pick(units);
            let space = dice.pick(&[" ", "", "  "]);
            match dice.below(4) {
                0 => "unknown".to_owned(),
                1 => format!("{number}{space}{unit}"),
                _ => format!("{number}.5{space}{unit}"),
            }
        }
        SlotKind::OneOf(words) => dice.pick(words).to_owned(),
        _ => dice.pick(&["C", "long-stub"]).to_owned(),
    }
}

/// A text with some of its lines, words or characters lost, doubled or swapped.
pub fn mutated(dice: &mut Dice, text: &str) -> String {
    let mut letters: Vec<char> = text.chars().collect();
    for _ in 0..=dice.below(6) {
        let (a, b) = (dice.below(letters.len()), dice.below(letters.len()));
        match dice.below(7) {
            _ if letters.len() < 50 => {}
            0 => drop(letters.remove(a)),
            1 => letters.insert(a, letters[b]),
            2 => letters.swap(a, b),
            3 => drop(letters.drain(a..(a + 40).min(letters.len()))),
            4 => letters.truncate(letters.len() - 1 - dice.below(40)),
            5 => {
                let line: Vec<char> =
                    letters[b..].iter().copied().take_while(|letter| *letter != '\n').collect();
                drop(letters.splice(a..a, line));
            }
            _ => letters[a] = ['{', '}', '"', '\n', ',', '“', '\t', '#', '\r'][b % 9],
        }
    }
    letters.into_iter().collect()
}
