//! What an editor can offer to do at a place.

use halfsplit_base::{FileId, Finding, Span};
use halfsplit_circuit::PointId;
use halfsplit_model::Model;

use crate::{Action, ActionKind, Change};

/// One action for each finding that touches the range and knows what would mend it.
pub(crate) fn fixes(findings: &[Finding], file: FileId, range: Span) -> Vec<Action> {
    let touched = findings
        .iter()
        .filter(|finding| finding.file == file)
        .filter(|finding| finding.span.touches(range.start) || range.touches(finding.span.start));
    let fix = |finding: &Finding| {
        let fix = finding.fix.clone()?;
        Some(Action {
            title: fix.title,
            kind: ActionKind::Fix { finding: finding.clone() },
            change: Change::Edits(fix.edits),
        })
    };
    touched.filter_map(fix).collect()
}

/// The offer to write the isolation plan of a pin.
pub(crate) fn plan(model: &Model, file: FileId, pin: PointId) -> Action {
    let pin = model.circuit.point(pin).name.clone();
    Action {
        title: format!("Write the isolation plan for {pin}"),
        kind: ActionKind::Write,
        change: Change::Plan { file, pin },
    }
}
