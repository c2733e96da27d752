//! The rules that find mistakes in a circuit.
//!
//! [`check`] reads one circuit and gives its findings in text order. It never
//! changes a file and never stops at a mistake. A rule is one file under
//! `rules/`, one page beside it, and one line of the registry. Each fault is
//! reported once: what a finding touches is not reported again as missing.
//!
//! ```
//! let mut files = halfsplit_base::Files::default();
//! let file = files.set("lamp.circuit".into(), "halfsplit 1\ncircuit \"lamp\"\nsplice SP1\nsplice SP1\n");
//! let checked = halfsplit_check::check(&files, file);
//! assert_eq!(checked.findings[0].rule, "duplicate-name");
//! ```

mod allow;
mod doubt;
mod protect;
mod reach;
mod rule;
mod rules;
mod short;
mod survey;
mod wrong_pin;

use halfsplit_base::{FileId, Files, Finding};
use halfsplit_model::Model;

use survey::Survey;

pub use rule::Rule;
pub use rules::rules;

/// A circuit and everything the rules say about it.
#[derive(Clone, Debug)]
pub struct Checked {
    /// The circuit as far as it could be understood.
    pub model: Model,
    /// Findings in text order, without those that the author allows.
    pub findings: Vec<Finding>,
}

/// Checks the circuit of a root file, with the files that it uses as far as they are in `files`:
/// [`halfsplit_model::library::load`] puts them there. A finding is in the file where the mistake is.
///
/// A library, which serves other files and is no circuit, is held to the rules that look at what it says by itself.
pub fn check(files: &Files, file: FileId) -> Checked {
    let model = halfsplit_model::lower(files, file);
    let mut findings = rule::syntax_findings(&model);
    let survey = Survey::new(files, &model);
    for rule in rules().iter().filter(|rule| !model.library || rule.holds_for_libraries()) {
        findings.extend(rule.run(&survey));
    }
    let mut findings = allow::apply(&survey, findings);
    drop(survey);
    findings.sort_by(|a, b| (a.file, a.span, a.rule).cmp(&(b.file, b.span, b.rule)));
    Checked { model, findings }
}
