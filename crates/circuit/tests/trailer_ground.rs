//! Worked scenario S15: a trailer that has lost its ground.

use halfsplit_circuit::{
    BranchId, Builder, Circuit, Fault, FaultKind, Meter, PartKind, Solver, State, When, wire,
};

/// Pins: number, switch, car lamps in watts, trailer lamps in watts.
const CIRCUITS: [(&str, &str, &[f64], &[f64]); 6] = [
    ("1", "left indicator", &[21.0, 21.0, 5.0], &[21.0]),
    ("2", "fog", &[21.0], &[21.0]),
    ("4", "right indicator", &[21.0, 21.0, 5.0], &[21.0]),
    ("5", "right tail", &[15.0], &[10.0]),
    ("6", "stop", &[21.0, 21.0], &[21.0, 21.0]),
    ("7", "left tail", &[10.0], &[5.0]),
];

/// The seven-pole trailer on its car. Car lamps hang at the switch, before the 3.0 m to the socket.
///
/// The car's own ground wire at pin 3 is not printed. 0.06 V at 3.4 A is 17.6 mΩ: a contact and
/// 1.0 m of 1.5 mm², which also gives every healthy figure of the table.
fn trailer() -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.5, 1e-6);
    for point in ["TG", "X81:3", "X80:3", "X80 wire"] {
        build.inside(point);
    }
    for (pin, name, car, trailer) in CIRCUITS {
        let [fed, socket, plug, lamps] =
            [format!("fed {pin}"), format!("X80:{pin}"), format!("X81:{pin}"), format!("T{pin}")];
        for point in [&fed, &socket, &plug, &lamps] {
            build.inside(point);
        }
        let closed = When::positions(&["on"]);
        build.inside(&format!("{name} out"));
        build.switch(name, "G1:30", &format!("{name} out"), &["off", "on"], closed);
        // Fuse and switch path 60 mΩ a circuit, the switch's 5 mΩ in it.
        let path = build.part(&format!("{name} path"), "", PartKind::Fuse);
        build.joint(path, &format!("{name} out"), &fed, 60e-3 - wire::CONTACT);
        for (index, watts) in car.iter().enumerate() {
            build.lamp(&format!("{name} car {index}"), &fed, "G1:31", *watts, 12.0);
        }
        build.wire(&format!("W{pin} car"), &fed, &socket, "BK", 1.5, 3.0);
        let contact = build.part(&format!("X80 pin {pin}"), "", PartKind::Connector);
        build.joint(contact, &socket, &plug, wire::CONTACT);
        build.wire(&format!("W{pin} trailer"), &plug, &lamps, "BK", 1.0, 5.0);
        for (index, watts) in trailer.iter().enumerate() {
            build.lamp(&format!("{name} trailer {index}"), &lamps, "TG", *watts, 12.0);
        }
    }
    build.wire("W-TG", "TG", "X81:3", "WH", 1.5, 5.0);
    let contact = build.part("X80 pin 3", "", PartKind::Connector);
    build.joint(contact, "X81:3", "X80:3", wire::CONTACT);
    build.wire("W3 car", "X80:3", "G1:31", "WH", 1.5, 1.0);
    build.build().unwrap()
}

fn close(computed: f64, printed: f64, digit: f64, what: &str) {
    println!("checked {printed} {digit} {computed}"); // Read by tests/outside/run.
    let off = (computed - printed).abs();
    assert!(off <= (0.05 * printed).max(digit) * 1.000001, "{what}: printed {printed}, computed {computed}");
}

struct Trailer<'c> {
    circuit: &'c Circuit,
    solver: Solver<'c>,
    lost: [Fault; 1],
}

impl Trailer<'_> {
    fn state(&self, on: &[&str]) -> State {
        let mut state = State::default();
        for name in on {
            state.positions.insert(self.circuit.part_named(name).unwrap(), "on".to_owned());
        }
        state
    }

    fn meter(&self, red: &str, black: &str) -> Meter {
        Meter::volts(self.circuit.point_named(red).unwrap(), self.circuit.point_named(black).unwrap())
    }
}

