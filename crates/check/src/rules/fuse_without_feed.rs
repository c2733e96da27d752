//! `fuse-without-feed`.

use std::collections::BTreeMap;

use halfsplit_circuit::BranchId;
use halfsplit_model::Entity;

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, list},
};

pub(super) const RULE: Rule = rule!("fuse-without-feed", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    if !survey.reach.has_supply {
        return;
    }
    let mut by_net: BTreeMap<usize, Vec<BranchId>> = BTreeMap::new();
    for &fuse in &survey.reach.unfed_fuses {
        let feed = survey.circuit().branch(fuse).a;
        if !survey.doubts_net_of(feed) {
            by_net.entry(survey.net_of(feed)).or_default().push(fuse);
        }
    }
    for (net, fuses) in by_net {
        let Some(&first) = fuses.first() else { continue };
        let branch = survey.circuit().branch(first);
        let Some(place) = survey.name_place(Entity::Part(branch.part)) else { continue };
        let names: Vec<&str> =
            fuses.iter().map(|&id| survey.part_name(survey.circuit().branch(id).part)).collect();
        let wires = survey.wires_of(&survey.nets()[net]);
        let side = survey.point_name(branch.a);
        let why = match (wires.is_empty(), survey.nets()[net].points.len()) {
            (true, 1) => format!("no wire and no bar is at {side}"),
            (true, _) => "the bar they sit on has no feed".to_owned(),
            (false, _) => format!("{} lead to no supply", survey.wires_in_words(&wires)),
        };
        let verb = if names.len() == 1 { "has" } else { "have" };
        found
            .add(place, format!("{} {verb} no source side: {why}", list(&names)))
            .help(format!("draw what feeds it: a wire to `{side}`, or `{side} on BAR` in its line"));
    }
}
