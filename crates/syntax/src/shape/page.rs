//! The reference: a page for every word that opens a statement, written out of the table.

use super::{Entry, Part, Piece, Shape, SlotKind, TOP, Times, all, top};
use crate::{shapes::PARTS, units::Dimension};

/// What the index of the reference is called.
pub const INDEX: &str = "README.md";

/// All words that have a page, in the order of the guide.
pub fn words() -> Vec<&'static str> {
    let mut words: Vec<&str> = Vec::new();
    for shape in all() {
        if !words.contains(&shape.keyword) {
            words.push(shape.keyword);
        }
    }
    words
}

/// The reference page of a word, in Markdown; `None` for a word that opens no statement.
///
/// `lay_out` is given an example, lines of a circuit file, and gives back its layout.
pub fn page(word: &str, lay_out: &dyn Fn(&str) -> String) -> Option<String> {
    let shapes: Vec<&Shape> = all().iter().filter(|shape| shape.keyword == word).collect();
    let mut out = format!("# {word}\n");
    for shape in &shapes {
        out.push('\n');
        if shapes.len() > 1 {
            out += &format!("## {}\n\n", title(shape, &shapes));
        }
        out += &section(shape, lay_out);
    }
    if shapes.is_empty() {
        return None;
    }
    out += "\nHow such a line is read, and how values are written: [all statements](README.md).\n";
    Some(out)
}

/// The index: every statement in a line, how a line is read, how values are written.
pub fn index() -> String {
    let mut out = String::from(INDEX_HEAD);
    out += "\n## Outside all blocks\n\n| statement | says |\n| --- | --- |\n";
    for shape in top().shapes() {
        out += &row(shape.keyword, &[shape.entry.about]);
    }
    out += "\n## In blocks\n\n| statement | in the block of | says |\n| --- | --- | --- |\n";
    let mut inner: Vec<&Shape> =
        all().iter().filter(|shape| shape.places().any(|place| place != TOP)).collect();
    inner.sort_by_key(|shape| shape.keyword);
    for shape in inner {
        let places: Vec<&str> = shape.places().filter(|place| *place != TOP).collect();
        out += &row(shape.keyword, &[&short(&places), shape.entry.about]);
    }
    out += &format!("\nEvery part is {}.\n", list(PARTS));
    out += INDEX_VALUES;
    for kind in KINDS {
        out += &format!("| {} | {} |\n", noun(kind), written(kind));
    }
    for dimension in DIMENSIONS {
        let kind = SlotKind::Quantity(*dimension);
        out += &format!("| {} | {} |\n", noun(&kind), written(&kind));
    }
    out
}

const INDEX_HEAD: &str = "\
# All statements

Written by a program out of the parser's table; a test compares the two. `halfsplit explain WORD` prints the same
pages. Who has never written a circuit file begins with the [guide](../../examples/guide/README.md).

## How a line is read

A page shows a line like this: `splice NAME [ LABEL ]`.

* Small letters stand for themselves: `splice`, `to`, `->`.
* CAPITALS are values. The table below the line says what each means and how it is written.
* `[ … ]` may be left out.
* `{ … }` may come several times, or not at all; `NAME …` comes at least once.
* `one | other` is one of the two.

One line is one fact, and its parts stand in the order shown. What stands behind a `#` is a remark. A block `{ … }`
holds one fact a line. The order of the lines is free, but for the first line, `halfsplit 1`.
";

const INDEX_VALUES: &str = "
## For which vehicles

Most lines may end in `when …`. They then hold only on the vehicles that it names: `when AC` (with this option),
`when not AC` (without it), `when serial >= 40218` (from this build serial on), `when serial 40001..40217` (in this
range), and several of them with `and` between. The options are declared in the block of [vehicle](vehicle.md).

## Values

Wherever a value is a number with a unit, `unknown` may stand in its place. It is never read as zero: every reading
that depends on it says so.

| value | written |
| --- | --- |
";

/// The types of values that the index explains, but for quantities.
const KINDS: &[SlotKind] = &[
    SlotKind::Name,
    SlotKind::Pin,
    SlotKind::Item,
    SlotKind::Terminal,
    SlotKind::Text,
    SlotKind::Colour,
    SlotKind::Number,
    SlotKind::Integer,
    SlotKind::Range,
    SlotKind::Value,
];

const DIMENSIONS: &[Dimension] = &[
    Dimension::Volts,
    Dimension::Amps,
    Dimension::Ohms,
    Dimension::Watts,
    Dimension::Metres,
    Dimension::Section,
    Dimension::Minutes,
    Dimension::BitRate,
];

