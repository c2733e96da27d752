//! `no-steady-reading`.

use halfsplit_circuit::ReadError;
use halfsplit_model::Entity;

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, list},
};

pub(super) const RULE: Rule = rule!("no-steady-reading", Error, Sound, check);

fn check(survey: &Survey, found: &mut Found) {
    let Some(Err(ReadError::NoStableState { parts })) = &survey.sound else { return };
    let Some(&first) = parts.parts.first() else { return };
    let Some(place) = survey.name_place(Entity::Part(first)) else { return };
    let (verb, them) =
        if parts.names.len() == 1 { ("switches itself", "it") } else { ("switch each other", "them") };
    let mut detail = found.add(
        place,
        format!(
            "with the key at run {} {verb} on and off without end, so no meter reads anything steady",
            list(&parts.names)
        ),
    );
    for &part in parts.parts.iter().skip(1).take(3) {
        detail = detail.with_some(survey.name_place(Entity::Part(part)), "this takes part");
    }
    detail.help(format!("what holds {them} is fed or grounded through what {them} interrupts: a contact at rest is likely meant to close, or a wire is at the wrong side"));
}
