//! `unknown-position`.

use halfsplit_circuit::BranchKind;

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, list},
};

pub(super) const RULE: Rule = rule!("unknown-position", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for (id, branch) in survey.circuit().branches() {
        let BranchKind::Switch { closed, .. } = &branch.kind else { continue };
        let part = survey.circuit().part(branch.part);
        let Some(strange) = closed.positions.iter().find(|p| !part.positions.contains(p)) else { continue };
        let Some(place) = survey.branch_place(id) else { continue };
        let known: Vec<String> = part.positions.iter().map(|p| format!("`{p}`")).collect();
        let has = match known.is_empty() {
            true => "it has no `position` line".to_owned(),
            false => format!("its positions are {}", list(&known)),
        };
        found
            .add(place, format!("{} has no position `{strange}`: {has}", part.name))
            .help("add it to the `position` line, resting position first, or mend the spelling");
    }
}
