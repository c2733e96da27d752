//! What shares a wire, where it is fed from and where it returns.

use std::fmt::Write as _;

use halfsplit_circuit::{
    BranchKind, Circuit, PartKind, PointId, PointKind, State,
    net::{Step, feed_path, net, return_path},
};
use serde_json::{Value, json};

use crate::{json::SCHEMA, minutes, state};

/// One net in one state, by name.
#[derive(Clone, PartialEq, Debug)]
pub struct Sheet {
    /// The pin asked about.
    pub pin: String,
    /// The state in words.
    pub state: String,
    /// Every pin, splice, bar and terminal on the net that a probe can reach.
    pub pins: Vec<Pin>,
    /// Every wire of the net.
    pub wires: Vec<Wire>,
    /// From the pin up to the battery.
    pub feed: Vec<String>,
    /// From the pin down to battery negative.
    pub returns: Vec<String>,
    /// Connectors that part a branch of this net.
    pub connectors: Vec<String>,
    state_json: Value,
}

/// A place on a net.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Pin {
    /// `X34:2`.
    pub name: String,
    /// What is there, in the author's words: `A/C pressure`.
    pub label: String,
}

/// A wire of a net.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Wire {
    /// `W7`.
    pub name: String,
    /// `GY/RD`.
    pub colour: String,
    /// First end.
    pub from: String,
    /// Second end.
    pub to: String,
}

impl Sheet {
    /// Collects what shares `point` in `state`.
    pub fn of(circuit: &Circuit, state: &State, point: PointId) -> Sheet {
        let net = net(circuit, state, point);
        let name = |id: PointId| circuit.point(id).name.clone();
        let reachable = |id: &PointId| match circuit.point(*id).kind {
            PointKind::Inside => false,
            // The part's own side of a cavity is the same pin to whoever reads the list.
            PointKind::Cavity { connector, half, .. } => {
                half == 0 || circuit.connector(connector).owner.is_none()
            }
            _ => true,
        };
        let pins = net.points.iter().copied().filter(reachable);
        let pins = pins.map(|id| Pin { name: name(id), label: label(circuit, id) }).collect();
        let wires = (net.branches.iter())
            .map(|&id| circuit.branch(id))
            .filter_map(|branch| match &branch.kind {
                BranchKind::Wire { colour, .. } => Some(Wire {
                    name: circuit.part(branch.part).name.clone(),
                    colour: colour.clone(),
                    from: name(branch.a),
                    to: name(branch.b),
                }),
                _ => None,
            })
            .collect();
        let mut connectors: Vec<_> = (net.branches.iter())
            .filter_map(|&id| match circuit.branch(id).kind {
                BranchKind::Mated { connector, .. } => Some(connector),
                _ => None,
            })
            .collect();
        connectors.sort();
        connectors.dedup();
        let connectors = (connectors.into_iter())
            .map(|id| {
                let connector = circuit.connector(id);
                match connector.reach {
                    Some(reach) => format!("{} ({})", connector.name, minutes(reach)),
                    None => format!("{} (minutes unknown)", connector.name),
                }
            })
            .collect();
        Sheet {
            pin: name(point),
            state: state::words(circuit, state),
            pins,
            wires,
            feed: path(circuit, &feed_path(circuit, state, point)),
            returns: path(circuit, &return_path(circuit, state, point)),
            connectors,
            state_json: state::json(circuit, state),
        }
    }

