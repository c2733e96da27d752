//! `reference-incomplete`.

use halfsplit_circuit::BranchKind;
use halfsplit_model::Entity;

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, list},
};

pub(super) const RULE: Rule = rule!("reference-incomplete", Warning, Circuit, check);

const WANTED: [(&str, &str); 3] = [
    ("limit", "`limit` (the current it gives into a short)"),
    ("unpowered", "`unpowered` (what it looks like without power)"),
    ("after-short", "`after-short` (whether it comes back by itself)"),
];

fn check(survey: &Survey, found: &mut Found) {
    for (name, id) in &survey.circuit().outputs {
        if !matches!(survey.circuit().branch(*id).kind, BranchKind::Reference { .. }) {
            continue;
        }
        let item = Entity::Output(*id);
        let missing: Vec<&str> = WANTED
            .iter()
            .filter(|(word, _)| survey.model.said(item, word).is_none())
            .map(|(_, say)| *say)
            .collect();
        if missing.is_empty() {
            continue;
        }
        let Some(place) = survey.name_place(item) else { continue };
        found
            .add(place, format!("{name} does not say its {}", list(&missing)))
            .help("without them no reading of a shorted reference can be computed; `unknown` is allowed");
    }
}
