//! Generators, motors and batteries in series.

use halfsplit_circuit::{
    Builder, Circuit, Fault, FaultKind, GeneratorSpec, Key, Load, Measure, Meter, PartKind, PointKind,
    Solver, State, When,
};

/// Generator, sense wire to the battery post, a load at the battery.
fn charging(amps: f64, limit: Option<f64>) -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.6, 0.008);
    let generator = build.part("G2", "alternator", PartKind::Supply);
    for point in ["G2:B+", "G2:S", "G2:31"] {
        build.point(point, PointKind::Terminal);
    }
    let spec = GeneratorSpec {
        volts: 14.2,
        inner: 0.02,
        limit,
        lost: 8.0,
        fallback: 14.6,
        ceiling: 15.5,
        turning: When::keys(&[Key::Run]),
    };
    build.generator(generator, "G2:B+", "G2:31", "G2:S", spec);
    build.wire("W1", "G2:B+", "G1:30", "RD", 16.0, 2.0);
    build.wire("W2", "G2:S", "G1:30", "RD", 0.75, 2.0);
    build.wire("W3", "G2:31", "G1:31", "BK", 25.0, 0.5);
    // The regulator's own draw at the sense terminal pulls a broken wire down.
    build.resistor("R1", "G2:S", "G2:31", 10e3);
    build.resistor("R2", "G1:30", "G1:31", 12.0 / amps);
    build.build().unwrap()
}

fn volts(circuit: &Circuit, faults: &[Fault], red: &str, black: &str) -> f64 {
    let at = |name: &str| circuit.point_named(name).unwrap();
    let meter = Meter::volts(at(red), at(black));
    Solver::new(circuit).nominal(&State::with_key(Key::Run), faults, &meter).unwrap().value
}

fn open(circuit: &Circuit, part: &str) -> Fault {
    let part = circuit.part_named(part).unwrap();
    let (branch, _) = circuit.branches_of(part).next().unwrap();
    FaultKind::Series { branch, ohms: f64::INFINITY }.into()
}

#[test]
fn holds_its_sense_point_whatever_the_wire_drops() {
    for amps in [1.0, 20.0, 60.0] {
        let circuit = charging(amps, None);
        // The sense wire drops 1.4 mA × 0.05 Ω, and the ground cable its own.
        let sensed = volts(&circuit, &[], "G2:S", "G2:31");
        assert!((sensed - 14.2).abs() < 1e-6, "{sensed}");
        assert!(volts(&circuit, &[], "G2:B+", "G2:31") > 14.2);
    }
}

#[test]
fn a_broken_sense_wire_falls_back_on_its_own_terminal() {
    let circuit = charging(20.0, None);
    let broken = [open(&circuit, "W2")];
    let own = volts(&circuit, &broken, "G2:B+", "G2:31");
    assert!((own - 14.6).abs() < 1e-6, "{own}");
}

#[test]
fn a_resistive_sense_wire_raises_the_volts_up_to_the_ceiling() {
    let circuit = charging(20.0, None);
    let bad = |ohms: f64| {
        let part = circuit.part_named("W2").unwrap();
        let (branch, _) = circuit.branches_of(part).next().unwrap();
        [Fault::from(FaultKind::Series { branch, ohms })]
    };
    // 500 Ω before 10 kΩ: the sense point sees 20/21 of the post, which rises in proportion.
    let post = volts(&circuit, &bad(500.0), "G1:30", "G1:31");
    assert!(post > 14.6 && post < 15.5, "{post}");
    let own = volts(&circuit, &bad(3000.0), "G2:B+", "G2:31");
    assert!((own - 15.5).abs() < 1e-6, "{own}");
}

#[test]
fn gives_no_more_than_its_limit() {
    let circuit = charging(120.0, Some(90.0));
    let solver = Solver::new(&circuit);
    let generator = circuit.part_named("G2").unwrap();
    let (branch, _) = circuit.branches_of(generator).next().unwrap();
    let solution = solver.solve(&State::with_key(Key::Run), &[]).unwrap();
    assert!((solution.current(branch) + 90.0).abs() < 1e-6, "{}", solution.current(branch));
    let stopped = solver.solve(&State::with_key(Key::Off), &[]).unwrap();
    assert_eq!(stopped.current(branch), 0.0);
}

