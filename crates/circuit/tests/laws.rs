//! Laws that every linear network obeys, on random ones.

use halfsplit_circuit::{
    BranchId, BranchKind, Builder, Circuit, Meter, PartKind, PointId, Solution, Solver, State, When, read,
};
use proptest::prelude::*;

/// A network of resistors (a, b, ohms) and sources (plus, minus, volts, inner); node 0 is the zero.
#[derive(Clone, Debug)]
struct Network {
    nodes: usize,
    resistors: Vec<(usize, usize, f64)>,
    sources: Vec<(usize, usize, f64, f64)>,
}

impl Network {
    /// With its points and branches named and added in an order of one's own.
    fn circuit(&self, node_order: &[usize], reversed: bool) -> (Circuit, Vec<BranchId>) {
        let mut build = Builder::new();
        for node in node_order {
            build.inside(&node.to_string());
        }
        let total = self.resistors.len() + self.sources.len();
        let mut ids = vec![BranchId(0); total];
        let mut order: Vec<usize> = (0..total).collect();
        if reversed {
            order.reverse();
        }
        for index in order {
            let part = build.part(&format!("P{index}"), "", PartKind::Load);
            let (a, b, kind) = match self.resistors.get(index) {
                Some(&(a, b, ohms)) => (a, b, BranchKind::Load { ohms: Some(ohms), active: When::always() }),
                None => {
                    let (a, b, volts, inner) = self.sources[index - self.resistors.len()];
                    (a, b, BranchKind::Source { volts, inner })
                }
            };
            ids[index] = build.between(part, &a.to_string(), &b.to_string(), kind);
        }
        let mut circuit = build.build().unwrap();
        circuit.negative = circuit.point_named("0");
        (circuit, ids)
    }

    fn plain(&self) -> (Circuit, Vec<BranchId>) {
        let order: Vec<usize> = (0..self.nodes).collect();
        self.circuit(&order, false)
    }
}

fn solve(circuit: &Circuit) -> Solution {
    Solver::new(circuit).solve(&State::default(), &[]).unwrap()
}

fn at(circuit: &Circuit, node: usize) -> PointId {
    circuit.point_named(&node.to_string()).unwrap()
}

/// Resistances over `decades` powers of ten about one ohm.
fn networks(decades: f64) -> impl Strategy<Value = Network> {
    (3usize..14).prop_flat_map(move |nodes| {
        let ohms = move || (-decades..decades).prop_map(|power: f64| 10f64.powf(power));
        // A tree keeps everything in one island.
        let tree: Vec<_> = (1..nodes).map(|node| (Just(node), 0..node, ohms())).collect();
        let more = prop::collection::vec((0..nodes, 0..nodes, ohms()), 0..nodes);
        let sources = prop::collection::vec((0..nodes, 0..nodes, -24.0..24.0f64, 0.01..10.0f64), 1..4);
        (tree, more, sources).prop_map(move |(mut resistors, more, sources)| {
            resistors.extend(more);
            Network { nodes, resistors, sources }
        })
    })
}

/// The same network by dense Gauss elimination with pivoting: a second opinion.
fn dense(network: &Network) -> Vec<f64> {
    let n = network.nodes - 1;
    let mut rows = vec![vec![0.0; n + 1]; n];
    let mut add = |a: usize, b: usize, conductance: f64, current: f64| {
        for (own, other, sign) in [(a, b, 1.0), (b, a, -1.0)] {
            if own > 0 && a != b {
                rows[own - 1][own - 1] += conductance;
                rows[own - 1][n] += sign * current;
                if other > 0 {
                    rows[own - 1][other - 1] -= conductance;
                }
            }
        }
    };
    for &(a, b, ohms) in &network.resistors {
        add(a, b, 1.0 / ohms, 0.0);
    }
    for &(a, b, volts, inner) in &network.sources {
        add(a, b, 1.0 / inner, volts / inner);
    }
    for column in 0..n {
        let pivot =
            (column..n).max_by(|&i, &j| rows[i][column].abs().total_cmp(&rows[j][column].abs())).unwrap();
        rows.swap(column, pivot);
        let (done, below) = rows.split_at_mut(column + 1);
        let pivot = &done[column];
        for row in below {
            let factor = row[column] / pivot[column];
            for (value, above) in row.iter_mut().zip(pivot) {
                *value -= factor * above;
            }
        }
    }
    let mut volts = vec![0.0; n + 1];
    for row in (0..n).rev() {
        let known: f64 = (row + 1..n).map(|k| rows[row][k] * volts[k + 1]).sum();
        volts[row + 1] = (rows[row][n] - known) / rows[row][row];
    }
    volts
}

