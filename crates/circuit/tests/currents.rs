//! Clamp readings, millivolts over conductors, and ohms both ways round.

use halfsplit_circuit::{
    BranchId, BranchKind, Builder, Circuit, FaultKind, Key, Meter, PartKind, PointKind, Quantity, ReadError,
    Solver, State, read,
};

fn branch(circuit: &Circuit, part: &str) -> BranchId {
    let part = circuit.part_named(part).unwrap();
    circuit.branches_of(part).next().unwrap().0
}

/// A 20 A fuse before a 1 Ω load.
fn loaded_fuse() -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.5, 0.010);
    build.fuse("F1", 20.0);
    build.wire("W1", "G1:30", "F1:feed", "RD", 2.5, 1.0);
    build.resistor("R1", "F1:load", "G1:31", 1.0);
    build.build().unwrap()
}

#[test]
fn a_clamp_reads_the_current_and_its_tolerances() {
    let circuit = loaded_fuse();
    let mut state = State::with_key(Key::Run);
    state.set_supply(12.5);
    let solver = Solver::new(&circuit);
    // The posts read 12.5 V while the load draws: what the battery keeps back is behind them.
    let total = 0.0033 + 0.0076 + 1.0;
    let clamp = solver.clamp(&state, &[], branch(&circuit, "W1")).unwrap();
    assert!((clamp.nominal - 12.5 / total).abs() < 1e-9);
    assert!(clamp.unknowns.is_empty());
    // The load alone moves it by a tenth, the clamp by 2 %, the supply by its meter; wires by next to nothing.
    assert!(clamp.low < 12.5 / (total + 0.11) && clamp.low > 0.8 * clamp.nominal, "{clamp:?}");
    assert!(clamp.high > 12.5 / (total - 0.09) && clamp.high < 1.2 * clamp.nominal, "{clamp:?}");
    // The same current everywhere in the loop, and its own resistance counted once.
    let at_load = solver.clamp(&state, &[], branch(&circuit, "R1")).unwrap();
    assert!((at_load.nominal - clamp.nominal).abs() < 1e-6);
    assert!((at_load.low - clamp.low).abs() < 0.3 && (at_load.high - clamp.high).abs() < 0.3, "{at_load:?}");
    let back = solver.clamp(&state, &[], branch(&circuit, "G1")).unwrap();
    assert!((back.nominal + clamp.nominal).abs() < 1e-6);
}

#[test]
fn the_interval_of_a_clamp_holds_the_corners() {
    let circuit = loaded_fuse();
    let state = State::with_key(Key::Run);
    let clamp = Solver::new(&circuit).clamp(&state, &[], branch(&circuit, "F1")).unwrap();
    for (load, supply) in [(0.92, 1.04), (1.08, 0.96), (0.95, 0.99)] {
        let mut other = circuit.clone();
        for branch in &mut other.branches {
            match &mut branch.kind {
                BranchKind::Load { ohms: Some(ohms), .. } => *ohms *= load,
                BranchKind::Source { volts, .. } => *volts *= supply,
                BranchKind::Wire { ohms: Some(ohms), .. } => *ohms *= 1.2,
                _ => {}
            }
        }
        let amps = Solver::new(&other).solve(&state, &[]).unwrap().current(branch(&circuit, "F1"));
        assert!(clamp.low < amps && amps < clamp.high, "{amps} in {clamp:?}");
    }
}

/// 49 mV over a 20 A fuse of 3.38 mΩ is 14.5 A (COMPUTED from a maker's typical value, SAW-2nd).
#[test]
fn millivolts_over_a_fuse_tell_its_current() {
    let mut build = Builder::new();
    build.supply("G1", 12.5, 0.010);
    build.fuse("F1", 20.0);
    build.joint_between("G1:30", "F1:feed");
    build.resistor("R1", "F1:load", "G1:31", 12.5 / 14.5 - 0.010 - 0.00338 - 1e-4);
    let mut circuit = build.build().unwrap();
    for branch in &mut circuit.branches {
        if let BranchKind::Fuse { ohms, .. } = &mut branch.kind {
            *ohms = 3.38e-3;
        }
    }
    let drop = Solver::new(&circuit).drop_over(&State::default(), &[], branch(&circuit, "F1")).unwrap();
    assert!((drop.volts.nominal - 0.049).abs() < 1e-4, "{:?}", drop.volts);
    let implied = drop.implied.unwrap();
    assert!((implied.nominal - 14.5).abs() < 0.01, "{implied:?}");
    assert!(implied.low < 12.0 && implied.high > 17.0, "{implied:?}");
}

