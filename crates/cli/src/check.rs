//! `halfsplit check [PATHS]`: mistakes in files, folders and libraries.

use std::{collections::HashSet, path::PathBuf, process::ExitCode};

use clap::{Args, ValueEnum};
use halfsplit_base::{Files, Finding, Severity};
use halfsplit_check::expect::{Effort, Expectation};
use halfsplit_render::{findings, json};

use crate::{
    Failure,
    circuits::{circuits, read},
    expect, look,
};

/// What to check.
#[derive(Args)]
pub struct Arguments {
    /// Files and folders; the current folder if none is given.
    paths: Vec<PathBuf>,
    /// How to print the findings.
    #[arg(long, value_enum, default_value = "human")]
    format: CheckFormat,
    /// List what every `expect` block expected, met or not.
    #[arg(long)]
    expectations: bool,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum CheckFormat {
    /// With the stretch of text.
    Human,
    /// For programs.
    Json,
}

/// Checks and prints. Exit code 0 when no error is found, 1 when one is, 2 when a file could not be read.
pub fn run(arguments: &Arguments, colour: bool) -> Result<ExitCode, Failure> {
    let paths = circuits(&arguments.paths)?;
    let mut files = Files::default();
    let mut found: Vec<Finding> = Vec::new();
    let mut unread = 0_usize;
    let mut unproven = 0_usize;
    let mut expectations: Vec<Expectation> = Vec::new();
    let mut said = HashSet::new();
    for path in &paths {
        match read(&mut files, path) {
            Ok(file) => {
                let checked = halfsplit_check::check_with(&files, file, Effort::Whole);
                let circuit = !checked.model.library && checked.model.case.is_none();
                unproven += usize::from(circuit && !checked.model.proven());
                // What is wrong in a library file is said once, however many circuits use it.
                found.extend(
                    checked.findings.into_iter().filter(|f| {
                        said.insert((f.file, f.span.start, f.span.end, f.rule, f.message.clone()))
                    }),
                );
                expectations.extend(checked.expectations);
                if !checked.model.library {
                    files.slim(file);
                }
            }
            Err(error) => {
                eprintln!("halfsplit: {error}");
                unread += 1;
            }
        }
    }
    match arguments.format {
        CheckFormat::Human => {
            // No finding: a circuit that nobody traced may well be right.
            let doubt = match unproven {
                0 => String::new(),
                count => format!("; {count} not traced on a car"),
            };
            let drawn = findings::Look { colour };
            if arguments.expectations {
                look::print(&expect::list(&files, &expectations))?;
            }
            let summary = findings::summary(paths.len(), &found) + &expect::summary(&expectations) + &doubt;
            look::print(&(findings::text(&files, &found, drawn) + &summary))?;
        }
        CheckFormat::Json => {
            let mut answer = json::findings(&files, paths.len(), &found);
            answer["expectations"] = expect::json(&files, &expectations);
            look::print_json(&answer)?;
        }
    }
    let errors = found.iter().any(|f| f.severity == Severity::Error);
    Ok(ExitCode::from(match (unread, errors) {
        (1.., _) => 2,
        (0, true) => 1,
        (0, false) => 0,
    }))
}
