//! The supply as it was measured: what stands behind the battery so that its posts read what was given.
//!
//! Volts at the posts are read in the very state that is asked about, with the starter cranking or the generator
//! turning. So the open-circuit volts are found with which the sound circuit's posts read just that, once for
//! each state; every fault is then solved with the same battery. Where a generator turns, its regulator is set to
//! the reading instead, and the battery behind takes and gives nothing. It costs a few solves a state, and none where
//! no supply was measured.

use std::collections::HashMap;
use std::sync::{MutexGuard, PoisonError};

use crate::{BranchKind, State, Volts};

use super::network::Corner;
use super::{Solver, Start};

/// What a measured supply amounts to in one state.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Supply {
    /// Open-circuit volts of what stands between the posts.
    pub(crate) open: Volts,
    /// Added to what every regulator holds.
    pub(crate) regulated: Volts,
}

impl Supply {
    /// A battery that nothing draws on.
    pub(crate) fn idle(read: Volts) -> Supply {
        Supply { open: read, regulated: 0.0 }
    }
}

/// Near enough to what was read.
const CLOSE: Volts = 1e-9;

/// Most solves for one state.
const MOST_ROUNDS: usize = 60;

impl Solver<'_> {
    /// What stands behind the supply that a state says was measured; `None` where none was.
    pub(crate) fn supply(&self, state: &State) -> Option<Supply> {
        let read = state.supply()?;
        if let Some(known) = self.remembered().get(state) {
            return Some(*known);
        }
        let found = self.behind_the_posts(state, read);
        let mut known = self.remembered();
        // States are few; a planner that asks about more has them found again.
        if known.len() >= 1024 {
            known.clear();
        }
        known.insert(state.clone(), found);
        Some(found)
    }

    /// What was found before, here or on another thread.
    fn remembered(&self) -> MutexGuard<'_, HashMap<State, Supply>> {
        self.supplies.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn behind_the_posts(&self, state: &State, read: Volts) -> Supply {
        let idle = Supply::idle(read);
        let posts = self.circuit.positive.zip(self.circuit.negative);
        let Some((positive, negative)) = posts.filter(|_| state.battery && read > 0.0) else { return idle };
        let shows = |supply: Supply| {
            let run = self.run_with(state, &[], &[], Corner::NOMINAL, Start::Rest, Some(supply));
            let work = run.ok().map(|()| self.work())?;
            Some(work.settled.volts[work.place(positive)] - work.settled.volts[work.place(negative)])
        };
        let Some(first) = shows(idle) else { return idle };
        let turns = self.circuit.branches.iter().any(|branch| match &branch.kind {
            BranchKind::Generator { turning, .. } => self.circuit.holds(turning, branch.part, state),
            _ => false,
        });
        let regulated = turns.then(|| {
            let at = |regulated| shows(Supply { regulated, ..idle });
            meet(read, (0.0, first), at).map(|regulated| Supply { regulated, ..idle })
        });
        let open = || meet(read, (read, first), |open| shows(Supply { open, ..idle }));
        regulated.flatten().or_else(|| open().map(|open| Supply { open, ..idle })).unwrap_or(idle)
    }
}

/// Where a reading that grows with what is set meets the wanted one, by secants between bounds; `None` where
/// it doesn't come within a millivolt.
fn meet(wanted: Volts, first: (Volts, Volts), shows: impl Fn(Volts) -> Option<Volts>) -> Option<Volts> {
    let (mut last, mut best) = (first, first);
    let (mut under, mut over): (Option<Volts>, Option<Volts>) = (None, None);
    let mut slope = 1.0;
    for _ in 0..MOST_ROUNDS {
        let (at, read) = last;
        let lacks = wanted - read;
        if lacks.abs() < (wanted - best.1).abs() {
            best = last;
        }
        if lacks.abs() <= CLOSE {
            return Some(at);
        }
        if lacks > 0.0 {
            under = Some(at)
        } else {
            over = Some(at)
        }
        let mut next = at + lacks / slope;
        if let (Some(under), Some(over)) = (under, over) {
            if !(under.min(over)..=under.max(over)).contains(&next) || next == at {
                next = 0.5 * (under + over);
            }
        }
        let shown = shows(next)?;
        let seen = (shown - read) / (next - at);
        // A jump or a flat stretch tells no slope: a relay that drops, a regulator that holds.
        slope = if seen.is_finite() { seen.clamp(0.05, 20.0) } else { 1.0 };
        last = (next, shown);
    }
    ((wanted - best.1).abs() <= 1e-3).then_some(best.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_is_met_at_once() {
        let met = meet(10.5, (10.5, 8.86), |open| Some(open * 8.86 / 10.5)).unwrap();
        assert!((met - 10.5 * 10.5 / 8.86).abs() < 1e-8, "{met}");
    }

    #[test]
    fn a_jump_over_the_reading_is_not_met() {
        assert_eq!(meet(10.5, (10.5, 8.86), |open| Some(if open < 12.0 { 8.86 } else { 11.5 })), None);
    }
}
