//! Random families of test-sequencing problems, to hold the planner's rollout to the exact optimum.
//!
//! The families are those of the published comparison that the project measures itself by, drawn by a
//! generator of our own so that a seed means the same for ever. Distributions, all independent:
//!
//! - **suspects** have weights uniform between 0.05 and 1;
//! - **tests** of the table families give each suspect one of their outcomes with equal chance; a table
//!   in which two suspects read alike in every test is drawn again;
//! - **costs** are 1, or whole numbers from 1 to 10; in the series path from 1 to 8;
//! - **the series path** has one probe at each border between neighbours, which says on which side the break is.
//!
//! The optimum is worked out here by recursion over all sets of suspects, without the planner's search.

use std::collections::HashMap;

use halfsplit_plan::search::{Effort, Proof, Set, Table, Test, follow, lower_bound, roll};

use crate::outside::random::Random;

/// What is drawn.
#[derive(Clone, Copy, Debug)]
pub struct Family {
    /// In words.
    pub name: &'static str,
    /// How many suspects.
    pub suspects: usize,
    /// How many tests; none for the series path, which has one a border.
    pub tests: usize,
    /// Outcomes of a test.
    pub outcomes: u8,
    /// Costs are whole numbers from 1 to this.
    pub dearest: usize,
}

/// Families of which the optimum can be worked out.
pub const SMALL: [Family; 5] = [
    Family { name: "8 suspects, 12 tests, unit cost", suspects: 8, tests: 12, outcomes: 2, dearest: 1 },
    Family { name: "8 suspects, 12 tests, cost 1 to 10", suspects: 8, tests: 12, outcomes: 2, dearest: 10 },
    Family { name: "10 suspects, 15 tests, cost 1 to 10", suspects: 10, tests: 15, outcomes: 2, dearest: 10 },
    Family { name: "8 suspects, 10 three-way tests", suspects: 8, tests: 10, outcomes: 3, dearest: 10 },
    Family { name: "series path of 10, cost 1 to 8", suspects: 10, tests: 0, outcomes: 2, dearest: 8 },
];

/// The family that is held against the proved bound only.
pub const LARGE: Family =
    Family { name: "20 suspects, 30 tests, cost 1 to 10", suspects: 20, tests: 30, outcomes: 2, dearest: 10 };

/// States that the bound of the large family may look ahead.
const LOOK_AHEAD: usize = 1_000;

/// One problem: weights, and tests as cost and outcome of each suspect.
#[derive(Clone, Debug)]
pub struct Instance {
    /// Relative chances.
    pub weights: Vec<f64>,
    /// Cost and outcomes.
    pub tests: Vec<(f64, Vec<u8>)>,
}

impl Family {
    /// The problem of a seed.
    pub fn instance(&self, seed: u64) -> Instance {
        let mut random = Random::new(seed ^ (self.suspects as u64) << 32 ^ (self.tests as u64) << 40);
        loop {
            let weights = (0..self.suspects).map(|_| random.between(0.05, 1.0)).collect();
            let count = if self.tests == 0 { self.suspects - 1 } else { self.tests };
            let tests: Vec<(f64, Vec<u8>)> = (0..count)
                .map(|at| {
                    let cost = (1 + random.below(self.dearest)) as f64;
                    let outcome = |suspect: usize, random: &mut Random| match self.tests {
                        0 => u8::from(suspect > at),
                        _ => random.below(usize::from(self.outcomes)) as u8,
                    };
                    (cost, (0..self.suspects).map(|suspect| outcome(suspect, &mut random)).collect())
                })
                .collect();
            let instance = Instance { weights, tests };
            if instance.tells_all_apart() {
                return instance;
            }
        }
    }
}

impl Instance {
    fn tells_all_apart(&self) -> bool {
        let count = self.weights.len();
        (0..count)
            .all(|one| (0..one).all(|other| self.tests.iter().any(|(_, reads)| reads[one] != reads[other])))
    }

    /// As the planner's search takes it.
    pub fn table(&self) -> Table {
        let tests = self.tests.iter().map(|(cost, reads)| Test::of(*cost, reads.clone())).collect();
        Table::new(self.weights.clone(), tests)
    }

    fn weight(&self, set: u32) -> f64 {
        (0..self.weights.len()).filter(|at| set >> at & 1 == 1).map(|at| self.weights[at]).sum()
    }

    /// Expected cost of the best tree, by recursion over all sets.
    pub fn optimum(&self) -> f64 {
        let all = (1_u32 << self.weights.len()) - 1;
        self.best(all, &mut HashMap::new()) / self.weight(all)
    }

    /// Cost of a set, weighted by its chance.
    fn best(&self, set: u32, known: &mut HashMap<u32, f64>) -> f64 {
        if set.count_ones() < 2 {
            return 0.0;
        }
        if let Some(&cost) = known.get(&set) {
            return cost;
        }
        let mut least = f64::INFINITY;
        for (cost, reads) in &self.tests {
            let mut parts = [0_u32; 4];
            for at in (0..self.weights.len()).filter(|at| set >> at & 1 == 1) {
                parts[usize::from(reads[at])] |= 1 << at;
            }
            if parts.contains(&set) {
                continue;
            }
            let below: f64 = parts.iter().map(|&part| self.best(part, known)).sum();
            least = least.min(cost * self.weight(set) + below);
        }
        known.insert(set, least);
        least
    }

