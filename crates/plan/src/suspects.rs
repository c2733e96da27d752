//! What can be wrong: repair units and their physical failure modes, of the whole circuit.
//!
//! Loads, returns, supplies and everything that decides a state are among them. Which of them a reading or a
//! complaint speaks of is decided later, by the solver and not by rules.

mod parts;
mod wiring;

use std::collections::BTreeSet;

use halfsplit_circuit::{
    BranchId, BranchKind, Circuit, ConnectorId, Fault, FaultKind, Net, Ohms, PartId, PartKind, PointId,
    State, Volts,
};

use crate::grid::Range;
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
    /// No part at all: what a module is told to do.
    Command,
}

/// A unit in one failure mode, how bad still open.
#[derive(Clone, Debug)]
pub(crate) struct Hypothesis {
    pub unit: usize,
    /// `shorted inside, X34:2 to X34:1`.
    pub mode: String,
    /// Share of the unit's faults, of which all add up to one.
    pub share: f64,
    pub shape: Shape,
    pub range: Range,
    /// The output that its module commands on, where that is the suspicion.
    pub commanded: Option<BranchId>,
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
    /// A contact or output that is closed whatever it is told.
    Stuck {
        branch: BranchId,
    },
    Sink {
        point: PointId,
        volts: Volts,
        unpowered: Ohms,
    },
    /// A module that sleeps although it is fed and grounded.
    Asleep {
        module: PartId,
    },
}

impl Shape {
    /// Every set of faults that stands for this resistance: what pulls a wire down may do so to more or fewer volts.
    pub fn variants(self, circuit: &Circuit, ohms: Ohms) -> Vec<Vec<Fault>> {
        match self {
            Shape::Sink { point, unpowered, .. } => wiring::SINK_VOLTS
                .map(|volts| Shape::Sink { point, volts, unpowered }.faults(circuit, ohms))
                .into(),
            _ => vec![self.faults(circuit, ohms)],
        }
    }

    /// The faults with this resistance.
    pub fn faults(self, circuit: &Circuit, ohms: Ohms) -> Vec<Fault> {
        let kind = match self {
            Shape::Bridge { a, b } => FaultKind::Bridge { a, b, ohms },
            Shape::Chafe { branch, to } => FaultKind::Chafe { branch, along: 0.5, to, ohms },
            Shape::Series { branch } => FaultKind::Series { branch, ohms },
            Shape::Dead { branch } => FaultKind::Dead { branch },
            Shape::Stuck { branch } => FaultKind::StuckClosed { branch, ohms },
            Shape::Sink { point, volts, unpowered } => FaultKind::Sink { point, volts, ohms, unpowered },
            Shape::Asleep { module } => {
                let feeds = circuit
                    .branches_of(module)
                    .filter(|(_, branch)| matches!(branch.kind, BranchKind::Feed { .. }));
                return feeds
                    .map(|(branch, _)| FaultKind::Series { branch, ohms: Ohms::INFINITY }.into())
                    .collect();
            }
        };
        vec![Fault { kind }]
    }
}

/// Which corner of the circuit a question is about.
#[derive(Clone, Copy)]
pub(crate) struct Focus<'f> {
    pub state: &'f State,
    /// The net of a pin that reads wrong; `None` for a function.
    pub net: Option<&'f Net>,
    /// Whether something lifts that net: then what it touches is asked for fuse by fuse.
    pub lifted: bool,
}

/// Units and hypotheses while they are gathered.
pub(crate) struct Gather<'b> {
    pub circuit: &'b Circuit,
    pub focus: Focus<'b>,
    pub units: Vec<Unit>,
    pub hypotheses: Vec<Hypothesis>,
}

impl Gather<'_> {
    fn unit(&mut self, unit: Unit) -> usize {
        let same = |u: &Unit| u.kind == unit.kind && u.name == unit.name;
        self.units.iter().position(same).unwrap_or_else(|| {
            self.units.push(unit);
            self.units.len() - 1
        })
    }

    /// The unit of a part that stands for itself.
    pub fn part(&mut self, part: PartId) -> usize {
        let it = self.circuit.part(part);
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

    pub fn add(&mut self, unit: usize, mode: String, share: f64, shape: Shape, range: Range) {
        let known = self.hypotheses.iter().any(|h| h.unit == unit && h.shape == shape);
        if !known {
            self.hypotheses.push(Hypothesis { unit, mode, share, shape, range, commanded: None });
        }
    }

    /// A point as people speak of it: the part side of a connector goes by the wire side's name.
    pub fn say(&self, point: PointId) -> String {
        self.circuit.point(point).name.replace(".part:", ":")
    }

    /// Whether a point lies on the net in question.
    pub fn on_net(&self, point: PointId) -> bool {
        self.focus.net.is_some_and(|net| net.contains(point))
    }
}

