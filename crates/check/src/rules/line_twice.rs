//! `line-twice`.

use std::collections::BTreeMap;

use halfsplit_base::Span;
use halfsplit_model::Place;

use crate::{
    Rule,
    rule::Found,
    statements::{Statement, is_conditional, own},
    survey::Survey,
};

pub(super) const RULE: Rule = rule!("line-twice", Error, File, check);

/// Lines of which the first or last one counts, so that a second is never meant.
const ONCE: [&str; 31] = [
    "circuit",
    "library",
    "vehicle",
    "system",
    "years",
    "reach",
    "suspicion",
    "place",
    "parting",
    "repart",
    "access",
    "rows",
    "view",
    "volts",
    "inner",
    "terminals",
    "joint",
    "cold",
    "slot",
    "pull-in",
    "drop-out",
    "saturation",
    "limit",
    "unpowered",
    "sinks",
    "after-short",
    "standby",
    "wakes",
    "sense-lost",
    "fallback",
    "ceiling",
];

fn check(survey: &Survey, found: &mut Found) {
    let mut first: BTreeMap<(Option<Span>, &str), Place> = BTreeMap::new();
    for Statement { file, fact, holder } in own(survey) {
        let keyword = fact.keyword();
        // What holds for some cars may well be said once more for the others.
        if !ONCE.contains(&keyword) || is_conditional(fact) {
            continue;
        }
        // In an `expect` or a case the same words are steps, and steps come again.
        if holder.is_some_and(|holder| ["expect", "case"].contains(&holder.keyword())) {
            continue;
        }
        let place = Place { file, span: fact.span };
        let key = (holder.map(|holder| holder.span), keyword);
        match first.get(&key) {
            None => drop(first.insert(key, place)),
            Some(&first) => {
                let whose = holder.map_or("this file", |holder| holder.keyword());
                found
                    .add(place, format!("a second `{keyword}` of the same {whose}"))
                    .with(first, "the first one")
                    .help("one of the two counts, and nobody can say which: leave the other out");
            }
        }
    }
}
