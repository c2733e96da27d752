//! `missing-reach`.

use halfsplit_circuit::ConnectorId;
use halfsplit_model::Entity;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("missing-reach", Warning, Circuit, check);

/// What an author writes of a connector once he has seen it.
const SAID: [&str; 5] = ["place", "view", "rows", "access", "cavity"];

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
        // A connector of which nothing is said and to which nothing is drawn is not written yet.
        let id = ConnectorId(index as u32);
        let begun = |word: &'static str| survey.model.said(item, word).is_some();
        if !SAID.iter().any(|word| begun(word))
            && survey.points_in(id).all(|point| survey.wire_count(point) == 0)
        {
            continue;
        }
        let Some(place) = survey.name_place(item) else { continue };
        found
            .add(
                place,
                format!("{} has no `reach`, and other connectors of this file have one", connector.name),
            )
            .help("a plan needs the minutes to get there: write `reach 3 min`, or `reach unknown`");
    }
}
