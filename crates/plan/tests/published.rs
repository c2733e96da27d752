//! The search against published and verified instances.
//!
//! Each case names its source and its mark: MEMORY is recalled and reproduced,
//! COMPUTED was verified by exhaustion or by an independent exact method.

use std::collections::HashMap;

use halfsplit_plan::search::{
    Effort, Move, Outcome, Problem, Proof, Set, Setup, Table, Test, Tree, roll, solve,
};
use proptest::prelude::*;

fn optimum<P: Problem>(problem: &mut P) -> Tree {
    let tree = solve(problem, Effort::default()).unwrap();
    assert_eq!(tree.proof, Proof::Optimal);
    tree
}

fn solve_rollout(table: &mut Table) -> Tree {
    let tree = roll(table, Effort::default()).unwrap();
    assert!(matches!(tree.proof, Proof::Bounded { .. }));
    tree
}

fn near(found: f64, published: f64) {
    assert!((found - published).abs() < 5e-7, "{found} against {published}");
}

/// E1: Pattipati and Alexandridis 1990, six states, five tests (matrix MEMORY; 2.18 COMPUTED by exhaustion).
fn six_states(costs: [f64; 5], weights: [f64; 6]) -> Table {
    let rows =
        [[0, 0, 0, 1, 1, 1], [0, 1, 0, 0, 1, 1], [0, 0, 1, 0, 0, 1], [0, 0, 1, 1, 0, 1], [0, 1, 0, 1, 0, 0]];
    let tests = rows.iter().zip(costs).map(|(r, c)| Test::of(c, r.to_vec())).collect();
    Table::new(weights.to_vec(), tests)
}

#[test]
fn six_state_example() {
    let weights = [0.70, 0.01, 0.02, 0.10, 0.05, 0.12];
    let tree = optimum(&mut six_states([1.0; 5], weights));
    near(tree.expected, 2.18);
    assert_eq!(tree.nodes[0].step.as_ref().unwrap().taken.action, 1, "t2 comes first");
    near(optimum(&mut six_states([1.0, 2.0, 1.0, 3.0, 1.0], weights)).expected, 2.86);
    near(optimum(&mut six_states([5.0, 1.0, 2.0, 1.0, 4.0], weights)).expected, 2.48);
}

/// A series path: segments in a row, a probe at each boundary says on which side the open lies.
fn path(weights: &[f64], probes: &[f64]) -> Table {
    let tests = probes
        .iter()
        .enumerate()
        .map(|(k, &c)| Test::of(c, (0..weights.len()).map(|s| u8::from(s > k)).collect()))
        .collect();
    Table::new(weights.to_vec(), tests)
}

#[test]
fn alphabetic_tree_of_letters() {
    // E2: Gilbert and Moore 1959 (frequencies MEMORY; 4.1978 published, COMPUTED).
    let p = [
        0.1859, 0.0642, 0.0127, 0.0218, 0.0317, 0.1031, 0.0208, 0.0152, 0.0467, 0.0575, 0.0008, 0.0049,
        0.0321, 0.0198, 0.0574, 0.0632, 0.0152, 0.0008, 0.0484, 0.0514, 0.0796, 0.0228, 0.0083, 0.0175,
        0.0013, 0.0164, 0.0005,
    ];
    near(optimum(&mut path(&p, &[1.0; 26])).expected, 4.1978);
}

#[test]
fn series_path_with_unequal_probes() {
    // E6 a, b, c (own instances, COMPUTED by interval DP).
    let a = path(&[0.10, 0.25, 0.05, 0.20, 0.05, 0.15, 0.05, 0.15], &[1.0, 4.0, 1.0, 6.0, 2.0, 1.0, 3.0]);
    near(optimum(&mut a.clone()).expected, 6.10);
    let mut b = path(&[2.0, 10.0, 12.0, 1.0, 1.0, 1.0, 5.0, 9.0], &[3.0, 5.0, 8.0, 5.0, 3.0, 1.0, 2.0]);
    near(optimum(&mut b).expected, 379.0 / 41.0);
    near(optimum(&mut path(&[1.0; 8], &[1.0; 7])).expected, 3.0);
    near(optimum(&mut path(&[1.0; 7], &[1.0; 6])).expected, 20.0 / 7.0);
    near(optimum(&mut path(&[0.4, 0.2, 0.1, 0.1, 0.1, 0.05, 0.05], &[1.0; 6])).expected, 2.5);
}

