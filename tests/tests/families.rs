//! A slice of the random families: the rollout alone stays within its limits of the exact optimum.
//! `tests/families/run` takes 1,000 instances of each and prints the table.

use halfsplit_tests::families::{SMALL, against_optimum};

/// Figures to hold: mean ratio to the exact optimum, and the worst.
const MEAN: f64 = 1.001;
const WORST: f64 = 1.08;

#[test]
fn the_rollout_alone_is_all_but_optimal() {
    for family in &SMALL {
        let (rolled, greedy) = against_optimum(family, 100);
        assert!(rolled.mean <= MEAN && rolled.worst <= WORST, "{}: {rolled:?}", family.name);
        // A planner that cannot lose to the greedy one would prove nothing about itself.
        assert!(greedy.mean > rolled.mean, "{}: greedy {greedy:?}, rolled {rolled:?}", family.name);
    }
}
