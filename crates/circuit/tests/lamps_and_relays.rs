//! Worked scenarios S09 (lamps on a bad ground) and S11 (a horn relay).

use halfsplit_circuit::{
    BranchId, BranchKind, Builder, Circuit, Fault, FaultKind, Load, Measure, Meter, RelaySpec, Solver, State,
    When,
};

/// Contacts are left out in these scenarios' figures.
const NO_CONTACT: f64 = 1e-6;

fn close(computed: f64, printed: f64, digit: f64, what: &str) {
    println!("checked {printed} {digit} {computed}"); // Read by tests/outside/run.
    let off = (computed - printed).abs();
    assert!(
        off <= (0.05 * printed.abs()).max(digit) * 1.000001,
        "{what}: printed {printed}, computed {computed}"
    );
}

fn state(circuit: &Circuit, positions: &[(&str, &str)]) -> State {
    let mut state = State::default();
    for (part, position) in positions {
        state.positions.insert(circuit.part_named(part).unwrap(), (*position).to_owned());
    }
    state
}

fn first_branch(circuit: &Circuit, part: &str) -> BranchId {
    circuit.branches_of(circuit.part_named(part).unwrap()).next().unwrap().0
}

/// A switch from the 12.50 V at the fuses.
fn switched(build: &mut Builder, name: &str, out: &str) {
    build.inside(out);
    let part = build.switch(name, "G1:30", out, &["off", "on"], When::positions(&["on"]));
    let last = BranchId(build.circuit().branches.len() as u32 - 1);
    assert_eq!(build.circuit().branch(last).part, part);
}

/// The rear of the Ollerby Vane: both clusters, plate lamps, right indicators.
fn rear() -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.5, 1e-6);
    for (name, out) in [("S7", "X60:2"), ("K7", "K7:87"), ("A20", "A20.X3:5"), ("S8", "S8:2")] {
        switched(&mut build, name, out);
    }
    for splice in ["SP31", "SP32", "SP33", "SP34"] {
        build.splice(splice);
    }
    build.ground_point("GP302", 1e-6);
    build.ground_point("GP303", 3e-3);
    build.ground_point("GP101", 1e-6);
    let link = build.part("strap", "", halfsplit_circuit::PartKind::Wire);
    build.joint(link, "body", "G1:31", 1e-6);
    for point in
        ["X61:1", "X61:2", "X61:4", "X61:5", "X62:1", "X62:2", "X62:3", "X62:4", "X62:5", "X63:1", "X63:2"]
    {
        build.inside(point);
    }
    build.inside("X64:1");
    build.inside("X65:1");
    let wires = [
        ("W901", "X60:2", "SP32", 1.0, 4.2),
        ("W902", "SP32", "X61:2", 1.0, 0.6),
        ("W903", "SP32", "X62:2", 1.0, 1.5),
        ("W904", "K7:87", "SP31", 1.0, 4.4),
        ("W905", "SP31", "X61:1", 0.75, 0.6),
        ("W906", "SP31", "X62:1", 0.75, 1.5),
        ("W907", "SP31", "X63:1", 0.75, 1.0),
        ("W908", "A20.X3:5", "SP33", 1.0, 4.5),
        ("W908b", "SP33", "X62:3", 1.0, 0.001),
        ("W909", "SP33", "X64:1", 1.0, 2.6),
        ("W910", "SP33", "X65:1", 0.75, 2.2),
        ("W911", "S8:2", "SP34", 0.75, 5.0),
        ("W911a", "SP34", "X61:4", 0.75, 0.6),
        ("W911b", "SP34", "X62:4", 0.75, 1.5),
        ("W912", "X62:5", "GP303", 1.0, 1.4),
        ("W913", "X61:5", "GP302", 1.0, 0.6),
        ("W914", "X63:2", "GP302", 0.75, 0.7),
    ];
    for (name, a, b, mm2, metres) in wires {
        build.wire(name, a, b, "BK", mm2, metres);
    }
    let lamps = [
        ("E1", "X61:1", "X61:5", 5.0),
        ("E2", "X61:2", "X61:5", 21.0),
        ("E4", "X61:4", "X61:5", 21.0),
        ("E5", "X62:1", "X62:5", 5.0),
        ("E6", "X62:2", "X62:5", 21.0),
        ("E7", "X62:3", "X62:5", 21.0),
        ("E8", "X62:4", "X62:5", 21.0),
        ("E9", "X63:1", "X63:2", 5.0),
        ("E10", "X63:1", "X63:2", 5.0),
        ("E11", "X64:1", "GP101", 21.0),
        ("E12", "X65:1", "GP101", 5.0),
    ];
    for (name, a, b, watts) in lamps {
        build.lamp(name, a, b, watts, 12.0);
    }
    build.build().unwrap()
}