/// E4 and E5: every action settles one suspect and must be done even when it is the last;
/// suspects under a cover cost its opening once.
struct Covers {
    chances: Vec<f64>,
    minutes: Vec<f64>,
    cover: Vec<Option<usize>>,
    opening: Vec<f64>,
}

const DONE: Setup = Setup(u64::MAX);

impl Problem for Covers {
    fn weights(&self) -> &[f64] {
        &self.chances
    }
    fn start(&self) -> Setup {
        Setup(0)
    }
    fn settled(&self, _: Set, setup: Setup) -> Option<f64> {
        (setup == DONE).then_some(0.0)
    }
    fn moves(&mut self, set: Set, setup: Setup) -> Vec<Move> {
        set.iter()
            .map(|i| {
                let (mut minutes, mut open) = (self.minutes[i], setup.0);
                if let Some(c) = self.cover[i]
                    && open >> c & 1 == 0
                {
                    minutes += self.opening[c];
                    open |= 1 << c;
                }
                let mut outcomes = vec![Outcome { set: Set::only(i), setup: DONE, minutes: 0.0 }];
                let rest = set.without(Set::only(i));
                if !rest.is_empty() {
                    outcomes.push(Outcome { set: rest, setup: Setup(open), minutes: 0.0 });
                }
                Move { action: i as u32, minutes, outcomes }
            })
            .collect()
    }
}

fn covers(chances: &[f64], minutes: &[f64], cover: &str, opening: &[f64]) -> f64 {
    let cover = cover.bytes().map(|b| b.checked_sub(b'A').map(usize::from)).collect();
    optimum(&mut Covers {
        chances: chances.to_vec(),
        minutes: minutes.to_vec(),
        cover,
        opening: opening.to_vec(),
    })
    .expected
}

#[test]
fn repairs_in_order_of_chance_per_minute() {
    // E4 a, b, c (own instances, COMPUTED against all permutations).
    near(covers(&[0.4, 0.3, 0.2, 0.1], &[4.0, 2.0, 1.0, 1.0], "----", &[]), 4.70);
    near(covers(&[0.30, 0.25, 0.18, 0.15, 0.12], &[5.0, 1.0, 2.0, 10.0, 1.0], "-----", &[]), 6.76);
    near(covers(&[0.45, 0.25, 0.15, 0.10, 0.05], &[20.0, 5.0, 2.0, 10.0, 1.0], "-----", &[]), 18.85);
}

#[test]
fn repairs_under_covers_that_are_opened_once() {
    // E5 a, b, c (own instances, COMPUTED; form of Ottosen and Jensen 2010).
    let a = covers(
        &[0.25, 0.20, 0.15, 0.15, 0.10, 0.10, 0.05],
        &[1.0, 2.0, 1.0, 3.0, 1.0, 2.0, 1.0],
        "-AABB-B",
        &[5.0, 8.0],
    );
    near(a, 10.75);
    let b =
        covers(&[0.30, 0.25, 0.20, 0.10, 0.10, 0.05], &[2.0, 1.0, 1.0, 1.0, 4.0, 2.0], "AABB--", &[6.0, 2.0]);
    near(b, 10.30);
    let c = covers(
        &[0.28, 0.22, 0.14, 0.12, 0.10, 0.08, 0.06],
        &[3.0, 1.0, 1.0, 2.0, 2.0, 1.0, 1.0],
        "ABBACC-",
        &[4.0, 10.0, 3.0],
    );
    near(c, 16.08);
}

/// E7: a short on a branching feed, meter at the fuse socket. Opening a connector that
/// clears the reading moves the meter beyond it.
struct Branching {
    weights: Vec<f64>,
    /// Parent and child segment, minutes.
    connectors: Vec<(usize, usize, f64)>,
    moving: f64,
}

