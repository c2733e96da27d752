//! The exact optimum by dynamic programming over suspects and set-up.
//!
//! Sets that cannot be reached are never opened, so a series path opens only
//! its intervals and a branching feed only its connected parts.

use std::collections::HashMap;

use super::{
    Effort, Meter, Move, Problem, Proof, Set, Setup, Tree, grow, lower_bound, progresses, weight_of,
};

/// Minutes by which two plans count as costing the same.
const A_TIE: f64 = 1e-9;

/// Why the exact search stopped short.
pub(super) enum Stop {
    Cancelled,
    Budget,
}

pub(super) fn solve<P: Problem>(problem: &mut P, effort: Effort<'_>) -> Result<Tree, Stop> {
    let weights = problem.weights().to_vec();
    let (classes, floors, arity) = (problem.classes(), problem.floors(), problem.arity());
    let meter = Meter::new(problem, effort, effort.work);
    let mut search = Search { problem, weights, classes, floors, arity, best: HashMap::new(), meter };
    let root = Set::first(search.weights.len());
    let start = search.problem.start();
    search.open(root, start)?;

    let states = search.best.len();
    let Search { problem, best, .. } = search;
    let nodes = grow(problem, &mut |_, set, setup| best.get(&(set, setup)).and_then(|b| b.1.clone()));
    let expected = nodes.first().map_or(0.0, |n| n.expected);
    Ok(Tree { nodes, expected, proof: Proof::Optimal, states })
}

struct Search<'a, P> {
    problem: &'a mut P,
    weights: Vec<f64>,
    classes: Vec<usize>,
    floors: Vec<f64>,
    arity: usize,
    /// Weighted minutes to go, and the move that achieves them.
    best: HashMap<(Set, Setup), (f64, Option<Move>)>,
    meter: Meter<'a>,
}

impl<P: Problem> Search<'_, P> {
    /// Least weighted minutes (minutes times weight of the set) from here.
    fn open(&mut self, set: Set, setup: Setup) -> Result<f64, Stop> {
        let weight = weight_of(&self.weights, set);
        if let Some(due) = self.problem.settled(set, setup) {
            return Ok(due * weight);
        }
        if let Some((known, _)) = self.best.get(&(set, setup)) {
            return Ok(*known);
        }
        if !self.meter.open(self.problem) {
            return Err(if self.meter.cancelled { Stop::Cancelled } else { Stop::Budget });
        }
        // Holds the place in the budget while the moves below are opened.
        self.best.insert((set, setup), (f64::INFINITY, None));

        let moves = self.problem.moves(set, setup);
        let mut ranked: Vec<(f64, Move)> = moves
            .into_iter()
            .filter(|m| progresses(&*self.problem, set, m))
            .map(|m| (self.promise(weight, &m), m))
            .collect();
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0));

        let mut best = f64::INFINITY;
        let mut choice = None;
        for (promise, step) in ranked {
            if promise > best + A_TIE * weight {
                // Ranked by a bound that no continuation can beat.
                break;
            }
            let mut cost = promise;
            let mut beaten = false;
            for outcome in &step.outcomes {
                cost -= self.bound(outcome.set);
                cost += self.open(outcome.set, outcome.setup)?;
                if cost > best + A_TIE * weight {
                    beaten = true;
                    break;
                }
            }
            // Of two that come to the same the cheaper is done first.
            let cheaper = |other: &Move| step.minutes < other.minutes;
            if !beaten && (cost < best - A_TIE * weight || choice.as_ref().is_none_or(cheaper)) {
                best = best.min(cost);
                choice = Some(step);
            }
        }
        if choice.is_none() {
            best = self.problem.stuck(set, setup) * weight;
        }
        self.best.insert((set, setup), (best, choice));
        Ok(best)
    }

    /// Weighted minutes that a move costs at least, what follows included.
    fn promise(&self, weight: f64, step: &Move) -> f64 {
        let after: f64 = step
            .outcomes
            .iter()
            .map(|o| o.minutes * weight_of(&self.weights, o.set) + self.bound(o.set))
            .sum();
        step.minutes * weight + after
    }

    fn bound(&self, set: Set) -> f64 {
        let members = set.iter().map(|i| (self.classes[i], self.weights[i]));
        lower_bound(members, &self.floors, self.arity) * weight_of(&self.weights, set)
    }
}
