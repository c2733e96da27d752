//! The healthy network's factors, one for each standing of its relays and modules.

use std::collections::HashMap;

use crate::solve::network::{Corner, Network};
use crate::solve::settle::{self, Afresh, Linear, Settled};
use crate::solve::sparse::{Pattern, Values};
use crate::solve::{Problem, Solver};
use crate::{State, Volts};

/// A settled standing of the healthy network and its factor.
pub(super) struct Base {
    pub(super) values: Values,
    pub(super) conductance: Vec<f64>,
    pub(super) current: Vec<f64>,
    /// By position.
    pub(super) volts: Vec<Volts>,
    pulled: Vec<bool>,
    awake: Vec<bool>,
}

impl Base {
    /// Whether relays and modules of a network stand as they do here.
    pub(super) fn stands_like(&self, network: &Network) -> bool {
        self.pulled.iter().copied().eq(network.coils.iter().map(|c| c.pulled))
            && self.awake.iter().copied().eq(network.modules.iter().map(|m| m.awake))
    }
}

/// Every standing that the healthy network passes on its way from rest.
///
/// # Errors
/// When not even the healthy network can be assembled. One that does not come to rest is no
/// error here: a fault may well end that.
pub(super) fn of(solver: &Solver<'_>, state: &State, corner: &Corner) -> Result<Vec<Base>, Problem> {
    if let Some(problem) = &solver.problem {
        return Err(problem.clone());
    }
    let (mut network, mut settled) = (Network::default(), Settled::default());
    network.assemble(solver, state, &[], &[], corner, solver.supply(state))?;
    let place = |&(a, b): &(u32, u32)| (solver.base.position(a) as u32, solver.base.position(b) as u32);
    settled.ends.extend(solver.edges.iter().map(place));
    let mut collect = Collect { solve: Afresh(&solver.base), bases: Vec::new(), end: 0 };
    let _ = settle::settle(solver, &mut collect, &mut network, &mut settled, false, false);
    let end = collect.end;
    // A standing that nobody has is best met from the one that the healthy network ends in.
    if end + 1 < collect.bases.len() {
        let last = collect.bases.len() - 1;
        collect.bases.swap(end, last);
    }
    if collect.bases.is_empty() { Err(Problem::Fault) } else { Ok(collect.bases) }
}

/// Solves afresh and keeps every factor with which all outputs are settled.
struct Collect<'p> {
    solve: Afresh<'p>,
    bases: Vec<Base>,
    end: usize,
}

impl Linear for Collect<'_> {
    fn solve(&mut self, network: &Network, settled: &mut Settled) {
        self.solve.solve(network, settled);
    }

    fn solve_finely(&mut self, network: &Network, settled: &mut Settled) {
        self.solve.solve_finely(network, settled);
    }

    fn unit_volts(
        &mut self,
        network: &Network,
        settled: &Settled,
        ends: (u32, u32),
        asked: &[(u32, u32)],
    ) -> Option<Vec<f64>> {
        self.solve.unit_volts(network, settled, ends, asked)
    }

    fn outputs_settled(&mut self, network: &Network, settled: &Settled) {
        if self.bases.iter().any(|base| base.stands_like(network)) {
            return;
        }
        self.bases.push(Base {
            values: settled.values.clone(),
            conductance: network.conductance.clone(),
            current: network.current.clone(),
            volts: settled.volts.clone(),
            pulled: network.coils.iter().map(|c| c.pulled).collect(),
            awake: network.modules.iter().map(|m| m.awake).collect(),
        });
    }

    fn reached(&mut self) {
        self.end = self.bases.len().saturating_sub(1);
    }
}

/// Volts everywhere for one ampere into one position and out of another, found when first asked for.
#[derive(Default)]
pub(super) struct Columns {
    known: HashMap<(u32, u32), usize>,
    volts: Vec<Vec<Volts>>,
    noise: Vec<Volts>,
}

impl Columns {
    /// The place of the column for a pair of positions, which have to be joined.
    pub(super) fn of(&mut self, pattern: &Pattern, base: &Base, ends: (u32, u32)) -> usize {
        *self.known.entry(ends).or_insert_with(|| {
            self.noise.push(pattern.rounding(&base.values, ends.0, ends.1));
            self.volts.push(unit_current(pattern, &base.values, ends));
            self.volts.len() - 1
        })
    }

    /// The place of the column for a pair of positions, if it has been asked for.
    pub(super) fn known(&self, ends: (u32, u32)) -> Option<usize> {
        self.known.get(&ends).copied()
    }

    /// Volts between two positions in a column.
    pub(super) fn across(&self, column: usize, (a, b): (u32, u32)) -> f64 {
        let volts = &self.volts[column];
        volts[a as usize] - volts[b as usize]
    }

    /// How far rounding may have lifted a column's volts together.
    pub(super) fn noise(&self, column: usize) -> Volts {
        self.noise[column]
    }

    /// A whole column.
    pub(super) fn volts(&self, column: usize) -> &[Volts] {
        &self.volts[column]
    }
}

/// Volts by position for one ampere into one position and out of another.
pub(super) fn unit_current(pattern: &Pattern, values: &Values, (a, b): (u32, u32)) -> Vec<Volts> {
    let mut volts = vec![0.0; pattern.points()];
    if a != b && values.joined(a as usize, b as usize) {
        volts[a as usize] = 1.0;
        volts[b as usize] = -1.0;
        pattern.solve(values, &mut volts);
    }
    volts
}