impl Branching {
    /// Segments beyond a connector.
    fn beyond(&self, connector: usize) -> Set {
        let mut set = Set::only(self.connectors[connector].1);
        // Connectors are listed parents first, so one pass gathers every descendant.
        for &(parent, child, _) in &self.connectors {
            if set.contains(parent) {
                set.insert(child);
            }
        }
        set
    }
}

impl Problem for Branching {
    fn weights(&self) -> &[f64] {
        &self.weights
    }
    fn start(&self) -> Setup {
        Setup(0)
    }
    fn settled(&self, set: Set, _: Setup) -> Option<f64> {
        (set.len() == 1).then_some(0.0)
    }
    fn moves(&mut self, set: Set, setup: Setup) -> Vec<Move> {
        let mut moves = Vec::new();
        for (k, &(_, _, minutes)) in self.connectors.iter().enumerate() {
            let far = self.beyond(k).and(set);
            let near = set.without(far);
            if far.is_empty() || near.is_empty() {
                continue;
            }
            let outcomes = vec![
                Outcome { set: far, setup, minutes: self.moving },
                Outcome { set: near, setup, minutes: 0.0 },
            ];
            moves.push(Move { action: k as u32, minutes, outcomes });
        }
        moves
    }
    fn floors(&self) -> Vec<f64> {
        let mut floors: Vec<f64> = self.connectors.iter().map(|c| c.2).collect();
        floors.sort_by(f64::total_cmp);
        floors
    }
}

fn branching(weights: &[f64], costs: Option<[f64; 9]>, moving: f64) -> Branching {
    let ends = [(0, 1), (0, 2), (1, 3), (1, 4), (2, 5), (2, 6), (6, 7), (2, 8), (8, 9)];
    let costs = costs.unwrap_or([1.0; 9]);
    let connectors = ends.iter().zip(costs).map(|(&(p, c), m)| (p, c, m)).collect();
    Branching { weights: weights.to_vec(), connectors, moving }
}

#[test]
fn short_on_a_branching_feed() {
    // E7 (own instance, COMPUTED by exact DP over connected parts).
    let w = [0.06, 0.10, 0.08, 0.16, 0.12, 0.05, 0.18, 0.07, 0.08, 0.10];
    let tree = optimum(&mut branching(&w, Some([4.0, 8.0, 1.0, 1.0, 5.0, 3.0, 6.0, 2.0, 1.0]), 1.0));
    near(tree.expected, 10.90);
    assert_eq!(tree.nodes[0].step.as_ref().unwrap().taken.action, 2, "C3 comes first");
    near(optimum(&mut branching(&w, None, 0.0)).expected, 3.31);
    near(optimum(&mut branching(&[0.1; 10], None, 0.0)).expected, 3.50);
}

#[test]
fn tests_in_modes_that_cost_minutes_to_change() {
    // The form of E8 (relay-fed lamp, four modes, change costs as there). The outcomes of
    // its tests are not printed, so the matrix here is our own; the optimum is compared
    // with the plain recursion below (COMPUTED).
    let weights = vec![0.22, 0.12, 0.08, 0.14, 0.10, 0.20, 0.10, 0.04];
    let changes = vec![
        vec![0.0, 2.0, 4.0, 6.0],
        vec![2.0, 0.0, 6.0, 4.0],
        vec![4.0, 6.0, 0.0, 2.0],
        vec![6.0, 4.0, 2.0, 0.0],
    ];
    let rows: [(f64, usize, [u8; 8]); 7] = [
        (1.0, 0, [0, 1, 1, 1, 1, 1, 1, 1]),
        (1.0, 0, [0, 0, 0, 0, 1, 1, 1, 1]),
        (1.0, 0, [1, 1, 1, 0, 1, 1, 1, 1]),
        (1.0, 1, [1, 1, 0, 1, 1, 1, 1, 1]),
        (1.0, 2, [1, 1, 1, 1, 1, 0, 1, 1]),
        (1.0, 2, [1, 1, 1, 1, 1, 1, 0, 1]),
        (2.0, 3, [1, 1, 1, 1, 0, 1, 1, 1]),
    ];
    let tests = rows.iter().map(|(c, m, o)| Test { minutes: *c, outcomes: o.to_vec(), mode: *m }).collect();
    let mut table = Table::new(weights, tests).with_changes(changes);
    let tree = optimum(&mut table);
    let start = table.start();
    near(tree.expected, plain(&mut table, Set::first(8), start, &mut HashMap::new()));
}