fn pin_3(circuit: &Circuit) -> BranchId {
    circuit.branches_of(circuit.part_named("X80 pin 3").unwrap()).next().unwrap().0
}

#[test]
fn s15_lost_trailer_ground() {
    let circuit = trailer();
    let open = FaultKind::Series { branch: pin_3(&circuit), ohms: f64::INFINITY };
    let it = Trailer { circuit: &circuit, solver: Solver::new(&circuit), lost: [open.into()] };
    let tail = ["right tail", "left tail"];
    let rows: [(&[&str], f64, f64, f64); 4] = [
        (&tail, 0.10, 2.48, 0.59),
        (&["stop"], 0.27, 5.55, 3.77),
        (&["left indicator"], 0.14, 3.34, 1.15),
        (&["right tail", "left tail", "stop"], 0.37, 7.19, 6.57),
    ];
    for (on, healthy, linear, filament) in rows {
        let state = it.state(on);
        let (meter, what) = (it.meter("TG", "G1:31"), format!("{on:?}"));
        close(it.solver.nominal(&state, &[], &meter).unwrap().value, healthy, 0.01, &what);
        close(it.solver.nominal(&state, &it.lost, &meter).unwrap().value, linear, 0.01, &what);
        close(it.solver.filament(&state, &it.lost, &meter).unwrap().value, filament, 0.01, &what);
        let reading = it.solver.read(&state, &it.lost, &meter).unwrap();
        assert!(reading.low < filament && linear < reading.high, "{what}: {reading:?}");
    }
}

#[test]
fn s15_first_step_and_second_discriminator() {
    let circuit = trailer();
    let open = FaultKind::Series { branch: pin_3(&circuit), ohms: f64::INFINITY };
    let it = Trailer { circuit: &circuit, solver: Solver::new(&circuit), lost: [open.into()] };
    let braking = it.state(&["stop"]);
    let volts = |state: &State, faults: &[Fault], red: &str, black: &str| {
        it.solver.nominal(state, faults, &it.meter(red, black)).unwrap().value
    };
    close(volts(&braking, &[], "X81:3", "G1:31"), 0.06, 0.01, "pin 3, trailer side");
    assert!(volts(&braking, &it.lost, "X81:3", "G1:31") > 3.0);
    // The indicator's wire on the car, switched off, is lifted through the trailer.
    close(volts(&braking, &it.lost, "X80:1", "G1:31"), 1.71, 0.01, "pin 1, car side");
    // With a meter alone the socket looks good.
    close(volts(&braking, &it.lost, "X80:6", "G1:31"), 12.5, 0.1, "pin 6");
    // Braking dims the tail lamps from 12.0 V to 5.2–5.8 V, hot resistance and filament law.
    let tail = it.state(&["right tail", "left tail"]);
    let both = it.state(&["right tail", "left tail", "stop"]);
    for lamp in ["T5", "T7"] {
        close(volts(&tail, &[], lamp, "TG"), 12.0, 0.3, lamp);
        let linear = volts(&both, &it.lost, lamp, "TG");
        let filament = it.solver.filament(&both, &it.lost, &it.meter(lamp, "TG")).unwrap().value;
        assert!((5.15..=5.85).contains(&linear) && (5.15..=5.85).contains(&filament), "{linear} {filament}");
    }
    // A jumper from TG to battery negative proves it.
    let [lost] = it.lost.clone();
    let [tg, negative] = ["TG", "G1:31"].map(|name| circuit.point_named(name).unwrap());
    let jumper = FaultKind::Bridge { a: tg, b: negative, ohms: 0.05 };
    assert!(volts(&both, &[lost, jumper.into()], "T6", "TG") > 11.0);
}
