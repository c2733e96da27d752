//! The interval of a reading holds every car within its tolerances.

mod reference_circuit;

use halfsplit_circuit::{
    BranchKind, Builder, Circuit, Fault, FaultKind, Key, Load, Measure, Meter, State, interval, read, wire,
};
use proptest::prelude::*;
use reference_circuit::{Bench, r5};

/// A car of the same design, each value somewhere in its range; `draw` is between −1 and 1.
fn another_car(circuit: &Circuit, draw: &mut impl FnMut() -> f64) -> Circuit {
    let mut car = circuit.clone();
    let centre = (interval::COLDEST + interval::HOTTEST) / 2.0;
    let reach = (interval::HOTTEST - interval::COLDEST) / 2.0;
    for branch in &mut car.branches {
        match &mut branch.kind {
            BranchKind::Wire { ohms: Some(ohms), .. } | BranchKind::Fuse { ohms, .. } => {
                *ohms *= wire::at_temperature(centre + reach * draw());
            }
            BranchKind::Mated { ohms, .. }
            | BranchKind::Joint { ohms }
            | BranchKind::Switch { ohms, .. }
            | BranchKind::RelayContact { ohms, .. } => *ohms *= interval::CONTACT_SPREAD.powf(draw()),
            BranchKind::Load { ohms: Some(ohms), .. } | BranchKind::Coil { ohms, .. } => {
                *ohms /= 1.0 + interval::LOAD_SPREAD * draw();
            }
            BranchKind::Feed { awake, standby, .. } => {
                for ohms in [awake, standby].into_iter().flatten() {
                    *ohms /= 1.0 + interval::LOAD_SPREAD * draw();
                }
            }
            BranchKind::Reference { volts, limit, .. } => {
                *volts *= 1.0 + interval::REFERENCE_SPREAD * draw();
                if let Some(limit) = limit {
                    *limit *= 1.0 + interval::LIMIT_SPREAD * draw();
                }
            }
            _ => {}
        }
    }
    car
}

/// Faults of R5 that bring every kind of output into play.
fn faults(bench: &Bench<'_>) -> Vec<Vec<FaultKind>> {
    vec![
        vec![],
        vec![bench.bridge("X34.part:2", "X34.part:1", 1.8)],
        // At the edge between regulating and limiting.
        vec![bench.bridge("X34.part:2", "X34.part:1", 60.0)],
        vec![bench.series("W2", 1.2e6)],
        vec![bench.series("F12", 40e3)],
        vec![bench.series("GP102", 2.0)],
        vec![FaultKind::Sink { point: bench.point("SP10"), volts: 0.15, ohms: 4.7, unpowered: 47e3 }],
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn every_car_reads_inside(
        draws in prop::collection::vec(prop_oneof![Just(-1.0), Just(1.0), -1.0..1.0f64], 400),
        fault in 0usize..7,
        pin in prop::sample::select(vec!["X35:1", "X31:1", "X34:1", "F14:load", "A10.X1:1", "K3:85"]),
        loaded in any::<bool>(),
    ) {
        let circuit = r5();
        let bench = Bench::new(&circuit);
        let faults: Vec<Fault> = faults(&bench)[fault].iter().cloned().map(Into::into).collect();
        let state = bench.key_on(&[]);
        let measure = Measure::Volts(if loaded { Load::Reference } else { Load::None });
        let meter = Meter { red: bench.point(pin), black: bench.point("G1:31"), measure };
        let reading = bench.solver.read(&state, &faults, &meter).unwrap();
        let mut draws = draws.into_iter().cycle();
        let car = another_car(&circuit, &mut || draws.next().unwrap());
        let value = halfsplit_circuit::Solver::new(&car).nominal(&state, &faults, &meter).unwrap().value;
        // The meter may be off on top of it.
        let off = interval::meter_accuracy(reading.quantity, value);
        prop_assert!(
            reading.low <= value - off && value + off <= reading.high,
            "{pin}: {value} ± {off} outside {reading:?}"
        );
    }
}

#[test]
fn a_sound_reference_is_told_from_a_loaded_one() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let reading = bench.volts(&bench.key_on(&[]), &[], "X35:1");
    // ±0.5 % of the output, ±(0.5 % + 2 counts) of the meter: inside "good".
    assert!(reading.low > 4.75 && reading.high < 5.25, "{reading:?}");
    assert!(reading.high - reading.low > 0.05, "{reading:?}");
    let shorted = bench.volts(&bench.key_on(&[]), &[bench.bridge("X34.part:2", "X34.part:1", 1.8)], "X35:1");
    assert!(shorted.high < 0.5);
}

