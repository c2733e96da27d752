//! A problem given as a table: suspects in columns, tests in rows.

use halfsplit_circuit::Minutes;

use super::{Move, Outcome, Problem, Set, Setup};

/// A problem given as a table of outcomes, with set-ups (modes) that cost minutes to change.
#[derive(Clone, Debug, Default)]
pub struct Table {
    weights: Vec<f64>,
    classes: Vec<usize>,
    tests: Vec<Test>,
    changes: Vec<Vec<Minutes>>,
}

/// One row of a [`Table`].
#[derive(Clone, Debug)]
pub struct Test {
    /// Minutes of the test itself.
    pub minutes: Minutes,
    /// The outcome that each suspect would give.
    pub outcomes: Vec<u8>,
    /// The mode in which it is done; 0 where there is only one.
    pub mode: usize,
}

impl Test {
    /// A test that needs no set-up.
    pub fn of(minutes: Minutes, outcomes: Vec<u8>) -> Test {
        Test { minutes, outcomes, mode: 0 }
    }
}

impl Table {
    /// A table whose suspects are all repaired differently and whose tests need no set-up.
    pub fn new(weights: Vec<f64>, tests: Vec<Test>) -> Table {
        let classes = (0..weights.len()).collect();
        Table { weights, classes, tests, changes: vec![vec![0.0]] }
    }

    /// Says which suspects are repaired by the same unit.
    pub fn with_classes(mut self, classes: Vec<usize>) -> Table {
        self.classes = classes;
        self
    }

    /// Minutes to change from mode (row) to mode (column); the start is in mode 0.
    pub fn with_changes(mut self, changes: Vec<Vec<Minutes>>) -> Table {
        self.changes = changes;
        self
    }

    #[cfg(test)]
    pub(super) fn of_pattipati_and_alexandridis() -> Table {
        // Values, part 2, example E1: matrix MEMORY, optimum 2.18 COMPUTED by exhaustion.
        let rows = [
            [0, 0, 0, 1, 1, 1],
            [0, 1, 0, 0, 1, 1],
            [0, 0, 1, 0, 0, 1],
            [0, 0, 1, 1, 0, 1],
            [0, 1, 0, 1, 0, 0],
        ];
        let tests = rows.iter().map(|r| Test::of(1.0, r.to_vec())).collect();
        Table::new(vec![0.70, 0.01, 0.02, 0.10, 0.05, 0.12], tests)
    }
}

impl Problem for Table {
    fn weights(&self) -> &[f64] {
        &self.weights
    }

    fn start(&self) -> Setup {
        Setup(0)
    }

    fn settled(&self, set: Set, _: Setup) -> Option<Minutes> {
        let mut classes = set.iter().map(|i| self.classes[i]);
        let first = classes.next();
        classes.all(|c| Some(c) == first).then_some(0.0)
    }

    fn moves(&mut self, set: Set, setup: Setup) -> Vec<Move> {
        let from = setup.0 as usize;
        let mut moves = Vec::new();
        for (action, test) in self.tests.iter().enumerate() {
            let mut sets: Vec<(u8, Set)> = Vec::new();
            for suspect in set.iter() {
                let outcome = test.outcomes[suspect];
                match sets.iter_mut().find(|s| s.0 == outcome) {
                    Some(found) => found.1.insert(suspect),
                    None => sets.push((outcome, Set::only(suspect))),
                }
            }
            if sets.len() < 2 {
                continue;
            }
            sets.sort();
            let to = Setup(test.mode as u64);
            let outcomes =
                sets.into_iter().map(|(_, set)| Outcome { set, setup: to, minutes: 0.0 }).collect();
            moves.push(Move {
                action: action as u32,
                minutes: self.changes[from][test.mode] + test.minutes,
                outcomes,
            });
        }
        moves
    }

    /// Suspects that every test reads alike end together, so they count as one class too.
    fn classes(&self) -> Vec<usize> {
        let mut classes = self.classes.clone();
        for b in 0..classes.len() {
            for a in 0..b {
                if classes[a] != classes[b] && self.tests.iter().all(|t| t.outcomes[a] == t.outcomes[b]) {
                    let (keep, drop) = (classes[a], classes[b]);
                    classes.iter_mut().filter(|c| **c == drop).for_each(|c| *c = keep);
                }
            }
        }
        classes
    }

    fn floors(&self) -> Vec<Minutes> {
        let mut floors: Vec<Minutes> = self.tests.iter().map(|t| t.minutes).collect();
        floors.sort_by(f64::total_cmp);
        floors
    }

    fn arity(&self) -> usize {
        let kinds = |t: &Test| {
            let mut seen = t.outcomes.clone();
            seen.sort_unstable();
            seen.dedup();
            seen.len()
        };
        self.tests.iter().map(kinds).max().unwrap_or(2)
    }
}
