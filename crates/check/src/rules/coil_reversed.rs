//! `coil-reversed`.

use halfsplit_circuit::{BranchKind, PartKind};

use crate::{Rule, rule::Found, survey::Survey};

use super::load_without_feed::outside;

pub(super) const RULE: Rule = rule!("coil-reversed", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    let circuit = survey.circuit();
    for (id, coil) in circuit.branches().filter(|(_, b)| matches!(b.kind, BranchKind::Coil { .. })) {
        if circuit.part(coil.part).kind != PartKind::Relay || !survey.reach.is_turned(coil.a, coil.b) {
            continue;
        }
        // Contacts and drivers may feed and ground either end.
        if survey.reach.is_turned(coil.b, coil.a) {
            continue;
        }
        let diode = circuit.branches_of(coil.part).find(|(_, b)| {
            matches!(b.kind, BranchKind::Diode { .. })
                && [b.a, b.b].contains(&coil.a)
                && [b.a, b.b].contains(&coil.b)
        });
        let (Some((at_diode, diode)), Some(place)) = (diode, survey.branch_place(id)) else { continue };
        let part = survey.part_name(coil.part);
        let (fed, grounded) = (outside(survey, coil.b), outside(survey, coil.a));
        let (message, help) = match diode.a == coil.a {
            true => (
                format!(
                    "the coil of {part} is said to lead from {grounded} to {fed}, but {fed} is fed and {grounded} is grounded"
                ),
                "its two ends are swapped in this line; the diode across it says so too",
            ),
            false => (
                format!(
                    "{part} is fed at {fed} and grounded at {grounded}, so the diode across its coil shorts the feed"
                ),
                "the two wires at the coil are swapped: a clamp diode blocks the feed",
            ),
        };
        found.add(place, message).with_some(survey.branch_place(at_diode), "the diode").help(help);
    }
}
