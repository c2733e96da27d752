//! Values that may be written: colours, units, quantities, rules, files, words inside quotation marks.

use std::collections::BTreeMap;

use halfsplit_base::Span;
use halfsplit_circuit::PointKind;
use halfsplit_model::std_library;
use halfsplit_syntax::shape::Shape;
use halfsplit_syntax::{Value, colour::COLOURS, units::Dimension};

use super::{Completion, CompletionKind, Offers};
use crate::scene::walk;

/// Terminal numbers of DIN 72552 that switches and relays have.
const TERMINALS: [(&str, &str); 8] = [
    ("30", "from the battery"),
    ("15", "live with the key on"),
    ("50", "starter"),
    ("31", "ground"),
    ("85", "coil, ground side"),
    ("86", "coil, feed side"),
    ("87", "make contact"),
    ("87a", "break contact"),
];

pub(super) fn terminals(offers: &mut Offers) {
    for (order, (terminal, about)) in TERMINALS.into_iter().enumerate() {
        if offers.fits(terminal) {
            offers.add(Completion::new(terminal, CompletionKind::Pin, about, 200 + order as u32));
        }
    }
}

/// The colours that belong here first: what the cavities named on this line say, then what the net has, then
/// what the file has, then every code. Behind a slash the tracers.
pub(super) fn colours(offers: &mut Offers) {
    let scene = offers.scene;
    let mut likely: Vec<(String, String)> = Vec::new();
    for &token in &offers.line.before {
        let text = scene.tree().token_text(token);
        let Some(point) = scene.model.names.find_point(text) else { continue };
        if let PointKind::Cavity { connector, half, cavity } = scene.circuit().point(point).kind {
            let of = scene.circuit().connector(connector).cavities.get(usize::from(cavity));
            let colour = of.map(|cavity| cavity.colours[usize::from(half)].clone()).unwrap_or_default();
            likely.push((colour, format!("as {text} says")));
        }
        for colour in scene.colours(point) {
            likely.push((colour.to_owned(), format!("of the other wires at {text}")));
        }
    }
    let mut seen: BTreeMap<&str, u32> = BTreeMap::new();
    for wire in &scene.model.wires {
        if let Some((colour, _)) = &wire.colour {
            *seen.entry(colour).or_default() += 1;
        }
    }
    let name = |code: &str| halfsplit_syntax::colour::colour_name(code).unwrap_or_default();
    for (order, (colour, why)) in likely.into_iter().enumerate() {
        if !colour.is_empty() && offers.fits(&colour) {
            let detail = format!("{}, {why}", name(&colour));
            offers.add(Completion::new(colour, CompletionKind::Colour, detail, order as u32));
        }
    }
    for (colour, times) in seen {
        if offers.fits(colour) {
            let order = 2_000_u32.saturating_sub(times);
            offers.add(Completion::new(colour, CompletionKind::Colour, name(colour), order));
        }
    }
    let base = offers.typed.split_once('/').map(|(base, _)| base);
    for (order, (code, _)) in COLOURS.iter().enumerate() {
        let label = base.map_or_else(|| (*code).to_owned(), |base| format!("{base}/{code}"));
        if offers.fits(&label) && base != Some(*code) {
            let detail = name(&label);
            offers.add(Completion::new(label, CompletionKind::Colour, detail, 3_000 + order as u32));
        }
    }
    unknown(offers);
}

fn unknown(offers: &mut Offers) {
    if offers.fits("unknown") {
        offers.add(Completion::new("unknown", CompletionKind::Value, "never read as zero", 9_000));
    }
}

pub(super) fn units(offers: &mut Offers, dimension: Dimension) {
    for (order, unit) in dimension.spellings().split(", ").enumerate() {
        if offers.fits(unit) {
            offers.add(Completion::new(unit, CompletionKind::Unit, dimension.noun(), order as u32));
        }
    }
}

/// Values that the same place has elsewhere in the file, the most frequent first.
pub(super) fn quantities(offers: &mut Offers, shape: &'static Shape, slot: &str, dimension: Dimension) {
    let scene = offers.scene;
    let mut seen: BTreeMap<String, u32> = BTreeMap::new();
    let here = offers.line.word;
    walk(&scene.parse().facts, &mut |fact| {
        if fact.shape != shape {
            return;
        }
        let same = fact.slots.iter().filter(|other| other.name == slot && other.span != here);
        for other in same.filter(|other| matches!(other.value, Value::Quantity(_) | Value::Section(_))) {
            *seen.entry(scene.tree().slice(other.span).to_owned()).or_default() += 1;
        }
    });
    let mut seen: Vec<(String, u32)> = seen.into_iter().filter(|(text, _)| text != "unknown").collect();
    seen.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    for (order, (text, times)) in seen.into_iter().take(12).enumerate() {
        if offers.fits(&text) {
            let detail = format!("{times} times in this file");
            offers.add(Completion::new(text, CompletionKind::Value, detail, 30 + order as u32));
        }
    }
    if offers.typed.is_empty() {
        let mut offer =
            Completion::new(format!("… {}", dimension.usual()), CompletionKind::Value, dimension.noun(), 50);
        offer.snippet = Some(format!("${{1:0}} {}", dimension.usual()));
        offers.add(offer);
    }
    unknown(offers);
}

