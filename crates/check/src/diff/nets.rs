//! Pins that left or joined what copper joins, with everything mated and the key off.

use std::collections::{BTreeMap, BTreeSet};

use halfsplit_circuit::{Circuit, PointKind, State, net};

use super::{Change, Side, Told, Topic, names::Renamed};

/// So many pins are named, the rest is counted.
const MOST: usize = 6;

/// What copper joins, by the names of its points.
struct Nets {
    nets: Vec<BTreeSet<String>>,
    of: BTreeMap<String, usize>,
}

pub(super) fn changes(old: Side, new: Side, names: &Renamed) -> Vec<Change> {
    let was = Nets::of(&old.checked.model.circuit, &|name| names.in_text(name));
    let is = Nets::of(&new.checked.model.circuit, &str::to_owned);
    let (later, earlier) = (was.heirs(&is), is.heirs(&was));
    let mut changes = Vec::new();
    let mut say = |what: String, old, new| changes.push(Change { topic: Topic::Net, what, old, new });
    for (at, before) in was.nets.iter().enumerate().filter(|(_, net)| net.len() > 1) {
        let called = label(before);
        let Some(heir) = later[at] else {
            say(format!("net of {called}"), Told::plain(list(before)), None);
            continue;
        };
        let after = &is.nets[heir];
        let left: BTreeSet<String> = before.difference(after).cloned().collect();
        if !left.is_empty() {
            say(format!("net of {called}"), Told::plain(list(&left)), Told::plain("no longer joined to it"));
        }
        if earlier[heir] != Some(at) {
            // The greater part of what it is in now was another net.
            let other = earlier[heir].map(|other| label(&was.nets[other])).unwrap_or_default();
            say(
                format!("net of {called}"),
                Told::plain("by itself"),
                Told::plain(format!("joined to the net of {other}")),
            );
            continue;
        }
        let others = |pin: &String| {
            was.of.get(pin).is_some_and(|&net| was.nets[net].len() > 1 && later[net] == Some(heir))
        };
        let joined: BTreeSet<String> = after.difference(before).filter(|pin| !others(pin)).cloned().collect();
        if !joined.is_empty() {
            say(format!("net of {called}"), None, Told::plain(format!("{} joined to it", list(&joined))));
        }
    }
    for (at, after) in is.nets.iter().enumerate().filter(|(_, net)| net.len() > 1) {
        let known = earlier[at].is_some_and(|net| was.nets[net].len() > 1);
        if !known {
            say(format!("net of {}", label(after)), None, Told::plain(list(after)));
        }
    }
    changes
}

impl Nets {
    fn of(circuit: &Circuit, name: &dyn Fn(&str) -> String) -> Nets {
        let named = |net: net::Net| -> BTreeSet<String> {
            let points = net.points.into_iter().map(|point| circuit.point(point));
            points.filter(|point| is_told(circuit, point.kind)).map(|point| name(&point.name)).collect()
        };
        let nets: Vec<BTreeSet<String>> =
            net::nets(circuit, &State::default()).into_iter().map(named).collect();
        let of = nets
            .iter()
            .enumerate()
            .flat_map(|(at, net)| net.iter().map(move |pin| (pin.clone(), at)))
            .collect();
        Nets { nets, of }
    }

    /// For each net the one of the other state that holds most of its points, if any does.
    fn heirs(&self, other: &Nets) -> Vec<Option<usize>> {
        let heir = |net: &BTreeSet<String>| {
            let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
            net.iter()
                .filter_map(|pin| other.of.get(pin))
                .for_each(|&at| *counts.entry(at).or_default() += 1);
            counts.into_iter().max_by_key(|&(at, count)| (count, std::cmp::Reverse(at))).map(|(at, _)| at)
        };
        self.nets.iter().map(heir).collect()
    }
}

/// Whether a reader wants to know of a point: the side of the part of its own plug says nothing that the plug does not.
fn is_told(circuit: &Circuit, kind: PointKind) -> bool {
    match kind {
        PointKind::Inside => false,
        PointKind::Cavity { connector, half, .. } => {
            half == 0 || circuit.connector(connector).owner.is_none()
        }
        _ => true,
    }
}

/// What a reader knows a net by: a splice, bar or ground point if it has one, else its first pin.
fn label(net: &BTreeSet<String>) -> String {
    let joins = net.iter().find(|name| !name.contains(':'));
    joins.or_else(|| net.first()).cloned().unwrap_or_default()
}

fn list(names: &BTreeSet<String>) -> String {
    let mut shown: Vec<String> = names.iter().take(MOST).cloned().collect();
    if names.len() > MOST {
        shown.push(format!("{} more", names.len() - MOST));
    }
    crate::survey::list(&shown)
}
