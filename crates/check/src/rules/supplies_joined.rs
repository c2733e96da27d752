//! `supplies-joined`.

use std::collections::{BTreeMap, BTreeSet};

use halfsplit_circuit::{Branch, BranchId, BranchKind, PointId, PointKind};
use halfsplit_model::{Entity, SupplyKind};

use crate::{
    Rule,
    rule::Found,
    short::{culprit, passes_crowd, way},
    survey::{Survey, is_source, list},
};

pub(super) const RULE: Rule = rule!("supplies-joined", Error, Circuit, check);

/// Something that supplies a net.
#[derive(Clone, Copy, PartialEq)]
enum Sort {
    Supply,
    Reference,
    Fuse,
}

fn check(survey: &Survey, found: &mut Found) {
    let mut by_net: BTreeMap<usize, Vec<(BranchId, PointId, Sort)>> = BTreeMap::new();
    let is_generator = |part| survey.model.supplies.get(&part) == Some(&SupplyKind::Generator);
    let generators: BTreeSet<usize> = (survey.circuit().branches())
        .filter(|(_, b)| is_source(&b.kind) && is_generator(b.part))
        .map(|(_, b)| survey.net_of(b.a))
        .collect();
    for (id, branch) in survey.circuit().branches() {
        let (point, sort) = match branch.kind {
            BranchKind::Source { .. } if !is_generator(branch.part) => (branch.a, Sort::Supply),
            BranchKind::Reference { .. } => (branch.a, Sort::Reference),
            // A generator works beside the battery, and its link with the battery's.
            BranchKind::Fuse { .. } if generators.contains(&survey.net_of(branch.a)) => continue,
            BranchKind::Fuse { .. } if is_feeding(survey, id, branch) => (branch.b, Sort::Fuse),
            _ => continue,
        };
        by_net.entry(survey.net_of(point)).or_default().push((id, point, sort));
    }
    for suppliers in by_net.values().filter(|s| s.len() > 1) {
        let [first, second, ..] = suppliers[..] else { continue };
        let sorts = suppliers.iter().map(|(.., sort)| sort);
        // A fuse with its load side at the battery is turned round; that has a rule of its own.
        if sorts.clone().any(|s| *s == Sort::Supply)
            && sorts.clone().filter(|s| **s != Sort::Fuse).count() == 1
        {
            continue;
        }
        let copper = |b: &Branch| b.kind.is_copper();
        let Some(path) = way(survey, first.1, second.1, copper, None) else { continue };
        if passes_crowd(survey, &path) {
            continue;
        }
        let wire = culprit(survey, &path, first.1, second.1, copper).and_then(|id| survey.wire(id));
        let place = match wire {
            Some(wire) => survey.wire_place(wire),
            None => match survey.name_place(Entity::Part(survey.circuit().branch(second.0).part)) {
                Some(place) => place,
                None => continue,
            },
        };
        let names: Vec<&str> = suppliers.iter().take(4).map(|&(id, ..)| name(survey, id)).collect();
        let wires: Vec<_> = path.iter().filter_map(|&id| survey.wire(id)).collect();
        let by = match wires.is_empty() {
            true => format!("{} joins", bar_on(survey, &path).unwrap_or("one bar")),
            false if wires.len() == 1 => format!("{} joins", survey.wire_name(wires[0])),
            false => format!("{} join", survey.wires_in_words(&wires)),
        };
        let mut detail = found.add(
            place,
            format!("{} feed the same net: {by} them without a switch, relay or diode between", list(&names)),
        );
        for &(id, ..) in suppliers.iter().take(3) {
            let part = Entity::Part(survey.circuit().branch(id).part);
            let output = survey.output_name(id).and_then(|_| survey.name_place(Entity::Output(id)));
            let own = output.or_else(|| survey.name_place(part)).filter(|p| *p != place);
            detail = detail.with_some(own, format!("{} feeds it", name(survey, id)));
        }
        let help = match suppliers.iter().any(|(.., sort)| *sort == Sort::Reference) {
            true => "each reference feeds its own sensors: one wire names the wrong pin or splice",
            false => {
                "pulling one of them leaves the wire live: one wire names the wrong fuse or splice; if the car really \
                 is built so, `allow` it"
            }
        };
        detail.help(help);
    }
}

/// The bar that a way passes.
fn bar_on<'m>(survey: &Survey<'m>, path: &[BranchId]) -> Option<&'m str> {
    let circuit = survey.circuit();
    let points = path.iter().map(|&id| circuit.branch(id)).flat_map(|b| [b.a, b.b]);
    points.into_iter().find(|&p| circuit.point(p).kind == PointKind::Bar).map(|p| survey.point_name(p))
}

/// Whether a fuse feeds the net of its load side: not if it is turned round or copper leads around it.
fn is_feeding(survey: &Survey, id: BranchId, fuse: &Branch) -> bool {
    !survey.reach.reversed.contains(&id) && survey.net_of(fuse.a) != survey.net_of(fuse.b)
}

fn name<'m>(survey: &Survey<'m>, id: BranchId) -> &'m str {
    survey.output_name(id).unwrap_or_else(|| survey.part_name(survey.circuit().branch(id).part))
}
