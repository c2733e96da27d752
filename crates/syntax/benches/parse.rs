//! How fast circuit text is read, beside reading the same bytes and splitting them into lines.
//!
//! `cargo bench -p halfsplit-syntax`. Every figure comes twice: bytes per second and lines per second.

use divan::{
    Bencher,
    counter::{BytesCount, ItemsCount},
};
use halfsplit_syntax::{Tokens, parse};

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
