//! Current: by clamp, and from the millivolts over a fuse or joint.

use crate::interval::{self, Asked};
use crate::solve::network::Corner;
use crate::solve::{Problem, Solver, Start};
use crate::{Amps, BranchId, BranchKind, Fault, Meter, PartId, ReadError, Reading, State};

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
        if branch.index() >= self.circuit.branches.len() {
            return Err(Problem::Unknown);
        }
        let ask = |corner: Corner, start: Start| {
            self.run(state, faults, &[], corner, start)?;
            let work = self.work();
            let index = branch.index();
            let across = work.settled.across(branch.0);
            Ok(work.network.conductance[index] * across - work.network.current[index])
        };
        let nominal = ask(Corner::NOMINAL, Start::Rest)?;
        let wide =
            interval::widen(self, state, nominal, Asked::Amps(branch), &|corner| ask(corner, Start::Kept))?;
        let off = |amps: Amps| amps.abs() * CLAMP_SHARE + CLAMP_COUNTS;
        let (low, high) = (wide.low - off(wide.low), wide.high + off(wide.high));
        Ok(Current { nominal, low, high, unknowns: wide.unknowns })
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
