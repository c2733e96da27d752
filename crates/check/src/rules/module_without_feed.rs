//! `module-without-feed`.

use std::collections::BTreeSet;

use halfsplit_circuit::{BranchKind, PartId};
use halfsplit_model::Entity;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("module-without-feed", Warning, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    let circuit = survey.circuit();
    let feeds = circuit.branches().filter(|(_, b)| matches!(b.kind, BranchKind::Feed { .. }));
    let fed: BTreeSet<PartId> = feeds.map(|(_, b)| b.part).collect();
    let mut done: BTreeSet<PartId> = BTreeSet::new();
    for (name, output) in &circuit.outputs {
        let part = circuit.branch(*output).part;
        if fed.contains(&part) || !done.insert(part) {
            continue;
        }
        let Some(place) = survey.name_place(Entity::Part(part)) else { continue };
        found
            .add(
                place,
                format!(
                    "{} has the output {name}, and no `feed` line says what powers it",
                    survey.part_name(part)
                ),
            )
            .with_some(survey.name_place(Entity::Output(*output)), format!("{name} is dead without power"))
            .help(
                "draw its feeds and grounds, all of them: an open ground that is not drawn cannot be found",
            );
    }
}