/// What tells two statements with the same word apart: where they stand, or what their line looks like.
fn title(shape: &Shape, all: &[&Shape]) -> String {
    let places = |entry: &'static Entry| entry.within;
    if all.iter().any(|other| *other != shape && places(other.entry) == places(shape.entry)) {
        return format!("`{}`", line(shape));
    }
    let places: Vec<&str> = shape.places().collect();
    format!("In the block of {}", list(&places))
}

/// All that is to be said of one statement.
fn section(shape: &Shape, lay_out: &dyn Fn(&str) -> String) -> String {
    let mut out = format!("{}\n\n```text drawing\n{}\n```\n\n", shape.entry.about, line(shape));
    let places: Vec<&str> = shape.places().filter(|place| *place != TOP).collect();
    let outside = shape.allowed_in(TOP);
    out += "Stands ";
    out += match (outside, places.is_empty()) {
        (true, true) => "outside all blocks.",
        (true, false) => "outside all blocks, or in the block of ",
        (false, _) => "in the block of ",
    };
    if !places.is_empty() {
        out += &(links(&places) + ".");
    }
    if shape.takes_condition() {
        out += " Its line may end in [`when …`](README.md#for-which-vehicles).";
    }
    out += "\n";
    if !shape.entry.slots.is_empty() {
        out += "\n| value | is | written |\n| --- | --- | --- |\n";
        super::walk(&shape.pieces, &mut |piece| {
            let Part::Slot { name, kind } = &piece.part else { return };
            let Some((_, about)) = shape.entry.slots.iter().find(|(slot, _)| slot == name) else { return };
            let row = row_of(&[&value(name, kind), about, &written(kind)]);
            // The same value may stand in several ways of writing the line.
            if !out.contains(&row) {
                out += &row;
            }
        });
    }
    let inside: Vec<&Shape> = shape.inside().shapes().collect();
    if !inside.is_empty() {
        out += "\nIn its block:\n\n| line | says |\n| --- | --- |\n";
        for fact in inside {
            out += &row(fact.keyword, &[fact.entry.about]);
        }
    }
    let (place, example) = example(shape);
    let fence = if place == TOP { "circuit part".to_owned() } else { format!("circuit in {place}") };
    out += &format!("\nFor example:\n\n```{fence}\n{}\n```\n", lay_out(&example).trim_end());
    out
}

/// An example, in the blocks that it needs but for the outermost, and where that stands.
fn example(shape: &Shape) -> (&'static str, String) {
    let mut text = shape.entry.example.to_owned();
    let mut place = shape.places().next().unwrap_or(TOP);
    if shape.allowed_in(TOP) {
        place = TOP;
    }
    while let Some(holder) =
        all().iter().find(|holder| holder.keyword == place && !holder.inside().is_empty())
    {
        text = format!("{} {{\n{text}\n}}", holder.entry.example);
        place = if holder.allowed_in(TOP) { TOP } else { holder.places().next().unwrap_or(TOP) };
    }
    (place, text)
}

/// A value as the line shows it.
fn value(name: &str, kind: &SlotKind) -> String {
    match kind {
        SlotKind::OneOf(words) => list(words),
        _ => format!("`{}`", name.to_uppercase()),
    }
}

fn row(word: &str, cells: &[&str]) -> String {
    let word = format!("[{word}]({word}.md)");
    let cells: Vec<&str> = [word.as_str()].into_iter().chain(cells.iter().copied()).collect();
    row_of(&cells)
}

fn row_of(cells: &[&str]) -> String {
    let cells: Vec<String> = cells.iter().map(|cell| cell.replace('|', "\\|")).collect();
    format!("| {} |\n", cells.join(" | "))
}

fn list(words: &[&str]) -> String {
    words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ")
}

/// A list of places in which all parts are named as such.
fn short(places: &[&str]) -> String {
    if !PARTS.iter().all(|part| places.contains(part)) {
        return list(places);
    }
    let others: Vec<&str> = places.iter().copied().filter(|place| !PARTS.contains(place)).collect();
    if others.is_empty() { "every part".to_owned() } else { format!("every part, {}", list(&others)) }
}

fn links(words: &[&str]) -> String {
    words.iter().map(|word| format!("[{word}]({word}.md)")).collect::<Vec<_>>().join(", ")
}

/// The line as people read it.
fn line(shape: &Shape) -> String {
    let own = shape.pieces.len() - usize::from(shape.takes_condition());
    sequence(shape.pieces.get(..own).unwrap_or(&[]))
}

fn sequence(pieces: &[Piece]) -> String {
    pieces.iter().map(piece).collect::<Vec<_>>().join(" ")
}

