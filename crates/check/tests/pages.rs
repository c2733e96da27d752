//! Every rule has a page, and its examples are what they say.

use std::{collections::BTreeSet, path::Path};

use halfsplit_base::{Files, Refused};
use halfsplit_check::{Rule, check, rules};

/// Rules whose bad example would be too long for a page, or takes two files; each has a test of its own.
const TOO_LONG: [&str; 4] = ["too-deep", "too-many-errors", "too-large", "use-of-circuit"];

/// The circuit that the examples of cases are about.
const LAMP: &str = include_str!("fixtures/lamp.circuit");

fn findings(text: &str) -> Vec<String> {
    let mut files = Files::default();
    let file = files.set("page.circuit".into(), text);
    halfsplit_model::library::load(&mut files, file, &mut |_, path| {
        if path.ends_with("lamp.circuit") { Ok(LAMP.to_owned()) } else { Err(Refused::Missing) }
    });
    let said = |f: &halfsplit_base::Finding| {
        format!(
            "{}: {} {} {}",
            files.get(f.file).position(f.span.start).line,
            f.rule,
            f.severity.word(),
            f.message
        )
    };
    check(&files, file).findings.iter().map(said).collect()
}

/// The examples of a page: under `Bad:` and under `Good:`.
fn examples(rule: &Rule) -> Option<(&str, &str)> {
    let block = |title: &str| {
        let (_, rest) = rule.page.split_once(&format!("\n{title}:\n\n```halfsplit"))?;
        let rest = rest.strip_prefix("-case").unwrap_or(rest).strip_prefix('\n')?;
        rest.split_once("\n```").map(|(text, _)| text)
    };
    Some((block("Bad")?, block("Good")?))
}

#[test]
fn the_bad_example_gives_the_rule_and_the_good_one_nothing() {
    let mut wrong = Vec::new();
    for rule in rules() {
        let Some((bad, good)) = examples(rule) else {
            assert!(TOO_LONG.contains(&rule.id), "the page of {} lacks an example", rule.id);
            continue;
        };
        let found = findings(&format!("{bad}\n"));
        let only = found.iter().all(|f| f.contains(&format!(" {} ", rule.id)));
        if found.is_empty() || !only {
            wrong.push(format!("{}: the bad example gives {found:#?}", rule.id));
        }
        let found = findings(&format!("{good}\n"));
        if !found.is_empty() {
            wrong.push(format!("{}: the good example gives {found:#?}", rule.id));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_circuit_of_the_cases_is_clean() {
    assert_eq!(findings(LAMP), Vec::<String>::new());
}

#[test]
fn pages_open_with_the_id_and_one_sentence() {
    for rule in rules() {
        assert!(rule.page.starts_with(&format!("# {}\n\n", rule.id)), "{}", rule.id);
        let summary = rule.summary();
        assert!(summary.ends_with('.') && summary.len() < 120, "{}: {summary}", rule.id);
    }
}

#[test]
fn registry_and_directory_agree() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/rules");
    let names = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let (mut pages, mut modules) = (BTreeSet::new(), BTreeSet::new());
    for path in names {
        let stem = path.file_stem().unwrap().to_string_lossy().into_owned();
        match path.extension().and_then(|e| e.to_str()) {
            Some("md") => pages.insert(stem),
            Some("rs") if stem != "mod" => modules.insert(stem.replace('_', "-")),
            _ => continue,
        };
    }
    let ids: Vec<&str> = rules().iter().map(|rule| rule.id).collect();
    let registry: BTreeSet<String> = ids.iter().map(|id| (*id).to_owned()).collect();
    assert_eq!(registry.len(), ids.len(), "an id stands twice in the registry");
    assert_eq!(pages, registry);
    let looking: BTreeSet<String> =
        rules().iter().filter(|rule| rule.looks_at_circuits()).map(|rule| rule.id.to_owned()).collect();
    assert_eq!(modules, looking);
}

/// Every id that the parser's sources give to a fault has a page, and no page speaks of another.
#[test]
fn the_parser_says_what_the_registry_knows() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../syntax/src");
    let mut ids = BTreeSet::new();
    let mut folders = vec![folder];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let text = std::fs::read_to_string(&path).unwrap();
                for (_, rest) in
                    text.match_indices("SyntaxError::new(").map(|(at, call)| text.split_at(at + call.len()))
                {
                    if let Some(id) = rest.trim_start().strip_prefix('"') {
                        ids.insert(id.split('"').next().unwrap().to_owned());
                    }
                }
            }
        }
    }
    let parser: BTreeSet<String> =
        rules().iter().filter(|r| r.is_the_parsers()).map(|r| r.id.to_owned()).collect();
    assert_eq!(ids, parser);
}

#[test]
fn faults_that_are_too_long_for_a_page() {
    let deep = format!("halfsplit 1\ncircuit \"c\"\n{}{}", "module A {\n".repeat(200), "}\n".repeat(200));
    assert!(findings(&deep).iter().any(|f| f.contains(" too-deep ")));
    let faulty = format!("halfsplit 1\ncircuit \"c\"\n{}", "nonsense\n".repeat(3000));
    assert!(findings(&faulty).iter().any(|f| f.contains(" too-many-errors ")));
}
