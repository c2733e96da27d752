//! `body-without-battery`.

use halfsplit_circuit::{BranchKind, PartKind};
use halfsplit_model::{Entity, SupplyKind};

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("body-without-battery", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    if !survey.reach.body_hangs {
        return;
    }
    let source = survey.circuit().branches().find(|(_, b)| {
        matches!(b.kind, BranchKind::Source { .. })
            && survey.model.supplies.get(&b.part) != Some(&SupplyKind::Generator)
    });
    let Some((_, source)) = source else { return };
    let Some(place) = survey.name_place(Entity::Part(source.part)) else { return };
    if survey.doubts(source.b) {
        return;
    }
    let grounds = survey.circuit().parts.iter().filter(|p| p.kind == PartKind::GroundPoint);
    let names: Vec<&str> = grounds.map(|p| p.name.as_str()).take(3).collect();
    let post = survey.point_name(source.b);
    found
        .add(place, format!("no wire joins {post}, the negative post, to the body, so nothing grounded at {} has a way back", names.join(", ")))
        .help(format!("draw the ground cable: `wire W1 {post} to {}`", names.first().copied().unwrap_or("GP1")));
}
