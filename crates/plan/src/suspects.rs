//! What can be wrong: repair units and their physical failure modes.
//!
//! Every suspect is derived from the circuit around the pin's net. Whether one
//! explains the reading is decided later, by the solver and not by rules.

mod feeds;
mod loads;
mod wiring;

use std::collections::BTreeSet;

use halfsplit_circuit::{BranchId, BranchKind, Fault, FaultKind, Ohms, PartId, PartKind, PointId, Volts};

use crate::bench::Bench;
use crate::harness::Piece;
use crate::priors;

/// Something that is repaired or replaced as one.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Unit {
    /// `B4`, `engine harness W3–W6`, `X21`.
    pub name: String,
    /// The parts it consists of; empty for equipment that the file does not know.
    pub parts: BTreeSet<PartId>,
    /// What it is.
    pub kind: UnitKind,
}

/// What a repair unit is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum UnitKind {
    /// A part of its own.
    Part(PartKind),
    /// A piece of harness.
    Harness,
    /// Equipment that the file does not know, tapped on a piece of harness.
    Unlisted,
}

/// A unit in one failure mode, its unknown resistance still open.
#[derive(Clone, Debug)]
pub(crate) struct Draft {
    pub unit: usize,
    /// `shorted inside, X34:2 to X34:1`.
    pub mode: String,
    /// Share of the unit's faults.
    pub share: f64,
    pub shape: Shape,
}

/// A fault whose resistance is still open.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Shape {
    Bridge {
        a: PointId,
        b: PointId,
    },
    Chafe {
        branch: BranchId,
        to: PointId,
    },
    Series {
        branch: BranchId,
    },
    Dead {
        branch: BranchId,
    },
    /// An output that pulls whatever it is told.
    Stuck {
        branch: BranchId,
    },
    Sink {
        point: PointId,
        volts: Volts,
        unpowered: Ohms,
    },
}

impl Shape {
    /// The fault with this resistance.
    pub fn fault(self, ohms: Ohms) -> Fault {
        let kind = match self {
            Shape::Bridge { a, b } => FaultKind::Bridge { a, b, ohms },
            Shape::Chafe { branch, to } => FaultKind::Chafe { branch, along: 0.5, to, ohms },
            Shape::Series { branch } => FaultKind::Series { branch, ohms },
            Shape::Dead { branch } => FaultKind::Dead { branch },
            Shape::Stuck { branch } => FaultKind::StuckClosed { branch, ohms },
            Shape::Sink { point, volts, unpowered } => FaultKind::Sink { point, volts, ohms, unpowered },
        };
        Fault { kind }
    }

    /// Whether the resistance matters.
    pub fn has_ohms(self) -> bool {
        !matches!(self, Shape::Dead { .. })
    }

    /// Whether it can also be a clean break.
    pub fn can_break(self) -> bool {
        matches!(self, Shape::Series { .. })
    }
}

/// Units and drafts while they are gathered.
pub(crate) struct Gather<'b, 'c> {
    pub bench: &'b Bench<'c>,
    pub units: Vec<Unit>,
    pub drafts: Vec<Draft>,
}

impl Gather<'_, '_> {
    fn unit(&mut self, unit: Unit) -> usize {
        let same = |u: &Unit| u.kind == unit.kind && u.name == unit.name;
        self.units.iter().position(same).unwrap_or_else(|| {
            self.units.push(unit);
            self.units.len() - 1
        })
    }

    /// The unit of a part that stands for itself.
    pub fn part(&mut self, part: PartId) -> usize {
        let it = self.bench.circuit.part(part);
        let unit =
            Unit { name: it.name.clone(), parts: BTreeSet::from([part]), kind: UnitKind::Part(it.kind) };
        self.unit(unit)
    }

    pub fn harness(&mut self, piece: &Piece) -> usize {
        self.unit(Unit { name: piece.name.clone(), parts: piece.parts.clone(), kind: UnitKind::Harness })
    }

    pub fn unlisted(&mut self, piece: &Piece) -> usize {
        let name = format!("unlisted equipment on the {}", piece.name);
        self.unit(Unit { name, parts: BTreeSet::new(), kind: UnitKind::Unlisted })
    }

    pub fn draft(&mut self, unit: usize, mode: String, share: f64, shape: Shape) {
        let known = self.drafts.iter().any(|d| d.unit == unit && d.shape == shape);
        if !known {
            self.drafts.push(Draft { unit, mode, share, shape });
        }
    }

    /// A point as people speak of it: the part side of a connector goes by the wire side's name.
    pub fn say(&self, point: PointId) -> String {
        self.bench.name(point).replace(".part:", ":")
    }
}

/// Every unit and mode that could act on the pin, likeliest mode of each unit first.
pub(crate) fn gather(bench: &Bench<'_>) -> (Vec<Unit>, Vec<Draft>) {
    let mut gather = Gather { bench, units: Vec::new(), drafts: Vec::new() };
    loads::gather(&mut gather);
    wiring::gather(&mut gather);
    feeds::gather(&mut gather);
    (gather.units, gather.drafts)
}

/// Weight of a unit: what the file says of its parts, added up, or the default for its kind.
/// The second value tells whether the file said it.
pub(crate) fn unit_weight(bench: &Bench<'_>, unit: &Unit) -> (f64, bool) {
    let said: Vec<f64> =
        unit.parts.iter().filter_map(|&p| bench.circuit.part(p).suspicion).filter(|w| *w > 0.0).collect();
    if !said.is_empty() {
        return (said.iter().sum(), true);
    }
    let weight = match unit.kind {
        UnitKind::Part(kind) => priors::weight(kind),
        UnitKind::Harness if is_battery_cable(bench, unit) => priors::BATTERY_CABLE,
        UnitKind::Harness => priors::weight(PartKind::Wire),
        UnitKind::Unlisted => priors::UNLISTED,
    };
    (weight, false)
}

fn is_battery_cable(bench: &Bench<'_>, unit: &Unit) -> bool {
    bench.circuit.branches.iter().filter(|b| unit.parts.contains(&b.part)).all(|b| match b.kind {
        BranchKind::Wire { section, .. } => section.is_some_and(|s| s >= priors::BATTERY_CABLE_SECTION),
        _ => true,
    })
}
