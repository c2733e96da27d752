//! Hidden faults, drawn from the trade and from the circuit's own branches, never from a plan's list.
//!
//! First what sort of thing fails, by the weights below; then which of that sort, all alike; then how, and how
//! much. Weights and ranges are own estimates; connections before supplies before parts follows the ranking
//! "Likely failures in proven systems" of Lessons In Electric Circuits, Vol. V (SAW).

use std::collections::BTreeSet;

use halfsplit_circuit::{
    BranchId, BranchKind, Circuit, Fault, FaultKind, PartId, PartKind, PointId, PointKind,
};

use crate::outside::random::Random;

/// Sorts of things that fail, and how often against each other.
const SORTS: [(Sort, f64); 12] = [
    (Sort::Contact, 22.0),
    (Sort::WireOpen, 13.0),
    (Sort::WireRubbed, 13.0),
    (Sort::Load, 18.0),
    (Sort::Fuse, 6.0),
    (Sort::Relay, 8.0),
    (Sort::Switch, 5.0),
    (Sort::Ground, 5.0),
    (Sort::Output, 5.0),
    (Sort::Supply, 1.5),
    (Sort::Bridged, 3.0),
    (Sort::Tapped, 2.5),
];

/// Shorts, in ohms.
const SHORT: (f64, f64) = (0.005, 20.0);
/// Leaks, in ohms.
const LEAK: (f64, f64) = (20.0, 50e3);
/// Resistance that is added, in ohms.
const ADDED: (f64, f64) = (0.05, 100e3);
/// The same on a heavy cable: milliohms.
const ADDED_HEAVY: (f64, f64) = (0.001, 0.5);
/// Section from which a cable is heavy, in mm².
const HEAVY: f64 = 6.0;
/// Share of opens that are clean breaks.
const CLEAN: f64 = 0.5;
/// Share of what touches that leaks rather than shorts.
const LEAKS: f64 = 0.35;

#[derive(Clone, Copy, PartialEq, Debug)]
enum Sort {
    Contact,
    WireOpen,
    WireRubbed,
    Load,
    Fuse,
    Relay,
    Switch,
    Ground,
    Output,
    Supply,
    Bridged,
    Tapped,
}

/// One hidden fault.
#[derive(Clone, Debug)]
pub struct Hidden {
    /// What it does to the circuit.
    pub faults: Vec<Fault>,
    /// Parts of which each, or a unit that holds it, is the truth.
    pub parts: BTreeSet<String>,
    /// Whether the truth is something that no file draws.
    pub unlisted: bool,
    /// In words, for the list of cases.
    pub words: String,
}

/// A fault at random; `stray` takes places and partners that no file names. `None` where the sort that was drawn
/// is not in the circuit.
pub fn draw(circuit: &Circuit, random: &mut Random, stray: bool) -> Option<Hidden> {
    let whole: f64 = SORTS.iter().map(|(_, weight)| weight).sum();
    let mut at = random.unit() * whole;
    let drawn = SORTS.iter().find(|(_, weight)| {
        at -= weight;
        at < 0.0
    });
    let sort = if stray {
        [Sort::WireRubbed, Sort::Tapped, Sort::Bridged, Sort::Contact][random.below(4)]
    } else {
        drawn.map_or(Sort::Contact, |(sort, _)| *sort)
    };
    Drawer { circuit, random, stray }.one(sort)
}

struct Drawer<'c, 'r> {
    circuit: &'c Circuit,
    random: &'r mut Random,
    stray: bool,
}

