//! The grammar as EBNF, written out of the table.

use super::{Entry, Inside, Part, Piece, Shape, SlotKind, Times, all, top};
use crate::{colour::COLOURS, units::Dimension};

/// The text of the grammar file, in the notation of ISO 14977. Written out of the table, so it says what the parser does.
pub fn ebnf() -> String {
    let mut out = String::from(HEAD);
    out += "\n(* What may stand outside all blocks *)\n\n";
    // The header is no statement like others: it comes first and once.
    let statements: Vec<String> = choices(top()).into_iter().filter(|name| name != "halfsplit").collect();
    out += &rule("statement", &statements);
    out += "\n(* Statements *)\n\n";
    let mut written: Vec<String> = Vec::new();
    for shape in all() {
        let name = rule_name(shape);
        if written.contains(&name) {
            continue;
        }
        // Two ways to write the same statement are one rule.
        let ways: Vec<String> = all().iter().filter(|other| rule_name(other) == name).map(line).collect();
        out += &format!("(* {} *)\n", shape.entry.about);
        out += &rule(&name, &ways);
        let inside = shape.inside();
        let block = format!("{}-block", shape.keyword);
        if !inside.is_empty() && !written.contains(&block) {
            out += &rule(
                &block,
                &["\"{\", { newline }, { ".to_owned()
                    + &fact(shape)
                    + ", newline, { newline } }, [ "
                    + &fact(shape)
                    + " ], \"}\""],
            );
            let mut facts = choices(inside);
            // In the block of a kind stands what may stand in the block of its sort of part, with parameters for values.
            facts.extend(
                sorts(shape)
                    .filter(|sort| !super::inside(sort).is_empty())
                    .map(|sort| format!("{sort}-fact")),
            );
            out += &rule(&fact(shape), &facts);
            written.push(block);
        }
        out.push('\n');
        written.push(name);
    }
    out += &values();
    out
}

const HEAD: &str = "\
(* The language of circuit files, in the notation of ISO 14977.

   Written by a program out of the table in crates/syntax/src/shapes; a test compares the two.
   Spaces and tabs may stand between any two symbols, remarks from `#` to the line's end;
   a name, a path, a colour or a number is written without spaces inside. *)

file = { newline }, halfsplit, { newline, { newline }, statement }, { newline } ;
newline = ? a line end ? ;
";

fn rule(name: &str, ways: &[impl AsRef<str>]) -> String {
    let ways: Vec<&str> = ways.iter().map(AsRef::as_ref).collect();
    let line = format!("{name} = {} ;\n", ways.join(" | "));
    if line.len() <= 110 {
        return line;
    }
    format!("{name}\n    = {}\n    ;\n", ways.join("\n    | "))
}

/// The name of a shape's rule: its keyword, and where the same keyword means different things, where it stands.
fn rule_name(shape: &Shape) -> String {
    let same = |other: &&Shape| other.keyword == shape.keyword && !std::ptr::eq(other.entry, shape.entry);
    let places = |entry: &'static Entry| entry.within;
    if all().iter().filter(same).any(|other| places(other.entry) != places(shape.entry)) {
        let place = shape.places().next().unwrap_or_default();
        return format!("{}-of-{place}", shape.keyword);
    }
    shape.keyword.to_owned()
}

/// The sorts of part that a statement can describe: those of `kind`.
fn sorts(shape: &Shape) -> impl Iterator<Item = &'static str> {
    let mut sorts = Vec::new();
    super::walk(&shape.pieces, &mut |piece| match &piece.part {
        Part::Slot { name, kind: SlotKind::OneOf(words) } if name == "sort" => sorts.extend(words.clone()),
        _ => {}
    });
    sorts.into_iter()
}

fn fact(shape: &Shape) -> String {
    format!("{}-fact", shape.keyword)
}

fn choices(inside: Inside) -> Vec<String> {
    let mut names: Vec<String> = inside.shapes().map(rule_name).collect();
    names.dedup();
    names
}

fn line(shape: &Shape) -> String {
    let own = shape.pieces.len() - usize::from(shape.takes_condition());
    let mut line = sequence(shape.pieces.get(..own).unwrap_or(&[]));
    if shape.takes_condition() {
        line += ", [ condition ]";
    }
    if shape.inside().is_empty() { line } else { format!("{line}, [ {}-block ]", shape.keyword) }
}

fn sequence(pieces: &[Piece]) -> String {
    pieces.iter().map(piece).collect::<Vec<_>>().join(", ")
}

fn piece(piece: &Piece) -> String {
    let part = match &piece.part {
        Part::Word(word) => format!("\"{word}\""),
        Part::Arrow => "\"->\"".to_owned(),
        Part::Slot { kind, .. } => symbol(kind, matches!(piece.times, Times::Maybe | Times::Many)),
        Part::Group(alternatives) => {
            let all: Vec<String> = alternatives.iter().map(|pieces| sequence(pieces)).collect();
            let all = all.join(" | ");
            if piece.times == Times::Once { format!("( {all} )") } else { all }
        }
    };
    match piece.times {
        Times::Once => part,
        Times::Maybe => format!("[ {part} ]"),
        Times::Many => format!("{{ {part} }}"),
        Times::Some => format!("{part}, {{ {} }}", part.trim_matches(['(', ')', ' '])),
    }
}