#[test]
fn s09_a_shared_ground_lifts_its_lamps() {
    let circuit = rear();
    let solver = Solver::new(&circuit);
    let meter = Meter::volts(circuit.point_named("X62:5").unwrap(), circuit.negative.unwrap());
    let ground = first_branch(&circuit, "GP303");
    let series = |ohms: f64| [Fault { kind: FaultKind::Series { branch: ground, ohms } }];
    // What is on, healthy, 3.0 Ω linear and filament, open linear and filament.
    type Row<'a> = (&'a [(&'a str, &'a str)], [f64; 5]);
    let rows: [Row<'_>; 4] = [
        (&[("K7", "on")], [0.012, 0.73, 0.19, 1.65, 0.24]),
        (&[("S7", "on")], [0.051, 2.71, 1.81, 5.50, 3.51]),
        (&[("K7", "on"), ("S7", "on")], [0.063, 3.33, 2.58, 6.65, 5.34]),
        (&[("A20", "on")], [0.051, 2.77, 1.88, 5.67, 3.72]),
    ];
    for (on, [healthy, linear, filament, open_linear, open_filament]) in rows {
        let state = state(&circuit, on);
        let what = format!("{on:?}");
        close(solver.nominal(&state, &[], &meter).unwrap().value, healthy, 0.001, &what);
        for (ohms, linear, filament) in [(3.0, linear, filament), (f64::INFINITY, open_linear, open_filament)]
        {
            let fault = series(ohms);
            close(solver.nominal(&state, &fault, &meter).unwrap().value, linear, 0.01, &what);
            close(solver.filament(&state, &fault, &meter).unwrap().value, filament, 0.01, &what);
            let reading = solver.read(&state, &fault, &meter).unwrap();
            assert!(reading.low < filament && linear < reading.high, "{what}: {reading:?}");
        }
    }
    // The wire of the indicator that is off sits at 1.22 V, and the right reverse lamp sees 1.34 V backwards.
    let braking = state(&circuit, &[("S7", "on")]);
    let at = |red: &str, black: &str| {
        let meter = Meter::volts(circuit.point_named(red).unwrap(), circuit.point_named(black).unwrap());
        solver.nominal(&braking, &series(3.0), &meter).unwrap().value
    };
    close(at("SP33", "G1:31"), 1.22, 0.01, "SP33");
    close(at("X62:4", "X62:5"), -1.34, 0.01, "reverse lamp");
    close(at("X62:2", "X62:5"), 9.46, 0.01, "stop lamp");
    // The drop test across the eyelet, 0.896 A through 3.0 Ω; and after the repair.
    let current = solver.solve(&braking, &series(3.0)).unwrap().current(ground);
    close(current, 0.896, 0.001, "eyelet current");
    close(at("GP303", "body"), 2.69, 0.01, "eyelet");
    let over = Meter::volts(circuit.point_named("GP303").unwrap(), circuit.point_named("body").unwrap());
    assert!(solver.nominal(&braking, &[], &over).unwrap().value < 0.01);
    let stop = first_branch(&circuit, "E6");
    close(solver.solve(&braking, &[]).unwrap().current(stop), 1.76, 0.01, "right stop lamp");
    let reverse = Meter::volts(circuit.point_named("X62:4").unwrap(), circuit.point_named("X62:5").unwrap());
    let open = solver.nominal(&braking, &series(f64::INFINITY), &reverse).unwrap().value;
    close(open, -2.73, 0.01, "reverse lamp behind the open ground");
    // Ohms on the joint with the lamps in: every filament behind it is a return of its own.
    let dead = State { battery: false, ..State::default() };
    let on_joint = Meter::ohms(circuit.point_named("X62:5").unwrap(), circuit.negative.unwrap());
    close(solver.nominal(&dead, &series(3.0), &on_joint).unwrap().value, 1.72, 0.01, "joint with lamps in");
}

