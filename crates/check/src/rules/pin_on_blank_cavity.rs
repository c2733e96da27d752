//! `pin-on-blank-cavity`.

use std::collections::BTreeSet;

use halfsplit_circuit::{CavityRole, PartId, PointId};
use halfsplit_model::{Entity, Place};

use crate::{Rule, doubt::connector_of, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("pin-on-blank-cavity", Error, Circuit, check);

/// The parts that use such a pin: what they lack may come from it.
pub(super) fn parts(survey: &Survey) -> BTreeSet<PartId> {
    let blank =
        |point: &&PointId| matches!(survey.cavity_role(**point), Some(CavityRole::Blank | CavityRole::Spare));
    let points = survey.model.roles.keys().filter(blank);
    points.filter_map(|point| survey.circuit().connector(connector_of(survey, *point)?).owner).collect()
}

fn check(survey: &Survey, found: &mut Found) {
    for point in survey.model.roles.keys() {
        let said = match survey.cavity_role(*point) {
            Some(CavityRole::Blank) => "blank",
            Some(CavityRole::Spare) => "a spare without a wire",
            _ => continue,
        };
        let cavity = survey.model.declaration(Entity::Point(*point));
        let ends: Vec<Place> = survey.wires_at(*point).map(|wire| wire.place).collect();
        let in_wire = |place: &Place| {
            ends.iter().any(|wire| {
                wire.file == place.file
                    && wire.span.start <= place.span.start
                    && place.span.end <= wire.span.end
            })
        };
        let mut mentions = survey.model.mentions(Entity::Point(*point)).filter(|mention| !mention.declares);
        let Some(mention) = mentions.find(|mention| !in_wire(&mention.place)) else { continue };
        found
            .add(
                mention.place,
                format!("{} is used here, but its line says that it is {said}", survey.point_name(*point)),
            )
            .with_some(cavity, "said here")
            .help("name the right pin, or mend the cavity's line");
    }
}
