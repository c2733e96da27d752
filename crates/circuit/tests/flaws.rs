//! Circuits that make no sense: a finding that names the parts, never a panic, a figure that is none, or no end.

mod random_circuit;

use halfsplit_circuit::{
    BranchId, BranchKind, Builder, Circuit, Flaw, Key, Measure, Meter, PartKind, PointId, ReadError, Solver,
    State, When, WireTable, faults_of, feed_path, flaws, pairs_of, read, return_path,
};
use proptest::prelude::*;

fn names(flaw: &Flaw) -> Vec<&str> {
    flaw.parts().names.iter().map(String::as_str).collect()
}

/// Battery and a good load, to break one thing at a time.
fn sound() -> Builder {
    let mut build = Builder::new();
    build.supply("G1", 12.4, 0.008);
    build.inside("P1");
    build.wire("W1", "G1:30", "P1", "RD", 2.5, 1.0);
    build.resistor("R1", "P1", "G1:31", 10.0);
    build
}

fn volts(circuit: &Circuit) -> Result<f64, ReadError> {
    let meter = Meter::volts(PointId(0), PointId(1));
    read(circuit, &State::with_key(Key::Run), &[], &meter).map(|reading| reading.nominal)
}

#[test]
fn a_sound_circuit_has_none() {
    assert_eq!(flaws(&sound().build().unwrap()), []);
}

#[test]
fn no_resistance() {
    for ohms in [0.0, -1.0, f64::NAN, 1e-12] {
        let mut build = sound();
        build.resistor("R9", "P1", "G1:31", ohms);
        let circuit = build.build().unwrap();
        let found = flaws(&circuit);
        assert!(matches!(found[0], Flaw::NoResistance(_)), "{found:?}");
        assert_eq!(names(&found[0]), ["R9"]);
        let error = volts(&circuit).unwrap_err();
        assert!(matches!(&error, ReadError::Singular { parts } if parts.names == ["R9"]), "{error}");
    }
}

#[test]
fn no_length() {
    let mut build = sound();
    build.wire("W9", "P1", "G1:31", "RD", 0.5, 0.0);
    build.wire("W8", "P1", "G1:31", "RD", 0.0, 1.0);
    let circuit = build.build().unwrap();
    let found = flaws(&circuit);
    assert!(matches!(found[0], Flaw::NoLength(_)));
    assert_eq!(names(&found[0]), ["W9", "W8"]);
    // Taken for a wire that is not known, which every reading through it says.
    let meter = Meter::volts(circuit.point_named("P1").unwrap(), circuit.point_named("G1:31").unwrap());
    let reading = read(&circuit, &State::default(), &[], &meter).unwrap();
    assert_eq!(reading.unknowns.len(), 2);
}

#[test]
fn sources_that_drive_one_another() {
    let mut build = sound();
    build.supply("G2", 6.0, 0.01);
    build.wire("W3", "G2:30", "G1:30", "RD", 10.0, 0.1);
    build.wire("W4", "G2:31", "G1:31", "BK", 10.0, 0.1);
    let circuit = build.build().unwrap();
    let found = flaws(&circuit);
    assert!(matches!(found[0], Flaw::SourceLoop(_)));
    assert_eq!(names(&found[0]), ["G1", "G2"]);
    assert!(found[0].to_string().starts_with("G1, G2: sources that drive one another"));
    assert!(volts(&circuit).unwrap().is_finite());
}

#[test]
fn dead_ends_islands_and_loops_on_one_point() {
    let mut build = sound();
    build.inside("P8");
    build.inside("P9");
    build.resistor("R8", "P8", "P9", 10.0);
    build.resistor("R9", "P1", "P1", 10.0);
    let mut circuit = build.build().unwrap();
    let found = flaws(&circuit);
    assert_eq!(found.iter().map(names).collect::<Vec<_>>(), [["R9"], ["R8"]]);
    assert!(matches!(found[..], [Flaw::OnOnePoint(_), Flaw::Unfed(_)]));
    assert!(volts(&circuit).is_ok());
    circuit.branches[0].a = PointId(700);
    assert!(matches!(flaws(&circuit)[0], Flaw::Dangling(_)));
    assert!(matches!(volts(&circuit), Err(ReadError::Malformed { .. })));
}

