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
pub mod diff;
mod doubt;
pub mod expect;
mod job;
mod protect;
mod reach;
mod rule;
mod rules;
mod short;
mod statements;
mod survey;
mod wrong_pin;

use halfsplit_base::{FileId, Files, Finding, Related, Severity};
use halfsplit_model::{Model, Place};

use expect::{Effort, Expectation};
use survey::Survey;

pub use job::job;
pub use rule::Rule;
pub use rules::rules;

/// A circuit and everything the rules say about it.
#[derive(Clone, Debug)]
pub struct Checked {
    /// The circuit as far as it could be understood.
    pub model: Model,
    /// Findings in text order, without those that the author allows.
    pub findings: Vec<Finding>,
    /// What came of the lines of its `expect` blocks, in text order.
    pub expectations: Vec<Expectation>,
}

/// Checks the circuit of a root file as far as an editor can wait for it: expected plans are not drawn up.
pub fn check(files: &Files, file: FileId) -> Checked {
    check_with(files, file, Effort::Quick)
}

/// Checks the circuit of a root file, with the files that it uses as far as they are in `files`:
/// [`halfsplit_model::library::load`] puts them there. A finding is in the file where the mistake is.
///
/// A library, which serves other files and is no circuit, is held to the rules that look at what it says by itself.
pub fn check_with(files: &Files, file: FileId, effort: Effort) -> Checked {
    let model = halfsplit_model::lower(files, file);
    let Judged { findings, expectations } = judge(files, file, &model, effort);
    Checked { model, findings, expectations }
}

/// What the rules say about a circuit that is lowered already: the model is that of `file`.
#[derive(Clone, Debug)]
pub struct Judged {
    /// As [`Checked::findings`].
    pub findings: Vec<Finding>,
    /// As [`Checked::expectations`].
    pub expectations: Vec<Expectation>,
}

/// As [`check_with`], for a caller who has the model already.
pub fn judge(files: &Files, file: FileId, model: &Model, effort: Effort) -> Judged {
    let mut found = rule::syntax_findings(model);
    let mut survey = Survey::new(files, model);
    let (late, early): (Vec<&Rule>, Vec<&Rule>) =
        rules().iter().filter(|rule| rule.holds_for(model)).partition(|rule| rule.wants_sound());
    found.extend(early.iter().flat_map(|rule| rule.run(&survey)));
    // In a circuit with errors nothing comes as expected: the errors say why, once.
    let sound = !allow::apply(&survey, found.clone()).iter().any(|f| f.severity == Severity::Error);
    if sound {
        survey.solve();
        found.extend(late.iter().flat_map(|rule| rule.run(&survey)));
    }
    let effort = if sound { effort } else { Effort::None };
    survey.expectations = expect::run(files, file, model, effort);
    found.extend(expect::RULES.iter().flat_map(|rule| rule.run(&survey)));
    let mut findings = allow::apply(&survey, found);
    let expectations = survey.expectations;
    findings.iter_mut().for_each(|finding| of_kinds(model, finding));
    findings.sort_by(|a, b| (a.file, a.span, a.rule).cmp(&(b.file, b.span, b.rule)));
    Judged { findings, expectations }
}

/// Leads from where a part names its kind to the kind, which says what the finding is about. Nothing there
/// can be mended by writing over the name.
fn of_kinds(model: &Model, finding: &mut Finding) {
    let edits = finding.fix.iter().flat_map(|fix| &fix.edits);
    let mut places = edits.map(|edit| Place { file: edit.file, span: edit.span });
    if places.any(|place| model.said_by_kind(place).is_some()) {
        finding.fix = None;
    }
    let own = Place { file: finding.file, span: finding.span };
    let others = finding.related.iter().map(|other| Place { file: other.file, span: other.span });
    let Some(kind) = std::iter::once(own).chain(others).find_map(|place| model.said_by_kind(place)) else {
        return;
    };
    let (file, span) = (kind.place.file, kind.place.span);
    if !finding.related.iter().any(|other| (other.file, other.span) == (file, span)) {
        let message = format!("kind `{}`, which says it, is declared here", kind.name);
        finding.related.push(Related { file, span, message });
    }
}
