//! Every kind of fault, against the same circuit built with the fault in it.

mod reference_circuit;

use halfsplit_circuit::{
    BranchId, BranchKind, Builder, Circuit, Fault, FaultKind, Key, Load, Measure, Meter, ReadError, Solver,
    State, read,
};
use proptest::prelude::*;
use reference_circuit::{Bench, r5};

const VOLTS: Measure = Measure::Volts(Load::None);

/// Battery, a wire to a load and a wire back; a body that the wires may touch.
fn loop_of(wires: &[(&str, &str, &str, f64)], chafe: Option<(&str, f64)>) -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.0, 0.01);
    build.ground_point("GP1", 0.001);
    build.wire("W0", "G1:31", "GP1", "BK", 10.0, 1.0);
    for name in ["load:1", "load:2", "spot"] {
        build.inside(name);
    }
    for &(name, a, b, metres) in wires {
        build.wire(name, a, b, "RD", 0.5, metres);
    }
    build.resistor("R1", "load:1", "load:2", 6.0);
    if let Some((spot, ohms)) = chafe {
        build.resistor("touch", spot, "body", ohms);
    }
    build.build().unwrap()
}

fn wire_named(circuit: &Circuit, name: &str) -> BranchId {
    circuit.branches_of(circuit.part_named(name).unwrap()).next().unwrap().0
}

fn volts(circuit: &Circuit, faults: &[Fault], at: &str) -> f64 {
    let meter = Meter::volts(circuit.point_named(at).unwrap(), circuit.negative.unwrap());
    read(circuit, &State::with_key(Key::Run), faults, &meter).unwrap().nominal
}

proptest! {
    /// A chafed wire is two wires and a touch between them.
    #[test]
    fn a_chafed_wire_is_two_wires(along in 0.01..0.99f64, power in -3.0..5.0f64) {
        let ohms = 10f64.powf(power);
        let whole = loop_of(&[("W1", "G1:30", "load:1", 3.0), ("W2", "load:2", "GP1", 2.0)], None);
        let fault = Fault {
            kind: FaultKind::Chafe {
                branch: wire_named(&whole, "W1"),
                along,
                to: whole.point_named("body").unwrap(),
                ohms,
            },
        };
        let cut = loop_of(
            &[
                ("W1a", "G1:30", "spot", 3.0 * along),
                ("W1b", "spot", "load:1", 3.0 * (1.0 - along)),
                ("W2", "load:2", "GP1", 2.0),
            ],
            Some(("spot", ohms)),
        );
        for point in ["G1:30", "load:1", "load:2", "body", "GP1"] {
            let (ours, explicit) = (volts(&whole, std::slice::from_ref(&fault), point), volts(&cut, &[], point));
            prop_assert!((ours - explicit).abs() < 1e-9, "{point}: {ours} against {explicit}");
        }
    }

    /// Resistance added to any branch of R5 leaves finite readings, and more of it never
    /// raises the supply side's current.
    #[test]
    fn added_resistance_never_feeds_more(branch in 0usize..200, power in -3.0..7.0f64) {
        let circuit = r5();
        let bench = Bench::new(&circuit);
        let branch = BranchId((branch % circuit.branches.len()) as u32);
        // A reference under more load delivers more, a module that hunts has no reading.
        let fault = |ohms: f64| [Fault { kind: FaultKind::Series { branch, ohms } }];
        let state = bench.key_on(&[]);
        let (source, _) = circuit.branches_of(circuit.part_named("G1").unwrap()).next().unwrap();
        let drawn = |ohms: f64| bench.solver.solve(&state, &fault(ohms)).map(|s| -s.current(source));
        let ohms = 10f64.powf(power);
        match (drawn(ohms), drawn(ohms * 10.0)) {
            (Ok(less), Ok(more)) => prop_assert!(more <= less + 1e-9, "{more} > {less}"),
            (Err(ReadError::NoStableState { .. }), _) | (_, Err(ReadError::NoStableState { .. })) => {}
            (Err(other), _) | (_, Err(other)) => return Err(TestCaseError::fail(other.to_string())),
        }
    }
}

