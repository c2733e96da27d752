//! `unfused-feed`.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use halfsplit_circuit::{Branch, BranchId, BranchKind, PointId};
use halfsplit_model::{Entity, SupplyKind, Wire};

use crate::{
    Rule,
    protect::{SOURCE, Thin, behind_fuses},
    rule::Found,
    short::other,
    survey::{Survey, number},
};

use super::{fuse_too_large::is_far, load_without_feed::outside};

pub(super) const RULE: Rule = rule!("unfused-feed", Error, Circuit, check);

/// Cables from this section on are starter, generator and heater cables, which go without a
/// fuse on most cars. Common practice.
const CABLE: f64 = 10.0;

fn check(survey: &Survey, found: &mut Found) {
    without_any(survey, found);
    behind_a_link(survey, found);
}

/// Wires that hang on a main link without a fuse of their own.
fn behind_a_link(survey: &Survey, found: &mut Found) {
    for behind in behind_fuses(survey) {
        if !behind.is_main {
            continue;
        }
        let circuit = survey.circuit();
        let reported = |thin: &Thin| {
            let wire = circuit.branch(thin.first);
            survey.doubts(wire.a) || survey.doubts(wire.b)
        };
        for thin in behind.thin.iter().filter(|thin| is_far(&behind, thin) && !reported(thin)) {
            let part = circuit.branch(behind.fuse).part;
            let (Some(first), Some(wire)) = (survey.wire(thin.first), survey.wire(thin.wire)) else {
                continue;
            };
            let (link, name, thinnest) =
                (survey.part_name(part), survey.wire_name(first), survey.wire_name(wire));
            let section = number(thin.section);
            let which = match thin.first == thin.wire {
                true => format!("with {section} mm2 it"),
                false => format!("{thinnest} behind it is {section} mm2 and"),
            };
            let message = format!(
                "{name} is fed through {link}, a link of {} A, and has no fuse of its own; {which} carries {} A",
                number(behind.rating),
                number(thin.carries.floor())
            );
            found
                .add(survey.wire_place(first), message)
                .with_some(survey.name_place(Entity::Part(part)), format!("{link} is all that is before it"))
                .help(format!(
                    "start the wire at the load side of a fuse, or draw the fuse; if the car has none there, say so with \
                     `allow` (amperage: {SOURCE})"
                ));
        }
    }
}

/// Loads that a battery reaches without passing a fuse or link.
fn without_any(survey: &Survey, found: &mut Found) {
    let circuit = survey.circuit();
    let came = spread(survey);
    let mut done: BTreeSet<usize> = BTreeSet::new();
    for (id, load) in survey.loads() {
        if !came.contains_key(&load.a) || survey.doubts(load.a) || done.contains(&survey.net_of(load.a)) {
            continue;
        }
        let path = back(survey, &came, load.a);
        let wires: Vec<&Wire> = path.iter().filter_map(|&id| survey.wire(id)).collect();
        let section = |wire: &Wire| wire.section.and_then(|(mm2, _)| mm2);
        let thinnest = wires.iter().copied().min_by(|one, two| {
            let of = |wire: &Wire| section(wire).unwrap_or(0.0);
            of(one).total_cmp(&of(two))
        });
        if thinnest.is_some_and(|wire| section(wire).is_some_and(|mm2| mm2 >= CABLE))
            || !done.insert(survey.net_of(load.a))
        {
            continue;
        }
        let place = thinnest.map(|wire| survey.wire_place(wire)).or_else(|| survey.branch_place(id));
        let Some(place) = place else { continue };
        let battery = path.first().map(|&id| circuit.branch(id)).map_or("the battery", |b| post(survey, b));
        let (part, pin) = (survey.part_name(load.part), outside(survey, load.a));
        let by = match wires.is_empty() {
            true => String::new(),
            false => format!(" over {}", survey.wires_in_words(&wires)),
        };
        let thin = match thinnest.and_then(|wire| Some((wire, section(wire)?))) {
            Some((wire, mm2)) => format!("; {} is only {} mm2", survey.wire_name(wire), number(mm2)),
            None => String::new(),
        };
        found
            .add(
                place,
                format!("{part} is fed at {pin} from {battery}{by} with no fuse or link between{thin}"),
            )
            .with_some(survey.name_place(Entity::Part(load.part)), format!("{part} is fed by it"))
            .help("draw the fuse; if the car has none there, say so with `allow unfused-feed because \"…\"`");
    }
}

/// Every point that a battery reaches without passing a fuse, and the branch over which.
fn spread(survey: &Survey) -> BTreeMap<PointId, Option<BranchId>> {
    let circuit = survey.circuit();
    let batteries = circuit.branches().filter(|(_, b)| {
        matches!(b.kind, BranchKind::Source { .. })
            && survey.model.supplies.get(&b.part) == Some(&SupplyKind::Battery)
    });
    let mut came: BTreeMap<PointId, Option<BranchId>> = batteries.map(|(_, b)| (b.a, None)).collect();
    let mut queue: VecDeque<PointId> = came.keys().copied().collect();
    // Copper around a fuse is reported as that; what stands behind is fused in the end.
    let bypassed: BTreeSet<PointId> = circuit
        .branches()
        .filter(|(_, b)| {
            matches!(b.kind, BranchKind::Fuse { .. }) && survey.net_of(b.a) == survey.net_of(b.b)
        })
        .map(|(_, b)| b.b)
        .collect();
    let left_out: BTreeSet<BranchId> = survey.shorts.iter().filter_map(|short| short.wire).collect();
    while let Some(here) = queue.pop_front() {
        for (id, branch) in survey.branches_at(here) {
            let there = other(branch, here);
            let shut =
                survey.reach.ground[there.index()] || left_out.contains(&id) || bypassed.contains(&there);
            if passes(branch, here) && !shut && !came.contains_key(&there) {
                came.insert(there, Some(id));
                queue.push_back(there);
            }
        }
    }
    came
}

fn passes(branch: &Branch, from: PointId) -> bool {
    match branch.kind {
        BranchKind::Switch { .. } | BranchKind::RelayContact { .. } => true,
        BranchKind::Diode { .. } => branch.a == from,
        _ => branch.kind.is_copper(),
    }
}

/// The way from the battery to a point.
fn back(survey: &Survey, came: &BTreeMap<PointId, Option<BranchId>>, to: PointId) -> Vec<BranchId> {
    let mut path = Vec::new();
    let mut at = to;
    while let Some(&Some(id)) = came.get(&at) {
        path.push(id);
        at = other(survey.circuit().branch(id), at);
    }
    path.reverse();
    path
}

fn post<'m>(survey: &Survey<'m>, branch: &Branch) -> &'m str {
    let positive = |point: PointId| {
        survey.branches_at(point).any(|(_, b)| matches!(b.kind, BranchKind::Source { .. }) && b.a == point)
    };
    match positive(branch.a) {
        true => survey.point_name(branch.a),
        false => survey.point_name(branch.b),
    }
}
