//! A number of minutes that no decision tree can beat.
//!
//! A tree that names one of several classes is a prefix code for them, so its
//! expected number of steps is at least the weighted length of Huffman's code
//! (Huffman 1952). No path repeats a step, so `l` steps cost at least the `l`
//! cheapest; that sum is convex in `l`, so Jensen's inequality carries the bound
//! from the expected number of steps to the expected minutes.
//! (Form of the bound: Pattipati and Alexandridis 1990; convexity argument
//! COMPUTED, see the property test.)

use std::cmp::Ordering;
use std::collections::{BTreeMap, BinaryHeap};

use halfsplit_circuit::Minutes;

/// Lower bound on the expected minutes to name the class of the fault.
///
/// `members` are pairs of class and weight, `floors` ascending limits of what
/// the first, second, … step can cost, `arity` the most outcomes of any step.
pub fn lower_bound(members: impl Iterator<Item = (usize, f64)>, floors: &[Minutes], arity: usize) -> Minutes {
    let mut classes: BTreeMap<usize, f64> = BTreeMap::new();
    for (class, weight) in members {
        *classes.entry(class).or_default() += weight;
    }
    let total: f64 = classes.values().sum();
    if classes.len() < 2 || floors.is_empty() || total <= 0.0 {
        return 0.0;
    }
    let steps = huffman(classes.into_values().collect(), arity.max(2)) / total;
    let mut whole = steps.floor() as usize;
    let mut part = steps - steps.floor();
    if whole >= floors.len() {
        // More steps than distinct moves: the last limit cannot be exceeded by proof.
        whole = floors.len();
        part = 0.0;
    }
    let started: Minutes = floors[..whole].iter().sum();
    started + if part > 0.0 { part * floors[whole] } else { 0.0 }
}

#[derive(PartialEq)]
struct Least(f64);

impl Eq for Least {}

impl PartialOrd for Least {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Least {
    fn cmp(&self, other: &Self) -> Ordering {
        other.0.total_cmp(&self.0)
    }
}

/// Weighted path length of the best code with `arity` letters.
fn huffman(mut weights: Vec<f64>, arity: usize) -> f64 {
    while weights.len() > 1 && (weights.len() - 1) % (arity - 1) != 0 {
        weights.push(0.0);
    }
    let mut heap: BinaryHeap<Least> = weights.into_iter().map(Least).collect();
    let mut length = 0.0;
    while heap.len() > 1 {
        let joined: f64 = (0..arity).filter_map(|_| heap.pop()).map(|l| l.0).sum();
        length += joined;
        heap.push(Least(joined));
    }
    length
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn huffman_length_of_the_six_state_example() {
        // Values, part 2, example E1 (MEMORY of Pattipati and Alexandridis 1990): bound 1.59.
        let p = [0.70, 0.01, 0.02, 0.10, 0.05, 0.12];
        let bound = lower_bound(p.iter().copied().enumerate(), &[1.0; 5], 2);
        assert!((bound - 1.59).abs() < 1e-9, "{bound}");
    }

    #[test]
    fn huffman_length_of_letters_of_english() {
        // Values, part 2, example E2: published Huffman 4.1195 (MEMORY).
        let bound = lower_bound(GILBERT_MOORE.iter().copied().enumerate(), &[1.0; 26], 2);
        assert!((bound - 4.1195).abs() < 1e-9, "{bound}");
    }

    #[test]
    fn one_class_needs_no_step() {
        assert_eq!(lower_bound([(0, 1.0), (0, 2.0)].into_iter(), &[1.0], 2), 0.0);
    }

    #[test]
    fn three_way_steps_need_fewer() {
        let nine = (0..9).map(|i| (i, 1.0));
        assert!((lower_bound(nine, &[1.0; 9], 3) - 2.0).abs() < 1e-12);
    }

    const GILBERT_MOORE: [f64; 27] = [
        0.1859, 0.0642, 0.0127, 0.0218, 0.0317, 0.1031, 0.0208, 0.0152, 0.0467, 0.0575, 0.0008, 0.0049,
        0.0321, 0.0198, 0.0574, 0.0632, 0.0152, 0.0008, 0.0484, 0.0514, 0.0796, 0.0228, 0.0083, 0.0175,
        0.0013, 0.0164, 0.0005,
    ];
}
