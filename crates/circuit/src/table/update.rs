//! Solving a changed network from a known factor.
//!
//! With the base's matrix G, its volts v₀, changed edges u₁…uₖ, their changes of conductance
//! D and R = Uᵀ G⁻¹ U, an edge that brings the volts E behind its change drives D w through itself,
//! where (1 + R D) w = E − Uᵀ v₀, and v = v₀ + G⁻¹ U D w. Volts behind a resistance, not a current
//! beside it: a source on a wire that hardly anything holds would drown in its own current.
//!
//! The elimination of 1 + R D needs no search for pivots: taken edge by edge, the pivot is
//! 1 + δ·r with r what the network so far shows at that edge. Added conductance comes first, so
//! that every network on the way is one. A pivot near nothing means that the edge was nearly
//! all that held an end; then digits are lost, and the network is factored afresh.

use std::sync::Arc;

use crate::Volts;
use crate::solve::Solver;
use crate::solve::network::Network;
use crate::solve::settle::{Afresh, Linear, Settled};

use super::Counts;
use super::base::{Base, Columns};
use super::stage::{Kind, Stage};

/// Most changed edges that are still updated.
const MOST_CHANGES: usize = 24;

/// Least pivot, against what its terms amount to, that still keeps enough digits.
const LEAST_PIVOT: f64 = 3e-6;

/// Most volts of rounding.
const MOST_NOISE: Volts = 1e-9;

/// A solve by update where that keeps the digits, afresh where not.
pub(super) struct Update<'t, 'c> {
    pub(super) solver: &'t Solver<'c>,
    pub(super) bases: &'t [Base],
    /// False to factor afresh every time.
    updates: bool,
    /// Columns of each base.
    pub(super) columns: Vec<Columns>,
    /// Edges that faults and meter add to the circuit.
    pub(super) extra: Vec<(u32, u32)>,
    /// Where every settled standing is kept, if it is to be.
    pub(super) stages: Option<Vec<Stage>>,
    /// Which of them is the one that is reported.
    pub(super) end: Option<usize>,
    pub(super) counts: Counts,
    changes: Vec<Change>,
    last: Option<Updated>,
}

#[derive(Clone, Copy)]
struct Change {
    ends: (u32, u32),
    conductance: f64,
    current: f64,
    column: usize,
}

impl Change {
    /// The volts that the change brings behind its conductance.
    fn volts(&self) -> Volts {
        if self.conductance == 0.0 { 0.0 } else { self.current / self.conductance }
    }
}

/// What an update leaves for further updates of its own.
#[derive(Clone)]
pub(super) struct Updated {
    /// The base that was updated.
    pub(super) base: usize,
    /// Column and ends of each changed edge.
    pub(super) edges: Vec<(usize, (u32, u32))>,
    /// D (1 + R D)⁻¹, row by row.
    pub(super) matrix: Vec<f64>,
    /// The least pivot against its terms: one over the digits lost.
    pub(super) least_pivot: f64,
}

impl<'t, 'c> Update<'t, 'c> {
    pub(super) fn new(solver: &'t Solver<'c>, bases: &'t [Base], updates: bool) -> Update<'t, 'c> {
        Update {
            solver,
            bases,
            updates,
            columns: bases.iter().map(|_| Columns::default()).collect(),
            extra: Vec::new(),
            stages: None,
            end: None,
            counts: Counts::default(),
            changes: Vec::new(),
            last: None,
        }
    }

    /// Starts a new network with these edges beside the circuit's own.
    pub(super) fn start(&mut self, record: bool) {
        self.stages = record.then(Vec::new);
        self.end = None;
        self.last = None;
    }

    /// The base that stands as a network does, else the healthy end.
    fn base(&self, network: &Network) -> usize {
        let alike = self.bases.iter().position(|base| base.stands_like(network));
        alike.unwrap_or(self.bases.len() - 1)
    }

    /// Finds what differs from a base; false if this cannot be updated.
    fn find_changes(&mut self, index: usize, network: &Network, settled: &Settled) -> bool {
        let base = &self.bases[index];
        self.changes.clear();
        let own = base.conductance.len();
        let edges = network.conductance.iter().zip(&network.current).enumerate();
        for (edge, (&conductance, &current)) in edges {
            let (was, drove) =
                if edge < own { (base.conductance[edge], base.current[edge]) } else { (0.0, 0.0) };
            if conductance == was && current == drove {
                continue;
            }
            let ends = settled.ends[edge];
            if ends.0 == ends.1 {
                continue;
            }
            if !base.values.joined(ends.0 as usize, ends.1 as usize) || self.changes.len() == MOST_CHANGES {
                return false;
            }
            let column = self.columns[index].of(&self.solver.base, base, ends);
            self.changes.push(Change {
                ends,
                conductance: conductance - was,
                current: current - drove,
                column,
            });
        }
        self.changes.sort_by_key(|change| change.conductance < 0.0);
        true
    }

