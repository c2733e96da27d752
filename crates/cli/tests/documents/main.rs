//! Every code block of every document says what the program does.
//!
//! The first word behind a block's fence is its language, the words after it say what is expected:
//!
//! | block | must |
//! | --- | --- |
//! | `circuit`, `circuit NAME.circuit`, `case NAME.case` | be a whole file that checks clean and is laid out; with a name it is saved for the commands below it |
//! | `circuit finds RULE …` | be a whole file that gives exactly these rules |
//! | `circuit part` | be lines of a file, without faults and laid out |
//! | `circuit in KEYWORD` | be lines of a block of this statement, without faults and laid out |
//! | `circuit change …`, `circuit add …`, `circuit delete …` | hold lines that are changed in, added to or taken from the document's last whole file; what comes checks clean, or `finds RULE` |
//! | `LANGUAGE NAME.EXT` | be another file that is saved for the commands below it |
//! | `sh`, `sh fails` | be commands of `halfsplit` that succeed, or end with exit code 1 |
//! | `sh not-run: WHY` | not be run: it installs something, starts a server, or is this test itself |
//! | `text` | be what the commands before it print, or what `halfsplit check` says of the circuit before it; a line `…` stands for any lines |
//! | `text drawing` | be no output |
//!
//! A block of which nothing is said, or something else, is an error, and so is a link to a file that is not there. With `as-typed` the layout of lines is left alone.
//! `UPDATE_DOCUMENTS=1` writes all outputs anew that have no `…`.
//! `<!-- files of NAME.md -->` takes the files that another document of the same folder saves.
//! Commands run in the repository's folder, or, where a document saves files, in a folder of its own beside them.

mod blocks;
mod links;
mod run;

use std::{
    fs,
    path::{Path, PathBuf},
};

use run::{Counts, verify};

/// Rule pages have tests of their own, beside the rules.
const TESTED_ELSEWHERE: &str = "crates/check/src/rules";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn documents() -> Vec<PathBuf> {
    let root = root();
    let files = ignore::WalkBuilder::new(&root).build().map(|entry| entry.unwrap().into_path());
    let mut found: Vec<PathBuf> = files
        .filter(|path| path.extension().is_some_and(|extension| extension == "md"))
        .filter(|path| !path.starts_with(root.join(TESTED_ELSEWHERE)))
        .collect();
    found.sort();
    found
}

fn links(path: &Path, text: &str) -> Vec<String> {
    let blocks = blocks::blocks(text).unwrap_or_default();
    links::broken(text, &blocks, path.parent().unwrap_or(path))
}

#[test]
fn every_block_of_every_document_does_what_it_says() {
    let documents = documents();
    let mut counts = Counts::default();
    let mut wrong = Vec::new();
    for path in &documents {
        let name = path.strip_prefix(root()).unwrap().display().to_string();
        let text = fs::read_to_string(path).unwrap();
        let done = verify(&name, &text, &mut counts);
        if let Some(anew) = done.anew {
            fs::write(path, anew).unwrap();
        }
        wrong.extend(links(path, &text).into_iter().map(|link| format!("{name}:{link}")));
        wrong.extend(done.wrong.into_iter().map(|wrong| format!("{name}:{wrong}")));
    }
    println!("{} documents: {counts}", documents.len());
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n\n"));
    assert!(documents.len() >= 8 && counts.circuits > 0 && counts.commands > 0, "{counts}");
}

/// What the test would say of a document.
#[cfg(test)]
fn said(name: &str, text: &str) -> String {
    verify(&format!("test-{name}.md"), text, &mut Counts::default()).wrong.join("\n")
}

