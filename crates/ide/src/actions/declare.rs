//! What to do about a name that nothing declares: declare it. The nearest other name is a guess, and a guess
//! that moves wires to another plug would tell of another car.

use std::collections::BTreeMap;

use halfsplit_base::{Edit, Finding, Span};

use super::{line_end, owner, unknown};
use crate::scene::{Scene, walk};
use crate::{Action, ActionKind, Change};

/// The offers for a finding about an unknown name.
pub(super) fn instead(scene: Scene, finding: &Finding) -> Vec<Action> {
    if finding.rule != "unknown-name" {
        return Vec::new();
    }
    let Some((written, wanted, _)) = unknown(scene).find(|(.., span)| *span == finding.span) else {
        return Vec::new();
    };
    let offer = |title: String, preferred, change| Action {
        title,
        kind: ActionKind::Fix { finding: finding.clone() },
        preferred,
        cursor: None,
        change: Change::Edits(change),
    };
    // `R1:1` in the block of R1: its own terminals are written bare.
    if let Some((name, terminal)) = written.split_once(':')
        && owner(scene, finding.span.start) == Some(name)
    {
        let edits = unknown(scene)
            .filter(|(other, ..)| other.split_once(':').is_some_and(|(other, _)| other == name))
            .filter(|(.., span)| owner(scene, span.start) == Some(name))
            .filter_map(|(other, _, span)| {
                let text = other.split_once(':')?.1.to_owned();
                Some(Edit { file: scene.file, span, text })
            });
        let title = format!("Write the own terminals of {name} bare: {terminal}");
        return vec![offer(title, true, edits.collect())];
    }
    if wanted != "pin" {
        return Vec::new();
    }
    match written.split_once(':') {
        Some((connector, _)) => declared(scene, connector)
            .map(|edit| offer(format!("Declare {connector} from the wires that name it"), false, vec![edit]))
            .into_iter()
            .collect(),
        None => {
            let text = |word: &str| format!("{word} {written}\n");
            let start = scene.parse().facts.iter().rfind(|fact| fact.span.start <= finding.span.start);
            let at = Span::empty(start.map_or(0, |fact| fact.span.start));
            let words = if written.starts_with("GP") {
                ["ground-point", "splice"]
            } else {
                ["splice", "ground-point"]
            };
            words
                .into_iter()
                .map(|word| {
                    let edit = Edit { file: scene.file, span: at, text: text(word) };
                    offer(format!("Declare {written} as a {word}"), false, vec![edit])
                })
                .collect()
        }
    }
}

/// The text that declares a connector with every cavity that wires name, and where it goes.
fn declared(scene: Scene, connector: &str) -> Option<Edit> {
    let (owner, short) =
        connector.split_once('.').map_or((None, connector), |(owner, short)| (Some(owner), short));
    let mut cavities: BTreeMap<u32, String> = BTreeMap::new();
    let tree = scene.tree();
    for (written, _, span) in unknown(scene) {
        let Some((_, cavity)) = written.split_once(':').filter(|(name, _)| *name == connector) else {
            continue;
        };
        let number = cavity.parse().ok()?;
        let mut colour = String::new();
        walk(&scene.parse().facts, &mut |fact| {
            let here = fact.keyword() == "wire" && fact.span.touches(span.start);
            if let Some(slot) = fact.slot("colour").filter(|_| here) {
                colour = tree.slice(slot.span).to_uppercase();
            }
        });
        cavities.insert(number, colour);
    }
    let count = *cavities.keys().last()?;
    let mut lines = format!("connector {short} {count} cavities {{\n");
    for (number, colour) in &cavities {
        lines.push_str(&format!("    {}\n", format!("{number} {colour}").trim_end()));
    }
    lines.push_str("  }\n");
    // Into the block of its owner, where that is declared; else on a part of its own, for the author to name.
    let known = owner.and_then(|owner| {
        scene.parse().facts.iter().find(|fact| fact.name("name").is_some_and(|name| name.value == owner))
    });
    if let Some(fact) = known {
        let block = scene.tree().statement(fact.statement)?.block;
        let span = match block.and_then(|block| block.open) {
            Some(open) => Span::empty(tree.tokens().span(open).end),
            None => Span::empty(line_end(scene.text(), fact.span.end)),
        };
        let text = match block {
            Some(_) => format!("\n  {}", lines.trim_end()),
            None => format!(" {{\n  {lines}}}"),
        };
        return Some(Edit { file: scene.file, span, text });
    }
    let name = owner.map_or_else(|| format!("AT_{short}"), str::to_owned);
    let text = scene.text();
    let gap = if text.ends_with('\n') { "" } else { "\n" };
    let part = format!("{gap}\nmodule {name} \"what {short} sits on\" {{\n  {lines}}}\n");
    Some(Edit { file: scene.file, span: Span::empty(text.len() as u32), text: part })
}
