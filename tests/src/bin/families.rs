//! The planner's rollout on random families, beside the greedy planner, with the exact search switched off.
//!
//! `families [INSTANCES]`, 1,000 of each family if not said.

use halfsplit_tests::families::{Gap, LARGE, SMALL, against_bound, against_optimum};

fn main() {
    let instances = std::env::args().nth(1).and_then(|count| count.parse().ok()).unwrap_or(1_000);
    println!("{instances} instances of each family; ratio to the exact optimum, exact search off");
    println!("(the rollout finishes sets of up to five suspects exactly, at the ends of its paths)\n");
    println!(
        "{:38}  {:>8} {:>8} {:>8} {:>7}   {:>8} {:>8} {:>8} {:>7}",
        "family", "mean", "95 %", "worst", "exact", "greedy", "95 %", "worst", "exact"
    );
    for family in &SMALL {
        row(family.name, against_optimum(family, instances));
    }
    println!("\nratio to the bound that no tree can beat");
    row(LARGE.name, against_bound(&LARGE, instances));
}

fn row(name: &str, (rolled, greedy): (Gap, Gap)) {
    let gap =
        |gap: Gap| format!("{:8.4} {:8.4} {:8.4} {:6.1}%", gap.mean, gap.high, gap.worst, 100.0 * gap.exact);
    println!("{name:38}  {}   {}", gap(rolled), gap(greedy));
}