/// A value that a circuit should not have, by choice.
fn nonsense(choice: usize, sane: f64) -> f64 {
    [0.0, -1.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e-300, 1e300, sane][choice % 8]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Whatever the circuit: every answer is a number or says why there is none.
    #[test]
    fn no_answer_is_nonsense(
        points in 1usize..12,
        tied in any::<bool>(),
        parts in random_circuit::recipes(1..20),
        faults in random_circuit::recipes(0..3),
        meters in random_circuit::recipes(1..4),
        broken in prop::collection::vec((any::<usize>(), any::<usize>(), any::<usize>()), 0..3),
        choice in any::<u8>(),
    ) {
        let mut circuit = random_circuit::circuit(points, tied, &parts);
        for &(branch, what, value) in &broken {
            spoil(&mut circuit, branch, what, value);
        }
        for flaw in flaws(&circuit) {
            prop_assert!(!flaw.parts().parts.is_empty());
            prop_assert!(!flaw.to_string().is_empty());
        }
        let state = random_circuit::state(choice);
        let faults: Vec<_> = faults.iter().map(|f| random_circuit::fault(&circuit, f)).collect();
        let meters: Vec<_> = meters.iter().map(|m| random_circuit::meter(&circuit, m)).collect();
        let solver = Solver::new(&circuit);
        let table = solver.table(&state, &[vec![], faults.clone()], &meters);
        for (index, meter) in meters.iter().enumerate() {
            for (row, faults) in [&[][..], &faults[..]].into_iter().enumerate() {
                if let Ok(nominal) = table.at(row, index) {
                    prop_assert!(!nominal.value.is_nan());
                }
                if let Ok(reading) = solver.read(&state, faults, meter) {
                    prop_assert!(!reading.nominal.is_nan() && !reading.low.is_nan() && !reading.high.is_nan());
                    let infinite_is_ohms = reading.nominal.is_finite() || meter.measure == Measure::Ohms;
                    prop_assert!(infinite_is_ohms, "{reading:?}");
                }
            }
            if let Ok(both) = solver.ohms_both_ways(&state, &faults, meter.red, meter.black) {
                prop_assert!(!both.forward.nominal.is_nan() && !both.backward.high.is_nan());
            }
            let _ = (feed_path(&circuit, &state, meter.red), return_path(&circuit, &state, meter.red));
            if let Ok(budget) = solver.feed_budget(&state, &faults, meter.red) {
                prop_assert!(!budget.total.is_nan());
            }
        }
        for branch in 0..circuit.branches.len() as u32 {
            if let Ok(clamp) = solver.clamp(&state, &faults, BranchId(branch)) {
                prop_assert!(clamp.nominal.is_finite() && !clamp.low.is_nan() && !clamp.high.is_nan(), "{clamp:?}");
                prop_assert!(clamp.low <= clamp.nominal && clamp.nominal <= clamp.high, "{clamp:?}");
            }
        }
        let _ = (solver.fuse_margins(&state, &faults), solver.wire_margins(&state, &faults, WireTable::SmallCraft105));
        let listed = faults_of(&circuit);
        prop_assert!(pairs_of(&listed, 20).len() <= 20);
    }
}

/// Breaks one thing of one branch.
fn spoil(circuit: &mut Circuit, branch: usize, what: usize, value: usize) {
    let count = circuit.branches.len();
    let Some(branch) = circuit.branches.get_mut(branch % count.max(1)) else { return };
    match what % 12 {
        0 => branch.b = branch.a,
        1 => branch.a = PointId(900),
        _ => match &mut branch.kind {
            BranchKind::Load { ohms, .. } | BranchKind::Wire { ohms, .. } => {
                *ohms = Some(nonsense(value, 1.0))
            }
            BranchKind::Source { volts, inner } if what % 2 == 0 => {
                let _ = inner;
                *volts = nonsense(value, 12.0);
            }
            BranchKind::Source { inner, .. } => *inner = nonsense(value, 0.1),
            BranchKind::Coil { pull_in, .. } => *pull_in = nonsense(value, 6.0),
            BranchKind::Reference { limit, .. } => *limit = Some(nonsense(value, 0.1)),
            BranchKind::Diode { forward, .. } => *forward = nonsense(value, 0.7),
            BranchKind::Lamp { hot, rated } => {
                (*hot, *rated) = (nonsense(value, 6.0), nonsense(value + 1, 12.0))
            }
            BranchKind::RelayContact { coil, .. } => *coil = BranchId(900),
            BranchKind::Feed { awake, .. } => *awake = Some(nonsense(value, 24.0)),
            _ => {}
        },
    }
}

#[test]
fn an_empty_circuit_is_empty() {
    let circuit = Circuit::default();
    assert_eq!(flaws(&circuit), []);
    assert!(faults_of(&circuit).is_empty());
    let table = Solver::new(&circuit).table(&State::default(), &[], &[]);
    assert!(table.row(0).is_empty());
    let mut build = Builder::new();
    let part = build.part("R1", "", PartKind::Load);
    let point = build.inside("P");
    build.branch(part, point, point, BranchKind::Load { ohms: Some(1.0), active: When::always() });
    assert!(matches!(flaws(&build.build().unwrap())[0], Flaw::OnOnePoint(_)));
}
