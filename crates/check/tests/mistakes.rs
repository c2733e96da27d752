//! The deliberate mistakes under `examples/mistakes/` give what their lines say, no more and
//! no less; every other example is clean.

use std::path::{Path, PathBuf};

use halfsplit_base::{Files, Severity, disk};
use halfsplit_check::{check, rules};

fn circuits(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "circuit" || e == "case") {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples")
}

/// Line and rule of every finding, in order.
fn found(path: &Path) -> Vec<(u32, String)> {
    let mut files = Files::default();
    let file = files.set(path.to_owned(), &disk::read(path).unwrap());
    files.set_root(file, disk::library_root(path));
    halfsplit_model::library::load(&mut files, file, &mut disk::read_in);
    let line =
        |f: &halfsplit_base::Finding| (files.get(f.file).position(f.span.start).line, f.rule.to_owned());
    let findings = check(&files, file).findings;
    // What is wrong in a file that is used is expected there.
    let mut found: Vec<_> = findings.iter().filter(|f| f.file == file).map(line).collect();
    found.sort();
    found
}

/// Line and rule of every `# expect: rule, rule`.
fn expected(text: &str) -> Vec<(u32, String)> {
    let mut all = Vec::new();
    for (index, line) in text.lines().enumerate() {
        let Some((_, rules)) = line.split_once("# expect: ") else { continue };
        all.extend(rules.split(',').map(|rule| (index as u32 + 1, rule.trim().to_owned())));
    }
    all.sort();
    all
}

#[test]
fn each_mistake_is_found_on_its_line_and_nothing_else() {
    let files = circuits(&examples().join("mistakes"));
    assert!(files.len() > 10);
    let mut wrong = Vec::new();
    for path in &files {
        let text = disk::read(path).unwrap();
        let (expected, found) = (expected(&text), found(path));
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        wrong.extend(
            expected.iter().filter(|e| !found.contains(e)).map(|e| format!("{name}: {e:?} is not found")),
        );
        wrong.extend(
            found.iter().filter(|f| !expected.contains(f)).map(|f| format!("{name}: {f:?} is not expected")),
        );
        if expected.len() != found.len() {
            wrong.push(format!("{name}: {} expected, {} found", expected.len(), found.len()));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn twenty_different_mistakes_give_twenty_findings() {
    let found = found(&examples().join("mistakes/twenty-mistakes.circuit"));
    let mut rules: Vec<&str> = found.iter().map(|(_, rule)| rule.as_str()).collect();
    rules.sort();
    rules.dedup();
    assert_eq!((found.len(), rules.len()), (20, 20), "{found:#?}");
}

/// Every rule is shown at least once, but for those whose mistakes are too long to read.
#[test]
fn every_rule_has_its_mistake() {
    let files = circuits(&examples().join("mistakes"));
    let all: Vec<String> = files.iter().flat_map(|path| found(path)).map(|(_, rule)| rule).collect();
    let missing: Vec<&str> =
        rules().iter().map(|rule| rule.id).filter(|id| !all.iter().any(|rule| rule == id)).collect();
    assert_eq!(missing, ["too-deep", "too-many-errors", "too-large"]);
}

#[test]
fn the_other_examples_are_clean() {
    let all = circuits(&examples());
    let clean: Vec<&PathBuf> =
        all.iter().filter(|path| !path.iter().any(|part| part == "mistakes")).collect();
    assert!(clean.len() >= 3);
    for path in clean {
        assert_eq!(found(path), [], "{}", path.display());
    }
}

/// Correct circuits that look like mistakes to a rule that is too eager.
#[test]
fn correct_circuits_raise_no_alarm() {
    let all = circuits(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/quiet"));
    assert!(!all.is_empty());
    for path in all {
        let mut files = Files::default();
        let file = files.set(path.clone(), &disk::read(&path).unwrap());
        let findings = check(&files, file).findings;
        let said: Vec<String> = findings.iter().map(|f| format!("{}: {}", f.rule, f.message)).collect();
        assert!(said.is_empty(), "{}: {said:#?}", path.display());
        assert!(findings.iter().all(|f| f.severity != Severity::Error));
    }
}
