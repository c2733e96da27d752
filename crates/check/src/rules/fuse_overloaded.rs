//! `fuse-overloaded`.

use std::collections::BTreeSet;

use halfsplit_circuit::{BranchId, BranchKind};
use halfsplit_model::Entity;

use crate::{
    Rule,
    protect::behind_fuses,
    rule::Found,
    survey::{Survey, number},
};

use super::lost_volts::has_generator;

pub(super) const RULE: Rule = rule!("fuse-overloaded", Warning, Sound, check);

fn check(survey: &Survey, found: &mut Found) {
    let Some(solution) = survey.solution() else { return };
    if has_generator(survey) {
        return;
    }
    // One load that is too much for its fuse is told by itself.
    let behind = behind_fuses(survey);
    let told: BTreeSet<BranchId> = (behind.iter())
        .filter(|behind| behind.loads.iter().any(|(_, amps)| *amps > behind.rating))
        .map(|behind| behind.fuse)
        .collect();
    for (id, branch) in survey.circuit().branches() {
        let BranchKind::Fuse { rating, .. } = branch.kind else { continue };
        let amps = solution.current(id).abs();
        if amps <= rating || told.contains(&id) {
            continue;
        }
        let Some(place) = survey.name_place(Entity::Part(branch.part)) else { continue };
        let fuse = survey.part_name(branch.part);
        found
            .add(place, format!("{fuse} is {} A, and {} A flow through it in the sound circuit with the key at run", number(rating), number(amps)))
            .help("its rating or the current of something behind it is likely wrong; together the loads blow it");
    }
}