const LAMP: &str = "```circuit lamp.circuit\nhalfsplit 1\ncircuit \"lamp\"\n\nsupply G1 battery {\n  terminals  30 31\n}\nground-point GP1\nfuse F7  10 A\nlamp E4 {\n  connector X12 2 cavities\n  filament  10 W at 12 V  X12:1 -> X12:2\n}\nwire W1  G1:30    to F7:feed  RD     2.5 mm2   0.6 m\nwire W2  F7:load  to X12:1    RD/YE  0.75 mm2  3.2 m\nwire W3  X12:2    to GP1      BN     0.75 mm2  0.4 m\nwire W4  GP1      to G1:31    BK     16 mm2    0.4 m\n```\n";

#[test]
fn a_block_of_which_nothing_is_said_is_wrong() {
    assert!(said("bare", "```\nsomething\n```\n").contains("says no language"));
    assert!(said("language", "```python\nprint()\n```\n").contains("`python`"));
    assert!(said("info", "```circuit clean\nhalfsplit 1\n```\n").contains("`clean`"));
    assert!(said("reason", "```sh not-run:\ncargo test\n```\n").contains("why"));
    assert!(said("text", "```text\nnothing before it\n```\n").contains("no output before it"));
}

#[test]
fn a_circuit_that_is_not_what_it_should_be_is_wrong() {
    assert_eq!(said("lamp", LAMP), "");
    assert!(said("title", &LAMP.replace("circuit \"lamp\"\n", "")).contains("no-title"));
    assert!(said("layout", &LAMP.replace("F7  10 A", "F7 10 A")).contains("not laid out"));
    let slip = |block: &str| said("slip", &format!("{LAMP}\n{block}"));
    let fuse = "fuse F7  10 V\n```\n";
    assert_eq!(slip(&format!("```circuit change finds wrong-unit\n{fuse}")), "");
    assert!(slip(&format!("```circuit change finds no-title\n{fuse}")).contains("wrong-unit"));
    assert!(slip(&format!("```circuit change\n{fuse}")).contains("wrong-unit"));
    assert!(slip("```circuit change\nrelay K1\n```\n").contains("no line"));
    let ground = "wire W3  X12:2    to GP1      BN     0.75 mm2  0.4 m\n```\n";
    assert_eq!(slip(&format!("```circuit delete finds load-without-return\n{ground}")), "");
    assert_eq!(slip(&format!("```circuit add finds duplicate-name\n{ground}")), "");
}

#[test]
fn a_part_that_is_not_what_it_should_be_is_wrong() {
    assert_eq!(said("part", "```circuit part\nsplice SP1\nsplice SP2\n```\n"), "");
    assert!(said("part", "```circuit part\nsplice\n```\n").contains("missing-value"));
    assert!(said("part", "```circuit part\nfuse F1 10 A\n```\n").contains("not laid out"));
    assert_eq!(said("part", "```circuit part as-typed\nfuse F1 10 A\n```\n"), "");
    assert_eq!(said("in", "```circuit in feed\nstandby  6 kohm\nwakes    6 V\n```\n"), "");
    assert!(said("in", "```circuit in feed\nrows  6\n```\n").contains("wrong-place"));
}

#[test]
fn a_command_that_fails_or_prints_something_else_is_wrong() {
    let run = |block: &str| said("run", &format!("{LAMP}\n{block}"));
    let check = "```sh\nhalfsplit check lamp.circuit\n```\n";
    assert_eq!(run(check), "");
    assert_eq!(run(&format!("{check}\n```text\n1 file: clean; 1 not traced on a car\n```\n")), "");
    assert_eq!(run(&format!("{check}\n```text\n…\n1 file: clean; 1 not traced on a car\n…\n```\n")), "");
    assert!(run(&format!("{check}\n```text\n1 file: dirty\n```\n")).contains("prints"));
    assert!(run("```sh\nhalfsplit check lamps.circuit\n```\n").contains("exit code 2"));
    assert!(run("```sh fails\nhalfsplit check lamp.circuit\n```\n").contains("exit code 0"));
    assert!(run("```sh\nls\n```\n").contains("not-run"));
}