fn largest(values: impl IntoIterator<Item = f64>) -> f64 {
    values.into_iter().map(f64::abs).fold(1e-9, f64::max)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn agrees_with_dense_elimination(network in networks(2.0)) {
        let (circuit, _) = network.plain();
        let solution = solve(&circuit);
        let expected = dense(&network);
        let scale = largest(expected.iter().copied());
        for (node, &volts) in expected.iter().enumerate() {
            let ours = solution.volts(at(&circuit, node), at(&circuit, 0));
            prop_assert!((ours - volts).abs() <= 1e-9 * scale, "node {node}: {ours} against {volts}");
        }
    }

    #[test]
    fn currents_balance_at_every_point(network in networks(6.0)) {
        let (circuit, ids) = network.plain();
        let solution = solve(&circuit);
        let mut into = vec![0.0; circuit.points.len()];
        for &id in &ids {
            let branch = circuit.branch(id);
            into[branch.a.index()] -= solution.current(id);
            into[branch.b.index()] += solution.current(id);
        }
        let shorted = largest(network.sources.iter().map(|s| s.2 / s.3));
        let stiffest = largest(network.resistors.iter().map(|r| 24.0 / r.2));
        for sum in into {
            prop_assert!(sum.abs() <= 1e-12 * shorted.max(stiffest), "{sum}");
        }
    }

    #[test]
    fn power_given_is_power_taken(network in networks(2.0)) {
        let (circuit, ids) = network.plain();
        let solution = solve(&circuit);
        let (mut given, mut taken) = (0.0, 0.0);
        for (index, &id) in ids.iter().enumerate() {
            let branch = circuit.branch(id);
            let amps = solution.current(id);
            match network.resistors.get(index) {
                Some(&(_, _, ohms)) => taken += amps * amps * ohms,
                None => {
                    let (_, _, volts, inner) = network.sources[index - network.resistors.len()];
                    given += -amps * volts;
                    taken += amps * amps * inner;
                    // The terminal volts are the source's less its inner drop.
                    let terminal = solution.volts(branch.a, branch.b);
                    if branch.a != branch.b {
                        prop_assert!((terminal - (volts + amps * inner)).abs() < 1e-7);
                    }
                }
            }
        }
        prop_assert!((given - taken).abs() <= 1e-8 * given.abs().max(taken).max(1e-6), "{given} {taken}");
    }

    #[test]
    fn sources_superpose(network in networks(3.0)) {
        let (circuit, _) = network.plain();
        let whole = solve(&circuit);
        let mut sum = vec![0.0; network.nodes];
        for acting in 0..network.sources.len() {
            let mut alone = network.clone();
            for (index, source) in alone.sources.iter_mut().enumerate() {
                if index != acting {
                    source.2 = 0.0;
                }
            }
            let (circuit, _) = alone.plain();
            let solution = solve(&circuit);
            for (node, sum) in sum.iter_mut().enumerate() {
                *sum += solution.volts(at(&circuit, node), at(&circuit, 0));
            }
        }
        let scale = largest(network.sources.iter().map(|s| s.2));
        for (node, &sum) in sum.iter().enumerate() {
            let volts = whole.volts(at(&circuit, node), at(&circuit, 0));
            prop_assert!((volts - sum).abs() <= 1e-9 * scale, "node {node}: {volts} against {sum}");
        }
    }

    #[test]
    fn volts_here_drive_as_much_there_as_volts_there_drive_here(network in networks(3.0), one in 0usize..14, two in 0usize..14) {
        let (one, two) = (one % network.nodes, two % network.nodes);
        prop_assume!(one != 0 && two != 0 && one != two);
        let with = |first: f64, second: f64| {
            let sources = vec![(one, 0, first, 1.0), (two, 0, second, 1.0)];
            let network = Network { sources, ..network.clone() };
            let (circuit, ids) = network.plain();
            let solution = solve(&circuit);
            let count = network.resistors.len();
            (solution.current(ids[count]), solution.current(ids[count + 1]))
        };
        let there = with(12.0, 0.0).1;
        let here = with(0.0, 12.0).0;
        prop_assert!((there - here).abs() <= 1e-9 * 12.0, "{there} against {here}");
    }

    #[test]
    fn order_does_not_matter(network in networks(4.0), seed in 0usize..1000) {
        let mut order: Vec<usize> = (0..network.nodes).collect();
        for place in 0..order.len() {
            let other = (place * 7 + seed) % order.len();
            order.swap(place, other);
        }
        let (straight, _) = network.plain();
        let (shuffled, _) = network.circuit(&order, true);
        let (one, two) = (solve(&straight), solve(&shuffled));
        for node in 0..network.nodes {
            let first = one.volts(at(&straight, node), at(&straight, 0));
            let second = two.volts(at(&shuffled, node), at(&shuffled, 0));
            prop_assert!((first - second).abs() <= 1e-8 * 24.0, "node {node}: {first} against {second}");
        }
    }

    /// A chain whose answer is known in closed form, from a micro-ohm to a gigaohm:
    /// nothing is lost between a strap and a meter.
    #[test]
    fn a_chain_keeps_its_accuracy(powers in prop::collection::vec(-6.0..9.0f64, 2..12)) {
        let ohms: Vec<f64> = powers.iter().map(|p| 10f64.powf(*p)).collect();
        let network = Network {
            nodes: ohms.len() + 1,
            resistors: ohms.iter().enumerate().map(|(i, &ohms)| (i, i + 1, ohms)).collect(),
            sources: vec![(ohms.len(), 0, 12.0, 0.01)],
        };
        let (circuit, ids) = network.plain();
        let solution = solve(&circuit);
        let total: f64 = ohms.iter().sum::<f64>() + 0.01;
        let amps = 12.0 / total;
        let mut below = 0.0;
        for (i, ohms) in ohms.iter().enumerate() {
            below += ohms;
            let volts = solution.volts(at(&circuit, i + 1), at(&circuit, 0));
            prop_assert!((volts / (amps * below) - 1.0).abs() < 1e-12, "{volts}");
        }
        // A branch's current is a difference of volts: as exact as those allow.
        let (last, slack) = (ids[ohms.len() - 1], 1e-13 / ohms[ohms.len() - 1]);
        prop_assert!((solution.current(last).abs() - amps).abs() <= 1e-9 * amps + slack * 12.0);
    }

    #[test]
    fn ohms_are_the_same_both_ways(network in networks(4.0), one in 0usize..14, two in 0usize..14) {
        let (circuit, _) = network.plain();
        let state = State { battery: false, ..State::default() };
        let (one, two) = (at(&circuit, one % network.nodes), at(&circuit, two % network.nodes));
        let there = read(&circuit, &state, &[], &Meter::ohms(one, two)).unwrap().nominal;
        let back = read(&circuit, &state, &[], &Meter::ohms(two, one)).unwrap().nominal;
        prop_assert!((there - back).abs() <= 1e-9 * there.max(1e-9));
    }
}
