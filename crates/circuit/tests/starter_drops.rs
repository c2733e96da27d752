//! Worked scenario S14: voltage drops along a starter's path while it cranks.

use halfsplit_circuit::{BranchKind, Builder, Circuit, Fault, FaultKind, Meter, PartKind, Solver, State};

/// Battery, starter and their path; what the scenario gives as one figure stands in several joints.
fn starter() -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.5, 9.5e-3);
    for point in
        ["M1:30", "M1 stud", "M1 case", "block", "strap engine", "strap body", "body", "GP1", "W1402 clamp"]
    {
        build.inside(point);
    }
    let eyelets = build.part("eyelets", "", PartKind::GroundPoint);
    let starter = build.part("M1", "", PartKind::Motor);
    // 1.5 mΩ on the positive side: 0.79 mΩ of cable, the rest at its ends.
    build.inside("W1401 clamp");
    build.joint(eyelets, "G1:30", "W1401 clamp", 1.5e-3 - 1.5 * 0.527e-3);
    build.wire("W1401", "W1401 clamp", "M1:30", "RD", 35.0, 1.5);
    build.joint(starter, "M1:30", "M1 stud", 1.0e-3);
    let motor = BranchKind::Load { ohms: Some(49.5e-3), active: Default::default() };
    build.between(starter, "M1 stud", "M1 case", motor);
    build.joint(eyelets, "M1 case", "block", 0.10e-3);
    build.joint(eyelets, "block", "strap engine", 0.10e-3);
    build.wire("W1403", "strap engine", "strap body", "BK", 25.0, 0.35);
    let gp103 = build.part("GP103", "", PartKind::GroundPoint);
    build.joint(gp103, "strap body", "body", 0.12e-3);
    build.inside("body at GP1");
    build.joint(eyelets, "body", "body at GP1", 0.05e-3);
    build.joint(eyelets, "body at GP1", "GP1", 0.06e-3);
    build.wire("W1402", "GP1", "W1402 clamp", "BK", 35.0, 0.4);
    build.joint(eyelets, "W1402 clamp", "G1:31", 0.10e-3);
    build.build().unwrap()
}

fn close(computed: f64, printed: f64, digit: f64, what: &str) {
    println!("checked {printed} {digit} {computed}"); // Read by tests/outside/run.
    let off = (computed - printed).abs();
    assert!(off <= (0.05 * printed).max(digit) * 1.000001, "{what}: printed {printed}, computed {computed}");
}

#[test]
fn s14_drops_while_cranking() {
    let circuit = starter();
    let solver = Solver::new(&circuit);
    let point = |name: &str| circuit.point_named(name).unwrap();
    let first = |part: &str| circuit.branches_of(circuit.part_named(part).unwrap()).next().unwrap().0;
    let corroded = [Fault { kind: FaultKind::Series { branch: first("GP103"), ohms: 8e-3 } }];
    let volts = |faults: &[Fault], red: &str, black: &str| {
        let meter = Meter::volts(point(red), point(black));
        solver.nominal(&State::default(), faults, &meter).unwrap().value
    };
    // Section, leads, limit (true: at least), healthy and with the corroded eyelet.
    let rows = [
        ("post to post", "G1:30", "G1:31", (9.6, true), 10.6, 0.1, 10.82, 0.01),
        ("post + to M1/30", "G1:30", "M1:30", (0.5, false), 0.30, 0.01, 0.27, 0.01),
        ("solenoid", "M1:30", "M1 stud", (0.3, false), 0.20, 0.01, 0.18, 0.01),
        ("case to post -", "M1 case", "G1:31", (0.5, false), 0.20, 0.01, 1.60, 0.01),
        ("block to body", "block", "body", (0.1, false), 0.10, 0.01, 1.50, 0.01),
        ("GP103 eyelet to body", "strap body", "body", (0.1, false), 0.02, 0.01, 1.44, 0.01),
        ("motor", "M1 stud", "M1 case", (9.0, true), 9.90, 0.01, 8.78, 0.01),
    ];
    let mut beyond = Vec::new();
    for (what, red, black, (limit, least), healthy, digit, faulty, faulty_digit) in rows {
        let (now, then) = (volts(&corroded, red, black), volts(&[], red, black));
        close(then, healthy, digit, what);
        close(now, faulty, faulty_digit, what);
        let keeps = |value: f64| if least { value > limit } else { value <= limit };
        assert!(keeps(then), "{what}: {then}");
        if !keeps(now) {
            beyond.push(what);
        }
    }
    assert_eq!(beyond, ["case to post -", "block to body", "GP103 eyelet to body", "motor"]);
    let amps = |faults: &[Fault]| -solver.solve(&State::default(), faults).unwrap().current(first("G1"));
    close(amps(&[]), 200.0, 1.0, "amperes");
    close(amps(&corroded), 177.3, 0.1, "amperes, corroded");
    // The budget closes on the motor's figure.
    let drops = [("G1:30", "M1:30"), ("M1:30", "M1 stud"), ("M1 case", "G1:31")];
    let sum: f64 = drops.iter().map(|(red, black)| volts(&corroded, red, black)).sum();
    let motor = volts(&corroded, "M1 stud", "M1 case");
    // Each reading has its own 10 MΩ in the circuit.
    assert!((volts(&corroded, "G1:30", "G1:31") - sum - motor).abs() < 1e-6);
    close(motor, 8.77, 0.01, "budget");
    // On a dead circuit the corroded strap still shows 0.0 Ω at 0.1 Ω a digit.
    let dead = State { battery: false, ..State::default() };
    let strap = solver.nominal(&dead, &corroded, &Meter::ohms(point("block"), point("body"))).unwrap().value;
    assert!(strap < 0.05, "{strap}");
}

/// The pull-in winding's 30 A through W1406, which the scenario counts apart from the motor's current.
#[test]
fn s14_control_wire() {
    let mut build = Builder::new();
    build.supply("G1", 12.5, 1e-6);
    build.inside("M1:50");
    build.wire("W1406", "G1:30", "M1:50", "BK/RD", 4.0, 1.5);
    build.resistor("winding", "M1:50", "G1:31", 12.5 / 30.0 - 7.07e-3);
    let circuit = build.build().unwrap();
    let meter = Meter::volts(circuit.point_named("G1:30").unwrap(), circuit.point_named("M1:50").unwrap());
    let drop = Solver::new(&circuit).nominal(&State::default(), &[], &meter).unwrap().value;
    close(drop, 0.21, 0.01, "K1/87 to M1/50");
}
