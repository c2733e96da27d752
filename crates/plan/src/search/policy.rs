//! Simple policies: fixed orders, chance per minute, information per minute.

use halfsplit_circuit::Minutes;

use super::{Move, Problem, Proof, Set, Setup, Tree, grow, progresses, weight_of};

/// The tree of a policy that is given: `pick` names one of the moves that make progress.
///
/// Nothing is proved about it; [`Proof::Bounded`] with a bound of zero says so.
pub fn follow<P: Problem>(
    problem: &mut P,
    mut pick: impl FnMut(Set, Setup, &[Move]) -> Option<usize>,
) -> Tree {
    let nodes = grow(problem, &mut |problem, set, setup| {
        let mut moves: Vec<Move> =
            problem.moves(set, setup).into_iter().filter(|m| progresses(problem, set, m)).collect();
        let chosen = pick(set, setup, &moves)?;
        (chosen < moves.len()).then(|| moves.swap_remove(chosen))
    });
    let expected = nodes.first().map_or(0.0, |n| n.expected);
    let states = nodes.len();
    Tree { nodes, expected, proof: Proof::Bounded { bound: 0.0 }, states }
}

/// The order that minimises expected minutes when every action settles exactly one
/// suspect: chance per minute, largest first (Mitten 1960; Kadane and Simon 1977).
pub fn order_by_chance(chances: &[f64], minutes: &[Minutes]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..chances.len().min(minutes.len())).collect();
    // Compared crosswise, so that an action without cost needs no division.
    order.sort_by(|&a, &b| (chances[b] * minutes[a]).total_cmp(&(chances[a] * minutes[b])));
    order
}

/// Expected minutes of doing independent actions in this order until the fault is met.
pub fn expected_of_order(chances: &[f64], minutes: &[Minutes], order: &[usize]) -> Minutes {
    let total: f64 = chances.iter().sum();
    let mut left = total;
    let mut expected = 0.0;
    for &i in order {
        expected += minutes[i] * left / total;
        left -= chances[i];
    }
    expected
}

/// The move with the most information about the class of the fault per minute.
pub(super) fn most_information<'m>(
    weights: &[f64],
    classes: &[usize],
    set: Set,
    moves: &'m [Move],
) -> Option<&'m Move> {
    let before = entropy(weights, classes, set);
    let mut best: Option<(f64, &Move)> = None;
    for step in moves {
        let total = weight_of(weights, set);
        let mut minutes = step.minutes;
        let mut after = 0.0;
        for o in &step.outcomes {
            let share = weight_of(weights, o.set) / total;
            minutes += share * o.minutes;
            after += share * entropy(weights, classes, o.set);
        }
        // A reading that costs nothing is always worth taking; the floor keeps the ratio finite.
        let gain = (before - after).max(1e-9) / minutes.max(1e-6);
        if best.is_none_or(|(most, _)| gain > most) {
            best = Some((gain, step));
        }
    }
    best.map(|b| b.1)
}

/// Bits of doubt about the class within a set.
fn entropy(weights: &[f64], classes: &[usize], set: Set) -> f64 {
    let mut by_class: Vec<(usize, f64)> = Vec::new();
    for i in set.iter() {
        match by_class.iter_mut().find(|c| c.0 == classes[i]) {
            Some(found) => found.1 += weights[i],
            None => by_class.push((classes[i], weights[i])),
        }
    }
    let total: f64 = by_class.iter().map(|c| c.1).sum();
    by_class.iter().map(|c| c.1 / total).filter(|p| *p > 0.0).map(|p| -p * p.log2()).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn permutations(n: usize) -> Vec<Vec<usize>> {
        if n == 0 {
            return vec![Vec::new()];
        }
        let mut all = Vec::new();
        for shorter in permutations(n - 1) {
            for at in 0..=shorter.len() {
                let mut longer = shorter.clone();
                longer.insert(at, n - 1);
                all.push(longer);
            }
        }
        all
    }

    #[test]
    fn chance_per_minute_beats_every_other_order() {
        // Values, part 2, example E4 a, b, c (own instances, COMPUTED against all permutations).
        chance_per_minute(&[0.4, 0.3, 0.2, 0.1], &[4.0, 2.0, 1.0, 1.0], &[2, 1, 0, 3], 4.70);
        chance_per_minute(
            &[0.30, 0.25, 0.18, 0.15, 0.12],
            &[5.0, 1.0, 2.0, 10.0, 1.0],
            &[1, 4, 2, 0, 3],
            6.76,
        );
        chance_per_minute(
            &[0.45, 0.25, 0.15, 0.10, 0.05],
            &[20.0, 5.0, 2.0, 10.0, 1.0],
            &[2, 1, 4, 0, 3],
            18.85,
        );
    }

    fn chance_per_minute(chances: &[f64], minutes: &[f64], order: &[usize], expected: f64) {
        let found = order_by_chance(chances, minutes);
        let cost = expected_of_order(chances, minutes, &found);
        assert!((cost - expected).abs() < 1e-9, "{cost} against {expected}");
        assert!((expected_of_order(chances, minutes, order) - expected).abs() < 1e-9);
        for other in permutations(chances.len()) {
            assert!(expected_of_order(chances, minutes, &other) >= cost - 1e-9);
        }
    }
}