impl Drawer<'_, '_> {
    fn one(&mut self, sort: Sort) -> Option<Hidden> {
        match sort {
            Sort::Contact => self.series(|_, b| matches!(b, BranchKind::Mated { .. }), "contact"),
            Sort::WireOpen => self.series(|_, b| matches!(b, BranchKind::Wire { .. }), "wire"),
            Sort::Ground => self
                .series(|k, b| k == PartKind::GroundPoint && matches!(b, BranchKind::Joint { .. }), "joint"),
            Sort::Fuse => self.fuse(),
            Sort::WireRubbed => self.rubbed(),
            Sort::Load => self.load(),
            Sort::Relay => self.relay(),
            Sort::Switch => self.switch(),
            Sort::Output => self.output(),
            Sort::Supply => self.supply(),
            Sort::Bridged => self.bridged(),
            Sort::Tapped => self.tapped(),
        }
    }

    fn some(&mut self, wanted: impl Fn(PartKind, &BranchKind) -> bool) -> Option<BranchId> {
        let all: Vec<BranchId> = self
            .circuit
            .branches()
            .filter(|(_, b)| wanted(self.circuit.part(b.part).kind, &b.kind))
            .map(|(id, _)| id)
            .collect();
        (!all.is_empty()).then(|| all[self.random.below(all.len())])
    }

    fn hidden(&self, id: BranchId, kind: FaultKind, how: &str) -> Hidden {
        let part = self.circuit.branch(id).part;
        Hidden {
            faults: vec![kind.into()],
            parts: BTreeSet::from([self.circuit.part(part).name.clone()]),
            unlisted: false,
            words: format!("{} {how}", self.spot(id)),
        }
    }

    /// A branch by its part and its two ends.
    fn spot(&self, id: BranchId) -> String {
        let branch = self.circuit.branch(id);
        let name = |point: PointId| self.circuit.point(point).name.clone();
        format!("{} ({} to {})", self.circuit.part(branch.part).name, name(branch.a), name(branch.b))
    }

    fn added(&mut self, id: BranchId) -> (f64, String) {
        if self.random.unit() < CLEAN {
            return (f64::INFINITY, "open".to_owned());
        }
        let heavy = match self.circuit.branch(id).kind {
            BranchKind::Wire { section, .. } => section.is_some_and(|mm2| mm2 > HEAVY),
            BranchKind::Joint { .. } => self.random.unit() < 0.5,
            _ => false,
        };
        let (low, high) = if heavy { ADDED_HEAVY } else { ADDED };
        let ohms = self.random.log(low, high);
        (ohms, format!("added {ohms:.4} ohm"))
    }

    fn series(&mut self, wanted: impl Fn(PartKind, &BranchKind) -> bool, what: &str) -> Option<Hidden> {
        let branch = self.some(wanted)?;
        let (ohms, how) = self.added(branch);
        Some(self.hidden(branch, FaultKind::Series { branch, ohms }, &format!("{what} {how}")))
    }

    fn fuse(&mut self) -> Option<Hidden> {
        let branch = self.some(|kind, b| kind == PartKind::Fuse && matches!(b, BranchKind::Fuse { .. }))?;
        if self.random.unit() < 0.7 {
            let kind = FaultKind::Series { branch, ohms: f64::INFINITY };
            return Some(self.hidden(branch, kind, "blown"));
        }
        let (ohms, how) = self.added(branch);
        Some(self.hidden(branch, FaultKind::Series { branch, ohms }, &how))
    }

    fn touch(&mut self) -> f64 {
        let (low, high) = if self.random.unit() < LEAKS { LEAK } else { SHORT };
        self.random.log(low, high)
    }

