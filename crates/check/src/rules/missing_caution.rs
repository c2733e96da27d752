//! `missing-caution`.

use halfsplit_circuit::{Hazard, PartId, PartKind};
use halfsplit_model::Entity;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("missing-caution", Warning, Circuit, check);

/// Words that name something that can kill, and the caution that belongs to it.
const WORDS: [(&str, Hazard, &str); 7] = [
    ("airbag", Hazard::Airbag, "airbag"),
    ("air bag", Hazard::Airbag, "airbag"),
    ("pretensioner", Hazard::Airbag, "airbag"),
    ("squib", Hazard::Airbag, "airbag"),
    ("high voltage", Hazard::HighVoltage, "high-voltage"),
    ("high-voltage", Hazard::HighVoltage, "high-voltage"),
    ("traction battery", Hazard::HighVoltage, "high-voltage"),
];

fn check(survey: &Survey, found: &mut Found) {
    for (index, part) in survey.circuit().parts.iter().enumerate() {
        let id = PartId(index as u32);
        if matches!(part.kind, PartKind::Wire | PartKind::Splice | PartKind::Connector) {
            continue;
        }
        let label = part.label.to_lowercase();
        let Some((word, hazard, keyword)) = WORDS.iter().find(|(word, ..)| label.contains(word)) else {
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
}