fn symbol(kind: &SlotKind, enclosed: bool) -> String {
    match kind {
        SlotKind::Name => "NAME".to_owned(),
        SlotKind::Pin => "PIN".to_owned(),
        SlotKind::Item => "ITEM".to_owned(),
        SlotKind::Terminal => "TERMINAL".to_owned(),
        SlotKind::Text => "TEXT".to_owned(),
        SlotKind::Colour => "COLOUR".to_owned(),
        SlotKind::Number => "NUMBER".to_owned(),
        SlotKind::Integer => "INTEGER".to_owned(),
        SlotKind::Range => "RANGE".to_owned(),
        SlotKind::Word => "WORD".to_owned(),
        SlotKind::Value => "VALUE".to_owned(),
        SlotKind::Quantity(dimension) => format!("{dimension:?}").to_uppercase(),
        SlotKind::OneOf(words) => {
            let words: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
            let words = words.join(" | ");
            if enclosed { words } else { format!("( {words} )") }
        }
    }
}

/// The symbols that values are made of.
fn values() -> String {
    let mut out = String::from("(* For which vehicles a line holds *)\n\n");
    out += &rule("condition", &["\"when\", term, { \"and\", term }"]);
    out += &rule("term", &["NAME", "\"not\", NAME", "\"serial\", ( \">=\", INTEGER | RANGE )"]);
    out += "\n(* Values *)\n\n";
    for dimension in [
        Dimension::Volts,
        Dimension::Amps,
        Dimension::Ohms,
        Dimension::Watts,
        Dimension::Metres,
        Dimension::Section,
        Dimension::Minutes,
        Dimension::Celsius,
        Dimension::BitRate,
    ] {
        let units: Vec<String> =
            dimension.spellings().split(", ").map(|unit| format!("\"{unit}\"")).collect();
        let name = format!("{dimension:?}").to_uppercase();
        out += &rule(&name, &[format!("number, ( {} )", units.join(" | ")), "\"unknown\"".to_owned()]);
    }
    let codes: Vec<String> = COLOURS.iter().map(|(code, _)| format!("\"{code}\"")).collect();
    out += &rule("COLOUR", &["code, [ \"/\", code ]", "\"unknown\""]);
    out += &rule("code", &[codes.join(" | ")]);
    out += TAIL;
    out
}

const TAIL: &str = "\
NUMBER = number | \"unknown\" ;
INTEGER = digits | \"unknown\" ;
RANGE = digits, [ \"..\", digits ] ;
TEXT = '\"', { ? any character but a quotation mark and a line end ? }, '\"' ;
NAME = word | digits, word ;
ITEM = word ;
WORD = word ;
VALUE = word | number, [ word ] | digits, word | RANGE | COLOUR | TEXT ;
TERMINAL = word | number | digits, word ;
PIN = word | number | digits, word ;
word = letter, { letter | digit }, { ( \".\" | \":\" | \"/\" | \"-\" ), ( letter | digit ), { letter | digit } } ;
number = [ \"+\" | \"-\" ], ( digits, [ \".\", digits ] | \".\", digits ) ;
digits = digit, { digit } ;
digit = \"0\" | \"1\" | \"2\" | \"3\" | \"4\" | \"5\" | \"6\" | \"7\" | \"8\" | \"9\" ;
letter = ? a letter, `_`, `%`, `°`, `Ω`, `µ`, or behind the first one `²` ? ;
";

#[cfg(test)]
mod tests {
    /// Run with `UPDATE_GRAMMAR=1` to write the file anew.
    #[test]
    fn the_grammar_file_says_what_the_table_says() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../grammar/halfsplit.ebnf");
        let grammar = super::ebnf();
        if std::env::var_os("UPDATE_GRAMMAR").is_some() {
            std::fs::write(path, &grammar).unwrap();
        }
        let written = std::fs::read_to_string(path).unwrap_or_default();
        assert!(written == grammar, "grammar/halfsplit.ebnf is stale: run this test with UPDATE_GRAMMAR=1");
    }

    /// Every rule that is used is defined, and only once.
    #[test]
    fn the_grammar_is_closed() {
        let grammar = super::ebnf();
        let bare = strip(&grammar);
        let mut defined: Vec<&str> =
            bare.split(';').filter_map(|rule| rule.split_once('=')).map(|(name, _)| name.trim()).collect();
        for rule in bare.split(';') {
            let Some((_, right)) = rule.split_once('=') else { continue };
            for symbol in
                right.split(|c: char| !c.is_alphanumeric() && c != '-' && c != '_').filter(|s| !s.is_empty())
            {
                assert!(defined.contains(&symbol), "{symbol} is used and not defined");
            }
        }
        let count = defined.len();
        defined.sort_unstable();
        defined.dedup();
        assert_eq!(defined.len(), count, "a rule is defined twice");
        assert!(count > 50);
    }

    /// The grammar without comments, literals and described symbols.
    fn strip(grammar: &str) -> String {
        let mut out = String::new();
        let mut rest = grammar;
        while let Some(letter) = rest.chars().next() {
            let close = match letter {
                '(' if rest.starts_with("(*") => Some("*)"),
                '"' => Some("\""),
                '\'' => Some("'"),
                '?' => Some("?"),
                _ => None,
            };
            if let Some(close) = close {
                let from = if close == "*)" { 2 } else { 1 };
                let end = rest[from..].find(close).unwrap() + from + close.len();
                rest = &rest[end..];
            } else {
                out.push(letter);
                rest = &rest[letter.len_utf8()..];
            }
        }
        out
    }
}