/// The horn circuit of the Ollerby Vane; the switch is `S5`.
fn horn() -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.4, 1e-6);
    build.fuse("F5", 20.0);
    let part = build.part("bar", "", halfsplit_circuit::PartKind::Bar);
    build.joint(part, "G1:30", "F5:feed", NO_CONTACT);
    build.relay("K5", RelaySpec { coil: 85.0, pull_in: 8.0, drop_out: 3.0 });
    build.joint(part, "F5:load", "K5:30", NO_CONTACT);
    build.joint(part, "F5:load", "K5:86", NO_CONTACT);
    let relay = build.part_named("K5");
    let suppression = BranchKind::Load { ohms: Some(680.0), active: When::always() };
    build.between(relay, "K5:86", "K5:85", suppression);
    for point in ["X70:4", "X71:2", "X71:3", "X72:1", "X72:2", "X73:1", "X73:2", "spring"] {
        build.inside(point);
    }
    build.splice("SP51");
    for ground in ["GP201", "GP101"] {
        build.ground_point(ground, NO_CONTACT);
    }
    build.joint(part, "body", "G1:31", NO_CONTACT);
    build.wire("W1101", "K5:85", "X70:4", "GN/BK", 0.5, 1.6);
    build.resistor("spiral", "X70:4", "spring", 0.15);
    build.wire("W1102", "spring", "X71:2", "GN/BK", 0.35, 0.4);
    build.switch("S5", "X71:2", "X71:3", &["rest", "pressed"], When::positions(&["pressed"]));
    build.wire("W1103", "X71:3", "GP201", "BN", 0.5, 0.6);
    build.wire("W1104", "K5:87", "SP51", "BK/YE", 1.5, 1.8);
    build.wire("W1105", "SP51", "X72:1", "BK/YE", 1.5, 0.3);
    build.wire("W1106", "SP51", "X73:1", "BK/YE", 1.5, 0.5);
    build.resistor("M5", "X72:1", "X72:2", 2.4);
    build.resistor("M6", "X73:1", "X73:2", 2.4);
    build.wire("W1107", "X72:2", "GP101", "BN", 1.5, 0.2);
    build.wire("W1108", "X73:2", "GP101", "BN", 1.5, 0.2);
    build.build().unwrap()
}

#[test]
fn s11_horn_relay_case_by_case() {
    let circuit = horn();
    let solver = Solver::new(&circuit);
    let coil = first_branch(&circuit, "K5");
    let contact = circuit
        .branches()
        .find(|(_, b)| matches!(b.kind, BranchKind::RelayContact { .. }))
        .map(|(id, _)| id)
        .unwrap();
    let spiral = first_branch(&circuit, "spiral");
    let fuse = first_branch(&circuit, "F5");
    let w1101 = first_branch(&circuit, "W1101");
    let series = |branch, ohms| Fault { kind: FaultKind::Series { branch, ohms } };
    let open = f64::INFINITY;
    let volts = |position: &str, faults: &[Fault], pin: &str| {
        let meter = Meter {
            red: circuit.point_named(pin).unwrap(),
            black: circuit.negative.unwrap(),
            measure: Measure::Volts(Load::None),
        };
        solver.nominal(&state(&circuit, &[("S5", position)]), faults, &meter).unwrap().value
    };
    // Fault; 85 at rest, 85 pressed, 87 pressed, each with its last printed digit.
    let body = circuit.point_named("body").unwrap();
    let chafed = Fault { kind: FaultKind::Chafe { branch: w1101, along: 0.5, to: body, ohms: 0.01 } };
    let cases = [
        ("healthy", vec![], (12.40, 0.01), (0.04, 0.01), (12.31, 0.01)),
        ("coil open", vec![series(coil, open)], (12.40, 0.01), (0.005, 0.001), (0.0, 0.1)),
        ("contact 1.2 ohm", vec![series(contact, 1.195)], (12.40, 0.01), (0.04, 0.01), (6.26, 0.01)),
        ("spiral open", vec![series(spiral, open)], (12.40, 0.01), (12.40, 0.01), (0.0, 0.1)),
        ("spiral 60 ohm", vec![series(spiral, 59.85)], (12.40, 0.01), (5.49, 0.01), (0.0, 0.1)),
        ("fuse cracked", vec![series(fuse, 40e3)], (12.35, 0.01), (0.0, 0.01), (0.0, 0.1)),
        ("W1101 chafed", vec![chafed], (0.0, 0.1), (0.0, 0.1), (12.31, 0.01)),
    ];
    for (what, faults, rest, pressed, made) in cases {
        close(volts("rest", &faults, "K5:85"), rest.0, rest.1, what);
        close(volts("pressed", &faults, "K5:85"), pressed.0, pressed.1, what);
        close(volts("pressed", &faults, "K5:87"), made.0, made.1, what);
    }
    close(volts("pressed", &[], "K5:30"), 12.36, 0.01, "30 pressed");
    close(volts("pressed", &[series(fuse, 40e3)], "K5:30"), 0.02, 0.01, "30 behind the cracked fuse");
    // With the engine at 14.6 V the 60 Ω spiral lets the relay in: a fault that comes and goes.
    let mut charging = state(&circuit, &[("S5", "pressed")]);
    charging.set_supply(14.6);
    let solution = solver.solve(&charging, &[series(spiral, 59.85)]).unwrap();
    assert!(solution.pulled_in(coil));
    // Coil ohms in hand: 75.6 Ω sound, 680 Ω with the winding open.
    let dead = State { battery: false, ..State::default() };
    let in_hand = Meter::ohms(circuit.point_named("K5:86").unwrap(), circuit.point_named("K5:85").unwrap());
    close(solver.nominal(&dead, &[], &in_hand).unwrap().value, 75.6, 0.1, "coil");
    close(solver.nominal(&dead, &[series(coil, open)], &in_hand).unwrap().value, 680.0, 1.0, "coil open");
}
