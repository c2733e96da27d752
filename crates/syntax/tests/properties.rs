//! Properties that hold for every text.

use std::ops::Range;

use halfsplit_syntax::{Fact, Kind, Parse, Span, parse};
use proptest::prelude::*;

const REFERENCE: &str = include_str!("../../../examples/tern/reference-a.circuit");

/// What holds whatever the text.
fn check(text: &str) -> Parse {
    let parse = parse(text);
    assert_eq!(parse.tree.text(), text);
    let tokens = parse.tree.tokens();
    let mut end = 0;
    for token in 0..tokens.len() as u32 {
        let span = tokens.span(token);
        assert_eq!(span.start, end, "tokens follow each other without a gap");
        assert!(!span.is_empty());
        assert_eq!(tokens.at(span.start), token);
        end = span.end;
    }
    assert_eq!(end as usize, text.len(), "every byte belongs to a token");
    for (number, statement) in parse.tree.statements().iter().enumerate() {
        slices(text, statement.span);
        if let Some(parent) = statement.parent {
            assert!((parent.0 as usize) < number);
            let outer = parse.tree.statement(parent).unwrap().span;
            assert!(outer.start <= statement.span.start && statement.span.end <= outer.end);
        }
        let items = statement.items.clone();
        assert!(
            items.into_iter().all(|token| tokens.kind(token) != Kind::Newline || statement.items.is_empty())
        );
    }
    for error in &parse.errors {
        slices(text, error.span);
        assert!(!error.rule.is_empty() && !error.message.is_empty());
        if let Some(edit) = &error.fix {
            slices(text, edit.span);
        }
        for related in &error.related {
            slices(text, related.span);
        }
    }
    parse.facts.iter().for_each(|fact| check_fact(text, fact));
    parse
}

fn slices(text: &str, span: Span) {
    assert!(text.get(span.range()).is_some(), "{span:?} does not fit {} bytes", text.len());
}

fn check_fact(text: &str, fact: &Fact) {
    slices(text, fact.span);
    slices(text, fact.keyword_span);
    for slot in &fact.slots {
        slices(text, slot.span);
    }
    fact.facts.iter().for_each(|fact| check_fact(text, fact));
}

/// Pieces of circuit text, right and wrong, in any order.
fn soup() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        Just("wire "),
        Just("sensor "),
        Just("relay "),
        Just("connector "),
        Just("fuse "),
        Just("halfsplit 1"),
        Just("W7 "),
        Just("X34:2 "),
        Just("X34: "),
        Just("GY/RD "),
        Just("GR "),
        Just("0.5 "),
        Just("0,5 "),
        Just("mm2 "),
        Just("mm "),
        Just("m "),
        Just("1O "),
        Just("l"),
        Just("O"),
        Just("to "),
        Just("-> "),
        Just(": "),
        Just(".."),
        Just("… "),
        Just("=> "),
        Just("{"),
        Just("}"),
        Just("\n"),
        Just("\r\n"),
        Just("  "),
        Just("\t"),
        Just("\u{a0}"),
        Just("\u{feff}"),
        Just("\""),
        Just("“"),
        Just("”"),
        Just("'"),
        Just("# remark"),
        Just("//"),
        Just("key run "),
        Just("unknown "),
        Just("on "),
        Just("14 "),
        Just("87a "),
        Just("elsewhere "),
        Just("Ω "),
        Just("é"),
        Just("-"),
        Just("draws "),
        Just("reach "),
        Just("5 min "),
        Just("contact "),
        Just("in "),
        Just("cavities "),
        Just("halves "),
        Just("caution hot "),
        Just("allow "),
        Just("because "),
    ];
    prop::collection::vec(piece, 0..60).prop_map(|pieces| pieces.concat())
}

/// The reference circuit with some of its lines, words or characters lost, doubled or swapped.
fn mutated(changes: Range<usize>) -> impl Strategy<Value = String> {
    let change = (any::<prop::sample::Index>(), any::<prop::sample::Index>(), 0..6_u8);
    prop::collection::vec(change, changes).prop_map(|changes| {
        let mut letters: Vec<char> = REFERENCE.chars().collect();
        for (first, second, kind) in changes {
            let (a, b) = (first.index(letters.len()), second.index(letters.len()));
            match kind {
                0 => drop(letters.remove(a)),
                1 => letters.insert(a, letters[b]),
                2 => letters.swap(a, b),
                3 => {
                    let end = (a + 40).min(letters.len());
                    drop(letters.drain(a..end));
                }
                4 => letters.truncate(letters.len().max(400) - 1),
                _ => letters[a] = ['{', '}', '"', '\n', ',', '“'][b % 6],
            }
        }
        letters.into_iter().collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_kept_whole(text in any::<String>()) {
        check(&text);
    }

    #[test]
    fn any_bytes_are_kept_whole(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        check(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn pieces_of_circuit_text_in_any_order(text in soup()) {
        check(&text);
    }

    #[test]
    fn a_changed_circuit_is_kept_whole(text in mutated(1..8)) {
        check(&text);
    }

    #[test]
    fn one_slip_costs_few_facts(text in mutated(1..2)) {
        let (whole, left) = (parse(REFERENCE).facts.len(), check(&text).facts.len());
        prop_assert!(left + 4 >= whole, "{left} of {whole} left");
    }

    /// A wire with its values in place reads as written, whatever the values.
    #[test]
    fn a_wire_reads_back(
        name in "[A-Z]{1,2}[0-9]{1,3}[a-z]?",
        from in "[A-Z][0-9]{1,2}(\\.[a-z]{3,6})?:[1-9][0-9]?",
        hundredths in 1..5_000_u32,
        length in 1..400_u32,
    ) {
        let section = f64::from(hundredths) / 100.0;
        let metres = f64::from(length) / 10.0;
        let text = format!("halfsplit 1\nwire {name} {from} to SP1 GY/RD {section}mm2 {metres} m\n");
        let parse = check(&text);
        prop_assert_eq!(&parse.errors, &[]);
        let wire = &parse.facts[1];
        prop_assert_eq!(wire.name("name").unwrap().value, name);
        prop_assert_eq!(wire.pin("from").unwrap().value, from);
        prop_assert_eq!(wire.section("section").unwrap().value, halfsplit_syntax::Section::Area(section));
        prop_assert_eq!(wire.quantity("length").unwrap().value.value, Some(metres));
    }
}

/// Every prefix of the reference circuit, as an editor sees it while someone types.
#[test]
fn every_prefix_is_kept_whole() {
    for end in (0..REFERENCE.len()).filter(|end| REFERENCE.is_char_boundary(*end)).step_by(7) {
        check(&REFERENCE[..end]);
    }
}