trait JointBetween {
    fn joint_between(&mut self, a: &str, b: &str);
}

impl JointBetween for Builder {
    fn joint_between(&mut self, a: &str, b: &str) {
        let part = self.part("J1", "", PartKind::Bar);
        self.joint(part, a, b, 1e-4);
    }
}

#[test]
fn what_is_not_known_is_not_implied() {
    let mut build = Builder::new();
    build.supply("G1", 12.5, 0.010);
    build.inside("P1");
    build.unknown_wire("W1", "G1:30", "P1", "RD");
    build.resistor("R1", "P1", "G1:31", 10.0);
    let circuit = build.build().unwrap();
    let solver = Solver::new(&circuit);
    let drop = solver.drop_over(&State::default(), &[], branch(&circuit, "W1")).unwrap();
    assert_eq!(drop.implied, None);
    assert!(matches!(solver.clamp(&State::default(), &[], BranchId(99)), Err(ReadError::Malformed { .. })));
}

/// A relay coil with its clamp diode, on the bench.
fn coil_with_diode() -> Circuit {
    let mut build = Builder::new();
    for point in ["K1:86", "K1:85"] {
        build.point(point, PointKind::Terminal);
    }
    let diode = build.part("V1", "", PartKind::Load);
    build.between(diode, "K1:85", "K1:86", BranchKind::Diode { forward: 0.7, ohms: 0.05 });
    build.resistor("R1", "K1:86", "K1:85", 1e6);
    build.build().unwrap()
}

#[test]
fn a_junction_reads_one_way_only() {
    let circuit = coil_with_diode();
    let at = |name: &str| circuit.point_named(name).unwrap();
    let state = State { battery: false, ..State::default() };
    let both = Solver::new(&circuit).ohms_both_ways(&state, &[], at("K1:85"), at("K1:86")).unwrap();
    assert_eq!(both.junctions, [circuit.part_named("V1").unwrap()]);
    // 0.7 V at up to 1 mA: from some 700 Ω up, by the range that the meter takes.
    assert!(both.forward.nominal < 20e3 && both.forward.low < 1200.0 && both.forward.high > 90e3, "{both:?}");
    assert!((both.backward.nominal - 1e6).abs() < 1e3, "{both:?}");
    assert!(!both.forward.floating && !both.backward.floating);
}

#[test]
fn without_a_junction_both_ways_are_the_plain_reading() {
    let circuit = loaded_fuse();
    let at = |name: &str| circuit.point_named(name).unwrap();
    let state = State { battery: false, ..State::default() };
    let solver = Solver::new(&circuit);
    let both = solver.ohms_both_ways(&state, &[], at("F1:load"), at("G1:31")).unwrap();
    let plain = read(&circuit, &state, &[], &Meter::ohms(at("F1:load"), at("G1:31"))).unwrap();
    assert_eq!(both.forward, plain);
    assert_eq!(both.backward.nominal, plain.nominal);
    assert!(both.junctions.is_empty());
    let open = [FaultKind::Series { branch: branch(&circuit, "R1"), ohms: f64::INFINITY }.into()];
    let both = solver.ohms_both_ways(&state, &open, at("F1:load"), at("G1:31")).unwrap();
    assert!(both.forward.nominal.is_infinite() && both.forward.floating);
    assert_eq!(both.forward.quantity, Quantity::Ohms);
}

#[test]
fn ohms_both_ways_are_refused_while_a_source_remains() {
    let circuit = loaded_fuse();
    let at = |name: &str| circuit.point_named(name).unwrap();
    let live = Solver::new(&circuit).ohms_both_ways(&State::default(), &[], at("F1:load"), at("G1:31"));
    assert!(matches!(live, Err(ReadError::LiveCircuit { .. })));
}