    /// A wire rubbed through at a random spot: to body, or to a wire beside it; a stray one to any wire.
    fn rubbed(&mut self) -> Option<Hidden> {
        let branch = self.some(|_, b| matches!(b, BranchKind::Wire { .. }))?;
        let along = self.random.between(0.02, 0.98);
        let ohms = self.touch();
        if self.random.unit() < 0.6 && !self.stray {
            let to = self.circuit.body.or(self.circuit.negative)?;
            let kind = FaultKind::Chafe { branch, along, to, ohms };
            return Some(self.hidden(branch, kind, &format!("at {along:.2} to body, {ohms:.4} ohm")));
        }
        let beside = self.beside(branch);
        let (partner, to) = if self.stray || beside.is_empty() {
            let other = self.some(|_, b| matches!(b, BranchKind::Wire { .. }))?;
            (other, self.circuit.branch(other).a)
        } else {
            let other = beside[self.random.below(beside.len())];
            (other, self.circuit.branch(other).b)
        };
        let near = self.circuit.branch(branch);
        if to == near.a || to == near.b {
            return None;
        }
        let kind = FaultKind::Chafe { branch, along, to, ohms };
        let touched = self.circuit.part(self.circuit.branch(partner).part).name.clone();
        let mut hidden =
            self.hidden(branch, kind, &format!("at {along:.2} touches {touched}, {ohms:.4} ohm"));
        hidden.parts.insert(touched);
        Some(hidden)
    }

    /// Wires that go into a connector with this one.
    fn beside(&self, wire: BranchId) -> Vec<BranchId> {
        let plugs = |id: BranchId| {
            let branch = self.circuit.branch(id);
            [branch.a, branch.b].map(|p| match self.circuit.point(p).kind {
                PointKind::Cavity { connector, half, .. } => Some((connector, half)),
                _ => None,
            })
        };
        let here: Vec<_> = plugs(wire).into_iter().flatten().collect();
        self.circuit
            .branches()
            .filter(|(id, b)| *id != wire && matches!(b.kind, BranchKind::Wire { .. }))
            .filter(|(id, _)| plugs(*id).into_iter().flatten().any(|end| here.contains(&end)))
            .map(|(id, _)| id)
            .collect()
    }

    fn load(&mut self) -> Option<Hidden> {
        let branch = self.some(|kind, b| {
            let own = matches!(kind, PartKind::Sensor | PartKind::Lamp | PartKind::Motor | PartKind::Load);
            own && matches!(b, BranchKind::Load { .. } | BranchKind::Lamp { .. } | BranchKind::Coil { .. })
        })?;
        let (a, b) = (self.circuit.branch(branch).a, self.circuit.branch(branch).b);
        if self.random.unit() < 0.55 {
            let (ohms, how) = self.added(branch);
            return Some(self.hidden(branch, FaultKind::Series { branch, ohms }, &format!("inside {how}")));
        }
        let ohms = self.touch();
        Some(self.hidden(branch, FaultKind::Bridge { a, b, ohms }, &format!("inside shorted, {ohms:.4} ohm")))
    }

    fn relay(&mut self) -> Option<Hidden> {
        let branch = self.some(|kind, b| {
            kind == PartKind::Relay && matches!(b, BranchKind::Coil { .. } | BranchKind::RelayContact { .. })
        })?;
        let it = self.circuit.branch(branch);
        let (a, b) = (it.a, it.b);
        if matches!(it.kind, BranchKind::Coil { .. }) {
            if self.random.unit() < 0.7 {
                let (ohms, how) = self.added(branch);
                return Some(self.hidden(branch, FaultKind::Series { branch, ohms }, &format!("coil {how}")));
            }
            let ohms = self.touch();
            return Some(self.hidden(
                branch,
                FaultKind::Bridge { a, b, ohms },
                &format!("coil shorted, {ohms:.4} ohm"),
            ));
        }
        self.moved(branch)
    }

    /// A contact that does not close well, or not open.
    fn moved(&mut self, branch: BranchId) -> Option<Hidden> {
        if self.random.unit() < 0.25 {
            let ohms = self.random.log(0.005, 0.5);
            let kind = FaultKind::StuckClosed { branch, ohms };
            return Some(self.hidden(branch, kind, &format!("contact stuck, {ohms:.4} ohm")));
        }
        let (ohms, how) = self.added(branch);
        Some(self.hidden(branch, FaultKind::Series { branch, ohms }, &format!("contact {how}")))
    }