/// Every unit and mode of the circuit, shorts of each unit before its breaks.
pub(crate) fn gather(circuit: &Circuit, focus: Focus<'_>) -> (Vec<Unit>, Vec<Hypothesis>) {
    let mut gather = Gather { circuit, focus, units: Vec::new(), hypotheses: Vec::new() };
    parts::gather(&mut gather);
    wiring::gather(&mut gather);
    let Gather { units, mut hypotheses, .. } = gather;
    for unit in 0..units.len() {
        let own = hypotheses.iter_mut().filter(|h| h.unit == unit);
        let own: Vec<&mut Hypothesis> = own.collect();
        let whole: f64 = own.iter().map(|h| h.share).sum();
        own.into_iter().for_each(|h| h.share /= whole);
    }
    (units, hypotheses)
}

/// An output that is on because its module wants it so: to a meter it looks like one that is shorted.
pub(crate) fn add_commands(circuit: &Circuit, units: &mut Vec<Unit>, hypotheses: &mut Vec<Hypothesis>) {
    let stuck: Vec<(Hypothesis, BranchId)> = hypotheses
        .iter()
        .filter_map(|h| match h.shape {
            Shape::Stuck { branch } if matches!(circuit.branch(branch).kind, BranchKind::Driver { .. }) => {
                Some((h.clone(), branch))
            }
            _ => None,
        })
        .collect();
    for (like, branch) in stuck {
        let module = &circuit.part(circuit.branch(branch).part).name;
        let name = format!("{module} commands {}", output_name(circuit, branch));
        units.push(Unit { name, parts: BTreeSet::new(), kind: UnitKind::Command });
        hypotheses.push(Hypothesis {
            unit: units.len() - 1,
            mode: "the module wants it on: look for what it is told, before anything is replaced".to_owned(),
            share: 1.0,
            commanded: Some(branch),
            ..like
        });
    }
}

/// An output's name, `A10.PUMP`.
pub(crate) fn output_name(circuit: &Circuit, branch: BranchId) -> String {
    let named = circuit.outputs.iter().find(|(_, id)| *id == branch);
    named.map_or_else(|| circuit.part(circuit.branch(branch).part).name.clone(), |(name, _)| name.clone())
}

/// Weight of a unit: what the file says of its parts, added up, or the default for its kind.
/// The second value tells whether the file said it.
pub(crate) fn unit_weight(circuit: &Circuit, unit: &Unit) -> (f64, bool) {
    let said: Vec<f64> =
        unit.parts.iter().filter_map(|&p| circuit.part(p).suspicion).filter(|w| *w > 0.0).collect();
    if !said.is_empty() {
        return (said.iter().sum(), true);
    }
    let weight = match unit.kind {
        UnitKind::Part(PartKind::Connector) => priors::contacts(wired(circuit, unit)),
        UnitKind::Part(kind) => priors::weight(kind),
        UnitKind::Harness if is_battery_cable(circuit, unit) => priors::BATTERY_CABLE,
        UnitKind::Harness => priors::weight(PartKind::Wire),
        UnitKind::Unlisted => priors::UNLISTED,
        UnitKind::Command => priors::weight(PartKind::Module),
    };
    (weight, false)
}

/// Cavities of a connector that have a wire.
fn wired(circuit: &Circuit, unit: &Unit) -> usize {
    let own = |id: &ConnectorId| unit.parts.contains(&circuit.connector(*id).part);
    let connectors = (0..circuit.connectors.len() as u32).map(ConnectorId).filter(own);
    let cavities = connectors.flat_map(|id| &circuit.connector(id).cavities);
    cavities.filter(|cavity| cavity.points.iter().any(Option::is_some)).count()
}

fn is_battery_cable(circuit: &Circuit, unit: &Unit) -> bool {
    circuit.branches.iter().filter(|b| unit.parts.contains(&b.part)).all(|b| match b.kind {
        BranchKind::Wire { section, .. } => section.is_some_and(|s| s >= priors::BATTERY_CABLE_SECTION),
        _ => true,
    })
}

/// Whether a heavy cable ends at a point: then milliohms count there.
pub(crate) fn is_heavy(circuit: &Circuit, point: PointId) -> bool {
    circuit.branches.iter().any(|b| {
        (b.a == point || b.b == point)
            && matches!(b.kind, BranchKind::Wire { section: Some(mm2), .. } if mm2 >= priors::BATTERY_CABLE_SECTION)
    })
}
