//! Every fault against every reading with its tolerances.
//!
//! [`Solver::read`] solves a reading a dozen times; here each corner of the tolerances is a table of its own,
//! with its own few factors, and every fault an update of them:
//!
//! - **supplies** by what their meter may be off or ±5 %, **loads** all together ±10 %, **outputs** with volts ±0.5 %
//!   and current limit ±10 % together, **lamps** at the filament law: a table for each end, and two with everything low where lamps are dim;
//! - **wires** between −20 and +80 °C, **contacts** and joints between half and twice their value, **loads**
//!   each on its own: from the unit current through the leads that the nominal table has anyway, exactly as
//!   `read` takes them.
//!
//! The deviations are added. `read` besides solves the worst of all groups together, for where they multiply,
//! so that its ends may lie a little further out: `tests/spread.rs` holds how far. The meter's own accuracy is left
//! out: whoever compares with a reading knows which meter took it.

use crate::interval::{self, LIMIT_SPREAD, LOAD_SPREAD, REFERENCE_SPREAD, Span};
use crate::meter::OVERLOAD;
use crate::solve::network::Corner;
use crate::{BranchKind, Fault, Load, Measure, Meter, ReadError, Solver, State};

use super::{Counts, How, Read, processors};

/// A reading with what tolerances make of it, the meter's own accuracy left out.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Spread {
    /// With every value as declared, in the unit that the meter is set to; infinite ohms is OL.
    pub nominal: f64,
    /// Least that tolerances allow.
    pub low: f64,
    /// Most that tolerances allow.
    pub high: f64,
    /// Whether nothing but the meter joins the leads.
    pub floating: bool,
    /// Whether at some end of the tolerances there is no steady reading, so that the ends leave it out.
    pub unsteady: bool,
}

/// What every meter reads under every fault, with tolerances.
#[derive(Clone, Debug)]
pub struct SpreadTable {
    meters: usize,
    cells: Vec<Result<Spread, ReadError>>,
    counts: Counts,
}

impl SpreadTable {
    /// What the meter of this place reads under the faults of this place.
    ///
    /// # Errors
    /// As [`ReadError`] says of the nominal reading; [`ReadError::Malformed`] outside the table.
    pub fn at(&self, faults: usize, meter: usize) -> Result<Spread, ReadError> {
        let cell = self.row(faults).get(meter).cloned();
        cell.unwrap_or_else(|| Err(ReadError::Malformed { what: "no such place in the table".to_owned() }))
    }

    /// The readings under the faults of this place, meter by meter; empty outside the table.
    pub fn row(&self, faults: usize) -> &[Result<Spread, ReadError>] {
        let start = faults.saturating_mul(self.meters);
        self.cells.get(start..start.saturating_add(self.meters)).unwrap_or(&[])
    }

    /// How it was computed, all corners together.
    pub fn counts(&self) -> Counts {
        self.counts
    }
}