    /// For a terminal.
    pub fn text(&self) -> String {
        let mut out = format!("{}, {}\n", self.pin, self.state);
        let _ = writeln!(out, "\nshares the wire with");
        let width = self.pins.iter().map(|p| p.name.chars().count()).max().unwrap_or(0);
        for pin in &self.pins {
            let _ = writeln!(out, "{}", format!("  {:width$}  {}", pin.name, pin.label).trim_end());
        }
        if !self.wires.is_empty() {
            let _ = writeln!(out, "\nwires");
            let names = self.wires.iter().map(|w| w.name.chars().count()).max().unwrap_or(0);
            let colours = self.wires.iter().map(|w| w.colour.chars().count()).max().unwrap_or(0);
            for w in &self.wires {
                let _ = writeln!(out, "  {:names$}  {:colours$}  {} to {}", w.name, w.colour, w.from, w.to);
            }
        }
        for (title, path) in [("feed", &self.feed), ("return", &self.returns)] {
            let words = if path.is_empty() { "none in this state".to_owned() } else { path.join(" · ") };
            let _ = writeln!(out, "\n{title}\n  {words}");
        }
        if !self.connectors.is_empty() {
            let _ = writeln!(out, "\nparts at\n  {}", self.connectors.join(", "));
        }
        out
    }

    /// For programs.
    pub fn json(&self) -> Value {
        json!({
            "schema": SCHEMA,
            "pin": self.pin,
            "state": self.state_json,
            "pins": self.pins.iter().map(|p| &p.name).collect::<Vec<_>>(),
            "wires": self.wires.iter().map(|w| json!({
                "name": w.name, "colour": w.colour, "from": w.from, "to": w.to,
            })).collect::<Vec<_>>(),
            "feed": self.feed,
            "return": self.returns,
        })
    }
}

/// What is at a point, in the author's words: the cavity's label, else the part that its connector sits on.
fn label(circuit: &Circuit, point: PointId) -> String {
    match circuit.point(point).kind {
        PointKind::Cavity { connector, cavity, .. } => {
            let connector = circuit.connector(connector);
            let cavity = &connector.cavities[cavity as usize].label;
            let owner = connector.owner.map(|id| circuit.part(id));
            let owner = owner.map(|part| format!("{} {}", part.name, part.label).trim().to_owned());
            match (owner, cavity.is_empty()) {
                (Some(owner), true) => owner,
                (Some(owner), false) => format!("{owner}, {cavity}"),
                (None, _) => cavity.clone(),
            }
        }
        _ => {
            let name = &circuit.point(point).name;
            let part = name.split(':').next().and_then(|part| circuit.part_named(part));
            part.map(|id| circuit.part(id).label.clone()).unwrap_or_default()
        }
    }
}

/// The items along a path, each once and in order: wires, splices, pins, fuses, outputs, the supply.
fn path(circuit: &Circuit, steps: &[Step]) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut push = |name: &str| {
        if out.last().map(String::as_str) != Some(name) {
            out.push(name.to_owned());
        }
    };
    for step in steps {
        let branch = circuit.branch(step.branch);
        let part = circuit.part(branch.part);
        match branch.kind {
            BranchKind::Mated { connector, .. } => {
                // A part's pin is named from the wire side; of an inline both halves are passed.
                let owned = circuit.connector(connector).owner.is_some();
                let ends = [branch.a, branch.b].map(|id| &circuit.point(id).name);
                match (owned, step.point == branch.b) {
                    (true, _) => push(ends[0]),
                    (false, true) => ends.into_iter().for_each(|name| push(name)),
                    (false, false) => ends.into_iter().rev().for_each(|name| push(name)),
                }
            }
            BranchKind::Reference { .. } | BranchKind::Driver { .. } => {
                let output = circuit.outputs.iter().find(|(_, id)| *id == step.branch);
                push(output.map_or(&part.name, |(name, _)| name));
            }
            BranchKind::Joint { .. } if part.kind == PartKind::Module => {}
            _ => push(&part.name),
        }
        if matches!(circuit.point(step.point).kind, PointKind::Splice) {
            push(&circuit.point(step.point).name);
        }
    }
    let end = steps.last().map(|step| step.point);
    let supply = circuit
        .branches
        .iter()
        .find(|b| matches!(b.kind, BranchKind::Source { .. }) && (Some(b.a) == end || Some(b.b) == end));
    if let Some(supply) = supply {
        push(&circuit.part(supply.part).name);
    }
    out
}