#[test]
fn a_table_follows_the_regulator() {
    let circuit = charging(20.0, Some(90.0));
    let solver = Solver::new(&circuit);
    let at = |name: &str| circuit.point_named(name).unwrap();
    let meters: Vec<Meter> = [Load::None, Load::Lamp]
        .into_iter()
        .flat_map(|load| ["G2:B+", "G2:S", "G1:30"].map(|red| (red, load)))
        .map(|(red, load)| Meter { red: at(red), black: at("G1:31"), measure: Measure::Volts(load) })
        .collect();
    let rows =
        vec![vec![], vec![open(&circuit, "W2")], vec![open(&circuit, "W1")], vec![open(&circuit, "R2")]];
    let state = State::with_key(Key::Run);
    let (fast, slow) = (solver.table(&state, &rows, &meters), solver.table_afresh(&state, &rows, &meters));
    for row in 0..rows.len() {
        for meter in 0..meters.len() {
            let (fast, slow) = (fast.at(row, meter).unwrap().value, slow.at(row, meter).unwrap().value);
            assert!((fast - slow).abs() < 1e-7, "{row} {meter}: {fast} against {slow}");
        }
    }
}

/// 24 V from two 12 V batteries, a 12 V load on the tap: each battery carries its own share.
#[test]
fn two_batteries_in_series_with_a_tap() {
    let mut build = Builder::new();
    build.supply("G1", 12.6, 0.010);
    build.supply("G2", 12.4, 0.010);
    build.wire("W1", "G1:30", "G2:31", "RD", 35.0, 0.3);
    build.resistor("R1", "G2:30", "G1:31", 24.0);
    build.resistor("R2", "G1:30", "G1:31", 1.2);
    let mut circuit = build.build().unwrap();
    circuit.positive = circuit.point_named("G2:30");
    let mut state = State::with_key(Key::Run);
    let at = |name: &str| circuit.point_named(name).unwrap();
    let read = |state: &State, red: &str| {
        let meter = Meter::volts(at(red), at("G1:31"));
        Solver::new(&circuit).nominal(state, &[], &meter).unwrap().value
    };
    // By hand: 25 V behind 20.16 mΩ into 24 Ω is 1.0408 A; the tap gives 10.41 A more from the lower one.
    let (top, tap) = (read(&state, "G2:30"), read(&state, "G1:30"));
    assert!((tap - (12.6 - 0.010 * (tap / 1.2 + top / 24.0))).abs() < 1e-6, "{tap}");
    assert!((top - (tap + 12.4 - 0.010_161 * top / 24.0)).abs() < 1e-4, "{top}");
    // A supply as measured is what the row's posts read: each battery has its share of what stands behind.
    state.set_supply(24.0);
    assert!((read(&state, "G2:30") - 24.0).abs() < 1e-6);
    assert!((read(&state, "G1:30") - tap * 24.0 / top).abs() < 1e-6);
}

#[test]
fn a_stalled_motor_draws_what_its_winding_lets() {
    let mut build = Builder::new();
    build.supply("G1", 12.0, 0.010);
    let motor = build.motor("M1", "G1:30", "G1:31", 2.0, 0.4);
    let circuit = build.build().unwrap();
    let solver = Solver::new(&circuit);
    let draw = |position: Option<&str>| {
        let mut state = State::default();
        if let Some(position) = position {
            state.positions.insert(motor, position.to_owned());
        }
        let solution = solver.solve(&state, &[]).unwrap();
        circuit.branches_of(motor).map(|(branch, _)| solution.current(branch)).sum::<f64>()
    };
    assert!((draw(None) - 12.0 / 2.01).abs() < 1e-9);
    assert!((draw(Some("stalled")) - 12.0 / 0.41).abs() < 1e-9);
}