    /// Expected cost of the two-level rollout alone.
    pub fn rolled(&self) -> f64 {
        roll(&mut self.table(), Effort::default()).map_or(f64::INFINITY, |tree| tree.expected)
    }

    /// Expected cost of taking the most information per cost, step by step.
    pub fn greedy(&self) -> f64 {
        let weights = &self.weights;
        let bits = |set: Set| {
            let whole: f64 = set.iter().map(|at| weights[at]).sum();
            let share = |at: usize| weights[at] / whole;
            (whole, set.iter().map(|at| -share(at) * share(at).log2()).sum::<f64>())
        };
        let tree = follow(&mut self.table(), |set, _, moves| {
            let (whole, before) = bits(set);
            let gain = |step: &halfsplit_plan::search::Move| {
                let after: f64 =
                    step.outcomes.iter().map(|o| bits(o.set)).map(|(w, bits)| w / whole * bits).sum();
                (before - after) / step.minutes
            };
            let all = 0..moves.len();
            all.max_by(|&a, &b| gain(&moves[a]).total_cmp(&gain(&moves[b])).then(b.cmp(&a)))
        });
        tree.expected
    }

    /// Cost that no tree can beat, as the planner proves it.
    pub fn bound(&self) -> f64 {
        match roll(&mut self.table(), Effort::of(LOOK_AHEAD)).map(|tree| tree.proof) {
            Ok(Proof::Bounded { bound }) => bound,
            _ => {
                let members = self.weights.iter().copied().enumerate();
                lower_bound(members, &[], 2)
            }
        }
    }
}

/// How far a planner's costs are from what they are held against.
#[derive(Clone, Copy, Debug)]
pub struct Gap {
    /// Mean ratio.
    pub mean: f64,
    /// The ratio that one in twenty exceeds.
    pub high: f64,
    /// Worst ratio.
    pub worst: f64,
    /// Share of instances without any gap.
    pub exact: f64,
}

impl Gap {
    /// Of these ratios.
    pub fn of(mut ratios: Vec<f64>) -> Gap {
        ratios.sort_by(f64::total_cmp);
        let count = ratios.len() as f64;
        let last = ratios.last().copied().unwrap_or(f64::NAN);
        Gap {
            mean: ratios.iter().sum::<f64>() / count,
            high: ratios.get(ratios.len() * 95 / 100).copied().unwrap_or(last),
            worst: last,
            exact: ratios.iter().filter(|ratio| **ratio < 1.0 + 1e-9).count() as f64 / count,
        }
    }
}

/// Ratios of the rollout and of the greedy planner to the optimum, over so many instances.
pub fn against_optimum(family: &Family, instances: u64) -> (Gap, Gap) {
    let mut ratios = (Vec::new(), Vec::new());
    for seed in 0..instances {
        let instance = family.instance(seed);
        let optimum = instance.optimum();
        ratios.0.push(instance.rolled() / optimum);
        ratios.1.push(instance.greedy() / optimum);
    }
    (Gap::of(ratios.0), Gap::of(ratios.1))
}

/// Ratios of the rollout and of the greedy planner to the proved bound, over so many instances.
pub fn against_bound(family: &Family, instances: u64) -> (Gap, Gap) {
    let mut ratios = (Vec::new(), Vec::new());
    for seed in 0..instances {
        let instance = family.instance(seed);
        let bound = instance.bound();
        ratios.0.push(instance.rolled() / bound);
        ratios.1.push(instance.greedy() / bound);
    }
    (Gap::of(ratios.0), Gap::of(ratios.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_oracle_knows_the_published_example() {
        // Six states of Pattipati and Alexandridis 1990 (matrix MEMORY; 2.18 COMPUTED by exhaustion).
        let rows = [
            [0, 0, 0, 1, 1, 1],
            [0, 1, 0, 0, 1, 1],
            [0, 0, 1, 0, 0, 1],
            [0, 0, 1, 1, 0, 1],
            [0, 1, 0, 1, 0, 0],
        ];
        let tests = rows.iter().map(|row| (1.0, row.to_vec())).collect();
        let instance = Instance { weights: vec![0.70, 0.01, 0.02, 0.10, 0.05, 0.12], tests };
        assert!((instance.optimum() - 2.18).abs() < 1e-9);
        assert!((instance.greedy() - 2.86).abs() < 1e-9, "one-step information is published as 2.86");
    }

    #[test]
    fn a_seed_means_the_same_for_ever() {
        let instance = SMALL[1].instance(7);
        assert_eq!(instance.tests[0].0, SMALL[1].instance(7).tests[0].0);
        assert!(instance.tells_all_apart());
        assert_ne!(instance.weights, SMALL[1].instance(8).weights);
    }
}
