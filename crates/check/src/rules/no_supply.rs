//! `no-supply`.

use halfsplit_model::Entity;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("no-supply", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    if survey.reach.has_supply {
        return;
    }
    let hungry: Vec<_> = survey.loads().filter(|(_, b)| !survey.reach.may_be_fed(b.a)).collect();
    let Some((_, first)) = hungry.first() else { return };
    let Some(place) = survey.name_place(Entity::Part(first.part)) else { return };
    let part = survey.part_name(first.part);
    let message = match hungry.len() {
        1 => format!("{part} draws current, and no `supply` in this file gives any"),
        n => format!("{part} and {} more lines draw current, and no `supply` in this file gives any", n - 1),
    };
    found.add(place, message).help(
        "draw the battery: `supply G1 battery`, and from it wires and fuses up to here; or mark the pin where the feed \
         comes from another file as `elsewhere`",
    );
}
