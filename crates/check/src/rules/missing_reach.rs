//! `missing-reach`.

use halfsplit_circuit::ConnectorId;
use halfsplit_model::Entity;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("missing-reach", Warning, check);

fn check(survey: &Survey, found: &mut Found) {
    let connectors = &survey.circuit().connectors;
    // A file that gives no minutes at all is not meant for plans yet.
    if connectors.iter().all(|c| c.reach.is_none()) {
        return;
    }
    for (index, connector) in connectors.iter().enumerate() {
        let item = Entity::Connector(ConnectorId(index as u32));
        if connector.reach.is_some() || survey.model.said(item, "reach").is_some() {
            continue;
        }
        let Some(place) = survey.name_place(item) else { continue };
        found
            .add(place, format!("{} has no `reach`, and other connectors of this file have one", connector.name))
            .help("a plan needs the minutes to get there: write `reach 3 min`, or `reach unknown`");
    }
}
