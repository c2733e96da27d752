//! What a text must survive: each slip is told once, on its line, and costs no other fact.

use halfsplit_syntax::{Parse, parse};

const REFERENCE: &str = include_str!("../../../examples/tern/reference-a.circuit");

/// The rules of a text's faults with their lines, from 1.
fn faults(text: &str, parse: &Parse) -> Vec<(usize, &'static str)> {
    let line = |start: u32| text[..start as usize].matches('\n').count() + 1;
    parse.errors.iter().map(|error| (line(error.span.start), error.rule)).collect()
}

/// Puts a slip into the reference circuit: one fault, on that line, with help, and no fact is lost.
#[track_caller]
fn slip(from: &str, to: &str, rule: &str) {
    let at = REFERENCE.find(from).unwrap();
    let text = REFERENCE.replacen(from, to, 1);
    let line = REFERENCE[..at].matches('\n').count() + 1;
    let read = parse(text.as_str());
    assert_eq!(faults(&text, &read), [(line, rule)], "{to}");
    assert!(read.errors.iter().all(|error| error.help.is_some()), "{to}: {:?}", read.errors);
    assert_eq!(count(&read), count(&parse(REFERENCE)), "{to}");
}

/// The number of facts, inner ones too.
fn count(parse: &Parse) -> usize {
    fn all(facts: &[halfsplit_syntax::Fact]) -> usize {
        facts.iter().map(|fact| 1 + all(&fact.facts)).sum()
    }
    all(&parse.facts)
}

/// Another way to write the reference circuit that says the same without a fault.
#[track_caller]
fn same(text: &str) {
    let read = parse(text);
    assert_eq!(read.errors, []);
    assert_eq!(count(&read), count(&parse(REFERENCE)));
}

#[test]
fn slips_in_a_line() {
    slip("30 -> 15 ", "30 15 ", "missing-arrow");
    slip("30 -> 15 ", "30 → 15 ", "missing-arrow");
    slip("A10.X2:14     to", "A10.X2:14     ->", "missing-to");
    slip("\"left wing\"", "“left wing”", "smart-quote");
    slip("\"left wing\"", "„left wing“", "smart-quote");
    slip("\"left wing\"", "\"left wing", "unclosed-text");
    slip("0.75 mm2  2.1 m {", "0,75 mm2  2.1 m {", "decimal-comma");
    slip("0.75 mm2  2.1 m {", "0.75 mm2  2.1 {", "missing-unit");
    slip("GY/RD  0.5 mm2", "GR/RD  0.5 mm2", "unknown-colour");
    slip("GY/RD  0.5 mm2", "gy/rd  0.5 mm2", "unknown-colour");
    slip("to X34:2", "to X34:2O", "letter-for-digit");
    slip("60 A", "6O A", "letter-for-digit");
    slip("10 mm2", "1O mm2", "letter-for-digit");
    slip("1..13", "1-13", "range-spelling");
    slip("sensor B4", "sensro B4", "unknown-word");
    slip("\"left wing\"", "\"left\u{FFFD}wing\" \u{FFFD}", "unknown-character");
}

#[test]
fn other_ways_to_write_it() {
    let ohm = |sign: &str| REFERENCE.replace("ohm", sign).replace(&format!("{sign}s "), "ohms ");
    same(&ohm("Ω").replace("mm2", "mm²"));
    same(&ohm("\u{2126}").replace("120 mA", "120000 µA"));
    same(&REFERENCE.replace(' ', "\u{a0}").replace("\u{a0}\u{a0}", " \u{a0}"));
    same(&REFERENCE.replace("  ", "\t"));
    same(&REFERENCE.replace('\n', "\r\n"));
    same(&REFERENCE.replace('\n', "\r"));
    same(&format!("\u{FEFF}{REFERENCE}"));
    same(REFERENCE.trim_end());
}

/// Bytes that are not UTF-8, as a reader puts them in who does not refuse them.
#[test]
fn bytes_that_are_no_text() {
    let mut bytes = REFERENCE.as_bytes().to_vec();
    let at = REFERENCE.find("wire W7").unwrap();
    bytes.splice(at..at, [0xFF, 0xFE, b'\n']);
    let text = String::from_utf8_lossy(&bytes);
    let read = parse(&*text);
    assert_eq!(faults(&text, &read), [(REFERENCE[..at].matches('\n').count() + 1, "unknown-character")]);
    assert_eq!(count(&read), count(&parse(REFERENCE)));
    for byte in [0_u8, 0x80, 0xC0, 0xFF] {
        let noise = vec![byte; 10_000];
        assert!(!parse(String::from_utf8_lossy(&noise)).errors.is_empty());
    }
}

/// A closing brace lost at any place is told once, at the line of its block, and costs nothing.
#[test]
fn a_closing_brace_lost_at_any_place() {
    let whole = count(&parse(REFERENCE));
    for (at, _) in REFERENCE.match_indices("}\n") {
        let text = format!("{}{}", &REFERENCE[..at], &REFERENCE[at + 1..]);
        let read = parse(text.as_str());
        let found = faults(&text, &read);
        assert_eq!(found.iter().map(|(_, rule)| *rule).collect::<Vec<_>>(), ["unclosed-brace"], "at {at}");
        assert!(found[0].0 <= REFERENCE[..at].matches('\n').count() + 1);
        assert_eq!(count(&read), whole, "at {at}");
    }
}

/// An opening brace lost at any place is told once, on its line, and costs nothing.
#[test]
fn an_opening_brace_lost_at_any_place() {
    let whole = count(&parse(REFERENCE));
    for (at, _) in REFERENCE.match_indices(" {\n") {
        let text = format!("{}{}", &REFERENCE[..at], &REFERENCE[at + 2..]);
        let read = parse(text.as_str());
        let line = REFERENCE[..at].matches('\n').count() + 1;
        assert_eq!(faults(&text, &read), [(line, "missing-brace")], "at {at}");
        assert_eq!(count(&read), whole, "at {at}");
    }
}

/// A line with a fault costs no other line.
#[test]
fn any_line_may_be_nonsense() {
    let whole = count(&parse(REFERENCE));
    let lines: Vec<&str> = REFERENCE.lines().collect();
    for (number, line) in lines.iter().enumerate().skip(1) {
        if line.is_empty() || line.contains(['{', '}']) || line.starts_with('#') {
            continue;
        }
        let mut changed = lines.clone();
        changed[number] = "§§ gibberish ;; 1,2,3";
        let text = changed.join("\n");
        let read = parse(text.as_str());
        assert!(faults(&text, &read).iter().all(|(at, _)| *at == number + 1), "line {}", number + 1);
        assert!(!read.errors.is_empty() && count(&read) == whole - 1, "line {}", number + 1);
    }
}

#[test]
fn ten_thousand_nested_braces() {
    for text in ["{".repeat(10_000), "}".repeat(10_000), "{\n".repeat(10_000), "sensor B4 {\n".repeat(10_000)]
    {
        let before = format!("halfsplit 1\nsplice SP1\n{text}");
        let read = parse(before.as_str());
        assert!(!read.errors.is_empty());
        assert!(read.facts.iter().any(|fact| fact.keyword() == "splice"));
        let closed = format!("halfsplit 1\n{text}{}\nsplice SP1\n", "}\n".repeat(10_000));
        assert!(parse(closed.as_str()).facts.iter().any(|fact| fact.keyword() == "splice"));
    }
}