impl Solver<'_> {
    /// What every meter reads under each set of faults that are there together, with tolerances; an empty set is
    /// the healthy circuit. Works on all processors.
    pub fn spread_table(&self, state: &State, faults: &[Vec<Fault>], meters: &[Meter]) -> SpreadTable {
        self.spread_table_on(processors(), state, faults, meters)
    }

    /// As [`Solver::spread_table`], on so many threads.
    pub fn spread_table_on(
        &self,
        threads: usize,
        state: &State,
        faults: &[Vec<Fault>],
        meters: &[Meter],
    ) -> SpreadTable {
        let mut counts = Counts::default();
        let mut fill = |corner: Corner, sweeps: bool| {
            let how = How { updates: true, corner, sweeps };
            let (cells, own) = self.fill(threads, how, state, faults, meters)?;
            counts.add(own);
            Some(cells)
        };
        let Some(nominal) = fill(Corner::NOMINAL, true) else {
            let table = self.table_afresh(state, faults, meters);
            let cells = table.cells.into_iter().map(|cell| cell.map(|read| bare(&(read, None)))).collect();
            return SpreadTable { meters: table.meters, cells, counts: table.counts };
        };
        let groups = self.corners(state, meters);
        let tables: Vec<_> =
            groups.iter().map(|(group, corner)| (*group, fill(*corner, false).unwrap_or_default())).collect();
        let mut cells = Vec::with_capacity(nominal.len());
        for (place, read) in nominal.into_iter().enumerate() {
            let ends = tables.iter().map(|(group, cells)| (*group, cells.get(place)));
            cells.push(read.map(|read| widened(&read, ends)));
        }
        SpreadTable { meters: meters.len(), cells, counts }
    }

    /// Both ends of every group that this circuit has.
    fn corners(&self, state: &State, meters: &[Meter]) -> Vec<(Group, Corner)> {
        let base = Corner::NOMINAL;
        let has =
            |wanted: &dyn Fn(&BranchKind) -> bool| self.circuit.branches.iter().any(|b| wanted(&b.kind));
        let mut corners = Vec::new();
        for load in [1.0 / (1.0 + LOAD_SPREAD), 1.0 / (1.0 - LOAD_SPREAD)] {
            corners.push((Group::Loads, Corner { load, ..base }));
        }
        if has(&|kind| matches!(kind, BranchKind::Reference { .. } | BranchKind::Generator { .. })) {
            for side in [-1.0, 1.0] {
                let (reference, limit) = (1.0 + side * REFERENCE_SPREAD, 1.0 + side * LIMIT_SPREAD);
                corners.push((Group::Outputs, Corner { reference, limit, ..base }));
            }
        }
        if state.battery && has(&|kind| matches!(kind, BranchKind::Source { .. })) {
            let off = interval::supply_off(self, state);
            corners.extend([-off, off].map(|supply| (Group::Supplies, Corner { supply, ..base })));
        }
        let lamp = |meter: &Meter| meter.measure == Measure::Volts(Load::Lamp);
        if has(&|kind| matches!(kind, BranchKind::Lamp { .. })) || meters.iter().any(lamp) {
            let dim = Corner { filament: true, ..base };
            corners.push((Group::Lamps, dim));
            // A dim lamp's resistance follows what else is low: there tolerances multiply, and are taken together.
            let (reference, limit) = (1.0 - REFERENCE_SPREAD, 1.0 - LIMIT_SPREAD);
            let supply = if state.battery { -interval::supply_off(self, state) } else { 0.0 };
            let dim = Corner { reference, limit, supply, ..dim };
            for load in [1.0 / (1.0 + LOAD_SPREAD), 1.0 / (1.0 - LOAD_SPREAD)] {
                corners.push((Group::Together, Corner { load, ..dim }));
            }
        }
        corners
    }
}

/// What varies together.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Group {
    Loads,
    Outputs,
    Supplies,
    Lamps,
    /// All of them at once, where lamps are dim.
    Together,
}

/// A reading without tolerances.
fn bare((nominal, _): &Read) -> Spread {
    let value = nominal.value;
    Spread { nominal: value, low: value, high: value, floating: nominal.floating, unsteady: false }
}

/// A reading with the deviations of every group added.
fn widened<'c>(
    read: &Read,
    ends: impl Iterator<Item = (Group, Option<&'c Result<Read, ReadError>>)>,
) -> Spread {
    let mut spread = bare(read);
    let (nominal, Some(each)) = read else { return spread };
    if !nominal.value.is_finite() {
        return spread;
    }
    let mut whole = each.span;
    // Loads each on its own may do more than all together, and less where a limiter sets in.
    let mut own = each.loads;
    let mut last = Group::Loads;
    let mut together = Span::default();
    for (group, cell) in ends {
        if group != last {
            whole.add(std::mem::take(&mut own));
            last = group;
        }
        match cell {
            Some(Ok((corner, _))) => {
                let deviation = corner.value.min(OVERLOAD) - nominal.value;
                if group == Group::Together { together.take(deviation) } else { own.take(deviation) }
            }
            _ => spread.unsteady = true,
        }
    }
    whole.add(own);
    let down = whole.down.min(together.down + each.span.down);
    let up = whole.up.max(together.up + each.span.up);
    (spread.low, spread.high) = (nominal.value + down, nominal.value + up);
    spread
}