#[test]
fn a_wire_cut_at_the_far_end_still_chafes_at_the_near_one() {
    let circuit = loop_of(&[("W1", "G1:30", "load:1", 3.0), ("W2", "load:2", "GP1", 2.0)], None);
    let branch = wire_named(&circuit, "W1");
    let faults = [
        Fault { kind: FaultKind::Series { branch, ohms: f64::INFINITY } },
        Fault {
            kind: FaultKind::Chafe {
                branch,
                along: 0.5,
                to: circuit.point_named("body").unwrap(),
                ohms: 1.0,
            },
        },
    ];
    let solution = Solver::new(&circuit).solve(&State::default(), &faults).unwrap();
    let (source, _) = circuit.branches_of(circuit.part_named("G1").unwrap()).next().unwrap();
    assert!((-solution.current(source) - 11.2).abs() < 0.1, "{}", solution.current(source));
    // The load side is dead; 11 A lift the body by the strap's drop.
    let (load, ground) = (volts(&circuit, &faults, "load:1"), volts(&circuit, &faults, "GP1"));
    assert!((load - ground).abs() < 1e-3 && ground < 0.03);
}

#[test]
fn shorts_to_body_neighbour_and_power() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let state = bench.key_on(&[]);
    let at = |fault: FaultKind| bench.volts(&state, &[fault], "X35:1").nominal;
    let w7 = wire_named(&circuit, "W7");
    let chafe =
        |along: f64, to: &str, ohms: f64| FaultKind::Chafe { branch: w7, along, to: bench.point(to), ohms };
    // Half way along W7, 40.8 mΩ and a 0.1 Ω touch at 120 mA.
    let short = at(chafe(0.5, "body", 0.1));
    assert!((short - 0.12 * (0.1 + 0.0408)).abs() < 0.002, "{short}");
    // To the wire beside it: the signal of the same sensor hangs free, so nothing changes.
    assert!((at(chafe(0.5, "X34:3", 0.01)) - 4.99).abs() < 0.01);
    // To power: lifted to the battery, which the output cannot pull down.
    assert!(at(chafe(0.5, "BUS1", 0.05)) > 12.0);
    // Two wires bridged in the inline connector: reference to its own return.
    let bridged = at(bench.bridge("X21.body:6", "X21.body:7", 0.05));
    assert!(bridged < 0.05, "{bridged}");
}

#[test]
fn contacts_drivers_and_outputs_fail_as_told() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let state = bench.key_on(&[]);
    let reference = circuit.output_named("A10.REF_A").unwrap();
    let dead = [FaultKind::Dead { branch: reference }];
    assert!(bench.volts(&state, &dead, "X35:1").nominal.abs() < 0.01);
    assert!((bench.volts(&state, &dead, "X36:2").nominal - 5.0).abs() < 0.01);
    let module = circuit.part_named("A10").unwrap();
    let (driver, _) =
        circuit.branches_of(module).find(|(_, b)| matches!(b.kind, BranchKind::Driver { .. })).unwrap();
    // The main relay driver dead: K3 stays out, the permanent feed keeps A10 awake.
    let no_relay = [FaultKind::Dead { branch: driver }];
    assert!(bench.volts(&state, &no_relay, "F14:load").nominal.abs() < 0.01);
    assert!((bench.volts(&state, &no_relay, "X35:1").nominal - 4.99).abs() < 0.01);
    // Its driver shorted holds the relay with A10 asleep, as long as terminal 15 is live.
    let stuck = [FaultKind::StuckClosed { branch: driver, ohms: 0.6 }, bench.series("F12", f64::INFINITY)];
    assert!(bench.volts(&state, &stuck, "F14:load").nominal > 12.3);
    assert!(bench.volts(&state, &stuck, "X35:1").nominal.abs() < 0.01);
}

