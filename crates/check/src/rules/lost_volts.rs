//! `lost-volts`.

use halfsplit_circuit::{BranchKind, PartKind};
use halfsplit_model::{Entity, SupplyKind};

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, number},
};

pub(super) const RULE: Rule = rule!("lost-volts", Warning, Sound, check);

/// No single sound joint, contact or wire takes more than this share of the system's volts. Own estimate, three times
/// what a whole feed is allowed (0.5 V of 12 V).
const MOST: f64 = 0.12;

fn check(survey: &Survey, found: &mut Found) {
    let Some(solution) = survey.solution() else { return };
    if has_generator(survey) {
        return;
    }
    let system = survey.model.vehicle.system_volts();
    for (id, branch) in survey.circuit().branches() {
        let (ohms, keyword) = match branch.kind {
            BranchKind::Wire { ohms: Some(ohms), .. } => (ohms, ""),
            BranchKind::Joint { ohms } => (ohms, "joint"),
            BranchKind::Mated { ohms, .. } => (ohms, "contact"),
            BranchKind::Fuse { ohms, .. } => (ohms, "cold"),
            BranchKind::Switch { ohms, .. } | BranchKind::RelayContact { ohms, .. } => (ohms, ""),
            _ => continue,
        };
        let amps = solution.current(id).abs();
        let lost = amps * ohms;
        // A ribbon inside a part, or a shunt, is there to take volts.
        let kind = survey.circuit().part(branch.part).kind;
        if lost <= system * MOST || matches!(kind, PartKind::Load | PartKind::Sensor | PartKind::Module) {
            continue;
        }
        let own = survey.model.said(Entity::Part(branch.part), keyword);
        let Some(place) = own.or_else(|| survey.branch_place(id)) else { continue };
        let part = survey.part_name(branch.part);
        found
            .add(
                place,
                format!(
                    "{part} takes {} V of {} V in the sound circuit: {} A through {} ohm",
                    number(lost),
                    number(system),
                    number(amps),
                    digits(ohms)
                ),
            )
            .help("a unit is likely wrong (ohm for mohm, m for cm), or the current of what hangs on it");
    }
}

/// Whether a generator charges a battery: how much current that takes is no matter of the wiring, and not drawn.
pub(super) fn has_generator(survey: &Survey) -> bool {
    survey.model.supplies.values().any(|kind| *kind == SupplyKind::Generator)
}

/// Ohms with the digits that count.
fn digits(ohms: f64) -> String {
    if ohms < 0.1 { format!("{ohms:.4}") } else { number(ohms) }
}
