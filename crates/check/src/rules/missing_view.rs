//! `missing-view`.

use std::collections::BTreeMap;

use halfsplit_circuit::{ConnectorId, View};
use halfsplit_model::Entity;

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, list},
};

pub(super) const RULE: Rule = rule!("missing-view", Warning, Circuit, check);

/// In smaller connectors nobody counts.
const FEWEST: usize = 4;

fn check(survey: &Survey, found: &mut Found) {
    for (index, connector) in survey.circuit().connectors.iter().enumerate() {
        if connector.view != View::Unknown || connector.cavities.len() < FEWEST {
            continue;
        }
        let id = ConnectorId(index as u32);
        for half in 0..2 {
            let mut by_colour: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
            for cavity in &connector.cavities {
                let Some(point) = cavity.points[half] else { continue };
                let wired =
                    survey.wires_at(point).find_map(|wire| wire.colour.as_ref().map(|(c, _)| c.as_str()));
                if let Some(colour) = wired {
                    by_colour.entry(colour).or_default().push(&cavity.name);
                }
            }
            let twins = by_colour.iter().find(|(_, cavities)| cavities.len() > 1);
            let (Some((colour, cavities)), Some(place)) = (twins, survey.name_place(Entity::Connector(id)))
            else {
                continue;
            };
            found
                .add(
                    place,
                    format!(
                        "{} has no `view`, and {colour} is in its cavities {}: seen from the other face they change places",
                        connector.name,
                        list(cavities)
                    ),
                )
                .help("say from which face the cavities are counted: `view wire-side` or `view mating-face`");
            break;
        }
    }
}
