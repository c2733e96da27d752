//! How long one reading takes on the reference circuit R5.

#[path = "../tests/reference_circuit/mod.rs"]
mod reference_circuit;

use divan::{Bencher, black_box};
use halfsplit_circuit::{Fault, Load, Measure, Meter, Solver, net};
use reference_circuit::{Bench, r5};

fn main() {
    divan::main();
}

/// One solve without a meter, healthy.
#[divan::bench]
fn solve_healthy(bencher: Bencher<'_, '_>) {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let state = bench.key_on(&[]);
    bencher.bench_local(|| bench.solver.solve(black_box(&state), &[]).is_ok());
}

/// One reading at declared values with a short in a sensor: the planner's inner step.
#[divan::bench]
fn nominal_with_fault(bencher: Bencher<'_, '_>) {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let state = bench.key_on(&["X35", "X21"]);
    let faults: [Fault; 1] = [bench.bridge("X34.part:2", "X34.part:1", 1.8).into()];
    let meter = Meter::volts(bench.point("X35:1"), bench.point("G1:31"));
    bencher.bench_local(|| bench.solver.nominal(black_box(&state), &faults, &meter).is_ok());
}

/// The same with its interval.
#[divan::bench]
fn interval_with_fault(bencher: Bencher<'_, '_>) {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let state = bench.key_on(&["X35", "X21"]);
    let faults: [Fault; 1] = [bench.bridge("X34.part:2", "X34.part:1", 1.8).into()];
    let meter = Meter::volts(bench.point("X35:1"), bench.point("G1:31"));
    bencher.bench_local(|| bench.solver.read(black_box(&state), &faults, &meter).is_ok());
}

/// A test lamp between its filament law and its hot resistance.
#[divan::bench]
fn interval_with_lamp(bencher: Bencher<'_, '_>) {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let state = bench.key_on(&["A10.X1"]);
    let (red, black) = (bench.point("F12:load"), bench.point("G1:31"));
    let meter = Meter { red, black, measure: Measure::Volts(Load::Lamp) };
    bencher.bench_local(|| bench.solver.read(black_box(&state), &[], &meter).is_ok());
}

/// Preparing a circuit: elimination order and layout.
#[divan::bench]
fn prepare(bencher: Bencher<'_, '_>) {
    let circuit = r5();
    bencher.bench_local(|| Solver::new(black_box(&circuit)));
}

/// One net.
#[divan::bench]
fn net_of_the_reference(bencher: Bencher<'_, '_>) {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let (state, point) = (bench.key_on(&[]), bench.point("X34:2"));
    bencher.bench_local(|| net(&circuit, black_box(&state), point));
}