/// Rules, those that speak of this file now before the others.
pub(super) fn rules(offers: &mut Offers) {
    let now: Vec<&str> =
        offers.analysis.findings(offers.scene.file).iter().map(|finding| finding.rule).collect();
    for (order, rule) in halfsplit_check::rules().iter().enumerate() {
        if rule.looks_at_circuits() && offers.fits(rule.id) {
            let first = if now.contains(&rule.id) { 0 } else { 1_000 };
            offers.add(Completion::new(rule.id, CompletionKind::Rule, rule.summary(), first + order as u32));
        }
    }
}

/// What may stand between the quotation marks: a file behind `use`, an item and what is wrong with it in a fault.
/// Gives what is replaced.
pub(super) fn quoted(offers: &mut Offers, quoted: Span, offset: u32) -> Option<Span> {
    let tree = offers.scene.tree();
    let mut words = offers.line.before.iter().map(|&token| tree.token_text(token));
    let keyword = words.next()?;
    let from_std = words.next() == Some("std");
    match keyword {
        "use" if from_std => {
            for name in std_library::names() {
                offers.add(Completion::new(name, CompletionKind::File, "comes with the language", 0));
            }
            Some(quoted)
        }
        "use" | "added" | "case" => {
            files(offers, keyword);
            Some(quoted)
        }
        "fault" | "fact" => {
            let text = offers.scene.text();
            let before = text.get(quoted.start as usize..offset as usize)?;
            let start = before.rfind(' ').map_or(0, |at| at + 1);
            let first = start == 0;
            offers.typed = before.get(start..)?;
            spoken(offers, keyword, first);
            let rest = text.get(offset as usize..quoted.end as usize)?;
            let end = rest.find(' ').unwrap_or(rest.len()) as u32;
            Some(Span::new(quoted.start + start as u32, offset + end))
        }
        _ => None,
    }
}

/// The library's files, by their paths from its root.
fn files(offers: &mut Offers, keyword: &str) {
    let root = offers.scene.files.root(offers.scene.file);
    let own = &offers.scene.files.get(offers.scene.file).path;
    let open = offers.scene.files.iter().map(|(_, file)| file.path.as_path());
    let known: std::collections::BTreeSet<&std::path::Path> =
        offers.analysis.index().iter().map(|(path, _)| path).chain(open).collect();
    for path in known {
        let Ok(path_in) = path.strip_prefix(root) else { continue };
        if path == own || path_in.extension().is_none_or(|extension| extension != "circuit") {
            continue;
        }
        let written =
            path_in.components().map(|part| part.as_os_str().to_string_lossy()).collect::<Vec<_>>().join("/");
        let library = written.starts_with("lib/");
        let order = u32::from(library != (keyword == "use"));
        if offers.fits(&written) {
            offers.add(Completion::new(written, CompletionKind::File, "", order));
        }
    }
}

/// Words of a fault or of a fact: first the item, then what is said of it.
fn spoken(offers: &mut Offers, keyword: &str, first: bool) {
    if first {
        for (name, entity) in offers.scene.model.names.all() {
            let part =
                matches!(entity, halfsplit_model::Entity::Part(_) | halfsplit_model::Entity::Connector(_));
            if part && offers.fits(name) && offers.list.len() < 4 * super::MOST {
                offers.add(Completion::new(name, CompletionKind::Part, "", 0));
            }
        }
        return;
    }
    let words: &[(&str, &str)] = match keyword {
        "fault" => &[
            ("short", "`B4 short 1.8 ohm`: bridged inside, or `W2 short to GP1`"),
            ("leak", "`W2 leak 47 kohm to GP1`: a path with some resistance"),
            ("open", "`W2 at SP10 open 1.2 Mohm`: parted; without a value wholly"),
            ("added", "`W2 added 3 ohm`: more resistance in the way"),
            ("dead", "`A10.REF_A dead`: an output that gives nothing"),
            ("welded", "`K3 contact welded`: a contact that stays closed"),
            ("stuck", "`S1 stuck`: a contact that stays closed"),
            ("sink", "`SP10 sink 0.15 V behind 4.7 ohm`: something pulls the wire to these volts"),
            ("at", "at an end or a place along it"),
            ("to", "to another pin or wire"),
        ],
        _ => &[
            ("communicates", "the tester talks to it"),
            ("is silent", "the tester does not reach it"),
            ("works", "it does what it should"),
            ("does not work", "it does nothing"),
            ("is good", "of an output: it has its volts"),
        ],
    };
    for (order, (word, about)) in words.iter().enumerate() {
        if offers.fits(word) {
            offers.add(Completion::new(*word, CompletionKind::State, *about, order as u32));
        }
    }
}
