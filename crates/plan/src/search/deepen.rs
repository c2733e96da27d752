//! A bound from looking ahead: what the first steps cost at least, whichever they are.
//!
//! Huffman's bound counts every step at the price of the cheapest. Here the tree of all moves that
//! cost less than a limit is opened, limit after limit; what lies beyond a limit, or beyond the
//! effort, counts as that limit or as Huffman's bound. Outcomes may be parted finer than a person
//! can ([`Problem::finest`]): knowing more never costs more, so the bound holds.

use std::collections::HashMap;

use halfsplit_circuit::Minutes;

use super::{Effort, Meter, Problem, Set, Setup, bound, weight_of};

/// States that may be opened.
const STATES: usize = 20_000;

/// Expected minutes that no tree can beat; `expected` are those of a tree that is known.
pub(super) fn lower_bound<P: Problem>(problem: &mut P, effort: Effort<'_>, expected: Minutes) -> Minutes {
    let root = Set::first(problem.weights().len());
    let start = problem.start();
    let (weights, classes) = (problem.weights().to_vec(), problem.classes());
    let (floors, arity) = (problem.floors(), problem.arity());
    let states = effort.states.min(STATES);
    let meter = Meter::new(problem, Effort { states, ..effort }, effort.work / 4);
    let mut ahead = Ahead { problem, weights, classes, floors, arity, meter, known: HashMap::new() };
    let mut best = ahead.at_once(root);
    let mut limit = best.max(expected / 64.0);
    while limit < 2.0 * expected && !ahead.meter.spent {
        best = best.max(ahead.open(root, start, limit.min(expected)));
        limit *= 1.5;
    }
    best.min(expected)
}

struct Ahead<'a, 'e, P> {
    problem: &'a mut P,
    weights: Vec<f64>,
    classes: Vec<usize>,
    floors: Vec<Minutes>,
    arity: usize,
    meter: Meter<'e>,
    /// What was found, and the limit it was looked for under: less than the limit is final.
    known: HashMap<(Set, Setup), (Minutes, Minutes)>,
}

impl<P: Problem> Ahead<'_, '_, P> {
    fn at_once(&self, set: Set) -> Minutes {
        let members = set.iter().map(|i| (self.classes[i], self.weights[i]));
        bound::lower_bound(members, &self.floors, self.arity)
    }

    /// The lesser of `limit` and a bound on the expected minutes from here.
    fn open(&mut self, set: Set, setup: Setup, limit: Minutes) -> Minutes {
        if let Some(due) = self.problem.settled(set, setup) {
            return due.min(limit);
        }
        let known = self.known.get(&(set, setup)).copied();
        if let Some((found, under)) = known
            && (found < under || under >= limit)
        {
            return found.min(limit);
        }
        let least = self.at_once(set).max(known.map_or(0.0, |k| k.0));
        if least >= limit || !self.meter.open(self.problem) {
            return least.min(limit);
        }
        // Where the walk may end undecided for less than the limit, every move has to be looked at.
        let stuck = self.problem.stuck(set, setup);
        let below = if stuck < limit { f64::INFINITY } else { limit };
        let mut moves = self.problem.finest(set, setup, below);
        moves.sort_by(|a, b| a.minutes.total_cmp(&b.minutes));
        let mut best = if moves.is_empty() { limit.min(stuck) } else { limit };
        let weight = weight_of(&self.weights, set);
        for step in moves {
            let mut cost = step.minutes;
            for outcome in &step.outcomes {
                if cost >= best {
                    break;
                }
                let share = weight_of(&self.weights, outcome.set) / weight;
                let left = ((best - cost) / share - outcome.minutes).clamp(0.0, limit);
                cost += share * (outcome.minutes + self.open(outcome.set, outcome.setup, left));
            }
            best = best.min(cost);
        }
        let best = best.max(least);
        // A search cut short proves what it found, not that more than the limit is due.
        let under = if self.meter.spent { best.min(limit) } else { limit };
        self.known.insert((set, setup), (best, under));
        best
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::search::{Table, Test, solve};

    #[test]
    fn a_whole_look_ahead_is_the_optimum() {
        // Values, part 2, example E1: optimum 2.18 COMPUTED by exhaustion.
        let mut table = Table::of_pattipati_and_alexandridis();
        let bound = lower_bound(&mut table, Effort::default(), 2.18);
        assert!((bound - 2.18).abs() < 1e-9, "{bound}");
    }

    #[test]
    fn a_bound_never_exceeds_the_optimum() {
        for seed in 1..40u64 {
            let outcome =
                |s: u64, t: u64| ((s * (seed + 6) + t * (seed % 5 + 4) + s * t * seed) % 3 / 2) as u8;
            let tests = (0..9)
                .map(|t| Test::of((1 + (t * 4 + seed) % 9) as f64, (0..7).map(|s| outcome(s, t)).collect()));
            let mut table = Table::new((1..=7).map(f64::from).collect(), tests.collect());
            let optimum = solve(&mut table, Effort::default()).unwrap().expected;
            for states in [1, 3, 10, 100, 10_000] {
                let bound = lower_bound(&mut table, Effort::of(states), optimum * 1.3);
                assert!(bound <= optimum + 1e-9, "seed {seed}, {states} states: {bound} over {optimum}");
            }
        }
    }
}
