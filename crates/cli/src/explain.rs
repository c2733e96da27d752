//! `halfsplit explain RULE`: a rule's page.

use std::process::ExitCode;

use clap::Args;

use crate::{Failure, look};

/// Which rule.
#[derive(Args)]
pub struct Arguments {
    /// The rule's id, as a finding shows it; all rules if not given.
    rule: Option<String>,
}

/// Prints the page.
pub fn run(arguments: &Arguments) -> Result<ExitCode, Failure> {
    let rules = halfsplit_check::rules();
    let Some(wanted) = &arguments.rule else {
        let width = rules.iter().map(|r| r.id.len()).max().unwrap_or(0);
        let line = |r: &halfsplit_check::Rule| {
            format!("{:width$}  {:7}  {}\n", r.id, r.severity.word(), r.summary())
        };
        look::print(&rules.iter().map(line).collect::<String>())?;
        return Ok(ExitCode::SUCCESS);
    };
    let rule = rules.iter().find(|r| r.id == wanted);
    let rule = rule.ok_or_else(|| format!("no rule is called `{wanted}`; `halfsplit explain` lists all"))?;
    look::print(rule.page)?;
    Ok(ExitCode::SUCCESS)
}
