//! Every reading that the worked scenarios S01, S03, S05 and S07 print for R5.

mod reference_circuit;

use halfsplit_circuit::{FaultKind, Load, Measure, Meter, Output};
use reference_circuit::{Bench, agrees, r5};

const VOLTS: Measure = Measure::Volts(Load::None);

#[test]
fn healthy() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let state = bench.key_on(&[]);
    agrees(&bench.volts(&state, &[], "A10.X2:14"), 4.992, 0.001);
    for pin in ["X31:1", "X32:3", "X33:1", "X34:2", "X35:1"] {
        agrees(&bench.volts(&state, &[], pin), 4.99, 0.01);
    }
    agrees(&bench.volts(&state, &[], "X36:2"), 5.00, 0.01);
}

#[test]
fn s01_one_sensor_shorts_the_reference() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let fault = [bench.bridge("X34.part:2", "X34.part:1", 1.8)];
    let at_x35 = |unplugged: &[&str]| bench.volts(&bench.key_on(unplugged), &fault, "X35:1");
    agrees(&at_x35(&[]), 0.235, 0.001);
    agrees(&at_x35(&["X35"]), 0.235, 0.001);
    agrees(&at_x35(&["X35", "X21"]), 0.237, 0.001);
    agrees(&at_x35(&["X35", "X21", "X34"]), 5.00, 0.01);
    agrees(&at_x35(&["X34"]), 4.99, 0.01);
    // On the bench: the part side of the parted connector.
    let bench_ohms =
        bench.reading(&bench.key_on(&["X34"]), &fault, "X34.part:2", "X34.part:1", Measure::Ohms);
    agrees(&bench_ohms, 1.8, 0.1);
    // The printed drop is that over W11 alone, so the black lead rests at the module's own
    // sensor-ground pin; against battery negative the ground return of A10 would be added.
    let ground = bench.reading(&bench.key_on(&[]), &fault, "X35:2", "A10.X2:29", VOLTS);
    agrees(&ground, 0.0018, 0.0001);
    // The lamp on the reference: 0.084 V with a cold filament of about 0.7 Ω.
    let lamp = bench.reading(&bench.key_on(&[]), &[], "X35:1", "G1:31", Measure::Volts(Load::Lamp));
    assert!(lamp.low <= 0.084 && 0.084 <= lamp.high, "{lamp:?}");
    let solution = bench.solver.solve(&bench.key_on(&[]), &[fault[0].clone().into()]).unwrap();
    let (reference, _) = circuit
        .branches_of(circuit.part_named("A10").unwrap())
        .find(|(id, _)| solution.output(*id).is_some())
        .unwrap();
    assert_eq!(solution.output(reference), Some(Output::Limiting));
    assert!(solution.awake(circuit.part_named("A10").unwrap()));
}

#[test]
fn s03_permanent_feed_fuse_cracked() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let fault = [bench.series("F12", 40e3)];
    let plugged = bench.key_on(&[]);
    let out = bench.key_on(&["A10.X1"]);
    // Pin, volts with A10 plugged in, volts with A10.X1 out.
    let table: [(&str, f64, f64); 9] = [
        ("F12:feed", 12.40, 12.40),
        ("F12:load", 1.62, 12.35),
        ("A10.X1:1", 1.62, 12.35),
        ("K3:30", 12.40, 12.40),
        ("K3:86", 12.40, 12.40),
        ("K3:85", 12.40, 12.40),
        ("K3:87", 0.0, 0.0),
        ("F14:load", 0.0, 0.0),
        ("A10.X1:3", 0.0, 0.0),
    ];
    for (pin, with, without) in table {
        agrees(&bench.volts(&plugged, &fault, pin), with, 0.01);
        agrees(&bench.volts(&out, &fault, pin), without, 0.01);
    }
    for pin in ["A10.X2:14", "A10.X2:31"] {
        agrees(&bench.volts(&plugged, &fault, pin), 0.0, 0.01);
    }
    let lamp = Measure::Volts(Load::Lamp);
    for pin in ["F12:load", "A10.X1:1"] {
        let lit = bench.reading(&out, &fault, pin, "G1:31", lamp);
        agrees(&lit, 0.002, 0.001);
        assert!(lit.low <= 0.0021 && 0.0021 <= lit.high, "{lit:?}");
    }
    agrees(&bench.reading(&plugged, &fault, "F12:feed", "F12:load", VOLTS), 10.78, 0.01);
    // The new fuse: K3 clicks, F14 is live, the reference is back, and A10 takes 0.50 A through F12.
    agrees(&bench.volts(&plugged, &[], "F14:load"), 12.40, 0.01);
    agrees(&bench.volts(&plugged, &[], "A10.X2:14"), 4.99, 0.01);
    let solution = bench.solver.solve(&plugged, &[]).unwrap();
    let (fuse, _) = circuit.branches_of(circuit.part_named("F12").unwrap()).next().unwrap();
    assert!((solution.current(fuse) - 0.50).abs() < 0.025, "{}", solution.current(fuse));
}

