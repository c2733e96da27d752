//! Names that may be written: pins, things, kinds, and new names that are still free.

use std::collections::BTreeSet;

use halfsplit_circuit::{CavityRole, Connector, PartKind, PointId, PointKind};
use halfsplit_model::Entity;
use halfsplit_syntax::shape::Shape;

use super::{Completion, CompletionKind, Offers};
use crate::naming::short;

/// Places where a probe can rest. Behind `X34:` the cavities of that connector, the free ones first; of names
/// in a block the block's own are enough, written bare.
pub(super) fn pins(offers: &mut Offers, shape: &'static Shape, slot: &str) {
    if let Some((connector, _)) = offers.typed.split_once(':') {
        let connectors = connectors_called(offers, connector);
        if !connectors.is_empty() {
            for id in connectors {
                cavities(offers, id, connector);
            }
            return;
        }
    }
    let circuit = offers.scene.circuit();
    let own = offers.line.holder.and_then(|holder| holder.name("name")).map(|name| name.value);
    let bars = slot == "bar";
    for (at, point) in circuit.points.iter().enumerate() {
        if offers.list.len() > 4 * super::MOST {
            break;
        }
        let id = PointId(at as u32);
        let wired = || offers.scene.sound().is_wired(circuit, id);
        let (name, order) = match point.kind {
            PointKind::Inside => continue,
            kind if bars && kind != PointKind::Bar => continue,
            PointKind::Bar | PointKind::Splice | PointKind::Ground => (point.name.clone(), 1),
            PointKind::Terminal => (point.name.clone(), if wired() { 4 } else { 2 }),
            PointKind::Cavity { connector, half, .. } => {
                let of = circuit.connector(connector);
                if of.owner.is_some() && half == 1 {
                    continue;
                }
                let mine = own.is_some_and(|own| of.owner.is_some_and(|part| circuit.part(part).name == own));
                let name = if mine { bare(&point.name, own.unwrap_or_default()) } else { point.name.clone() };
                (
                    name,
                    if mine {
                        0
                    } else if wired() {
                        5
                    } else {
                        3
                    },
                )
            }
        };
        if offers.fits(&name) {
            let detail = about(offers, id);
            offers.add(Completion::new(name, CompletionKind::Pin, detail, order));
        }
    }
    // A connector's name leads on to its cavities.
    for connector in &circuit.connectors {
        if !bars && offers.fits(&connector.name) && shape.keyword != "terminal" {
            let free = connector.cavities.iter().filter(|cavity| is_free(offers, cavity)).count();
            let label = format!("{}:", connector.name);
            let words = format!("{free} of {} cavities free", connector.cavities.len());
            offers.add(Completion::new(label, CompletionKind::Connector, words, 2));
        }
    }
}

/// A name as it is written in its owner's block.
fn bare(name: &str, own: &str) -> String {
    name.strip_prefix(own).and_then(|rest| rest.strip_prefix('.')).unwrap_or(name).to_owned()
}

fn connectors_called<'a>(offers: &Offers<'a>, written: &str) -> Vec<&'a Connector> {
    let circuit = offers.scene.circuit();
    let own = offers.line.holder.and_then(|holder| holder.name("name")).map(|name| name.value);
    let inside = own.and_then(|own| offers.scene.model.names.find_connector(&format!("{own}.{written}")));
    if let Some(id) = inside {
        return vec![circuit.connector(id)];
    }
    // An inline's half stands behind its name.
    let whole = offers.scene.model.names.connectors_called(written);
    let base = written.rsplit_once('.').map_or(written, |(base, _)| base);
    let ids = if whole.is_empty() { offers.scene.model.names.connectors_called(base) } else { whole };
    ids.iter().map(|id| circuit.connector(*id)).collect()
}

fn is_free(offers: &Offers, cavity: &halfsplit_circuit::Cavity) -> bool {
    let wired = |point: &PointId| offers.scene.sound().is_wired(offers.scene.circuit(), *point);
    matches!(cavity.role, CavityRole::Plain | CavityRole::DoubleCrimp)
        && !cavity.points.iter().flatten().any(wired)
}

