//! A measured supply is what the posts show in the state that is asked about.

use halfsplit_circuit::{
    Builder, Circuit, Fault, FaultKind, GeneratorSpec, Key, Meter, PartKind, Solver, State, When,
};

/// A battery of 20 mohm, a starter of 0.1 ohm while cranking, a lamp, perhaps a generator that turns on run.
fn car(generator: bool) -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.6, 0.02);
    build.fuse("F1", 15.0);
    build.inside("M1:50");
    build.switch("S1", "G1:30", "M1:50", &[], When::keys(&[Key::Crank]));
    build.resistor("M1", "M1:50", "G1:31", 0.1);
    build.wire("W1", "G1:30", "F1:feed", "RD", 2.5, 0.5);
    build.lamp("E1", "F1:load", "G1:31", 60.0, 12.0);
    if generator {
        let part = build.part("G2", "", PartKind::Supply);
        build.inside("G2:B");
        build.wire("W2", "G2:B", "G1:30", "RD", 16.0, 1.0);
        let spec = GeneratorSpec {
            volts: 14.2,
            inner: 0.03,
            limit: Some(90.0),
            lost: 6.0,
            fallback: 14.8,
            ceiling: 16.0,
            turning: When::keys(&[Key::Run]),
        };
        build.generator(part, "G2:B", "G1:31", "G1:30", spec);
    }
    build.build().unwrap()
}

fn posts(circuit: &Circuit, state: &State, faults: &[Fault]) -> f64 {
    let at = |name| circuit.point_named(name).unwrap();
    let meter = Meter::volts(at("G1:30"), at("G1:31"));
    let solver = Solver::new(circuit);
    let nominal = solver.nominal(state, faults, &meter).unwrap().value;
    let table = solver.table(state, &[faults.to_vec()], &[meter]).at(0, 0).unwrap().value;
    assert!((nominal - table).abs() < 1e-6, "{nominal} against {table}");
    let reading = solver.read(state, faults, &meter).unwrap();
    assert!(reading.low <= nominal && nominal <= reading.high);
    nominal
}

#[test]
fn the_posts_read_what_was_measured() {
    for generator in [false, true] {
        let circuit = car(generator);
        for key in [Key::Off, Key::Run, Key::Crank] {
            for given in [9.6, 10.5, 12.4, 13.7, 14.6] {
                let mut state = State::with_key(key);
                state.set_supply(given);
                let read = posts(&circuit, &state, &[]);
                assert!((read - given).abs() < 1e-6, "{generator} {key:?}: {given} read as {read}");
            }
        }
    }
}

/// Cranking at 10.5 V the 0.1 ohm draw 105 A, so the battery stands at 10.5 V and 20 mohm times 109 A more. With the
/// starter's contact open it shows that, less what the lamp takes.
#[test]
fn a_fault_keeps_the_battery_of_its_state() {
    let circuit = car(false);
    let mut state = State::with_key(Key::Crank);
    state.set_supply(10.5);
    let (branch, _) = circuit.branches_of(circuit.part_named("S1").unwrap()).next().unwrap();
    let open = vec![FaultKind::Series { branch, ohms: f64::INFINITY }.into()];
    let read = posts(&circuit, &state, &open);
    // 10.5 V over (0.1 + 0.005) ohm are 100 A and 4.4 A for the lamp.
    assert!((read - (10.5 + 0.02 * 100.0)).abs() < 0.02, "{read}");
}