#[test]
fn s05_wire_open_at_a_splice() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let fault = [bench.series("W2", 1.2e6)];
    let at = |unplugged: &[&str], pin: &str| bench.volts(&bench.key_on(unplugged), &fault, pin);
    agrees(&at(&[], "X35:1"), 5.00, 0.01);
    // The millivolts are printed for the divider alone: the black lead rests on the same plug's
    // ground pin. From battery negative, ground currents of A10 add 0.9 mV.
    let rows: [(&[&str], f64, f64, f64, f64); 3] = [
        (&[], 0.87e-3, 0.01e-3, 0.001, 1.81e-3),
        (&["X31"], 1.16e-3, 0.01e-3, 0.001, 2.10e-3),
        (&["X31", "X33"], 2.6e-3, 0.1e-3, 0.003, 3.55e-3),
    ];
    for (unplugged, printed, digit, shown, from_negative) in rows {
        let state = bench.key_on(unplugged);
        agrees(&bench.reading(&state, &fault, "X31:1", "X31:2", VOLTS), printed, digit);
        // As the display shows it, in whole millivolts.
        let whole = at(unplugged, "X31:1");
        assert!(((whole.nominal * 1e3).round() * 1e-3 - shown).abs() < 0.001 + 1e-9, "{whole:?}");
        agrees(&whole, from_negative, 0.01e-3);
    }
    let ghost = at(&["X31", "X33", "X32"], "X31:1");
    agrees(&ghost, 4.464, 0.001);
    assert!(!ghost.floating);
    agrees(&at(&["X21"], "X21.body:6"), 4.464, 0.001);
    let loaded = Measure::Volts(Load::Reference);
    let state = bench.key_on(&["X21"]);
    agrees(&bench.reading(&state, &fault, "X21.body:6", "X21.body:7", loaded), 1.96e-3, 0.01e-3);
    agrees(&bench.reading(&state, &fault, "X21.body:6", "G1:31", loaded), 0.002, 0.001);
    agrees(&bench.reading(&state, &[], "X21.body:6", "G1:31", loaded), 4.997, 0.001);
    let dead = bench.dead(&["X21"]);
    agrees(&bench.reading(&dead, &fault, "X35:1", "X21.body:6", Measure::Ohms), 1.2e6, 0.1e6);
    agrees(&bench.reading(&dead, &[], "X35:1", "X21.body:6", Measure::Ohms), 0.063, 0.001);
}

#[test]
fn s07_added_alarm_taps_the_reference() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let sink = FaultKind::Sink { point: bench.point("SP10"), volts: 0.15, ohms: 4.7, unpowered: 47e3 };
    let fault = [sink];
    let at_x35 = |unplugged: &[&str]| bench.volts(&bench.key_on(unplugged), &fault, "X35:1");
    agrees(&at_x35(&[]), 0.69, 0.01);
    agrees(&at_x35(&["X35", "X21", "X34"]), 0.71, 0.01);
    let out = ["X35", "X21", "X34", "A10.X2"];
    let dead = bench.dead(&out);
    agrees(&bench.reading(&dead, &fault, "X35:1", "G1:31", Measure::Ohms), 47e3, 1e3);
    agrees(&bench.reading(&dead, &fault, "G1:31", "X35:1", Measure::Ohms), 47e3, 1e3);
    let clean = bench.reading(&dead, &[], "X35:1", "G1:31", Measure::Ohms);
    assert!(clean.nominal.is_infinite() && clean.low.is_infinite());
    let inject = Measure::Inject { volts: 5.0, through: 470.0 };
    let live = bench.key_on(&out);
    agrees(&bench.reading(&live, &fault, "X35:1", "G1:31", inject), 0.198, 0.001);
    agrees(&bench.reading(&live, &[], "X35:1", "G1:31", inject), 5.00, 0.01);
    agrees(&bench.volts(&bench.key_on(&[]), &[], "X35:1"), 4.99, 0.01);
}

#[test]
fn ohms_are_refused_while_a_source_remains() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    for (red, black) in [("X35:1", "X21.body:6"), ("X35:1", "G1:31"), ("F12:load", "X35:1")] {
        let meter = Meter::ohms(bench.point(red), bench.point(black));
        let error = bench.solver.read(&bench.key_on(&[]), &[], &meter).unwrap_err();
        assert!(error.to_string().starts_with("no ohms on a live circuit"), "{error}");
    }
}