fn piece(piece: &Piece) -> String {
    let (part, several) = match &piece.part {
        Part::Word(word) => ((*word).to_owned(), false),
        Part::Arrow => ("->".to_owned(), false),
        Part::Slot { kind: SlotKind::OneOf(words), .. } => (words.join(" | "), words.len() > 1),
        Part::Slot { name, .. } => (name.to_uppercase(), false),
        Part::Group(ways) => {
            let all: Vec<String> = ways.iter().map(|way| sequence(way)).collect();
            (all.join(" | "), true)
        }
    };
    match piece.times {
        Times::Once if several => format!("( {part} )"),
        Times::Once => part,
        Times::Maybe => format!("[ {part} ]"),
        Times::Many => format!("{{ {part} }}"),
        Times::Some if several => format!("( {part} ) …"),
        Times::Some => format!("{part} …"),
    }
}

/// What a type of value is called.
fn noun(kind: &SlotKind) -> &'static str {
    match kind {
        SlotKind::Name => "a name",
        SlotKind::Pin => "a pin",
        SlotKind::Item => "a thing that is declared",
        SlotKind::Terminal => "a terminal",
        SlotKind::Text => "text",
        SlotKind::Colour => "a colour",
        SlotKind::Number => "a number",
        SlotKind::Integer => "a whole number",
        SlotKind::Range => "a number or range",
        SlotKind::Word => "a word",
        SlotKind::Value => "any value",
        SlotKind::OneOf(_) => "one of some words",
        SlotKind::Quantity(dimension) => dimension.noun(),
    }
}

/// How a value of a type is written.
fn written(kind: &SlotKind) -> String {
    match kind {
        SlotKind::Name => "letters and digits, as you call it: `W7`, `REF_A`".into(),
        SlotKind::Pin => "where a probe can rest: `X34:2`, `G1:30`, `F12:load`, `SP10`, `GP1`, `BUS1`".into(),
        SlotKind::Item => "the name of a part, connector or pin: `B4`, `A10.X2`".into(),
        SlotKind::Terminal => "a terminal's number or letters: `30`, `87a`".into(),
        SlotKind::Text => "words in quotation marks: `\"left wing\"`".into(),
        SlotKind::Colour => "letters of IEC 60757, base colour, then tracer: `GY`, `GY/RD`; `unknown`".into(),
        SlotKind::Number => "a number without unit: `0.5`".into(),
        SlotKind::Integer => "a number without unit: `3`".into(),
        SlotKind::Range => "one number, or first and last with two dots: `5`, `15..19`".into(),
        SlotKind::Word => "a word".into(),
        SlotKind::Value => "as where it stands: `X34`, `8 mA`, `GY/RD`, `\"left wing\"`".into(),
        SlotKind::OneOf(words) if words.len() == 1 => "this word".into(),
        SlotKind::OneOf(_) => "one of these words".into(),
        SlotKind::Quantity(Dimension::Section) => {
            "a number and `mm2`, `AWG` or `SAE`: `0.5 mm2`, `20 AWG`".into()
        }
        SlotKind::Quantity(dimension) => {
            let units: Vec<&str> = dimension.spellings().split(", ").collect();
            format!("a number and its unit, {}", list(&units))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_as_people_read_them() {
        let of = |keyword: &str| line(all().iter().find(|shape| shape.keyword == keyword).unwrap());
        assert_eq!(of("wire"), "wire NAME [ as AS ] FROM to TO [ COLOUR ] [ SECTION ] [ LENGTH ] [ LABEL ]");
        assert_eq!(of("link"), "link NAME [ as AS ] RATING [ LABEL ] { PIN on BAR }");
        assert_eq!(of("view"), "view ( wire-side | mating-face )");
        assert_eq!(of("return"), "return PINS …");
        assert_eq!(
            of("driver"),
            "driver NAME ( low-side | high-side ) FROM -> TO [ key ( off | accessory | run | crank ) … ]"
        );
    }

    #[test]
    fn a_word_with_several_statements_has_one_page() {
        let same = |text: &str| text.to_owned();
        let contact = page("contact", &same).unwrap();
        for place in ["connector", "switch", "relay"] {
            assert!(contact.contains(&format!("`{place}`")), "{contact}");
        }
        assert_eq!(page("nonsense", &same), None);
        assert_eq!(words().iter().filter(|word| **word == "contact").count(), 1);
    }

    /// Every page names every value of its lines, and every line of its blocks.
    #[test]
    fn pages_are_whole() {
        for word in words() {
            let page = page(word, &|text| text.to_owned()).unwrap();
            for shape in all().iter().filter(|shape| shape.keyword == word) {
                for (slot, about) in shape.entry.slots {
                    assert!(page.contains(&format!("` | {about} | ")), "{word}: {slot}");
                }
                for fact in shape.inside().shapes() {
                    assert!(
                        page.contains(&format!("| [{0}]({0}.md) |", fact.keyword)),
                        "{word}: {}",
                        fact.keyword
                    );
                }
                assert!(index().contains(&format!("[{word}]({word}.md)")));
            }
        }
    }
}
