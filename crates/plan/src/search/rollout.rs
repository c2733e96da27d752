//! Rollout: where the exact optimum is out of reach, every move is tried and
//! finished with a simpler policy, twice over.
//!
//! The base is the most information per minute, set-up included; the first
//! level completes every move with the base, the second completes every move
//! with the first level (Tu and Pattipati 2003 for rollout on information).
//! Small sets are finished exactly on all of them.

use std::collections::HashMap;

use super::{
    Effort, Meter, Move, Problem, Proof, SearchError, Set, Setup, Tree, deepen, grow, policy, progresses,
    weight_of,
};

/// Levels of rollout on the base policy.
const LEVELS: usize = 2;
/// Sets up to this size are finished exactly on every level; they are cheap and end every path.
const SMALL: usize = 5;

pub(super) fn solve<P: Problem>(problem: &mut P, effort: Effort<'_>) -> Result<Tree, SearchError> {
    let weights = problem.weights().to_vec();
    let classes = problem.classes();
    let mut roll = Rollout {
        weights,
        known: vec![HashMap::new(); LEVELS + 1],
        classes,
        meter: Meter::new(problem, effort, effort.work / 4),
    };
    let nodes = grow(problem, &mut |problem, set, setup| {
        while !roll.meter.cancelled {
            let step = roll.best(problem, set, setup, LEVELS).1?;
            let exact = problem.exactly(set, setup, &step).filter(|exact| progresses(problem, set, exact));
            if exact.is_some() {
                return exact;
            }
            roll.known.iter_mut().for_each(|known| drop(known.remove(&(set, setup))));
        }
        None
    });
    if roll.meter.cancelled {
        return Err(SearchError::Cancelled);
    }
    let expected = nodes.first().map_or(0.0, |n| n.expected);
    let bound = deepen::lower_bound(problem, effort, expected);
    Ok(Tree { nodes, expected, proof: Proof::Bounded { bound }, states: roll.meter.opened })
}

/// Weighted minutes to go from a state, and the move taken there.
type Known = HashMap<(Set, Setup), (f64, Option<Move>)>;

struct Rollout<'a> {
    weights: Vec<f64>,
    /// What is known, by level.
    known: Vec<Known>,
    classes: Vec<usize>,
    meter: Meter<'a>,
}

impl Rollout<'_> {
    fn best<P: Problem>(
        &mut self,
        problem: &mut P,
        set: Set,
        setup: Setup,
        level: usize,
    ) -> (f64, Option<Move>) {
        let weight = weight_of(&self.weights, set);
        if let Some(due) = problem.settled(set, setup) {
            return (due * weight, None);
        }
        if let Some(known) = self.known[level].get(&(set, setup)) {
            return known.clone();
        }
        let spent = !self.meter.open(problem);
        // What a lower level found is better than the base, which is all that is left to do.
        if spent && let Some(known) = self.best_below(set, setup, level) {
            return known;
        }
        let moves: Vec<Move> =
            problem.moves(set, setup).into_iter().filter(|m| progresses(problem, set, m)).collect();
        // Past the budget or cancelled the base alone still ends the tree.
        let small = set.len() <= SMALL;
        let found = if spent || level == 0 && !small {
            match policy::most_information(&self.weights, &self.classes, set, &moves) {
                None => (problem.stuck(set, setup) * weight, None),
                Some(step) => {
                    let cost = self.cost(problem, weight, step, 0);
                    (cost, Some(step.clone()))
                }
            }
        } else {
            let below = if small { level } else { level - 1 };
            let mut best: (f64, Option<Move>) = (f64::INFINITY, None);
            for step in moves {
                let cost = self.cost(problem, weight, &step, below);
                if cost < best.0 {
                    best = (cost, Some(step));
                }
            }
            if best.1.is_none() { (problem.stuck(set, setup) * weight, None) } else { best }
        };
        self.known[level].insert((set, setup), found.clone());
        found
    }

    /// The best that lower levels found for a state.
    fn best_below(&self, set: Set, setup: Setup, level: usize) -> Option<(f64, Option<Move>)> {
        let found = self.known[..level].iter().filter_map(|known| known.get(&(set, setup)));
        found.min_by(|one, other| one.0.total_cmp(&other.0)).cloned()
    }

    /// Weighted minutes of a move whose outcomes are finished at `level`.
    fn cost<P: Problem>(&mut self, problem: &mut P, weight: f64, step: &Move, level: usize) -> f64 {
        let mut cost = step.minutes * weight;
        for o in &step.outcomes {
            cost += o.minutes * weight_of(&self.weights, o.set);
            cost += self.best(problem, o.set, o.setup, level).0;
        }
        cost
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::search::{Table, Test, solve as best};

    #[test]
    fn two_levels_find_the_optimum_where_information_alone_does_not() {
        // Values, part 2, example E1: one-step information 2.86, rollout 2.18.
        let mut table = Table::of_pattipati_and_alexandridis();
        let exact = best(&mut table, Effort::default()).unwrap();
        let rolled = solve(&mut table, Effort::default()).unwrap();
        assert!((exact.expected - 2.18).abs() < 1e-9);
        assert!((rolled.expected - 2.18).abs() < 1e-9);
        assert!(
            matches!(rolled.proof, Proof::Bounded { bound } if (1.59 - 1e-9..=2.18 + 1e-9).contains(&bound))
        );
    }

    #[test]
    fn past_the_budget_the_tree_still_ends_everywhere() {
        let tests = (0..20)
            .map(|k| Test::of(1.0 + f64::from(k % 5), (0..20).map(|s| u8::from(s <= k)).collect()))
            .collect();
        let mut table = Table::new(vec![1.0; 20], tests);
        let tree = solve(&mut table, Effort::of(10)).unwrap();
        let ends = tree.nodes.iter().filter(|n| n.step.is_none());
        assert!(ends.clone().all(|n| n.set.len() == 1));
        assert_eq!(ends.count(), 20);
    }

    #[test]
    fn enough_gives_the_best_tree_so_far() {
        let tests = (0..40).map(|k| Test::of(1.0, (0..40).map(|s| u8::from(s <= k)).collect())).collect();
        let mut table = Table::new(vec![1.0; 40], tests);
        let tree = best(&mut table, Effort { enough: Some(&|| true), ..Effort::default() }).unwrap();
        assert!(tree.nodes.iter().filter(|n| n.step.is_none()).all(|n| n.set.len() == 1));
        assert!(matches!(tree.proof, Proof::Bounded { bound } if bound <= tree.expected));
    }

    /// Past its effort a search still walks its tree to the end, and hears on the way that nobody wants it any more.
    #[test]
    fn cancelling_past_the_budget_says_so_too() {
        let tests = (0..40).map(|k| Test::of(1.0, (0..40).map(|s| u8::from(s <= k)).collect())).collect();
        let mut table = Table::new(vec![1.0; 40], tests);
        let calls = std::cell::Cell::new(0);
        let late = || calls.replace(calls.get() + 1) >= 2;
        let tree = solve(&mut table, Effort { cancelled: Some(&late), ..Effort::of(1) });
        assert_eq!(tree.unwrap_err(), SearchError::Cancelled);
    }

    #[test]
    fn cancelling_says_so() {
        let tests = (0..40).map(|k| Test::of(1.0, (0..40).map(|s| u8::from(s <= k)).collect())).collect();
        let mut table = Table::new(vec![1.0; 40], tests);
        let tree = solve(&mut table, Effort { cancelled: Some(&|| true), ..Effort::default() });
        assert_eq!(tree.unwrap_err(), SearchError::Cancelled);
    }
}
