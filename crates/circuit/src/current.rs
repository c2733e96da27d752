//! Current: by clamp, and from the millivolts over a fuse or joint.

use crate::interval;
use crate::solve::network::Network;
use crate::solve::settle::Settled;
use crate::solve::{Problem, Solver, assemble};
use crate::{
    Amps, BranchId, BranchKind, Circuit, Fault, Measure, Meter, PartId, PointId, ReadError, Reading, State,
};

/// A clamp's accuracy as a share of its reading. MEMORY: usual for direct current.
pub const CLAMP_SHARE: f64 = 0.02;
/// A clamp's accuracy beside that: five counts of 0.01 A. MEMORY.
pub const CLAMP_COUNTS: Amps = 0.05;

/// A predicted current.
#[derive(Clone, PartialEq, Debug)]
pub struct Current {
    /// With every value as declared, in amperes; positive from the branch's `a` to its `b`.
    pub nominal: Amps,
    /// Least that tolerances and the meter's accuracy allow.
    pub low: Amps,
    /// Most that tolerances and the meter's accuracy allow.
    pub high: Amps,
    /// Parts whose unknown value this current goes through.
    pub unknowns: Vec<PartId>,
}

/// Every edge whose current passes a clamp, each with its sense.
pub(crate) struct Carried(pub(crate) Vec<(u32, f64)>);

/// The edges of a branch, counted towards one of its ends: of a wire that is rubbed through also what leaves it
/// part of the way along, seen from there.
pub(crate) fn carried(
    solver: &Solver<'_>,
    faults: &[Fault],
    branch: BranchId,
    end: PointId,
) -> Result<Carried, Problem> {
    let it = solver.circuit.branches.get(branch.index()).ok_or(Problem::Unknown)?;
    let at_a = it.a == end && it.b != end;
    let mut edges = vec![(branch.0, if at_a { -1.0 } else { 1.0 })];
    edges.extend(assemble::chafed_edges(solver.circuit, faults, branch, at_a));
    Ok(Carried(edges))
}

impl Carried {
    /// The current that passes.
    pub(crate) fn amps(&self, network: &Network, settled: &Settled) -> Amps {
        let one = |&(edge, sense): &(u32, f64)| {
            let index = edge as usize;
            sense * (network.conductance[index] * settled.across(edge) - network.current[index])
        };
        self.0.iter().map(one).sum()
    }
}

/// The conductor that a clamp at a pin goes around: the only wire that ends there, on whichever side of a plug; where
/// no wire does, the only other conductor, which an ammeter takes the place of (a fuse in its socket).
///
/// # Errors
/// The candidates where there is more than one, none where nothing ends there.
pub fn conductor_at(circuit: &Circuit, pin: PointId) -> Result<BranchId, Vec<BranchId>> {
    let at = |point: PointId| {
        let ends = circuit.branches().filter(move |(_, b)| (b.a == point) != (b.b == point));
        ends.map(|(id, b)| (id, &b.kind))
    };
    let is_wire = |kind: &BranchKind| matches!(kind, BranchKind::Wire { .. });
    let is_mated = |kind: &BranchKind| matches!(kind, BranchKind::Mated { .. });
    let wires = |point| at(point).filter(|(_, kind)| is_wire(kind)).map(|(id, _)| id).collect::<Vec<_>>();
    let mut found = wires(pin);
    if found.is_empty() {
        let partners = at(pin).filter(|(_, kind)| is_mated(kind)).map(|(id, _)| {
            let mated = circuit.branch(id);
            if mated.a == pin { mated.b } else { mated.a }
        });
        found = partners.flat_map(wires).collect();
    }
    if found.is_empty() {
        found = at(pin).filter(|(_, kind)| !is_mated(kind)).map(|(id, _)| id).collect();
    }
    match found.as_slice() {
        [only] => Ok(*only),
        _ => Err(found),
    }
}

/// Volts over a conductor, and the current they tell of.
#[derive(Clone, PartialEq, Debug)]
pub struct Drop {
    /// What the meter shows with red at the branch's `a` and black at its `b`.
    pub volts: Reading,
    /// The current that such a reading amounts to by the conductor's declared resistance, over all the
    /// resistance may be and all the meter may show. `None` where the resistance is not known.
    pub implied: Option<Current>,
}

impl Solver<'_> {
    /// What a clamp around a branch reads, the arrow from the branch's `a` to its `b`. A clamp adds nothing to
    /// the circuit.
    ///
    /// # Errors
    /// As [`ReadError`] says; [`ReadError::Malformed`] for a branch that is not there.
    pub fn clamp(&self, state: &State, faults: &[Fault], branch: BranchId) -> Result<Current, ReadError> {
        self.clamped(state, faults, branch).map_err(|problem| self.name(problem))
    }

    fn clamped(&self, state: &State, faults: &[Fault], branch: BranchId) -> Result<Current, Problem> {
        let it = self.circuit.branches.get(branch.index()).ok_or(Problem::Unknown)?;
        let meter = Meter { red: it.a, black: it.b, measure: Measure::Amps(branch) };
        let Reading { nominal, low, high, unknowns, .. } = interval::read(self, state, faults, &meter)?;
        Ok(Current { nominal, low, high, unknowns })
    }

    /// Volts over a fuse, link, joint, contact or wire that stays where it is, and the current they tell of.
    ///
    /// # Errors
    /// As [`Solver::read`]; [`ReadError::Malformed`] for a branch that is not there.
    pub fn drop_over(&self, state: &State, faults: &[Fault], branch: BranchId) -> Result<Drop, ReadError> {
        let Some(it) = self.circuit.branches.get(branch.index()) else {
            return Err(self.name(Problem::Unknown));
        };
        let volts = self.read(state, faults, &Meter::volts(it.a, it.b))?;
        let ohms = match it.kind {
            BranchKind::Fuse { ohms, .. } | BranchKind::Joint { ohms } | BranchKind::Mated { ohms, .. } => {
                Some(ohms)
            }
            BranchKind::Switch { ohms, .. } | BranchKind::RelayContact { ohms, .. } => Some(ohms),
            BranchKind::Wire { ohms, .. } => ohms,
            _ => None,
        };
        let spread = interval::spread(&it.kind);
        let implied = ohms.zip(spread).map(|(ohms, ((least, most), _))| {
            // The volts may be of either sign, so each end is taken with the resistance that moves it outwards.
            let ends = [volts.low, volts.high].map(|v| [v / (ohms * least), v / (ohms * most)]);
            let all = ends.as_flattened().iter().copied();
            Current {
                nominal: volts.nominal / ohms,
                low: all.clone().fold(f64::INFINITY, f64::min),
                high: all.fold(f64::NEG_INFINITY, f64::max),
                unknowns: volts.unknowns.clone(),
            }
        });
        Ok(Drop { volts, implied })
    }
}
