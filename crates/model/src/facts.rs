//! What a circuit says beyond the current that flows: pairs, shields, buses, runs, zones, sources.

use std::collections::{BTreeMap, BTreeSet};

use halfsplit_circuit::{BranchId, Caution, PartId, PointId};

use crate::{Entity, Place};

/// Everything a circuit says that the solver has no use for.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Facts {
    /// Wires twisted with each other.
    pub twisted: Vec<Twisted>,
    /// Shields and what they surround.
    pub shields: Vec<Shield>,
    /// Data buses.
    pub buses: Vec<Bus>,
    /// Stretches of loom that several wires share.
    pub runs: Vec<Run>,
    /// Parts of the vehicle with a danger of their own.
    pub zones: Vec<Zone>,
    /// H-bridges of modules.
    pub bridges: Vec<Bridge>,
    /// Where fuses and relays sit: slot as printed, and the box, empty where it is not said.
    pub slots: BTreeMap<PartId, (String, String)>,
    /// Circuit numbers of wires, as printed on them.
    pub circuit_numbers: BTreeMap<PartId, String>,
    /// The drawing's page on which a part stands.
    pub drawings: BTreeMap<PartId, String>,
    /// Documents that facts come from.
    pub sources: Vec<Source>,
    /// Who followed wires on a car.
    pub traces: Vec<Trace>,
    /// Terminators, inputs, pull-ups and pull-downs: they draw, but nobody switches them on.
    pub passive: BTreeSet<BranchId>,
    /// Parts that this car lacks although their loom plug may hang there.
    pub absent: BTreeSet<PartId>,
}

/// Two wires twisted with each other.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Twisted {
    /// Both wires.
    pub wires: [PartId; 2],
    /// The author's words.
    pub label: String,
    /// The statement.
    pub place: Place,
}

/// A shield and what it surrounds.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Shield {
    /// The shield itself.
    pub part: PartId,
    /// The wires it surrounds.
    pub wires: Vec<PartId>,
    /// Where its drain wires end.
    pub drains: Vec<PointId>,
    /// The statement.
    pub place: Place,
}

/// A data bus.
#[derive(Clone, PartialEq, Debug)]
pub struct Bus {
    /// `CAN1`.
    pub name: String,
    /// The standard, as the file writes it: `can`, `lin`.
    pub kind: String,
    /// Bits in a second, where the file says so.
    pub rate: Option<f64>,
    /// The author's words.
    pub label: String,
    /// Pins of the upper wire.
    pub high: Vec<PointId>,
    /// Pins of the lower wire.
    pub low: Vec<PointId>,
    /// Pins of the only wire of a bus with one.
    pub line: Vec<PointId>,
    /// The statement.
    pub place: Place,
}

/// A stretch of loom that several wires share: there they can chafe on each other.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Run {
    /// `RUN1`.
    pub name: String,
    /// From where to where.
    pub at: String,
    /// The wires in it.
    pub wires: Vec<PartId>,
    /// Dangers along it.
    pub cautions: Vec<Caution>,
    /// The statement.
    pub place: Place,
}

/// A part of the vehicle with a danger of its own.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Zone {
    /// `COLUMN`.
    pub name: String,
    /// What it is.
    pub label: String,
    /// Its dangers; everything it holds has them too.
    pub cautions: Vec<Caution>,
    /// What is in it.
    pub holds: Vec<Entity>,
    /// The statement.
    pub place: Place,
}

/// An H-bridge: four outputs commanded as one.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Bridge {
    /// With its owner: `A20.MIRROR`.
    pub name: String,
    /// On in `forward`: the first output feeds, the second grounds.
    pub forward: [BranchId; 2],
    /// On in `reverse`: the second output feeds, the first grounds.
    pub reverse: [BranchId; 2],
}

/// A document that facts come from.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Source {
    /// Title and page.
    pub document: String,
    /// The item it speaks of; `None` for the whole file.
    pub item: Option<Entity>,
    /// The statement.
    pub place: Place,
}

/// Somebody followed the wires on a car.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Trace {
    /// Who.
    pub by: String,
    /// When, as written.
    pub on: String,
    /// The item it speaks of; `None` for the whole file.
    pub item: Option<Entity>,
    /// The statement.
    pub place: Place,
}

impl Facts {
    /// The runs that a wire lies in.
    pub fn runs_of(&self, wire: PartId) -> impl Iterator<Item = &Run> {
        self.runs.iter().filter(move |run| run.wires.contains(&wire))
    }

    /// The wires that share a run with a wire, ascending: what it can chafe on.
    pub fn shares_run_with(&self, wire: PartId) -> BTreeSet<PartId> {
        self.runs_of(wire).flat_map(|run| run.wires.iter().copied()).filter(|&other| other != wire).collect()
    }

    /// The H-bridge of a name: `A20.MIRROR`, or `MIRROR` where only one is called so.
    pub fn bridge(&self, written: &str) -> Option<&Bridge> {
        let short = |bridge: &&Bridge| bridge.name.rsplit('.').next() == Some(written);
        let mut short = self.bridges.iter().filter(short);
        let only = short.next().filter(|_| short.next().is_none());
        self.bridges.iter().find(|bridge| bridge.name == written).or(only)
    }
}
