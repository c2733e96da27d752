//! `missing-caution`.

use halfsplit_circuit::{Hazard, PartId, PartKind};
use halfsplit_model::Entity;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("missing-caution", Warning, Circuit, check);

/// Words that name something that can kill, and the caution that belongs to it.
const WORDS: [(&str, Hazard, &str); 12] = [
    ("airbag", Hazard::Airbag, "airbag"),
    ("air bag", Hazard::Airbag, "airbag"),
    ("pretensioner", Hazard::Airbag, "airbag"),
    ("squib", Hazard::Airbag, "airbag"),
    ("high voltage", Hazard::HighVoltage, "high-voltage"),
    ("high-voltage", Hazard::HighVoltage, "high-voltage"),
    ("traction battery", Hazard::HighVoltage, "high-voltage"),
    ("fuel pump", Hazard::Fuel, "fuel"),
    ("fuel tank", Hazard::Fuel, "fuel"),
    ("fuel level", Hazard::Fuel, "fuel"),
    ("fuel rail", Hazard::Fuel, "fuel"),
    ("injector", Hazard::Fuel, "fuel"),
];

fn check(survey: &Survey, found: &mut Found) {
    for (index, part) in survey.circuit().parts.iter().enumerate() {
        let id = PartId(index as u32);
        if matches!(part.kind, PartKind::Wire | PartKind::Splice | PartKind::Connector) {
            continue;
        }
        // What switches or fuses a fuel pump sits elsewhere, and so does the gauge that shows the level.
        let works_there = match part.kind {
            PartKind::Motor | PartKind::Sensor => true,
            PartKind::Load => !["gauge", "indicator"].iter().any(|word| part.label.contains(word)),
            _ => false,
        };
        let label = part.label.to_lowercase();
        let Some((word, hazard, keyword)) = WORDS
            .iter()
            .find(|(word, hazard, _)| label.contains(word) && (*hazard != Hazard::Fuel || works_there))
        else {
            continue;
        };
        let cautious = |cautions: &[halfsplit_circuit::Caution]| cautions.iter().any(|c| c.hazard == *hazard);
        let at_plug =
            survey.circuit().connectors.iter().any(|c| c.owner == Some(id) && cautious(&c.cautions));
        if cautious(&part.cautions) || at_plug {
            continue;
        }
        let Some(place) = survey.name_place(Entity::Part(id)) else { continue };
        found
            .add(place, format!("{} is called \"{}\" and carries no `caution {keyword}`", part.name, part.label))
            .help(format!(
                "{word} circuits can injure: write `caution {keyword} \"…\"` with what the vehicle maker's instructions demand before work"
            ));
    }
    for zone in survey.model.facts.zones.iter().filter(|zone| zone.cautions.is_empty()) {
        found
            .add(zone.place, format!("the zone {} names no danger", zone.name))
            .help("a zone is there for what can hurt in it: write its `caution`, or leave the zone out");
    }
}
