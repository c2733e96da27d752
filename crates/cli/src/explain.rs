//! `halfsplit explain WORD`: the page of a rule or of a statement.

use std::process::ExitCode;

use clap::Args;
use halfsplit_syntax::shape;

use crate::{Failure, look};

/// Which page.
#[derive(Args)]
pub struct Arguments {
    /// A rule's id, as a finding shows it, or the word that opens a statement; a list of all if not given.
    #[arg(value_name = "RULE|STATEMENT")]
    word: Option<String>,
}

/// Prints the page.
pub fn run(arguments: &Arguments) -> Result<ExitCode, Failure> {
    let text = match &arguments.word {
        None => list(),
        Some(word) => pages(word, rule(word), shape::page(word, &lay_out)).ok_or_else(|| {
            format!("no rule or statement is called `{word}`; `halfsplit explain` lists all of them")
        })?,
    };
    look::print(&text)?;
    Ok(ExitCode::SUCCESS)
}

/// Every rule and every statement, in a line each.
fn list() -> String {
    let rules = halfsplit_check::rules();
    let width = rules.iter().map(|r| r.id.len()).max().unwrap_or(0);
    let row = |name: &str, kind: &str, about: &str| format!("{name:width$}  {kind:9}  {about}\n");
    let rules = rules.iter().map(|r| row(r.id, r.severity.word(), r.summary()));
    let statements = shape::all().iter().map(|s| row(s.keyword, "statement", s.entry.about));
    rules.chain(statements).collect()
}

fn rule(word: &str) -> Option<&'static str> {
    halfsplit_check::rules().iter().find(|r| r.id == word).map(|r| r.page)
}

/// The pages that a word has: of a statement, of a rule, or of both.
fn pages(word: &str, rule: Option<&str>, statement: Option<String>) -> Option<String> {
    match (statement, rule) {
        (Some(statement), Some(rule)) => Some(format!(
            "`{word}` is a statement and a rule. The statement's page comes first, then the rule's.\n\n{statement}\n{rule}"
        )),
        (statement, rule) => statement.or_else(|| rule.map(str::to_owned)),
    }
}

/// The layout of an example. One that can't be laid out is shown as it stands.
fn lay_out(example: &str) -> String {
    let header = "halfsplit 1\n";
    let whole = halfsplit_format::format(&format!("{header}{example}\n"));
    whole
        .ok()
        .and_then(|whole| whole.strip_prefix(header).map(str::to_owned))
        .unwrap_or_else(|| example.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_that_is_both_shows_both_pages() {
        let both = pages("x", Some("# x\n\nThe rule.\n"), Some("# x\n\nThe statement.\n".into())).unwrap();
        assert!(both.starts_with("`x` is a statement and a rule."));
        assert!(both.find("The statement.") < both.find("The rule."));
        assert_eq!(pages("x", Some("# x\n"), None).as_deref(), Some("# x\n"));
        assert_eq!(pages("x", None, None), None);
    }

    #[test]
    fn the_page_is_the_one_that_the_reference_has() {
        let written = include_str!("../../../grammar/reference/wire.md");
        assert_eq!(shape::page("wire", &lay_out).as_deref(), Some(written));
    }

    #[test]
    fn the_list_holds_every_page() {
        let list = list();
        for word in shape::words().into_iter().chain(halfsplit_check::rules().iter().map(|r| r.id)) {
            assert!(list.lines().any(|line| line.split(' ').next() == Some(word)), "{word}");
        }
    }
}