#[test]
fn the_meter_is_as_good_as_its_counts() {
    use halfsplit_circuit::Quantity::{Ohms, Volts};
    // Published examples of ±(0.5 % + 2 counts) and ±(0.9 % + 2 counts) (SAW form, COMPUTED values).
    assert!((interval::meter_accuracy(Volts, 12.60) - 0.083).abs() < 1e-9);
    assert!((interval::meter_accuracy(Ohms, 60.0) - 0.74).abs() < 1e-9);
    assert_eq!(interval::meter_accuracy(Ohms, f64::INFINITY), 0.0);
}

#[test]
fn a_lamp_is_a_range_between_filament_and_hot() {
    let mut build = Builder::new();
    build.supply("G1", 12.0, 0.01);
    build.inside("E1:1");
    build.resistor("R1", "G1:30", "E1:1", 30.0);
    build.lamp("E1", "E1:1", "G1:31", 21.0, 12.0);
    let circuit = build.build().unwrap();
    let meter = Meter::volts(circuit.point_named("E1:1").unwrap(), circuit.negative.unwrap());
    let reading = read(&circuit, &State::with_key(Key::Run), &[], &meter).unwrap();
    let hot = 144.0 / 21.0;
    assert!((reading.nominal - 12.0 * hot / (hot + 30.01)).abs() < 1e-3);
    // The filament's own answer solves V = 12 R(V) / (30.01 + R(V)).
    let mut volts = 2.0f64;
    for _ in 0..100 {
        let ohms = hot * (volts / 12.0f64).powf(0.45).max(0.09);
        volts = 12.0 * ohms / (30.01 + ohms);
    }
    // Below the filament's answer lie the supply's 5 % and the resistor's 10 %.
    assert!(reading.low < volts && reading.low > 0.75 * volts - 0.2, "{volts} {reading:?}");
    assert!(reading.high > reading.nominal && reading.high < 1.2 * reading.nominal);
}

#[test]
fn what_is_unknown_is_said() {
    let mut circuit = r5();
    let part = circuit.part_named("W7").unwrap();
    let (branch, _) = circuit.branches_of(part).next().unwrap();
    let colour = "GY/RD".to_owned();
    circuit.branches[branch.index()].kind =
        BranchKind::Wire { ohms: None, section: None, metres: None, colour };
    let bench = Bench::new(&circuit);
    let through = bench.volts(&bench.key_on(&["X34"]), &[], "X34:2");
    assert_eq!(through.unknowns, [part]);
    let beside = bench.volts(&bench.key_on(&[]), &[], "X36:2");
    assert_eq!(beside.unknowns, []);
    // The main feed's draw is not declared: whatever reads it says so.
    let feed = bench.volts(&bench.key_on(&[]), &[], "F14:load");
    assert_eq!(feed.unknowns, [circuit.part_named("A10").unwrap()]);
}

#[test]
fn a_supply_that_nobody_measured_is_wider() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let measured = bench.volts(&bench.key_on(&[]), &[], "BUS1");
    let declared = bench.volts(&State::with_key(Key::Run), &[], "BUS1");
    assert!(declared.high - declared.low > 3.0 * (measured.high - measured.low));
}
