//! `fuse-reversed`.

use halfsplit_model::Entity;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("fuse-reversed", Warning, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for &id in &survey.reach.reversed {
        let part = survey.circuit().branch(id).part;
        let Some(place) = survey.name_place(Entity::Part(part)) else { continue };
        let name = survey.part_name(part);
        found
            .add(place, format!("{name} is fed at {name}:load, and its loads hang on {name}:feed"))
            .help("swap the two sides: a test that pulls the fuse asks which side is live");
    }
}
