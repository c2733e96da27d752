//! The example library reads without a fault; a very large file reads too.

use std::{fs, path::Path};

use halfsplit_syntax::parse;

#[test]
fn every_example_reads_clean() {
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let mut read = 0;
    for folder in fs::read_dir(&examples).unwrap().map(|entry| entry.unwrap().path()) {
        if !folder.is_dir() || folder.ends_with("mistakes") {
            continue;
        }
        for file in fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()) {
            if file.extension().is_some_and(|extension| extension == "circuit") {
                let text = fs::read_to_string(&file).unwrap();
                assert_eq!(parse(text.as_str()).errors, [], "{}", file.display());
                read += 1;
            }
        }
    }
    assert!(read >= 3, "{read} examples found");
}

/// Needs more than a gigabyte: `cargo test --release -p halfsplit-syntax -- --ignored`.
#[test]
#[ignore = "a hundred megabytes take half a minute without optimisation"]
fn a_hundred_megabytes() {
    let body = include_str!("../../../examples/tern/reference-a.circuit").split_once('\n').unwrap().1;
    let times = 100_000_000 / body.len();
    let parse = parse(format!("halfsplit 1\n{}", body.repeat(times)));
    assert_eq!(parse.errors, []);
    assert_eq!(parse.facts.len(), 1 + 61 * times);
}
