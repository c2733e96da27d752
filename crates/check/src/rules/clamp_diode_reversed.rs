//! `clamp-diode-reversed`.

use halfsplit_circuit::{BranchKind, PartKind, PointId};

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("clamp-diode-reversed", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for (id, diode) in survey.circuit().branches() {
        let of_relay = survey.circuit().part(diode.part).kind == PartKind::Relay;
        if !of_relay || !matches!(diode.kind, BranchKind::Diode { .. }) {
            continue;
        }
        // The coil's own diode lies across it: anode at the negative end.
        // Where the coil is fed at its other end, the diode may be right and the coil's line is not: `coil-reversed`.
        let forward = survey.branches_at(diode.a).any(|(_, b)| {
            let of_coil = matches!(b.kind, BranchKind::Coil { .. }) && b.part == diode.part;
            let turned = survey.reach.is_turned(b.a, b.b) && !survey.reach.is_turned(b.b, b.a);
            of_coil && b.a == diode.a && b.b == diode.b && !turned
        });
        let Some(place) = survey.branch_place(id).filter(|_| forward) else { continue };
        let (part, from, to) = (survey.part_name(diode.part), short(survey, diode.a), short(survey, diode.b));
        found
            .add(place, format!("the diode across the coil of {part} conducts from {from} to {to}, as the coil's own current does: it shorts the coil"))
            .help(format!("a clamp diode points the other way: `diode {to} -> {from}`"))
            .fix(format!("write diode {to} -> {from}"), place, format!("diode {to} -> {from}"));
    }
}

fn short<'m>(survey: &Survey<'m>, point: PointId) -> &'m str {
    let name = survey.point_name(point);
    name.rsplit_once(':').map_or(name, |(_, terminal)| terminal)
}
