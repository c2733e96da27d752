//! Ohms where a junction is in the way: the meter's own volts may open it one way round.

use crate::meter::OVERLOAD;
use crate::solve::network::{Corner, Extra, Piece};
use crate::solve::{NOT_A_MODULE, Problem, Solver, Start};
use crate::{
    Amps, BranchKind, Fault, Meter, Ohms, PartId, PointId, ReadError, Reading, State, Volts, interval,
};

/// Volts of a meter on ohms with its leads apart. MEMORY: usually 0.5 to 3 V.
pub const OHMS_VOLTS: Volts = 2.5;

/// Currents of a meter on ohms into a short on the ranges that a junction may be met on. MEMORY.
pub const OHMS_AMPS: [Amps; 3] = [1e-3, 1e-4, 1e-5];

/// Ohms with the leads as they are, and swapped.
#[derive(Clone, PartialEq, Debug)]
pub struct BothWays {
    /// Red on the first point.
    pub forward: Reading,
    /// Leads swapped.
    pub backward: Reading,
    /// Parts with a junction that the meter opens one way round or the other. Where there is one, the ohms say
    /// no more than that it conducts this way: they depend on the meter, and their interval spans the
    /// ranges that it may choose.
    pub junctions: Vec<PartId>,
}

impl Solver<'_> {
    /// What the meter shows on ohms both ways round. Where it opens no diode both are as [`Solver::read`] has
    /// them.
    ///
    /// # Errors
    /// As [`Solver::read`] for ohms.
    pub fn ohms_both_ways(
        &self,
        state: &State,
        faults: &[Fault],
        red: PointId,
        black: PointId,
    ) -> Result<BothWays, ReadError> {
        let mut junctions = Vec::new();
        let mut one_way = |red: PointId, black: PointId| {
            let plain = self.read(state, faults, &Meter::ohms(red, black))?;
            let mut own = Vec::new();
            let ranges = self.through_junctions(state, faults, red, black, &mut own);
            let ranges = ranges.map_err(|problem| self.name(problem))?;
            if own.is_empty() {
                return Ok(plain);
            }
            junctions.append(&mut own);
            Ok(across_ranges(plain, &ranges))
        };
        let forward = one_way(red, black)?;
        let backward = one_way(black, red)?;
        junctions.sort_unstable();
        junctions.dedup();
        Ok(BothWays { forward, backward, junctions })
    }

    /// Ohms as each range shows them, and the diodes that conduct.
    fn through_junctions(
        &self,
        state: &State,
        faults: &[Fault],
        red: PointId,
        black: PointId,
        junctions: &mut Vec<PartId>,
    ) -> Result<Vec<Ohms>, Problem> {
        let mut ranges = Vec::new();
        for amps in OHMS_AMPS {
            let conductance = amps / OHMS_VOLTS;
            let source = Extra { volts: OHMS_VOLTS, ..Extra::plain(red, black, conductance) };
            self.run(state, faults, &[source], Corner::NOMINAL, Start::Rest)?;
            let work = self.work();
            let across = work.settled.volts[work.place(red)] - work.settled.volts[work.place(black)];
            let drawn = (OHMS_VOLTS - across) * conductance;
            ranges.push(if drawn > 0.0 { across / drawn } else { f64::INFINITY });
            let diodes = work.network.devices.iter().filter(|d| d.module == NOT_A_MODULE);
            // A diode counts once a hundredth of the meter's current goes through it.
            let open = diodes.filter(|d| {
                let through = (d.volts - work.settled.across(d.edge)) * d.conductance;
                d.piece == Piece::Linear && through.abs() > 0.01 * drawn.abs()
            });
            let branches = open.map(|d| &self.circuit.branches[d.edge as usize]);
            let diodes = branches.filter(|b| matches!(b.kind, BranchKind::Diode { .. }));
            junctions.extend(diodes.map(|b| b.part));
        }
        Ok(ranges)
    }
}

/// A reading over all ranges that the meter may choose, at its middle range.
fn across_ranges(plain: Reading, ranges: &[Ohms]) -> Reading {
    let shown = |ohms: Ohms| if ohms > OVERLOAD { f64::INFINITY } else { ohms };
    let off = |ohms: Ohms| interval::meter_accuracy(plain.quantity, ohms);
    let least = ranges.iter().copied().fold(f64::INFINITY, f64::min);
    let most = ranges.iter().copied().fold(0.0, f64::max);
    let nominal = ranges.get(ranges.len() / 2).copied().map_or(plain.nominal, shown);
    Reading {
        nominal,
        low: (least - off(least)).max(0.0),
        high: shown(most + off(most)),
        floating: false,
        ..plain
    }
}
