//! A table of 200 faults × 50 readings in a circuit of 300 points.

mod common;

use divan::Bencher;
use halfsplit_circuit::Solver;

fn main() {
    let circuit = common::circuit();
    let (faults, meters) = (common::faults(&circuit), common::meters(&circuit));
    let (points, branches) = (circuit.points.len(), circuit.branches.len());
    let table = Solver::new(&circuit).table(&common::state(), &faults, &meters);
    println!("{points} points, {branches} branches, {} faults × {} readings", faults.len(), meters.len());
    println!("{:?}", table.counts());
    divan::main();
}

/// By updates, on all processors.
#[divan::bench]
fn by_updates(bencher: Bencher<'_, '_>) {
    let circuit = common::circuit();
    let (faults, meters, state) = (common::faults(&circuit), common::meters(&circuit), common::state());
    let solver = Solver::new(&circuit);
    bencher.bench_local(|| solver.table(&state, &faults, &meters));
}

/// By updates, on one processor.
#[divan::bench]
fn by_updates_on_one(bencher: Bencher<'_, '_>) {
    let circuit = common::circuit();
    let (faults, meters, state) = (common::faults(&circuit), common::meters(&circuit), common::state());
    let solver = Solver::new(&circuit);
    bencher.bench_local(|| solver.table_on(1, &state, &faults, &meters));
}

/// (a) One fresh numeric factor for each fault, the symbolic part reused; readings on that factor.
#[divan::bench]
fn a_factor_per_fault(bencher: Bencher<'_, '_>) {
    let circuit = common::circuit();
    let (faults, meters, state) = (common::faults(&circuit), common::meters(&circuit), common::state());
    let solver = Solver::new(&circuit);
    bencher.bench_local(|| solver.table_refactored(&state, &faults, &meters));
}

/// A fresh factor for every reading.
#[divan::bench(sample_count = 10)]
fn a_factor_per_reading(bencher: Bencher<'_, '_>) {
    let circuit = common::circuit();
    let (faults, meters, state) = (common::faults(&circuit), common::meters(&circuit), common::state());
    let solver = Solver::new(&circuit);
    bencher.bench_local(|| solver.table_afresh(&state, &faults, &meters));
}
