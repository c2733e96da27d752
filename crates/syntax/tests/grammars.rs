//! The grammars for editors say what the table says: their word lists are written out of it.
//!
//! Run with `UPDATE_GRAMMAR=1` to write the files anew. Whether the grammars work is tested by `grammar/test`.

use std::{fs, path::Path};

use halfsplit_syntax::{
    colour::COLOURS,
    shape::{self, Part, Piece, Shape, SlotKind, Times},
    units::{Dimension, unit},
};
use serde_json::{Value, json};

/// Holds a file against what it should be.
fn compare(path: &str, wanted: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../grammar").join(path);
    if std::env::var_os("UPDATE_GRAMMAR").is_some() {
        fs::write(&path, wanted).unwrap();
    }
    let written = fs::read_to_string(&path).unwrap_or_default();
    assert!(written == wanted, "{} is stale: run this test with UPDATE_GRAMMAR=1", path.display());
}

fn pretty(value: &Value) -> String {
    serde_json::to_string_pretty(value).unwrap() + "\n"
}

fn piece(piece: &Piece) -> Value {
    let times = match piece.times {
        Times::Once => "once",
        Times::Maybe => "maybe",
        Times::Many => "many",
        Times::Some => "some",
    };
    match &piece.part {
        Part::Word(word) => json!({ "word": word, "times": times }),
        Part::Arrow => json!({ "arrow": true, "times": times }),
        Part::Slot { kind: SlotKind::OneOf(words), .. } => {
            json!({ "type": "OneOf", "words": words, "times": times })
        }
        Part::Slot { kind: SlotKind::Quantity(dimension), .. } => {
            json!({ "type": format!("{dimension:?}"), "times": times })
        }
        Part::Slot { kind, .. } => json!({ "type": format!("{kind:?}"), "times": times }),
        Part::Group(alternatives) => {
            let group: Vec<Value> = alternatives.iter().map(|pieces| sequence(pieces)).collect();
            json!({ "group": group, "times": times })
        }
    }
}

fn sequence(pieces: &[Piece]) -> Value {
    pieces.iter().map(piece).collect()
}

/// A statement's line. Where the part may be of a kind there are two: with `as` and without what the kind says,
/// or without `as` and with all of it.
fn line(shape: &Shape) -> Value {
    let opens = |piece: &Piece| match &piece.part {
        Part::Group(ways) => {
            matches!(ways.first().and_then(|way| way.first()), Some(Piece { part: Part::Word("as"), .. }))
        }
        _ => false,
    };
    let Some(at) = shape.pieces.iter().position(opens) else { return sequence(&shape.pieces) };
    let (before, rest) = (&shape.pieces[..at], &shape.pieces[at + 1..]);
    if !rest.iter().any(|piece| piece.times == Times::Once && shape::is_said_by_kind(piece)) {
        return sequence(&shape.pieces);
    }
    let mut of_kind = vec![Piece { times: Times::Once, ..shape.pieces[at].clone() }];
    of_kind.extend(rest.iter().map(|piece| match shape::is_said_by_kind(piece) {
        true => Piece { times: Times::Maybe, ..piece.clone() },
        false => piece.clone(),
    }));
    let mut all: Vec<Value> = before.iter().map(piece).collect();
    all.push(json!({ "group": [sequence(&of_kind), sequence(rest)], "times": "once" }));
    Value::Array(all)
}

/// Every spelling of a unit, by what it measures: the ones that are shown, with any prefix, and their other letters.
fn units() -> Vec<(String, Vec<String>)> {
    let mut dimensions = Vec::new();
    for shape in shape::all() {
        walk(&shape.pieces, &mut |kind| match kind {
            SlotKind::Quantity(dimension) if !dimensions.contains(dimension) => dimensions.push(*dimension),
            _ => {}
        });
    }
    let spelt = |dimension: Dimension| {
        let mut words: Vec<String> = Vec::new();
        for base in dimension.spellings().split(", ") {
            for base in [
                base.to_owned(),
                base.replace("ohm", "Ω"),
                base.replace("ohm", "\u{2126}"),
                base.replace("mm2", "mm²"),
                base.replace('C', "°C"),
            ] {
                for word in ["", "k", "M", "c", "m", "u", "µ", "μ"].map(|prefix| format!("{prefix}{base}"))
                {
                    let fits = unit(&word).is_some_and(|unit| unit.dimension() == dimension);
                    if fits && !words.contains(&word) {
                        words.push(word);
                    }
                }
            }
        }
        (format!("{dimension:?}"), words)
    };
    dimensions.into_iter().map(spelt).collect()
}

/// Visits every slot of a pattern.
fn walk<'p>(pieces: &'p [Piece], visit: &mut dyn FnMut(&'p SlotKind)) {
    for piece in pieces {
        match &piece.part {
            Part::Slot { kind, .. } => visit(kind),
            Part::Group(alternatives) => alternatives.iter().for_each(|pieces| walk(pieces, visit)),
            Part::Word(_) | Part::Arrow => {}
        }
    }
}

#[test]
fn the_tree_sitter_grammar_knows_every_statement() {
    let statements: Vec<Value> = shape::all()
        .iter()
        .map(|shape| {
            let within: Vec<&str> = shape.places().collect();
            json!({ "keyword": shape.keyword, "within": within, "pattern": line(shape), "example": shape.entry.example })
        })
        .collect();
    let units: serde_json::Map<String, Value> =
        units().into_iter().map(|(dimension, words)| (dimension, json!(words))).collect();
    let colours: Vec<&str> = COLOURS.iter().map(|(code, _)| *code).collect();
    compare(
        "tree-sitter-halfsplit/statements.json",
        &pretty(&json!({ "statements": statements, "units": units, "colours": colours })),
    );
}