fn cavities(offers: &mut Offers, connector: &Connector, written: &str) {
    let halves = match (connector.owner, written.ends_with(&format!(".{}", connector.halves[1]))) {
        (Some(_), _) | (None, false) => 0,
        (None, true) => 1,
    };
    for (at, cavity) in connector.cavities.iter().enumerate() {
        let wired = |point: &PointId| offers.scene.sound().is_wired(offers.scene.circuit(), *point);
        let taken = cavity.points[halves].as_ref().is_some_and(wired);
        let colour = &cavity.colours[halves];
        let mut words: Vec<&str> = vec![colour, &cavity.label];
        let (order, state) = match cavity.role {
            CavityRole::Blank => (9_000, "blank"),
            CavityRole::Spare => (8_000, "spare"),
            CavityRole::Elsewhere => (7_000, "wired in another drawing"),
            _ if taken => (5_000, "taken"),
            // A cavity whose line names a colour waits for its wire.
            _ if !colour.is_empty() => (0, "free"),
            _ => (1_000, "free"),
        };
        words.push(state);
        let words: Vec<&str> = words.into_iter().filter(|word| !word.is_empty()).collect();
        let label = format!("{written}:{}", cavity.name);
        if offers.fits(&label) {
            offers.add(Completion::new(label, CompletionKind::Pin, words.join(", "), order + at as u32));
        }
    }
}

/// The cavities of the connector at hand that have no line yet.
pub(super) fn missing_cavities(offers: &mut Offers) {
    let Some(name) = offers.line.holder.and_then(|holder| holder.name("name")) else { return };
    let circuit = offers.scene.circuit();
    let entity = offers.scene.entity_at(name.span.start).map(|(entity, _)| entity);
    let Some(Entity::Connector(id)) = entity else { return };
    let said: BTreeSet<u64> = offers
        .line
        .holder
        .into_iter()
        .flat_map(|holder| holder.all("cavity"))
        .filter_map(|line| line.range("cavities"))
        .flat_map(|range| u64::from(range.value.first)..=u64::from(range.value.last))
        .collect();
    let of = circuit.connector(id);
    for (at, cavity) in of.cavities.iter().enumerate().take(super::MOST) {
        if cavity.name.parse().is_ok_and(|number| said.contains(&number)) || !offers.fits(&cavity.name) {
            continue;
        }
        let colours: Vec<&str> =
            cavity.points[0].map(|point| offers.scene.colours(point)).unwrap_or_default();
        let mut offer = Completion::new(
            cavity.name.clone(),
            CompletionKind::Pin,
            format!("cavity without a line{}", if colours.is_empty() { "" } else { "; a wire ends here" }),
            100 + at as u32,
        );
        offer.snippet =
            Some(format!("{} {}", cavity.name, colours.first().copied().unwrap_or("${1:colour}")));
        offers.add(offer);
    }
}

/// Declared things. What a line is about narrows them.
pub(super) fn items(offers: &mut Offers, shape: &'static Shape, slot: &str) {
    let circuit = offers.scene.circuit();
    let model = offers.scene.model;
    let wires = matches!((shape.keyword, slot), ("over" | "wires", _) | ("twisted", "first" | "second"));
    let plugs = matches!(shape.keyword, "out" | "mated" | "first-step");
    for (name, entity) in model.names.all() {
        if offers.list.len() > 4 * super::MOST {
            break;
        }
        let (kind, detail, order) = match entity {
            Entity::Part(id) => {
                let part = circuit.part(id);
                let fits = match (wires, plugs, shape.keyword) {
                    (true, ..) => part.kind == PartKind::Wire,
                    (_, true, _) => part.pulls,
                    (.., "set") => !part.positions.is_empty(),
                    _ => part.kind != PartKind::Connector,
                };
                if !fits {
                    continue;
                }
                (CompletionKind::Part, part.label.clone(), u32::from(part.kind == PartKind::Wire && !wires))
            }
            Entity::Connector(id) if !wires && shape.keyword != "set" => {
                (CompletionKind::Connector, circuit.connector(id).place.clone(), 0)
            }
            Entity::Output(_) if matches!(shape.keyword, "set" | "conclusion" | "allow") => {
                (CompletionKind::Part, "output".to_owned(), 1)
            }
            Entity::Point(_) if matches!(shape.keyword, "conclusion" | "allow" | "confirmed") => {
                (CompletionKind::Pin, String::new(), 2)
            }
            _ => continue,
        };
        if offers.fits(name) {
            offers.add(Completion::new(name, kind, detail, order));
        }
    }
}

/// Positions of the switch, or commands of the output, that a `set` line names.
pub(super) fn positions(offers: &mut Offers) {
    let tree = offers.scene.tree();
    let Some(&item) = offers.line.before.get(1) else { return };
    let positions: Vec<String> = match offers.scene.model.names.find_any(tree.token_text(item)) {
        Some(Entity::Part(part)) => offers.scene.circuit().part(part).positions.clone(),
        Some(Entity::Output(_)) => vec!["on".into(), "off".into()],
        _ => vec!["off".into(), "forward".into(), "reverse".into()],
    };
    for (order, position) in positions.into_iter().enumerate() {
        offers.add(Completion::new(position, CompletionKind::State, "position", order as u32));
    }
}

