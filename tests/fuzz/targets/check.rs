//! Any text: checking a circuit never panics, and every finding has its places in the text.

#![no_main]

#[path = "../lines.rs"]
mod lines;

use halfsplit_base::{Files, Span};
use libfuzzer_sys::{fuzz_mutator, fuzz_target};

fuzz_target!(|bytes: &[u8]| {
    let text = String::from_utf8_lossy(bytes);
    let mut files = Files::default();
    let file = files.set("fuzz.circuit".into(), &text);
    for finding in halfsplit_check::check(&files, file).findings {
        assert!(halfsplit_check::rules().iter().any(|rule| rule.id == finding.rule), "{} has no page", finding.rule);
        fits(&text, finding.rule, finding.span);
        finding.related.iter().for_each(|related| fits(&text, finding.rule, related.span));
        finding.fix.iter().flat_map(|fix| &fix.edits).for_each(|edit| fits(&text, finding.rule, edit.span));
    }
});

// Half by bytes, half by lines and words.
fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    match seed % 2 {
        0 => libfuzzer_sys::fuzzer_mutate(data, size, max_size),
        _ => lines::mutate(data, size, max_size, seed),
    }
});

fn fits(text: &str, rule: &str, span: Span) {
    assert!(text.get(span.range()).is_some(), "{rule} at {span:?} does not fit {} bytes", text.len());
}