    fn switch(&mut self) -> Option<Hidden> {
        let branch = self.some(|_, b| matches!(b, BranchKind::Switch { .. }))?;
        self.moved(branch)
    }

    fn output(&mut self) -> Option<Hidden> {
        let branch =
            self.some(|_, b| matches!(b, BranchKind::Reference { .. } | BranchKind::Driver { .. }))?;
        let it = self.circuit.branch(branch);
        let (a, b) = (it.a, it.b);
        let reference = matches!(it.kind, BranchKind::Reference { .. });
        match self.random.below(3) {
            0 => Some(self.hidden(branch, FaultKind::Dead { branch }, "output dead")),
            1 if reference => {
                let ohms = self.touch();
                let kind = FaultKind::Bridge { a, b, ohms };
                Some(self.hidden(branch, kind, &format!("output shorted inside, {ohms:.4} ohm")))
            }
            1 => {
                let ohms = self.random.log(0.02, 2.0);
                let kind = FaultKind::StuckClosed { branch, ohms };
                Some(self.hidden(branch, kind, &format!("output stuck, {ohms:.4} ohm")))
            }
            _ => {
                let ohms = self.random.log(ADDED.0, ADDED.1);
                let kind = FaultKind::Series { branch, ohms };
                Some(self.hidden(branch, kind, &format!("output weak, {ohms:.4} ohm")))
            }
        }
    }

    fn supply(&mut self) -> Option<Hidden> {
        let branch =
            self.some(|_, b| matches!(b, BranchKind::Source { .. } | BranchKind::Generator { .. }))?;
        let ohms = if matches!(self.circuit.branch(branch).kind, BranchKind::Generator { .. }) {
            f64::INFINITY
        } else {
            self.random.log(0.02, 2.0)
        };
        Some(self.hidden(branch, FaultKind::Series { branch, ohms }, &format!("inner {ohms:.4} ohm more")))
    }

    /// Two cavities of a plug joined by water or a bent blade: neighbours, or any two where it is a stray.
    fn bridged(&mut self) -> Option<Hidden> {
        let plugs: Vec<_> = self.circuit.connectors.iter().filter(|c| c.cavities.len() > 1).collect();
        if plugs.is_empty() {
            return None;
        }
        let connector = plugs[self.random.below(plugs.len())];
        let used: Vec<PointId> = connector.cavities.iter().filter_map(|cavity| cavity.points[0]).collect();
        if used.len() < 2 {
            return None;
        }
        let at = self.random.below(used.len() - 1);
        let other = if self.stray { self.random.below(used.len()) } else { at + 1 };
        if other == at {
            return None;
        }
        let ohms = self.touch();
        let (a, b) = (used[at], used[other]);
        let part: PartId = connector.part;
        let name = |point: PointId| self.circuit.point(point).name.clone();
        Some(Hidden {
            faults: vec![FaultKind::Bridge { a, b, ohms }.into()],
            parts: BTreeSet::from([self.circuit.part(part).name.clone()]),
            unlisted: false,
            words: format!("{} and {} bridged, {ohms:.4} ohm", name(a), name(b)),
        })
    }

    /// Equipment that no file draws, tapped on a wire.
    fn tapped(&mut self) -> Option<Hidden> {
        let wire = self.some(|_, b| matches!(b, BranchKind::Wire { .. }))?;
        let point = self.circuit.branch(wire).a;
        let (volts, ohms) = (self.random.between(0.0, 0.5), self.random.log(2.0, 2e3));
        let unpowered = if self.random.unit() < 0.5 { f64::INFINITY } else { self.random.log(1e3, 100e3) };
        let kind = FaultKind::Sink { point, volts, ohms, unpowered };
        let mut hidden = self.hidden(wire, kind, &format!("tapped, {volts:.2} V behind {ohms:.1} ohm"));
        hidden.unlisted = true;
        Some(hidden)
    }
}
