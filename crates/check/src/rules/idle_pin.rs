//! `idle-pin`.

use std::collections::BTreeSet;

use halfsplit_circuit::{PartKind, PointId, PointKind};
use halfsplit_model::Entity;

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, ends, list},
};

pub(super) const RULE: Rule = rule!("idle-pin", Warning, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    let buses = survey.model.facts.buses.iter();
    let on_bus: BTreeSet<PointId> =
        buses.flat_map(|bus| bus.high.iter().chain(&bus.low).chain(&bus.line)).copied().collect();
    for wire in &survey.model.wires {
        for (point, place) in ends(wire) {
            let PointKind::Cavity { connector, .. } = survey.circuit().point(point).kind else { continue };
            let Some(owner) = survey.circuit().connector(connector).owner else { continue };
            // A module's signal pins need no line of their own, and a part of which nothing is said uses nothing.
            let is_module = survey.circuit().part(owner).kind == PartKind::Module;
            if on_bus.contains(&point) {
                continue;
            }
            if is_module
                || survey.model.roles.contains_key(&point)
                || survey.doubts(point)
                || has_inside(survey, point)
            {
                continue;
            }
            let used: Vec<PointId> = survey
                .points_of(owner)
                .iter()
                .copied()
                .filter(|p| survey.model.roles.contains_key(p))
                .collect();
            if used.is_empty() {
                continue;
            }
            let names: Vec<&str> = used.iter().take(6).map(|&p| survey.point_name(p)).collect();
            let (name, part, pin) =
                (survey.wire_name(wire), survey.part_name(owner), survey.point_name(point));
            found
                .add(
                    place,
                    format!(
                        "{name} goes into {pin}, but {part} says nothing of that pin: it uses {}",
                        list(&names)
                    ),
                )
                .with_some(survey.name_place(Entity::Part(owner)), format!("{part} is declared here"))
                .help("mend the cavity, or say in the part's block what the pin is for");
        }
    }
}

/// Whether anything inside the part is joined behind a pin.
fn has_inside(survey: &Survey, point: PointId) -> bool {
    let PointKind::Cavity { connector, cavity, .. } = survey.circuit().point(point).kind else {
        return false;
    };
    let inside = survey.circuit().connector(connector).cavities[cavity as usize].points[1];
    inside.is_some_and(|inside| survey.branches_at(inside).count() > 1)
}
