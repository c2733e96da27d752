//! Any bytes: reading never panics, keeps every byte, and every place it names lies in the text.
//!
//! From the repository's root, for a minute:
//! `RUSTC_BOOTSTRAP=1 cargo fuzz run --fuzz-dir tests/fuzz parse -- -max_total_time=60 -dict=tests/fuzz/circuit.dict`

#![no_main]

use halfsplit_syntax::{Fact, Span, parse};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let text = String::from_utf8_lossy(bytes);
    let parse = parse(&*text);
    assert_eq!(parse.tree.text(), text);
    let tokens = parse.tree.tokens();
    let mut end = 0;
    for token in 0..tokens.len() as u32 {
        assert_eq!(tokens.span(token).start, end);
        end = tokens.span(token).end;
    }
    assert_eq!(end as usize, text.len());
    for error in &parse.errors {
        fits(&text, error.span);
        error.fix.iter().for_each(|fix| fits(&text, fix.span));
        error.related.iter().for_each(|related| fits(&text, related.span));
    }
    parse.facts.iter().for_each(|fact| check(&text, fact));
});

fn check(text: &str, fact: &Fact) {
    fits(text, fact.span);
    fact.slots.iter().for_each(|slot| fits(text, slot.span));
    fact.facts.iter().for_each(|fact| check(text, fact));
}

fn fits(text: &str, span: Span) {
    assert!(text.get(span.range()).is_some(), "{span:?} does not fit {} bytes", text.len());
}
