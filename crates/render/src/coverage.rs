//! What a file cannot tell apart, for people and for programs.

use halfsplit_plan::coverage::{Confused, Coverage, Fact, Group};
use serde_json::{Value, json};

use crate::{json::SCHEMA, page::Block};

/// The groups as a page.
pub fn page(coverage: &Coverage) -> Vec<Block> {
    let Coverage { pin, suspects, told, groups } = coverage;
    let mut page = vec![
        Block::Title(format!("{pin}: what this file can tell apart")),
        Block::Words(format!(
            "{suspects} suspects, {told} of them told from every other unit by some allowed reading."
        )),
    ];
    if groups.is_empty() {
        page.push(Block::Words("No two units are left that no reading parts.".into()));
        return page;
    }
    for (at, group) in groups.iter().enumerate() {
        page.push(Block::Heading(format!("Not told apart, {}", at + 1)));
        page.push(Block::List(group.suspects.iter().map(confused).collect()));
        page.push(Block::Words(help(group)));
        page.push(Block::List(group.facts.iter().map(fact).collect()));
    }
    page
}

fn confused(suspect: &Confused) -> String {
    let Confused { name, mode, with } = suspect;
    format!("{name} ({mode}) is not told from {}", with.join(", "))
}

fn help(group: &Group) -> String {
    match group.facts.len() {
        0 => "No place to read that the file could add parts them: they are told by eye, with the loom open."
            .into(),
        _ => "Added to the file, this would part them:".into(),
    }
}

fn fact(fact: &Fact) -> String {
    let (red, black) = &fact.reading;
    let parts: Vec<String> = fact.parts.iter().map(|units| units.join(", ")).collect();
    let (some, all) = fact.pairs;
    let share = if some == all { "all of it".to_owned() } else { format!("{some} of {all} pairs") };
    format!("{}, {share}: volts from {red} to {black} part {}", fact.fact, parts.join(" | "))
}

/// The groups for programs.
pub fn json(coverage: &Coverage) -> Value {
    let group = |group: &Group| {
        json!({
            "suspects": group.suspects.iter().map(|s| json!({"name": s.name, "mode": s.mode, "with": s.with})).collect::<Vec<_>>(),
            "facts": group.facts.iter().map(|fact| json!({
                "fact": fact.fact,
                "red": fact.reading.0,
                "black": fact.reading.1,
                "parts": fact.parts,
                "pairs": {"parted": fact.pairs.0, "all": fact.pairs.1},
            })).collect::<Vec<_>>(),
        })
    };
    json!({
        "schema": SCHEMA,
        "pin": coverage.pin,
        "suspects": coverage.suspects,
        "told": coverage.told,
        "groups": coverage.groups.iter().map(group).collect::<Vec<_>>(),
    })
}
