//! `equal-reach`.

use halfsplit_circuit::ConnectorId;
use halfsplit_model::{Entity, Place};

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, number},
};

pub(super) const RULE: Rule = rule!("equal-reach", Warning, Circuit, check);

/// From so many connectors on, the same minutes everywhere are a value that nobody measured.
const ENOUGH: usize = 4;

fn check(survey: &Survey, found: &mut Found) {
    let said = survey.circuit().connectors.iter().enumerate().filter_map(|(index, connector)| {
        let place = survey.model.said(Entity::Connector(ConnectorId(index as u32)), "reach")?;
        Some((connector.reach?, place))
    });
    let said: Vec<(f64, Place)> = said.collect();
    let Some(&(minutes, place)) = said.first() else { return };
    if said.len() < ENOUGH || said.iter().any(|(other, _)| (other - minutes).abs() > 1e-9) {
        return;
    }
    found
        .add(place, format!("all {} connectors take {} min to reach", said.len(), number(minutes)))
        .help("with the same minutes everywhere a plan can only order by suspicion: give each its own");
}