/// The words of the table, each once and in one list only.
struct Words {
    keywords: Vec<&'static str>,
    inner: Vec<&'static str>,
    choices: Vec<&'static str>,
}

fn words() -> Words {
    let mut words = Words { keywords: Vec::new(), inner: Vec::new(), choices: vec!["unknown"] };
    words
        .keywords
        .extend(shape::all().iter().filter(|shape| shape.opens_with_keyword()).map(|shape| shape.keyword));
    for shape in shape::all() {
        words.inner.extend(shape.literals.iter().filter(|word| **word != shape.keyword));
        walk(&shape.pieces, &mut |kind| {
            if let SlotKind::OneOf(choices) = kind {
                words.choices.extend(choices);
            }
        });
    }
    for list in [&mut words.keywords, &mut words.inner, &mut words.choices] {
        list.sort_unstable();
        list.dedup();
    }
    words
}

#[test]
fn the_highlight_queries_know_every_word() {
    let words = words();
    let list = |words: &[&str]| words.iter().map(|word| format!("  \"{word}\"\n")).collect::<String>();
    let inner: Vec<&str> =
        words.inner.iter().copied().filter(|word| !words.keywords.contains(word)).collect();
    let choices: Vec<&str> = words
        .choices
        .iter()
        .copied()
        .filter(|word| *word != "unknown" && !words.keywords.contains(word) && !inner.contains(word))
        .collect();
    compare(
        "tree-sitter-halfsplit/queries/highlights.scm",
        &format!(
            "; Written by a program out of the table of statements; a test compares the two.\n\n\
             (comment) @comment\n(text) @string\n(colour) @constant\n(integer) @number\n(number) @number\n\
             (unit) @type\n(unknown) @constant.builtin\n(name) @variable\n(pin) @variable\n(terminal) @variable\n\
             (arrow) @operator\n\"..\" @operator\n[\"{{\" \"}}\"] @punctuation.bracket\n\n\
             [\n{}] @keyword\n\n[\n{}] @keyword.operator\n\n[\n{}] @constant.builtin\n",
            list(&words.keywords),
            list(&inner),
            list(&choices),
        ),
    );
}

/// Words as alternatives of a pattern, longer ones before their own beginnings.
fn alternatives(words: &[impl AsRef<str>]) -> String {
    let mut words: Vec<&str> = words.iter().map(AsRef::as_ref).collect();
    words.sort_by_key(|word| std::cmp::Reverse(word.chars().count()));
    words.join("|")
}

/// Whether a statement's first value is the name of what it declares.
fn declares(shape: &&Shape) -> bool {
    let first = shape.pieces.get(1).map(|piece| &piece.part);
    shape.opens_with_keyword()
        && matches!(first, Some(Part::Slot { name, kind: SlotKind::Name }) if name == "name")
}

#[test]
fn the_textmate_grammar_knows_every_word() {
    let words = words();
    let units: Vec<String> = units().into_iter().flat_map(|(_, words)| words).collect();
    let codes: Vec<&str> = COLOURS.iter().map(|(code, _)| *code).collect();
    let mut declares: Vec<&str> = shape::all().iter().filter(declares).map(|shape| shape.keyword).collect();
    declares.sort_unstable();
    declares.dedup();
    // What follows a whole word: nothing that could go on in it.
    let end = "(?![\\w.:/²°Ωµ-])";
    let start = "(?<![\\w.:/²°Ωµ-])";
    let line = "(?:^|(?<=\\{))[\\s\\x{FEFF}]*";
    let name = "([\\p{L}_][\\p{L}\\p{N}_]*(?:[.:/-][\\p{L}\\p{N}_]+)*)";
    let code = format!("(?:{})", alternatives(&codes));
    let rule =
        |scope: &str, pattern: String| json!({ "name": format!("{scope}.halfsplit"), "match": pattern });
    compare(
        "halfsplit.tmLanguage.json",
        &pretty(&json!({
            "name": "Halfsplit",
            "scopeName": "source.halfsplit",
            "fileTypes": ["circuit"],
            "comment": "Written by a program out of the table of statements; a test compares the two.",
            "patterns": [
                rule("comment.line.number-sign", "#.*$".into()),
                rule("string.quoted.double", "\"[^\"]*\"".into()),
                {
                    "match": format!("{line}({})\\s+{name}", alternatives(&declares)),
                    "captures": {
                        "1": { "name": "keyword.other.statement.halfsplit" },
                        "2": { "name": "entity.name.halfsplit" },
                    },
                },
                {
                    "match": format!("{line}({}){end}", alternatives(&words.keywords)),
                    "captures": { "1": { "name": "keyword.other.statement.halfsplit" } },
                },
                rule("constant.other.colour", format!("{start}{code}(?:/{code})?{end}")),
                {
                    "match": format!("(?<![\\w.:/])([+-]?(?:\\d+(?:\\.\\d+)?|\\.\\d+))\\s*({}){end}", alternatives(&units)),
                    "captures": {
                        "1": { "name": "constant.numeric.halfsplit" },
                        "2": { "name": "keyword.other.unit.halfsplit" },
                    },
                },
                rule("constant.language", format!("{start}(?:{}){end}", alternatives(&words.choices))),
                rule("keyword.operator.word", format!("{start}(?:{}){end}", alternatives(&words.inner))),
                rule("keyword.operator.arrow", "->".into()),
                rule("keyword.operator.range", "\\.\\.".into()),
                rule("punctuation.section.block", "[{}]".into()),
                rule("variable.other", name.to_owned()),
                rule("constant.numeric", "(?<![\\w.:/])[+-]?(?:\\d+(?:\\.\\d+)?|\\.\\d+)(?:[a-z]\\b)?".into()),
            ],
        })),
    );
}