#[test]
fn an_open_ground_lifts_the_sensors_return() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let faults = [bench.series("GP102", f64::INFINITY)];
    let state = bench.key_on(&[]);
    let solution = bench.solver.solve(&state, &faults.clone().map(Into::into)).unwrap();
    assert!(!solution.awake(circuit.part_named("A10").unwrap()));
    // Nothing returns: the whole module hangs at the battery's volts.
    assert!(bench.volts(&state, &faults, "A10.X1:2").nominal > 12.0);
}

#[test]
fn two_faults_at_once_are_both_there() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let state = bench.key_on(&["X21"]);
    let faults = [bench.bridge("X34.part:2", "X34.part:1", 1.8), bench.series("W8", 1e6)];
    let far = bench.volts(&state, &faults, "X35:1").nominal;
    let near = bench.volts(&state, &faults, "SP10").nominal;
    assert!((near - 0.237).abs() < 0.005, "{near}");
    // Only the sensor ground's own lift is left.
    assert!(far < 0.005, "{far}");
    let lifted = bench.unplug_more(&state, &["X34", "X35"]);
    assert!((bench.volts(&lifted, &faults, "X35:1").nominal - 5.0 * 10.0 / 11.0).abs() < 0.01);
}

#[test]
fn a_sink_is_a_resistor_with_the_key_off() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let sink = [FaultKind::Sink { point: bench.point("SP10"), volts: 0.15, ohms: 4.7, unpowered: 47e3 }];
    let mut off = bench.dead(&["A10.X2", "X21", "X34", "X35"]);
    let dead = bench.reading(&off, &sink, "X35:1", "G1:31", Measure::Ohms);
    assert!((dead.nominal - 47e3).abs() < 1.0);
    (off.battery, off.key) = (true, Key::Run);
    let meter = Meter::ohms(bench.point("X35:1"), bench.point("G1:31"));
    let live = bench.solver.read(&off, &sink.map(Into::into), &meter).unwrap_err();
    assert!(live.to_string().contains("can drive these leads"), "{live}");
}

#[test]
fn a_fault_that_does_not_fit_is_said() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let solve = |faults: &[FaultKind]| {
        let faults: Vec<Fault> = faults.iter().cloned().map(Into::into).collect();
        bench.solver.solve(&bench.key_on(&[]), &faults).unwrap_err().to_string()
    };
    let w7 = wire_named(&circuit, "W7");
    let chafe = FaultKind::Chafe { branch: w7, along: 0.2, to: bench.point("body"), ohms: 1.0 };
    assert!(solve(&[chafe.clone(), chafe]).contains("W7 is chafed in two places"));
    assert!(solve(&[FaultKind::Dead { branch: BranchId(9999) }]).contains("not there"));
    assert!(solve(&[bench.bridge("SP10", "SP12", 0.0)]).contains("resistance is zero"));
    let fuse = wire_named(&circuit, "F12");
    let not_a_wire = FaultKind::Chafe { branch: fuse, along: 0.2, to: bench.point("body"), ohms: 1.0 };
    assert!(solve(&[not_a_wire]).contains("does not fit"));
    let mut zero = circuit.clone();
    zero.branches[w7.index()].kind =
        BranchKind::Wire { ohms: Some(0.0), section: None, metres: None, colour: String::new() };
    let error = Solver::new(&zero).solve(&State::default(), &[]).unwrap_err();
    match error {
        ReadError::Singular { parts } => assert_eq!(parts.names, ["W7"]),
        other => panic!("{other}"),
    }
    let mut loose = circuit.clone();
    loose.branches[w7.index()].a = halfsplit_circuit::PointId(9999);
    assert!(
        Solver::new(&loose).solve(&State::default(), &[]).unwrap_err().to_string().contains("W7 has an end")
    );
}

#[test]
fn the_black_lead_rests_anywhere() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let state = bench.key_on(&[]);
    let there = bench.reading(&state, &[], "X34:2", "X34:1", VOLTS).nominal;
    let back = bench.reading(&state, &[], "X34:1", "X34:2", VOLTS).nominal;
    assert!((there + back).abs() < 1e-9 && (there - 4.99).abs() < 0.01);
}