    /// Solves by update; `None` if this would lose digits.
    fn update(&mut self, network: &Network, settled: &mut Settled) -> Option<Updated> {
        let index = self.base(network);
        if !self.updates || !self.find_changes(index, network, settled) {
            return None;
        }
        let (base, columns, changes) = (&self.bases[index], &self.columns[index], &self.changes);
        let count = changes.len();
        let shown = |one: &Change, other: &Change| columns.across(other.column, one.ends);
        let mut matrix = Vec::with_capacity(count * count);
        for (row, one) in changes.iter().enumerate() {
            for (column, other) in changes.iter().enumerate() {
                let own = if row == column { 1.0 } else { 0.0 };
                matrix.push(own + shown(one, other) * other.conductance);
            }
        }
        let scale: Vec<f64> = changes.iter().map(|c| 1.0 + c.conductance.abs() * shown(c, c).abs()).collect();
        let least_pivot = invert(&mut matrix, &scale)?;
        let driven: Vec<Volts> = changes
            .iter()
            .map(|one| {
                let healthy = base.volts[one.ends.0 as usize] - base.volts[one.ends.1 as usize];
                let pure = changes.iter().filter(|c| c.conductance == 0.0);
                one.volts() - healthy - pure.map(|other| shown(one, other) * other.current).sum::<f64>()
            })
            .collect();
        settled.volts.clone_from(&base.volts);
        let mut noise = 0.0;
        for (row, change) in changes.iter().enumerate() {
            let inverse = &matrix[row * count..(row + 1) * count];
            let volts: f64 = inverse.iter().zip(&driven).map(|(m, v)| m * v).sum();
            let pure = if change.conductance == 0.0 { change.current } else { 0.0 };
            let current = change.conductance * volts + pure;
            let lost = f64::EPSILON * shown(change, change).abs() / least_pivot;
            noise += current.abs() * (columns.noise(change.column) + lost);
            if current != 0.0 {
                for (volts, unit) in settled.volts.iter_mut().zip(columns.volts(change.column)) {
                    *volts += current * unit;
                }
            }
        }
        if noise > MOST_NOISE {
            return None;
        }
        for (row, change) in changes.iter().enumerate() {
            for value in &mut matrix[row * count..(row + 1) * count] {
                *value *= change.conductance;
            }
        }
        let edges = changes.iter().map(|c| (c.column, c.ends)).collect();
        Some(Updated { base: index, edges, matrix, least_pivot })
    }
}

impl Linear for Update<'_, '_> {
    fn solve(&mut self, network: &Network, settled: &mut Settled) {
        settled.solves += 1;
        self.last = self.update(network, settled);
        if self.last.is_some() {
            self.counts.updates += 1;
        } else {
            self.counts.refactored += 1;
            let pattern = self.solver.pattern(&self.extra);
            Afresh(&pattern).solve(network, settled);
        }
    }

    fn solve_finely(&mut self, network: &Network, settled: &mut Settled) {
        self.counts.refactored += 1;
        self.last = None;
        Afresh(&self.solver.pattern(&self.extra)).solve_finely(network, settled);
    }

    fn unit_volts(
        &mut self,
        network: &Network,
        settled: &Settled,
        ends: (u32, u32),
        asked: &[(u32, u32)],
    ) -> Option<Vec<f64>> {
        let Some(updated) = self.last.take() else {
            // The last solve was a fresh one, and its factor is the settled network's.
            return Afresh(&self.solver.pattern(&self.extra)).unit_volts(network, settled, ends, asked);
        };
        let base = &self.bases[updated.base];
        let joined = ends.0 != ends.1 && base.values.joined(ends.0 as usize, ends.1 as usize);
        let volts = joined.then(|| {
            let columns = &mut self.columns[updated.base];
            let column = columns.of(&self.solver.base, base, ends);
            let at = |&other: &(u32, u32)| columns.across(column, other) - updated.less(columns, other, ends);
            asked.iter().map(at).collect()
        });
        self.last = Some(updated);
        volts
    }

    fn outputs_settled(&mut self, network: &Network, settled: &Settled) {
        let Some(mut stages) = self.stages.take() else { return };
        let kind = match self.last.clone() {
            Some(updated) => Kind::Updated(updated),
            None => Kind::Fresh(Arc::clone(&self.solver.pattern(&self.extra)), settled.values.clone()),
        };
        stages.push(Stage::new(self, kind, network, settled));
        self.stages = Some(stages);
    }

    fn reached(&mut self) {
        self.end = self.stages.as_ref().and_then(|stages| stages.len().checked_sub(1));
    }
}

/// Inverts a small matrix in place, pivots on its diagonal as they come. The answer is the least
/// pivot against its scale, `None` if that is too little.
fn invert(matrix: &mut [f64], scale: &[f64]) -> Option<f64> {
    let count = scale.len();
    let mut least: f64 = 1.0;
    for pivot in 0..count {
        let value = matrix[pivot * count + pivot];
        let share = value / scale[pivot];
        least = least.min(share);
        // Written so that a value that is not a number is refused too.
        if !(share >= LEAST_PIVOT && value.is_finite()) {
            return None;
        }
        matrix[pivot * count + pivot] = 1.0;
        for column in 0..count {
            matrix[pivot * count + column] /= value;
        }
        for row in (0..count).filter(|&row| row != pivot) {
            let factor = matrix[row * count + pivot];
            if factor != 0.0 {
                matrix[row * count + pivot] = 0.0;
                for column in 0..count {
                    matrix[row * count + column] -= factor * matrix[pivot * count + column];
                }
            }
        }
    }
    Some(least)
}

#[cfg(test)]
mod tests {
    use super::invert;

    #[test]
    fn a_small_matrix_is_inverted() {
        let mut matrix = [2.0, 1.0, 1.0, 3.0];
        assert_eq!(invert(&mut matrix, &[1.0, 1.0]), Some(1.0));
        for (value, expected) in matrix.iter().zip([0.6, -0.2, -0.2, 0.4]) {
            assert!((value - expected).abs() < 1e-15);
        }
    }

    #[test]
    fn a_pivot_near_nothing_is_refused() {
        assert_eq!(invert(&mut [1e-10], &[2.0]), None);
        assert_eq!(invert(&mut [f64::NAN], &[2.0]), None);
    }
}
