//! What holds for every text, over texts out of the table of statements and over changed examples.
//!
//! `FORMAT_CASES` says how many of each: 200 if it is not set, 10,000 in the long runs.

mod generated;

use std::{collections::HashSet, fs, path::Path};

use generated::Dice;
use halfsplit_format::{format, verify};
use halfsplit_syntax::{Fact, parse};

fn cases() -> u64 {
    std::env::var("FORMAT_CASES").ok().and_then(|cases| cases.parse().ok()).unwrap_or(200)
}

/// What holds whatever the text: it is laid out, says the same, and is laid out for good.
fn check(seed: u64, text: &str) -> String {
    let tidy = match format(text) {
        Ok(tidy) => tidy,
        Err(error) => panic!("seed {seed}: {error}\n{text}"),
    };
    assert_eq!(format(&tidy).as_ref(), Ok(&tidy), "seed {seed}: twice is not once\n{text}");
    assert_eq!(verify(text, &tidy), Ok(()), "seed {seed}");
    let (before, after) = (parse(text), parse(tidy.as_str()));
    assert!(same(&before.facts, &after.facts), "seed {seed}: other facts\n{text}");
    assert!(after.errors.len() <= before.errors.len(), "seed {seed}: more faults\n{text}");
    // Lines with a fault that is more than one of spelling are still there, byte for byte.
    let lines: HashSet<&str> = tidy.split(['\n', '\r']).collect();
    for error in before.errors.iter().filter(|error| !SPELLING.contains(&error.rule)) {
        let at = error.span.start as usize;
        let start = text[..at].rfind(['\n', '\r']).map_or(0, |end| end + 1);
        let end = text[at..].find(['\n', '\r']).map_or(text.len(), |end| at + end);
        let line = text[start..end].trim_start_matches('\u{FEFF}');
        let bare = line.trim_matches([' ', '\t']).is_empty();
        assert!(bare || lines.contains(line), "seed {seed}: {} changed {line:?}\n{text}", error.rule);
    }
    tidy
}

/// Faults that are none of their line, or may be settled.
const SPELLING: [&str; 3] = ["missing-header", "smart-quote", "unknown-colour"];

fn same(before: &[Fact], after: &[Fact]) -> bool {
    before.len() == after.len()
        && before.iter().zip(after).all(|(before, after)| {
            let value = |fact: &Fact| {
                let slots = fact.slots.iter().map(|slot| format!("{} {:?}", slot.name, slot.value));
                slots.collect::<Vec<_>>()
            };
            before.shape == after.shape && value(before) == value(after) && same(&before.facts, &after.facts)
        })
}

#[test]
fn generated_files_are_laid_out_for_good() {
    let mut clean = 0;
    let mut used = HashSet::new();
    for seed in 0..cases() {
        let text = generated::file(&mut Dice::new(seed));
        let tidy = check(seed, &text);
        let parse = parse(tidy.as_str());
        clean += u64::from(parse.errors.is_empty());
        gather(&parse.facts, &mut used);
        for line in tidy.lines().filter(|_| parse.errors.is_empty()) {
            assert_eq!(line.trim_end(), line, "seed {seed}");
        }
    }
    assert!(clean * 2 > cases(), "only {clean} of {} generated files are clean", cases());
    let missing: Vec<_> = halfsplit_syntax::shape::all()
        .iter()
        .filter(|shape| !used.contains(shape.entry.pattern))
        .map(|shape| shape.keyword)
        .collect();
    assert!(missing.is_empty() || cases() < 1000, "never generated: {missing:?}");
}

fn gather(facts: &[Fact], used: &mut HashSet<&'static str>) {
    for fact in facts {
        used.insert(fact.shape.entry.pattern);
        gather(&fact.facts, used);
    }
}

#[test]
fn changed_examples_are_laid_out_for_good() {
    let mut texts = Vec::new();
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    for folder in
        fs::read_dir(examples).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_dir())
    {
        for file in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
            if file.extension().is_some_and(|extension| extension == "circuit") {
                texts.push(fs::read_to_string(file).unwrap());
            }
        }
    }
    texts.sort();
    for seed in 0..cases() {
        let mut dice = Dice::new(seed + 1_000_000);
        let text = &texts[dice.below(texts.len())];
        check(seed, &generated::mutated(&mut dice, text));
    }
}

#[test]
fn generated_files_with_slips_are_laid_out_for_good() {
    for seed in 0..cases() {
        let mut dice = Dice::new(seed + 2_000_000);
        let text = generated::file(&mut dice);
        if !text.is_empty() {
            check(seed, &generated::mutated(&mut dice, &text));
        }
    }
}

/// A formatter that loses or moves something is caught: whatever single token is taken out of a laid-out file, the
/// comparison with the original finds it.
#[test]
fn a_lost_token_is_found() {
    for seed in 0..(cases() / 4).min(500) {
        let text = generated::file(&mut Dice::new(seed));
        let tidy = format(&text).unwrap();
        let tokens = halfsplit_syntax::Tokens::of(&tidy);
        for token in 0..tokens.len() as u32 {
            if !matches!(tokens.kind(token), halfsplit_syntax::Kind::Space | halfsplit_syntax::Kind::Newline)
            {
                let mut less = tidy.clone();
                less.replace_range(tokens.span(token).range(), "");
                assert!(
                    verify(&text, &less).is_err(),
                    "seed {seed}: {:?}",
                    &tidy[tokens.span(token).range()]
                );
            }
        }
    }
}
