//! Any text: checking a circuit never panics, and every finding has its place in the text.

#![no_main]

use halfsplit_base::Files;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let text = String::from_utf8_lossy(bytes);
    let mut files = Files::default();
    let file = files.set("fuzz.circuit".into(), &text);
    for finding in halfsplit_check::check(&files, file).findings {
        let place = text.get(finding.span.range());
        assert!(place.is_some(), "{} at {:?} does not fit {} bytes", finding.rule, finding.span, text.len());
    }
});
