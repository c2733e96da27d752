//! Plans for one reference that many sensors share: a net of 60 parts and one of 200, wires not counted.
//!
//! `cargo bench -p halfsplit-tests --bench big_nets`. Before the timing each plan's size, expected
//! minutes and bound are printed. To be reached on two processors: 2 s and 10 s.

use divan::Bencher;
use halfsplit_plan::{Plan, plan};
use halfsplit_tests::big_net::net;

const PARTS: [usize; 2] = [60, 200];

fn main() {
    // Where it is only seen whether the benchmark runs, the smaller net does.
    let timed = std::env::args().any(|argument| argument == "--bench");
    for parts in PARTS.into_iter().take(if timed { PARTS.len() } else { 1 }) {
        let (circuit, request) = net(parts);
        match plan(&circuit, &request) {
            Ok(plan) => println!("{}", line(parts, &plan)),
            Err(error) => println!("{parts} parts: {error}"),
        }
    }
    if timed {
        divan::main();
    }
}

fn line(parts: usize, plan: &Plan) -> String {
    format!(
        "{parts} parts: {} suspects, {} steps, {:.2} min expected, {}",
        plan.suspects.len(),
        plan.steps.len(),
        plan.expected_minutes,
        plan.optimality
    )
}

#[divan::bench(args = PARTS, sample_count = 3, sample_size = 1)]
fn plan_of_a_net_with_so_many_parts(bencher: Bencher<'_, '_>, parts: usize) {
    let (circuit, request) = net(parts);
    bencher.bench_local(|| plan(&circuit, &request).map(|plan| plan.expected_minutes));
}
