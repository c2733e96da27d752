//! `slot-twice`.

use std::collections::BTreeMap;

use halfsplit_circuit::PartId;
use halfsplit_model::Entity;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("slot-twice", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    let mut taken: BTreeMap<(&str, &str), PartId> = BTreeMap::new();
    for (&part, (slot, of_box)) in &survey.model.facts.slots {
        let Some(&other) = taken.get(&(slot.as_str(), of_box.as_str())) else {
            taken.insert((slot, of_box), part);
            continue;
        };
        let place = |part| survey.model.said(Entity::Part(part), "slot");
        let Some(at) = place(part) else { continue };
        let (name, first) = (survey.part_name(part), survey.part_name(other));
        let whose = if of_box.is_empty() { String::new() } else { format!(" of \"{of_box}\"") };
        found
            .add(at, format!("{name} sits in slot {slot}{whose}, where {first} sits already"))
            .with_some(place(other), format!("{first} is there"))
            .help("one of the two sits elsewhere; with several boxes say which: `slot \"12\" in \"engine bay box\"`");
    }
}
