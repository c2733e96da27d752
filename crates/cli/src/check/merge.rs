//! Joins the reports of all parts into one.

use std::{collections::HashSet, fs, path::Path, path::PathBuf, process::ExitCode};

use halfsplit_base::Severity;
use serde_json::Value;

use super::print::{Shape, Sum};
use crate::{Failure, look};

/// Reads what each part printed with `--format json`, prints one report, and gives the exit code that one run over all
/// files would have given.
///
/// # Errors
/// If a file is no such report, if a part is missing, stands twice or was stopped, or if they are not parts of one run.
pub fn run(paths: &[PathBuf], shape: Shape) -> Result<ExitCode, Failure> {
    let reports = paths.iter().map(|path| report(path)).collect::<Result<Vec<_>, _>>()?;
    whole(&reports)?;
    let mut sum = Sum::default();
    let mut seen = HashSet::new();
    let (mut found, mut more, mut expectations) = (Vec::new(), Vec::new(), Vec::new());
    for (_, report) in &reports {
        let each = |key: &str| report[key].as_array().into_iter().flatten();
        // A file that circuits of several parts use is wrong in each of them, and that is said once.
        let mut once = |value: &&Value| seen.insert(value.to_string());
        found.extend(each("findings").filter(&mut once));
        more.extend(each("more").filter(&mut once));
        expectations.extend(each("expectations"));
        let number = |of: &Value| of.as_u64().unwrap_or(0) as usize;
        let summary = &report["summary"];
        sum.files += number(&summary["files"]);
        sum.unread += number(&summary["unread"]);
        sum.untraced += number(&summary["untraced"]);
        sum.fails |= summary["fails"] == true;
        for (sum, key) in sum.expected.iter_mut().zip(["all", "met", "waiting"]) {
            *sum += number(&summary["expectations"][key]);
        }
    }
    let weight = |value: &Value| {
        [Severity::Error, Severity::Warning, Severity::Note]
            .into_iter()
            .find(|s| value["severity"] == s.word())
    };
    for (value, count) in found
        .iter()
        .map(|value| (value, 1))
        .chain(more.iter().map(|value| (value, value["count"].as_u64().unwrap_or(0) as usize)))
    {
        if let Some(weight) = weight(value) {
            sum.counts.add(weight, count);
        }
    }
    found.sort_by_key(|finding| finding["file"].as_str().unwrap_or_default().to_owned());
    match shape {
        Shape::Json => look::print_json(&serde_json::json!({
            "schema": halfsplit_render::json::SCHEMA,
            "findings": found,
            "more": more,
            "summary": sum.json(),
            "expectations": expectations,
        }))?,
        Shape::Human { .. } => {
            let mut out: String = found.iter().map(|finding| line(finding) + "\n").collect();
            for more in more {
                let word = |key: &str| more[key].as_str().unwrap_or_default();
                out.push_str(&format!("{}: {} more of {}\n", word("file"), more["count"], word("rule")));
            }
            look::print(&(out + &sum.words()))?;
        }
    }
    Ok(ExitCode::from(sum.code()))
}

fn report(path: &Path) -> Result<(String, Value), Failure> {
    let name = path.display().to_string();
    let text = fs::read_to_string(path).map_err(|error| format!("{name}: {error}"))?;
    let report: Value = serde_json::from_str(&text)
        .map_err(|error| format!("{name}: no report of `check --shard … --format json`: {error}"))?;
    if report["schema"] != halfsplit_render::json::SCHEMA || report["shard"]["parts"].as_u64().is_none() {
        return Err(format!("{name}: no report of `check --shard … --format json`").into());
    }
    if report["stopped"] == true {
        return Err(format!("{name}: this part was stopped before its end").into());
    }
    Ok((name, report))
}

/// Whether the reports are all parts of one run, each once.
fn whole(reports: &[(String, Value)]) -> Result<(), Failure> {
    let Some((first, report)) = reports.first() else {
        return Err("nothing to join: name the report of each part".into());
    };
    let number = |report: &Value, key: &str| report["shard"][key].as_u64().unwrap_or(0);
    let (parts, files) = (number(report, "parts"), number(report, "files"));
    let mut missing: Vec<u64> = (1..=parts).collect();
    for (name, report) in reports {
        if (number(report, "parts"), number(report, "files")) != (parts, files) {
            return Err(format!("{first} and {name} are parts of different runs").into());
        }
        let part = number(report, "part");
        match missing.iter().position(|&wanted| wanted == part) {
            Some(at) => drop(missing.remove(at)),
            None => return Err(format!("{name}: part {part}/{parts} is here already").into()),
        }
    }
    if !missing.is_empty() {
        let missing: Vec<String> = missing.iter().map(|part| format!("{part}/{parts}")).collect();
        return Err(format!("no report of part {}", missing.join(", ")).into());
    }
    let done: u64 = reports.iter().filter_map(|(_, report)| report["summary"]["files"].as_u64()).sum();
    match done == files {
        true => Ok(()),
        false => Err(format!("the parts hold {done} files, and there were {files}").into()),
    }
}

/// A finding on one line: `file:line:column: severity[rule]: message`.
fn line(finding: &Value) -> String {
    let word = |key: &str| finding[key].as_str().unwrap_or_default();
    let start = &finding["range"]["start"];
    format!(
        "{}:{}:{}: {}[{}]: {}",
        word("file"),
        start["line"],
        start["column"],
        word("severity"),
        word("rule"),
        word("message")
    )
}
