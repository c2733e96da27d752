//! How fast circuit text is read, beside splitting the same bytes into lines, a pass by hand over its words, and
//! `serde_json` over the same facts as JSON.
//!
//! `cargo bench -p halfsplit-syntax`. Every figure comes twice: bytes per second and lines per second. `grammar/bench`
//! runs it together with tree-sitter on the same text.

use divan::{
    Bencher,
    counter::{BytesCount, ItemsCount},
};
use halfsplit_syntax::{Fact, Tokens, Value, parse};
use serde_json::json;

const REFERENCE: &str = include_str!("../../../examples/tern/reference-a.circuit");

fn main() {
    divan::main();
}

/// About one megabyte of correct text.
fn correct() -> String {
    let body = REFERENCE.split_once('\n').map_or("", |(_, body)| body);
    format!("halfsplit 1\n{}", body.repeat(1_000_000 / body.len()))
}

/// The same with a slip in every wire, and each block left open.
fn faulty() -> String {
    correct().replace(" to ", " -> ").replace("\n}", "\n")
}

fn run(bencher: Bencher, text: String, read: impl Fn(&str) -> usize + Sync) {
    let lines = text.lines().count();
    bencher
        .counter(BytesCount::of_str(&text))
        .counter(ItemsCount::new(lines))
        .bench(|| read(divan::black_box(&text)));
}

/// The yardstick: the bytes copied, checked to be UTF-8, and split into lines.
#[divan::bench]
fn lines(bencher: Bencher) {
    run(bencher, correct(), |text| {
        let bytes = text.as_bytes().to_vec();
        String::from_utf8(bytes).map_or(0, |text| text.lines().count())
    });
}

/// Cuts the text where the class of its bytes changes: what a tokenizer by hand does at least.
#[divan::bench]
fn words_by_hand(bencher: Bencher) {
    run(bencher, correct(), |text| {
        let class = |byte: &u8| match byte {
            b' ' | b'\t' => 0_u8,
            b'\n' | b'\r' => 1,
            b'"' | b'{' | b'}' | b'#' => 2,
            _ => 3,
        };
        let mut words = 0;
        let mut before = 0;
        for byte in text.as_bytes() {
            let now = class(byte);
            words += usize::from(now != before);
            before = now;
        }
        words
    });
}

/// The same facts as JSON, read into a value tree; counted by the bytes of the JSON and the lines of the circuit.
#[divan::bench]
fn serde_json_same_facts(bencher: Bencher) {
    let text = correct();
    let lines = text.lines().count();
    let json = json!(parse(text).facts.iter().map(as_json).collect::<Vec<_>>()).to_string();
    bencher.counter(BytesCount::of_str(&json)).counter(ItemsCount::new(lines)).bench(|| {
        let read: Result<Vec<serde_json::Value>, _> = serde_json::from_str(divan::black_box(&json));
        read.map_or(0, |facts| facts.len())
    });
}

fn as_json(fact: &Fact) -> serde_json::Value {
    let value = |value: &Value| match value {
        Value::Word(word) | Value::Text(word) | Value::Colour(word) => json!(word.as_str()),
        Value::Number(number) => json!(number),
        Value::Integer(number) => json!(number),
        Value::Range(range) => json!([range.first, range.last]),
        Value::Quantity(quantity) => json!(quantity.value),
        other => json!(format!("{other:?}")),
    };
    let slots: serde_json::Map<String, serde_json::Value> =
        fact.slots.iter().map(|slot| (slot.name.to_owned(), value(&slot.value))).collect();
    let inner: Vec<serde_json::Value> = fact.facts.iter().map(as_json).collect();
    json!({ "keyword": fact.keyword(), "slots": slots, "facts": inner })
}

/// Text to tokens.
#[divan::bench]
fn tokens(bencher: Bencher) {
    run(bencher, correct(), |text| Tokens::of(text).len());
}

/// Text to tokens, tree and facts.
#[divan::bench]
fn whole(bencher: Bencher) {
    run(bencher, correct(), |text| parse(text).facts.len());
}

/// The same where nearly every line is wrong.
#[divan::bench]
fn whole_faulty(bencher: Bencher) {
    run(bencher, faulty(), |text| parse(text).errors.len());
}

/// 20,000 blocks that are never closed.
#[divan::bench]
fn unclosed_blocks(bencher: Bencher) {
    let text = format!("halfsplit 1\n{}", "sensor B4 {\n  suspicion 3\n".repeat(20_000));
    run(bencher, text, |text| parse(text).facts.len());
}

/// 20,000 blocks that are never closed and never end by their indentation.
#[divan::bench]
fn nested_unclosed_blocks(bencher: Bencher) {
    let text = format!("halfsplit 1\n{}", "sensor B4 { connector X1 3 cavities {\n".repeat(10_000));
    run(bencher, text, |text| parse(text).facts.len());
}
