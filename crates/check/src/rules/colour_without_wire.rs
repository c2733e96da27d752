//! `colour-without-wire`.

use halfsplit_circuit::{CavityRole, ConnectorId};
use halfsplit_model::Entity;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("colour-without-wire", Warning, Sound, check);

fn check(survey: &Survey, found: &mut Found) {
    for (index, connector) in survey.circuit().connectors.iter().enumerate() {
        let id = ConnectorId(index as u32);
        // A part that this car lacks leaves its plug behind.
        if connector.owner.is_some_and(|owner| survey.model.facts.absent.contains(&owner)) {
            continue;
        }
        for cavity in connector.cavities.iter().filter(|cavity| !cavity.colours[0].is_empty()) {
            let plain = matches!(cavity.role, CavityRole::Plain | CavityRole::DoubleCrimp);
            let points = || cavity.points.into_iter().flatten();
            let wired = points().any(|point| survey.wire_count(point) > 0);
            let doubted = points().any(|point| survey.doubts(point));
            let Some(point) = cavity.points[0].filter(|_| plain && !wired && !doubted) else { continue };
            let Some(place) = survey.model.declaration(Entity::Point(point)) else { continue };
            // Not every part has all the wires that its kind may have.
            if survey.model.said_by_kind(place).is_some() || place.file != survey.model.file {
                continue;
            }
            found
                .add(place, format!("cavity {} of {} has a {} wire by this line, and no wire is drawn to it", cavity.name, survey.circuit().connector(id).name, cavity.colours[0]))
                .help("draw the wire; where it is in another file write `elsewhere`, where there is none write `blank`");
        }
    }
}
