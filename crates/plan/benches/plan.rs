//! How long a plan takes on the reference circuit, and its search alone.

#[path = "../tests/bay/mod.rs"]
mod bay;

use divan::Bencher;
use halfsplit_plan::plan;
use halfsplit_plan::replay::Replay;
use halfsplit_plan::search::{Effort, Table, Test, roll, solve};

fn main() {
    divan::main();
}

#[divan::bench]
fn plan_of_the_list(bencher: Bencher<'_, '_>) {
    let circuit = bay::r5();
    let request = bay::s01(&circuit).file_only();
    bencher.bench_local(|| plan(&circuit, &request).unwrap().expected_minutes);
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn plan_of_every_suspect(bencher: Bencher<'_, '_>) {
    let circuit = bay::r5();
    let request = bay::s01(&circuit);
    bencher.bench_local(|| plan(&circuit, &request).unwrap().expected_minutes);
}

#[divan::bench]
fn replay_of_every_suspect(bencher: Bencher<'_, '_>) {
    let circuit = bay::r5();
    let plan = plan(&circuit, &bay::s01(&circuit)).unwrap();
    let replay = Replay::new(&circuit);
    bencher.bench_local(|| {
        let suspects = plan.suspects.iter();
        suspects.map(|s| replay.walk(&plan, &s.variants[0]).unwrap().minutes).sum::<f64>()
    });
}

/// Twelve suspects, eighteen tests with minutes 1 to 9.
fn table() -> Table {
    let tests = (0..18u64).map(|t| {
        let outcomes = (0..12u64).map(|s| ((s * 7 + t * 5 + s * t) % 3 / 2) as u8).collect();
        Test::of((1 + t * 4 % 9) as f64, outcomes)
    });
    Table::new((1..=12).map(f64::from).collect(), tests.collect())
}

#[divan::bench]
fn search_exact() -> f64 {
    solve(&mut table(), Effort::default()).unwrap().expected
}

#[divan::bench]
fn search_rollout() -> f64 {
    roll(&mut table(), Effort::default()).unwrap().expected
}
