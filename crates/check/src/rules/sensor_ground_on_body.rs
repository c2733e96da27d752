//! `sensor-ground-on-body`.

use std::collections::BTreeSet;

use halfsplit_circuit::{BranchKind, PartId, PartKind, PointId};

use crate::{
    Rule,
    rule::Found,
    short::other,
    survey::{Survey, ends},
};

use super::load_without_feed::wire_side;

pub(super) const RULE: Rule = rule!("sensor-ground-on-body", Warning, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    let circuit = survey.circuit();
    let Some(body) = circuit.body else { return };
    for (name, id) in &circuit.outputs {
        let reference = circuit.branch(*id);
        if !matches!(reference.kind, BranchKind::Reference { .. }) {
            continue;
        }
        let feed = survey.net_of(reference.a);
        for (_, load) in circuit.branches() {
            let sensor = circuit.part(load.part).kind == PartKind::Sensor
                && matches!(load.kind, BranchKind::Load { .. });
            if !sensor || survey.net_of(load.a) != feed {
                continue;
            }
            let pin = wire_side(survey, load.b);
            let joined = outside_of(survey, pin, reference.part, body);
            if !joined.contains(&body) || joined.contains(&wire_side(survey, reference.b)) {
                continue;
            }
            let Some(wire) = survey.wires_at(pin).next() else { continue };
            let Some((_, place)) = ends(wire).find(|(point, _)| *point != pin) else { continue };
            let (wire, part) = (survey.wire_name(wire), survey.part_name(load.part));
            found
                .add(place, format!("{wire} grounds {part} at the body, and its reference {name} has a ground of its own"))
                .help("whatever flows in the body shifts its reading; mend the wire's end, or `allow` it if the car is built so");
        }
    }
}

/// What copper joins to a pin outside a module, up to the body and not beyond it.
fn outside_of(survey: &Survey, pin: PointId, module: PartId, body: PointId) -> BTreeSet<PointId> {
    let mut seen = BTreeSet::from([pin]);
    let mut queue = vec![pin];
    while let Some(here) = queue.pop() {
        for (_, branch) in survey.branches_at(here) {
            let there = other(branch, here);
            if here != body && branch.kind.is_copper() && branch.part != module && seen.insert(there) {
                queue.push(there);
            }
        }
    }
    seen
}
