//! Every physical fault of a circuit, by name.

use std::collections::BTreeSet;

use crate::{
    BranchId, BranchKind, Circuit, Connector, Fault, FaultKind, Ohms, PartId, PartKind, PointId, PointKind,
};

/// A short inside a part (worked scenarios: a shorted sensor measures 1.8 Ω).
pub const INNER_SHORT: Ohms = 1.8;
/// A leak inside a part or between cavities, by water.
pub const LEAK: Ohms = 1000.0;
/// A chafed wire's touch, a bridge between blades, a welded contact. A convention of this crate, as are those that follow.
pub const TOUCH: Ohms = 0.05;
/// What a bad contact or wire adds.
pub const BAD_CONTACT: Ohms = 2.0;
/// What a bad joint of a heavy cable adds (worked scenario S14: 8 mΩ).
pub const BAD_JOINT: Ohms = 0.008;
/// Where along a wire it is taken to touch.
pub const ALONG: f64 = 0.5;
/// Volts of unlisted equipment (worked scenario S07), its series resistance, and that without power.
pub const UNLISTED: (f64, Ohms, Ohms) = (0.15, 10.0, 47e3);

/// A fault, or faults that are there together, with words for people.
#[derive(Clone, PartialEq, Debug)]
pub struct NamedFault {
    /// What a technician calls it: `W7 open`, `X34:1 and X34:2 bridged`, `K3 contact 30–87 welded`.
    pub label: String,
    /// The parts that are at fault.
    pub parts: Vec<PartId>,
    /// What it changes.
    pub faults: Vec<Fault>,
}

/// Pairs of neighbouring cavities by their places in [`Connector::cavities`]: side by side in a
/// row, and above one another. The rows are filled one after the other in numbering order.
pub fn adjacent(connector: &Connector) -> Vec<(usize, usize)> {
    let count = connector.cavities.len();
    let columns = count.div_ceil(usize::from(connector.rows.max(1))).max(1);
    let mut pairs = Vec::new();
    for at in 0..count {
        if at + 1 < count && (at + 1) % columns != 0 {
            pairs.push((at, at + 1));
        }
        if at + columns < count {
            pairs.push((at, at + columns));
        }
    }
    pairs
}

/// Every single physical fault of a circuit, part by part, then bridged and touching neighbours.
///
/// Made for tables, outside checks and coverage; a planner weighs its own suspects.
pub fn faults_of(circuit: &Circuit) -> Vec<NamedFault> {
    let mut list = List { circuit, all: Vec::new() };
    for (id, branch) in circuit.branches() {
        if branch.a.index() < circuit.points.len() && branch.b.index() < circuit.points.len() {
            list.branch(id);
        }
    }
    list.neighbours();
    list.all
}

/// Both faults of every two that have no part in common, at most `most` of them, spread over the list.
pub fn pairs_of(faults: &[NamedFault], most: usize) -> Vec<NamedFault> {
    let count = faults.len() * faults.len().saturating_sub(1) / 2;
    let step = count.div_ceil(most.max(1)).max(1);
    let every = (0..faults.len()).flat_map(|one| (one + 1..faults.len()).map(move |other| (one, other)));
    every
        .step_by(step)
        .map(|(one, other)| (&faults[one], &faults[other]))
        .filter(|(one, other)| !one.parts.iter().any(|part| other.parts.contains(part)))
        .map(|(one, other)| NamedFault {
            label: format!("{}, and {}", one.label, other.label),
            parts: one.parts.iter().chain(&other.parts).copied().collect(),
            faults: one.faults.iter().chain(&other.faults).cloned().collect(),
        })
        .collect()
}

struct List<'c> {
    circuit: &'c Circuit,
    all: Vec<NamedFault>,
}

