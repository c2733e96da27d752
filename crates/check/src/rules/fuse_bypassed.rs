//! `fuse-bypassed`.

use halfsplit_circuit::BranchKind;
use halfsplit_model::Entity;

use crate::{Rule, rule::Found, short::way, survey::Survey};

pub(super) const RULE: Rule = rule!("fuse-bypassed", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for (_, branch) in survey.circuit().branches() {
        if !matches!(branch.kind, BranchKind::Fuse { .. })
            || survey.net_of(branch.a) != survey.net_of(branch.b)
        {
            continue;
        }
        let Some(place) = survey.name_place(Entity::Part(branch.part)) else { continue };
        let path = way(survey, branch.a, branch.b, |b| b.kind.is_copper(), None).unwrap_or_default();
        let wires: Vec<_> = path.iter().filter_map(|&id| survey.wire(id)).collect();
        let by = match wires.is_empty() {
            true => "both sit on one bar".to_owned(),
            false => format!("{} leads around it", survey.wires_in_words(&wires)),
        };
        let mut detail = found.add(
            place,
            format!("both sides of {} are joined by copper: {by}", survey.part_name(branch.part)),
        );
        for wire in wires.iter().take(3) {
            detail = detail.with(survey.wire_place(wire), "the way leads through this wire");
        }
        detail.help("such a fuse protects nothing: one wire or bar names the wrong side");
    }
}
