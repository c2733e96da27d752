//! What `halfsplit check` says of `expect` blocks: like the results of tests.

use halfsplit_base::Files;
use halfsplit_check::expect::{Expectation, Outcome};
use serde_json::{Value, json};

/// One line each, under the title of its block: met, or what came instead.
pub fn list(files: &Files, expectations: &[Expectation]) -> String {
    let mut out = String::new();
    let mut last = None;
    for expectation in expectations {
        let file = files.get(expectation.place.file);
        let block = (expectation.place.file, &expectation.title);
        if last.replace(block) != Some(block) {
            out.push_str(&format!("{}: {}\n", file.path.display(), expectation.title));
        }
        let line = file.positions(expectation.place.span).0.line;
        let (mark, instead) = match &expectation.outcome {
            Outcome::Met => ("met    ", String::new()),
            Outcome::Unmet(instead) => ("NOT MET", format!("\n           {instead}")),
            Outcome::Unreadable(_, words) => ("NOT RUN", format!("\n           {words}")),
            Outcome::Skipped => ("skipped", String::new()),
        };
        out.push_str(&format!("  {mark}  {}  (line {line}){instead}\n", expectation.expected));
    }
    out
}

/// The end of the closing line: `; 23 expectations, all met`. Nothing where no file has any.
pub fn summary(all: usize, met: usize, waiting: usize) -> String {
    match all {
        0 => String::new(),
        1 if met == 1 => "; 1 expectation, met".to_owned(),
        all if met == all => format!("; {all} expectations, all met"),
        all => {
            let waits = match waiting {
                0 => String::new(),
                count => format!(", {count} not run"),
            };
            format!("; {all} expectations, {} not met{waits}", all - met - waiting)
        }
    }
}

/// One for programs.
pub fn json(files: &Files, expectation: &Expectation) -> Value {
    let file = files.get(expectation.place.file);
    let (outcome, instead) = match &expectation.outcome {
        Outcome::Met => ("met", None),
        Outcome::Unmet(instead) => ("not met", Some(instead)),
        Outcome::Unreadable(_, words) => ("not run", Some(words)),
        Outcome::Skipped => ("skipped", None),
    };
    json!({
        "file": file.path.display().to_string(),
        "line": file.positions(expectation.place.span).0.line,
        "title": expectation.title,
        "expected": expectation.expected,
        "outcome": outcome,
        "instead": instead,
    })
}