/// A name: of a kind behind `as`, of an option behind `when`, of a parameter behind `with`; else a new one.
pub(super) fn name(offers: &mut Offers, shape: &'static Shape, slot: &str) {
    let model = offers.scene.model;
    match (shape.keyword, slot) {
        (_, "as") => {
            for kind in &model.kinds {
                let other = kind.sort != shape.keyword;
                if offers.fits(&kind.name) && !other {
                    offers.add(Completion::new(
                        kind.name.clone(),
                        CompletionKind::Kind,
                        kind.label.clone(),
                        0,
                    ));
                }
            }
        }
        (_, "present" | "absent") | ("fitted" | "not-fitted", _) => {
            for (option, label) in &model.vehicle.options {
                offers.add(Completion::new(option.clone(), CompletionKind::State, label.clone(), 0));
            }
        }
        ("with", _) => {
            let here = offers.line.word.start;
            let holder = offers.line.holder.map(|holder| holder.span);
            let inside =
                |at: u32| holder.is_some_and(|holder| holder.start <= at && at <= here.max(holder.end));
            let used = model
                .kind_uses
                .iter()
                .find(|used| used.place.file == offers.scene.file && inside(used.place.span.start));
            for parameter in
                used.and_then(|used| model.kinds.get(used.kind)).into_iter().flat_map(|kind| &kind.parameters)
            {
                let mut offer = Completion::new(
                    parameter.name.clone(),
                    CompletionKind::Parameter,
                    format!("{} ({})", parameter.about, parameter.default),
                    0,
                );
                offer.snippet = Some(format!("{} ${{1:{}}}", parameter.name, parameter.default));
                offers.add(offer);
            }
        }
        (_, "name") if offers.typed.is_empty() || offers.typed.chars().all(char::is_alphabetic) => {
            let label = free_name(offers, shape.keyword);
            if let Some(label) = label.filter(|label| offers.fits(label)) {
                offers.add(Completion::new(label, CompletionKind::NewName, "next free name", 0));
            }
        }
        _ => {}
    }
}

/// The next free name: the letters that things of this statement have in the file, and one more than their highest number.
fn free_name(offers: &Offers, keyword: &str) -> Option<String> {
    let mut letters: Option<String> = None;
    let mut highest = 0;
    crate::scene::walk(&offers.scene.parse().facts, &mut |fact| {
        let name = fact.name("name").filter(|_| fact.keyword() == keyword);
        let Some(name) = name.map(|name| short(name.value)) else { return };
        let split = name.find(|c: char| c.is_ascii_digit()).unwrap_or(name.len());
        let (own, digits) = name.split_at(split);
        let digits: String = digits.chars().take_while(char::is_ascii_digit).collect();
        if let Ok(number) = digits.parse::<u32>() {
            let first = letters.get_or_insert_with(|| own.to_owned());
            if first == own {
                highest = highest.max(number);
            }
        }
    });
    let letters = letters?;
    (highest..highest.saturating_add(1_000))
        .map(|number| format!("{letters}{}", number + 1))
        .find(|name| offers.scene.model.names.find_any(name).is_none())
}

/// What is at a point, in a few words.
fn about(offers: &Offers, point: PointId) -> String {
    let circuit = offers.scene.circuit();
    let colours = offers.scene.colours(point).join(", ");
    let label = match circuit.point(point).kind {
        PointKind::Cavity { connector, half, cavity } => {
            let of = circuit.connector(connector);
            let cavity = of.cavities.get(usize::from(cavity));
            let declared = cavity.map(|cavity| cavity.colours[usize::from(half)].clone()).unwrap_or_default();
            let label = cavity.map(|cavity| cavity.label.clone()).unwrap_or_default();
            let owner = of.owner.map(|part| circuit.part(part).label.clone()).unwrap_or_default();
            let free = if colours.is_empty() && !declared.is_empty() {
                format!("{declared}, free")
            } else {
                String::new()
            };
            [free, label, owner].into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(", ")
        }
        _ => {
            let name = circuit.point(point).name.split(':').next().unwrap_or_default();
            let part = offers.scene.model.names.find_part(name);
            part.map(|part| circuit.part(part).label.clone()).unwrap_or_default()
        }
    };
    [colours, label].into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(", ")
}
