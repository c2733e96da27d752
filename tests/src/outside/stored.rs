//! What the outside programs answered, kept as text so that a plain test needs none of them.
//!
//! One file a family: a head of `# key value` lines, then `case;at;scale;value` lines, at most
//! [`PER_CASE`] for a case, spread over its points. `case;none` is a case without steady reading.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use super::compare::{Answer, Outcome, Value, all_ours, weigh};
use super::families::{self, Case, Family, LIMITING_SEED, LINEAR_SEED, WEAK_SEED};

/// Values kept for a case.
pub const PER_CASE: usize = 2;

/// Families that are stored, with their file names. The examples are those of
/// `outside/circuits`, copies that stay as they are when the examples move on.
///
/// # Errors
/// As [`families::circuits_under`].
pub fn families() -> Result<Vec<(String, Family)>, String> {
    let mut kept = vec![
        ("linear".to_owned(), families::linear(LINEAR_SEED, 2000)),
        ("limiting".to_owned(), families::limiting(LIMITING_SEED, 300)),
        ("weak".to_owned(), families::weak(WEAK_SEED, 300)),
    ];
    for (name, circuit) in families::circuits_under(&folder().join("circuits"))? {
        kept.push((name.clone(), families::volts(&name, &circuit, 5)));
    }
    Ok(kept)
}

/// Where everything about the outside checks lies.
pub fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("outside")
}

/// Where a family is stored.
pub fn file(name: &str) -> PathBuf {
    folder().join("stored").join(format!("{name}.txt"))
}

/// The text of a stored family.
pub fn write(family: &Family, tool: &str, answers: &[Answer]) -> String {
    let mut text = format!(
        "# family {}\n# tool {tool}\n# seeds linear {LINEAR_SEED}, limiting {LIMITING_SEED}, weak {WEAK_SEED}\n# written by tests/outside/run --store\n",
        family.name
    );
    for (case, answer) in family.cases.iter().zip(answers) {
        match answer {
            Answer::Values(values) => {
                let every = values.len().div_ceil(PER_CASE).max(1);
                // From the end: points drawn last are furthest from ground.
                for value in values.iter().rev().step_by(every) {
                    let Value { at, value, scale } = value;
                    let _ = writeln!(text, "{};{at};{scale:.6e};{value:.11e}", case.name);
                }
            }
            Answer::NoSteadyReading => {
                let _ = writeln!(text, "{};none", case.name);
            }
            Answer::Nothing(_) => {}
        }
    }
    text
}

/// Compares a stored family with ours; every stored line has to find its case.
///
/// # Errors
/// A line that cannot be read or names a case that is gone: the file is stale.
pub fn compare(family: &Family, text: &str) -> Result<Outcome, String> {
    let mut outcome = Outcome { name: family.name.clone(), ..Outcome::default() };
    let mut cases: Vec<&Case> = Vec::new();
    let mut theirs: Vec<Answer> = Vec::new();
    let mut from = 0;
    for line in text.lines() {
        if let Some(tool) = line.strip_prefix("# tool ") {
            outcome.tool = tool.to_owned();
        }
        if line.starts_with('#') {
            continue;
        }
        let words: Vec<&str> = line.split(';').collect();
        let stale = || format!("{line}: no such case any more; write anew with tests/outside/run --store");
        let name = words.first().ok_or_else(stale)?;
        let step = family.cases[from..].iter().position(|case| case.name == *name).ok_or_else(stale)?;
        from += step;
        if cases.last().is_none_or(|last| last.name != *name) {
            cases.push(&family.cases[from]);
            theirs.push(Answer::NoSteadyReading);
        }
        if let [_, at, scale, value] = words[..] {
            let number = |word: &str| word.parse::<f64>().map_err(|e| format!("{line}: {e}"));
            let value = Value { at: at.to_owned(), value: number(value)?, scale: number(scale)? };
            match theirs.last_mut() {
                Some(Answer::Values(values)) => values.push(value),
                Some(none) => *none = Answer::Values(vec![value]),
                None => {}
            }
        }
    }
    for ((case, ours), theirs) in cases.iter().zip(&all_ours(&cases, &theirs)).zip(&theirs) {
        weigh(&mut outcome, &case.name, ours, theirs);
    }
    Ok(outcome)
}
