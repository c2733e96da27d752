//! Voltage-drop budgets and protection margins.

mod reference_circuit;

use halfsplit_circuit::{
    Builder, Circuit, Fault, FaultKind, Key, PartKind, PointKind, Protection, Solver, State, WireTable,
};
use proptest::prelude::*;
use reference_circuit::{Bench, r5};

/// Worked scenario S14 while cranking: battery 12.50 V behind 9.5 mΩ, motor 49.5 mΩ, solenoid contact 1.0 mΩ, the
/// negative side joint by joint.
fn cranking() -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.5, 9.5e-3);
    let places = ["M1:30", "M1:stud", "M1:case", "block", "eyelet", "GP103", "body", "GP1", "cable", "clamp"];
    for place in places {
        build.point(place, PointKind::Terminal);
    }
    build.resistor("M1", "M1:stud", "M1:case", 49.5e-3);
    let ways = [
        ("positive side", "G1:30", "M1:30", 1.5e-3),
        ("solenoid contact", "M1:30", "M1:stud", 1.0e-3),
        ("starter case", "M1:case", "block", 0.10e-3),
        ("engine eyelet", "block", "eyelet", 0.10e-3),
        ("braid W1403", "eyelet", "GP103", 0.26e-3),
        ("body eyelet GP103", "GP103", "body", 0.12e-3),
        ("body", "body", "GP1", 0.05e-3),
        ("GP1 eyelet", "GP1", "cable", 0.06e-3),
        ("W1402", "cable", "clamp", 0.21e-3),
        ("clamp", "clamp", "G1:31", 0.10e-3),
    ];
    for (name, a, b, ohms) in ways {
        let part = build.part(name, "", PartKind::Bar);
        build.joint(part, a, b, ohms);
    }
    build.build().unwrap()
}

#[test]
fn the_starter_budget_closes() {
    let circuit = cranking();
    let solver = Solver::new(&circuit);
    let state = State::with_key(Key::Crank);
    let at = |name: &str| circuit.point_named(name).unwrap();
    let (eyelet, _) = circuit.branches_of(circuit.part_named("body eyelet GP103").unwrap()).next().unwrap();
    let corroded = [Fault::from(FaultKind::Series { branch: eyelet, ohms: 8e-3 })];
    for (faults, amps, case, worst) in [(&[][..], 200.0, 0.20, 0.052), (&corroded[..], 177.3, 1.60, 1.44)] {
        let feed = solver.feed_budget(&state, faults, at("M1:stud")).unwrap();
        let back = solver.return_budget(&state, faults, at("M1:case")).unwrap();
        assert_eq!((feed.segments.len(), back.segments.len()), (2, 8));
        assert!((feed.segments[0].amps - amps).abs() < 0.1, "{}", feed.segments[0].amps);
        assert!(back.segments.iter().all(|s| (s.amps - feed.segments[0].amps).abs() < 1e-6));
        assert!((back.total - case).abs() < 0.005, "{}", back.total);
        assert!((back.largest().unwrap().volts - worst).abs() < 0.005, "{:?}", back.largest());
        assert!(feed.gap().abs() < 1e-12 && back.gap().abs() < 1e-12);
        // Post to post less both sides is what the motor gets: 9.90 V and 8.78 V.
        let solution = solver.solve(&state, faults).unwrap();
        let posts = solution.volts(at("G1:30"), at("G1:31"));
        let motor = solution.volts(at("M1:stud"), at("M1:case"));
        assert!((posts - feed.total - back.total - motor).abs() < 1e-12);
        assert!((motor - amps * 49.5e-3).abs() < 0.01);
    }
}

#[test]
fn a_reference_pin_is_budgeted_through_its_module() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let state = bench.key_on(&[]);
    let budget = bench.solver.feed_budget(&state, &[], bench.point("X34:2")).unwrap();
    assert!(budget.gap().abs() < 1e-12);
    assert!(budget.segments.len() > 8 && budget.total > 7.0, "{budget:?}");
    let nowhere =
        bench.solver.feed_budget(&bench.key_on(&["X34", "A10.X2"]), &[], bench.point("X34:3")).unwrap();
    assert_eq!((nowhere.segments.len(), nowhere.total), (0, 0.0));
}

proptest! {
    /// However a chain is cut up, its segments add up to the whole.
    #[test]
    fn segments_add_up(ohms in prop::collection::vec(1e-4..2.0f64, 1..30), load in 0.05..100.0f64) {
        let mut build = Builder::new();
        build.supply("G1", 12.6, 0.01);
        let last = ohms.len() - 1;
        for (index, ohms) in ohms.iter().enumerate() {
            let from = if index == 0 { "G1:30".to_owned() } else { format!("P{index}") };
            let to = format!("P{}", index + 1);
            build.inside(&to);
            let part = build.part(&format!("J{index}"), "", PartKind::Bar);
            build.joint(part, &from, &to, *ohms);
        }
        let pin = format!("P{}", last + 1);
        build.resistor("R1", &pin, "G1:31", load);
        let circuit = build.build().unwrap();
        let solver = Solver::new(&circuit);
        let budget = solver.feed_budget(&State::default(), &[], circuit.point_named(&pin).unwrap()).unwrap();
        prop_assert_eq!(budget.segments.len(), ohms.len());
        prop_assert!(budget.gap().abs() <= 1e-12, "{}", budget.gap());
        for segment in &budget.segments {
            prop_assert!(segment.volts > 0.0 && segment.amps > 0.0);
        }
    }
}

#[test]
fn margins_of_a_fuse_and_its_wire() {
    let mut build = Builder::new();
    build.supply("G1", 12.5, 0.010);
    build.fuse("F1", 10.0);
    build.inside("P");
    build.wire("W1", "G1:30", "F1:feed", "RD", 0.5, 0.2);
    build.wire("W2", "F1:load", "P", "RD", 2.5, 1.0);
    build.resistor("R1", "P", "G1:31", 1.0);
    let circuit = build.build().unwrap();
    let solver = Solver::new(&circuit);
    let fuses = solver.fuse_margins(&State::default(), &[]).unwrap();
    assert_eq!(fuses.len(), 1);
    assert!((fuses[0].amps - 12.1).abs() < 0.2 && fuses[0].left() < 0.0);
    assert_eq!(fuses[0].protection, Protection::NotPromised);
    let wires = solver.wire_margins(&State::default(), &[], WireTable::SmallCraft105).unwrap();
    // 0.5 mm² is thinner than the table's thinnest row, and then it says nothing.
    assert_eq!((wires[0].allowed, wires[0].left()), (None, None));
    assert_eq!(wires[1].allowed, Some((14, 35.0)));
    assert!((wires[1].left().unwrap() - 22.9).abs() < 0.2);
    assert!(wires[1].table.conditions().contains("33 CFR 183.425 Table 5"));
}