/// The definition, without bound or order: the least over moves of cost plus what follows.
fn plain(table: &mut Table, set: Set, setup: Setup, known: &mut HashMap<(Set, Setup), f64>) -> f64 {
    if table.settled(set, setup).is_some() {
        return 0.0;
    }
    if let Some(k) = known.get(&(set, setup)) {
        return *k;
    }
    let weights = table.weights().to_vec();
    let weight = |s: Set| s.iter().map(|i| weights[i]).sum::<f64>();
    let mut best = f64::INFINITY;
    for step in table.moves(set, setup) {
        let mut cost = step.minutes;
        for o in &step.outcomes {
            cost += weight(o.set) / weight(set) * plain(table, o.set, o.setup, known);
        }
        best = best.min(cost);
    }
    let best = if best.is_finite() { best } else { 0.0 };
    known.insert((set, setup), best);
    best
}

/// Random tables of the families in values, part 2.3 (own families, not published ones): every
/// suspect weighed, every test two-valued, whole minutes from 1 to `dearest`.
fn family(count: usize, suspects: usize, tests: usize, dearest: u64) -> Vec<Table> {
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    let mut next = move || {
        // Xorshift (Marsaglia 2003): the same tables on every machine.
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        state >> 16
    };
    (0..count)
        .map(|_| {
            let weights = (0..suspects).map(|_| (1 + next() % 1000) as f64).collect();
            let rows = (0..tests).map(|_| {
                let minutes = (1 + next() % dearest) as f64;
                Test::of(minutes, (0..suspects).map(|_| (next() % 2) as u8).collect())
            });
            Table::new(weights, rows.collect())
        })
        .collect()
}

/// Mean and worst ratio of the rollout to the optimum.
fn rollout_over_optimum(tables: Vec<Table>) -> (f64, f64) {
    let count = tables.len() as f64;
    let mut sum = 0.0;
    let mut worst: f64 = 1.0;
    for mut table in tables {
        let exact = optimum(&mut table).expected;
        let rolled = solve_rollout(&mut table).expected;
        sum += rolled / exact;
        worst = worst.max(rolled / exact);
    }
    (sum / count, worst)
}

#[test]
fn rollout_stays_within_a_thousandth_of_the_optimum_on_average() {
    // Figures to beat, values, part 2.3: two-level rollout 1.0005 / 1.078 (n = 8) and
    // 1.0008 / 1.035 (n = 10) on the families of that kind with minutes 1 to 10.
    for (count, suspects, tests) in [(400, 8, 12), (150, 10, 15)] {
        let (mean, worst) = rollout_over_optimum(family(count, suspects, tests, 10));
        assert!(mean <= 1.001, "n = {suspects}: mean {mean}, worst {worst}");
    }
}

prop_compose! {
    fn tables()(n in 2usize..7)(
        weights in prop::collection::vec(0.01f64..1.0, n),
        rows in prop::collection::vec((1.0f64..10.0, prop::collection::vec(0u8..3, n)), 1..9),
    ) -> Table {
        Table::new(weights, rows.into_iter().map(|(c, o)| Test::of(c, o)).collect())
    }
}

proptest! {
    #[test]
    fn exact_search_meets_the_definition(mut table in tables()) {
        let tree = optimum(&mut table);
        let (all, start) = (Set::first(table.weights().len()), table.start());
        let definition = plain(&mut table, all, start, &mut HashMap::new());
        prop_assert!((tree.expected - definition).abs() < 1e-9);
    }

    #[test]
    fn rollout_is_never_better_than_the_optimum_nor_than_its_bound(mut table in tables()) {
        let exact = optimum(&mut table);
        let rolled = solve_rollout(&mut table);
        prop_assert!(rolled.expected >= exact.expected - 1e-9);
        if let Proof::Bounded { bound } = rolled.proof {
            prop_assert!(bound <= exact.expected + 1e-9, "{} above {}", bound, exact.expected);
        }
    }
}