impl List<'_> {
    fn add(&mut self, label: String, parts: Vec<PartId>, kind: FaultKind) {
        self.all.push(NamedFault { label, parts, faults: vec![kind.into()] });
    }

    fn point(&self, point: PointId) -> &str {
        &self.circuit.point(point).name
    }

    fn branch(&mut self, id: BranchId) {
        let circuit = self.circuit;
        let branch = circuit.branch(id);
        let part = branch.part;
        let (name, kind) =
            circuit.parts.get(part.index()).map_or(("", PartKind::Load), |p| (&p.name, p.kind));
        let output = circuit.outputs.iter().find(|(_, b)| *b == id).map(|(name, _)| name.as_str());
        let (a, b) = (self.point(branch.a).to_owned(), self.point(branch.b).to_owned());
        let open = FaultKind::Series { branch: id, ohms: f64::INFINITY };
        let resistive = |ohms: Ohms| FaultKind::Series { branch: id, ohms };
        let across = |ohms: Ohms| FaultKind::Bridge { a: branch.a, b: branch.b, ohms };
        let stuck = FaultKind::StuckClosed { branch: id, ohms: TOUCH };
        let dead = FaultKind::Dead { branch: id };
        let named: Vec<(String, FaultKind)> = match &branch.kind {
            BranchKind::Wire { .. } => {
                self.wire(id, name);
                return;
            }
            BranchKind::Mated { .. } => vec![
                (format!("{a} contact open"), open),
                (format!("{a} contact resistive"), resistive(BAD_CONTACT)),
            ],
            BranchKind::Joint { .. } => {
                let what = if kind == PartKind::GroundPoint { "joint" } else { "joint inside" };
                vec![
                    (format!("{name} {what} open between {a} and {b}"), open),
                    (format!("{name} {what} resistive between {a} and {b}"), resistive(BAD_JOINT)),
                ]
            }
            BranchKind::Fuse { .. } => {
                vec![(format!("{name} open"), open), (format!("{name} resistive"), resistive(BAD_CONTACT))]
            }
            BranchKind::Switch { .. } | BranchKind::RelayContact { .. } => vec![
                (format!("{name} contact {a} to {b} open"), open),
                (format!("{name} contact {a} to {b} resistive"), resistive(BAD_CONTACT)),
                (format!("{name} contact {a} to {b} welded"), stuck),
            ],
            BranchKind::Coil { .. } => {
                vec![
                    (format!("{name} coil open"), open),
                    (format!("{name} coil shorted"), across(INNER_SHORT)),
                ]
            }
            BranchKind::Load { .. } => vec![
                (format!("{name} open inside"), open),
                (format!("{name} shorted inside"), across(INNER_SHORT)),
                (format!("{name} leaking inside"), across(LEAK)),
            ],
            BranchKind::Lamp { .. } => {
                vec![(format!("{name} filament open"), open), (format!("{name} shorted"), across(TOUCH))]
            }
            BranchKind::Diode { .. } => {
                vec![(format!("{name} diode open"), open), (format!("{name} diode shorted"), across(TOUCH))]
            }
            BranchKind::Source { .. } => {
                vec![(format!("{name} inner resistance high"), resistive(BAD_JOINT * 10.0))]
            }
            BranchKind::Generator { .. } => vec![(format!("{name} gives nothing"), open)],
            BranchKind::Reference { .. } => {
                let output = output.unwrap_or(&a);
                vec![
                    (format!("{output} dead"), dead),
                    (format!("{output} shorted inside {name}"), across(INNER_SHORT)),
                ]
            }
            BranchKind::Feed { .. } => vec![(format!("{name} open inside between {a} and {b}"), open)],
            BranchKind::Driver { .. } => {
                let output = output.map_or_else(|| format!("{name} driver {a} to {b}"), str::to_owned);
                vec![(format!("{output} dead"), dead), (format!("{output} shorted"), stuck)]
            }
        };
        for (label, kind) in named {
            self.add(label, vec![part], kind);
        }
    }

    fn wire(&mut self, branch: BranchId, name: &str) {
        let circuit = self.circuit;
        let it = circuit.branch(branch);
        let part = it.part;
        self.add(format!("{name} open"), vec![part], FaultKind::Series { branch, ohms: f64::INFINITY });
        self.add(format!("{name} resistive"), vec![part], FaultKind::Series { branch, ohms: BAD_CONTACT });
        let to = |to: PointId| FaultKind::Chafe { branch, along: ALONG, to, ohms: TOUCH };
        if let Some(body) = circuit.body {
            self.add(format!("{name} rubbed through to body"), vec![part], to(body));
        }
        if let Some(positive) = circuit.positive {
            self.add(format!("{name} touching a wire with battery volts"), vec![part], to(positive));
        }
        if circuit.negative.is_some() {
            let (volts, ohms, unpowered) = UNLISTED;
            let sink = FaultKind::Sink { point: it.b, volts, ohms, unpowered };
            self.add(format!("unlisted equipment on {name}"), vec![part], sink);
        }
    }

    /// Neighbouring cavities bridged, and the wires that leave them side by side touching.
    fn neighbours(&mut self) {
        let circuit = self.circuit;
        let mut touching = BTreeSet::new();
        for connector in &circuit.connectors {
            for (one, other) in adjacent(connector) {
                for half in 0..2 {
                    let ends = [one, other].map(|cavity| connector.cavities[cavity].points[half]);
                    let [Some(a), Some(b)] = ends else { continue };
                    // Behind a part's own half are its pins, not wires.
                    if connector.owner.is_none() || half == 0 {
                        let label = format!("{} and {} bridged", self.point(a), self.point(b));
                        self.add(label, vec![connector.part], FaultKind::Bridge { a, b, ohms: TOUCH });
                    }
                    if let (Some(ours), Some(theirs)) = (self.wire_at(a), self.wire_at(b)) {
                        if touching.insert((ours.min(theirs), ours.max(theirs))) {
                            self.touch(ours, theirs);
                        }
                    }
                }
            }
        }
    }

    fn touch(&mut self, ours: BranchId, theirs: BranchId) {
        let parts = [ours, theirs].map(|wire| self.circuit.branch(wire).part);
        let name = |part: PartId| self.circuit.parts.get(part.index()).map_or("", |p| p.name.as_str());
        let label = format!("{} touching {} beside it", name(parts[0]), name(parts[1]));
        let kind = FaultKind::Touch { one: (ours, ALONG), other: (theirs, ALONG), ohms: TOUCH };
        self.add(label, parts.to_vec(), kind);
    }

    /// The wire that ends in a cavity.
    fn wire_at(&self, point: PointId) -> Option<BranchId> {
        let kind = self.circuit.points.get(point.index()).map(|p| p.kind);
        let ends =
            |b: &crate::Branch| matches!(b.kind, BranchKind::Wire { .. }) && (b.a == point || b.b == point);
        let found = self.circuit.branches().find(|(_, branch)| ends(branch));
        found.filter(|_| matches!(kind, Some(PointKind::Cavity { .. }))).map(|(id, _)| id)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Builder;

    fn pairs(count: usize, rows: u8) -> Vec<(usize, usize)> {
        let mut build = Builder::new();
        let connector = build.inline("X1", ["body", "engine"], count);
        build.connector_mut(connector).rows = rows;
        adjacent(&build.circuit().connectors[0])
    }

    #[test]
    fn neighbours_in_one_row() {
        assert_eq!(pairs(3, 1), [(0, 1), (1, 2)]);
        assert_eq!(pairs(1, 1), []);
        assert_eq!(pairs(0, 2), []);
    }

    #[test]
    fn neighbours_in_two_rows() {
        assert_eq!(pairs(6, 2), [(0, 1), (0, 3), (1, 2), (1, 4), (2, 5), (3, 4), (4, 5)]);
        // The second row of five has a place less.
        assert_eq!(pairs(5, 2), [(0, 1), (0, 3), (1, 2), (1, 4), (3, 4)]);
    }
}
