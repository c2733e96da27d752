//! Parts that work on one piece or another: outputs, diodes, relays, modules.

use halfsplit_circuit::{
    BranchId, BranchKind, Builder, Circuit, Fault, FaultKind, FeedSpec, Key, Meter, Output, PartKind,
    ReadError, ReferenceSpec, RelaySpec, Solution, Solver, State, When,
};
use proptest::prelude::*;

const RELAY: RelaySpec = RelaySpec { coil: 80.0, pull_in: 8.0, drop_out: 3.0 };

fn battery() -> Builder {
    let mut build = Builder::new();
    build.supply("G1", 12.0, 0.01);
    build
}

fn run() -> State {
    State::with_key(Key::Run)
}

fn solve(circuit: &Circuit, state: &State, faults: &[Fault]) -> Result<Solution, ReadError> {
    Solver::new(circuit).solve(state, faults)
}

fn volts(circuit: &Circuit, solution: &Solution, name: &str) -> f64 {
    solution.volts(circuit.point_named(name).unwrap(), circuit.negative.unwrap())
}

fn feed(wakes: Option<f64>) -> FeedSpec {
    FeedSpec { awake: Some(24.0), standby: Some(6000.0), wakes, when: When::keys(&[Key::Run]) }
}

/// A module fed at 12 V with one 5 V output at point `A1:ref`.
fn module_with_reference(sinks: bool, latches: bool) -> (Circuit, BranchId) {
    let mut build = battery();
    let module = build.module("A1", "");
    build.inside("A1:ref");
    build.feed(module, "G1:30", "G1:31", feed(Some(6.0)));
    let kind = BranchKind::Reference {
        volts: 5.0,
        inner: 0.2,
        limit: Some(0.12),
        unpowered: 4700.0,
        sinks,
        latches,
    };
    let reference = build.between(module, "A1:ref", "G1:31", kind);
    build.name_output("A1.REF", reference);
    (build.build().unwrap(), reference)
}

fn bridge(circuit: &Circuit, a: &str, b: &str, ohms: f64) -> Fault {
    let (a, b) = (circuit.point_named(a).unwrap(), circuit.point_named(b).unwrap());
    Fault { kind: FaultKind::Bridge { a, b, ohms } }
}

#[test]
fn an_output_regulates_limits_and_is_lifted() {
    let (circuit, reference) = module_with_reference(false, false);
    let cases = [
        (bridge(&circuit, "A1:ref", "G1:31", 100.0), Output::Regulating, 5.0 * 100.0 / 100.2),
        (bridge(&circuit, "A1:ref", "G1:31", 2.0), Output::Limiting, 0.24),
        (bridge(&circuit, "A1:ref", "G1:30", 1.0), Output::Lifted, 11.995),
    ];
    for (fault, output, expected) in cases {
        let solution = solve(&circuit, &run(), &[fault]).unwrap();
        assert_eq!(solution.output(reference), Some(output));
        assert!((volts(&circuit, &solution, "A1:ref") - expected).abs() < 1e-3);
    }
}

#[test]
fn an_output_that_sinks_fights_back_up_to_its_limit() {
    let (circuit, reference) = module_with_reference(true, false);
    let solution = solve(&circuit, &run(), &[bridge(&circuit, "A1:ref", "G1:30", 100.0)]).unwrap();
    assert_eq!(solution.output(reference), Some(Output::Regulating));
    assert!((volts(&circuit, &solution, "A1:ref") - 5.0).abs() < 0.02);
    let solution = solve(&circuit, &run(), &[bridge(&circuit, "A1:ref", "G1:30", 10.0)]).unwrap();
    assert_eq!(solution.output(reference), Some(Output::Lifted));
    assert!((solution.current(reference) - 0.12).abs() < 1e-9);
}

#[test]
fn an_output_that_latches_is_off_after_a_short() {
    let (circuit, reference) = module_with_reference(false, true);
    let solution = solve(&circuit, &run(), &[bridge(&circuit, "A1:ref", "G1:31", 2.0)]).unwrap();
    assert_eq!(solution.output(reference), Some(Output::Tripped));
    assert!(volts(&circuit, &solution, "A1:ref").abs() < 1e-9);
}

#[test]
fn asleep_and_dead_outputs_are_resistors() {
    let (circuit, reference) = module_with_reference(false, false);
    let pull_up = bridge(&circuit, "A1:ref", "G1:30", 4700.0);
    let dead = Fault { kind: FaultKind::Dead { branch: reference } };
    for (state, faults) in [(State::default(), vec![pull_up.clone()]), (run(), vec![pull_up, dead])] {
        let solution = solve(&circuit, &state, &faults).unwrap();
        assert_eq!(solution.output(reference), Some(Output::Unpowered));
        assert!((volts(&circuit, &solution, "A1:ref") - 6.0).abs() < 0.01);
    }
}

#[test]
fn a_relay_holds_between_drop_out_and_pull_in_only_once_pulled() {
    let mut build = battery();
    build.relay("K1", RELAY);
    build.resistor("R1", "G1:30", "K1:86", 80.0);
    build.wire("W1", "K1:85", "G1:31", "BN", 0.5, 1.0);
    build.wire("W2", "G1:30", "K1:30", "RD", 0.5, 1.0);
    build.resistor("R2", "K1:87", "G1:31", 100.0);
    let circuit = build.build().unwrap();
    // Half the supply is under the pull-in: from rest, it stays at rest.
    let solution = solve(&circuit, &run(), &[]).unwrap();
    assert!(volts(&circuit, &solution, "K1:87").abs() < 1e-9);
    let strong = solve(&circuit, &run(), &[bridge(&circuit, "G1:30", "K1:86", 1.0)]).unwrap();
    assert!(volts(&circuit, &strong, "K1:87") > 11.9);
    let pulled = run().pull(circuit.part_named("K1").unwrap());
    let out = solve(&circuit, &pulled, &[bridge(&circuit, "G1:30", "K1:86", 1.0)]).unwrap();
    assert!(volts(&circuit, &out, "K1:87").abs() < 1e-9);
    let (contact, _) =
        circuit.branches().find(|(_, b)| matches!(b.kind, BranchKind::RelayContact { .. })).unwrap();
    let welded = Fault { kind: FaultKind::StuckClosed { branch: contact, ohms: 0.005 } };
    let welded = solve(&circuit, &run(), &[welded]).unwrap();
    assert!(volts(&circuit, &welded, "K1:87") > 11.9);
}

#[test]
fn a_buzzer_has_no_stable_state() {
    let mut build = battery();
    let relay = build.part("K1", "", PartKind::Relay);
    build.inside("K1:87a");
    let coil = BranchKind::Coil { ohms: 80.0, assumed: false, pull_in: 8.0, drop_out: 3.0 };
    let coil = build.between(relay, "K1:87a", "G1:31", coil);
    let contact = BranchKind::RelayContact { ohms: 0.005, coil, closed_at_rest: true };
    build.between(relay, "G1:30", "K1:87a", contact);
    let circuit = build.build().unwrap();
    let error = solve(&circuit, &run(), &[]).unwrap_err();
    assert_eq!(error.to_string(), "no steady reading: K1 would switch on and off without end");
}

/// The module holds the relay that feeds the module.
fn self_holding(start_resistor: Option<f64>) -> Circuit {
    let mut build = battery();
    build.relay("K1", RELAY);
    build.wire("W1", "G1:30", "K1:30", "RD", 1.0, 1.0);
    build.wire("W2", "G1:30", "K1:86", "RD", 0.5, 1.0);
    let module = build.module("A1", "");
    build.driver(module, "K1:85", "G1:31", 0.15, 0.1, When::always());
    build.feed(module, "K1:87", "G1:31", feed(Some(6.0)));
    if let Some(ohms) = start_resistor {
        build.fuse("F1", 10.0);
        build.resistor("R1", "G1:30", "F1:feed", ohms);
        build.inside("A1:permanent");
        build.wire("W3", "F1:load", "A1:permanent", "RD", 0.5, 1.0);
        build.feed(module, "A1:permanent", "G1:31", feed(Some(6.0)));
    }
    build.build().unwrap()
}

#[test]
fn a_module_fed_only_by_the_relay_it_holds_has_two_states() {
    let circuit = self_holding(None);
    match solve(&circuit, &run(), &[]).unwrap_err() {
        ReadError::TwoStableStates { parts } => assert_eq!(parts.names, ["K1", "A1"]),
        other => panic!("{other}"),
    }
    // With the key off the module wants nothing: one state.
    assert!(solve(&circuit, &State::default(), &[]).is_ok());
}

#[test]
fn a_permanent_feed_starts_the_module() {
    let circuit = self_holding(Some(0.01));
    let solution = solve(&circuit, &run(), &[]).unwrap();
    assert!(solution.awake(circuit.part_named("A1").unwrap()));
    assert!(volts(&circuit, &solution, "K1:87") > 11.5);
}

#[test]
fn a_starved_module_sleeps_and_a_half_starved_one_hunts() {
    let circuit = self_holding(Some(0.01));
    let relay_out = run().pull(circuit.part_named("K1").unwrap());
    let fuse = circuit.branches().find(|(_, b)| matches!(b.kind, BranchKind::Fuse { .. })).unwrap().0;
    let series = |ohms: f64| Fault { kind: FaultKind::Series { branch: fuse, ohms } };
    let starved = solve(&circuit, &relay_out, &[series(40e3)]).unwrap();
    assert!(!starved.awake(circuit.part_named("A1").unwrap()));
    assert!((volts(&circuit, &starved, "F1:load") - 12.0 * 6.0 / 46.0).abs() < 0.01);
    // At 100 Ω it starves awake and recovers asleep: it would reset over and over.
    let hunting = solve(&circuit, &relay_out, &[series(100.0)]).unwrap_err();
    assert_eq!(hunting.to_string(), "no steady reading: A1 would switch on and off without end");
}

#[test]
fn a_command_decides_over_a_drivers_own_condition() {
    let mut build = battery();
    let module = build.module("A1", "");
    build.feed(module, "G1:30", "G1:31", feed(Some(6.0)));
    build.inside("E1:1");
    build.resistor("E1", "G1:30", "E1:1", 10.0);
    let driver = build.driver(module, "E1:1", "G1:31", 0.15, 0.1, When::keys(&[Key::Crank]));
    let circuit = build.build().unwrap();
    let mut state = run();
    let off = solve(&circuit, &state, &[]).unwrap();
    assert!(volts(&circuit, &off, "E1:1") > 11.9);
    state.commands.insert(driver, true);
    let on = solve(&circuit, &state, &[]).unwrap();
    let expected = 0.15 + 0.1 * on.current(driver);
    assert!((volts(&circuit, &on, "E1:1") - expected).abs() < 1e-9);
    assert!((on.current(driver) - 1.17).abs() < 0.01);
    // A module that sleeps drives nothing, commanded or not.
    state.key = Key::Off;
    let asleep = solve(&circuit, &state, &[]).unwrap();
    assert!(volts(&circuit, &asleep, "E1:1") > 11.9);
}

#[test]
fn nothing_joined_is_floating_and_reads_zero() {
    let mut build = battery();
    build.inside("stub");
    build.inside("end");
    build.wire("W1", "stub", "end", "GN", 0.5, 1.0);
    let circuit = build.build().unwrap();
    let meter = Meter::volts(circuit.point_named("stub").unwrap(), circuit.negative.unwrap());
    let reading = halfsplit_circuit::read(&circuit, &run(), &[], &meter).unwrap();
    assert!(reading.floating);
    assert!(reading.nominal.abs() < 1e-9 && reading.low <= 0.0 && reading.high >= 0.0);
}

#[test]
fn a_battery_off_leaves_nothing_but_zeros() {
    let (circuit, _) = module_with_reference(false, false);
    let state = State { battery: false, key: Key::Run, ..State::default() };
    let solution = solve(&circuit, &state, &[]).unwrap();
    assert!(volts(&circuit, &solution, "A1:ref").abs() < 1e-12);
    assert!(volts(&circuit, &solution, "G1:30").abs() < 1e-12);
}

/// A part hung on a ladder: its two nodes, what it is, volts and ohms.
type Hung = (usize, usize, u8, f64, f64);

/// A random ladder with diodes, outputs and drivers hung on it.
fn ladders() -> impl Strategy<Value = (Vec<f64>, Vec<Hung>)> {
    let rungs = prop::collection::vec(0.1..1000.0f64, 4..9);
    let parts = prop::collection::vec((0usize..9, 0usize..9, 0u8..4, 0.0..9.0f64, 0.01..20.0f64), 1..8);
    (rungs, parts)
}

fn ladder(rungs: &[f64], parts: &[Hung]) -> (Circuit, Vec<BranchId>) {
    let mut build = battery();
    let module = build.module("A1", "");
    build.feed(module, "G1:30", "G1:31", feed(Some(2.0)));
    let mut nodes = vec!["G1:31".to_owned()];
    for i in 0..rungs.len() {
        nodes.push(format!("n{i}"));
        build.inside(&format!("n{i}"));
    }
    nodes.push("G1:30".to_owned());
    for (i, &ohms) in rungs.iter().enumerate() {
        build.resistor(&format!("R{i}"), &nodes[i + 1], &nodes[i + 2], ohms);
    }
    let mut ids = Vec::new();
    for &(a, b, kind, volts, ohms) in parts {
        let (a, b) = (nodes[a % nodes.len()].clone(), nodes[b % nodes.len()].clone());
        if a == b {
            continue;
        }
        ids.push(match kind {
            0 => {
                let part = build.part(&format!("V{}", ids.len()), "", PartKind::Load);
                build.between(part, &a, &b, BranchKind::Diode { forward: volts / 9.0, ohms })
            }
            1 => build.driver(module, &a, &b, volts / 30.0, ohms, When::always()),
            _ => {
                let limit = (kind == 2).then_some(0.05 + volts / 50.0);
                let spec = ReferenceSpec { volts, inner: ohms, limit, unpowered: 4700.0 };
                build.reference(module, &a, &b, spec)
            }
        });
    }
    (build.build().unwrap(), ids)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    /// Whatever the mixture, one state is found and every part is on its own characteristic.
    #[test]
    fn every_part_ends_on_its_own_characteristic((rungs, parts) in ladders()) {
        let (circuit, ids) = ladder(&rungs, &parts);
        let solution = match solve(&circuit, &run(), &[]) {
            Ok(solution) => solution,
            // The ladder may starve the module; then there is nothing to check.
            Err(ReadError::NoStableState { parts }) if parts.names == ["A1"] => return Ok(()),
            Err(other) => return Err(TestCaseError::fail(other.to_string())),
        };
        prop_assume!(solution.awake(circuit.part_named("A1").unwrap()));
        for id in ids {
            let branch = circuit.branch(id);
            let across = solution.volts(branch.a, branch.b);
            let amps = solution.current(id);
            let expected = match branch.kind {
                BranchKind::Diode { forward, ohms } => ((across - forward) / ohms).max(0.0),
                BranchKind::Driver { saturation, ohms, .. } => ((across - saturation) / ohms).max(0.0),
                BranchKind::Reference { volts, inner, limit, .. } => {
                    -((volts - across) / inner).clamp(0.0, limit.unwrap_or(f64::INFINITY))
                }
                _ => unreachable!(),
            };
            prop_assert!((amps - expected).abs() < 1e-6, "{:?}: {amps} against {expected}", branch.kind);
        }
    }

    /// Numbers that no circuit has: an answer or an error, never a panic, never NaN.
    #[test]
    fn nonsense_is_an_error_and_never_a_panic(
        (rungs, parts) in ladders(),
        odd in prop::sample::select(vec![0.0, -1.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e-300, 1e300, 5e-324]),
        place in 0usize..9,
        as_fault in any::<bool>(),
    ) {
        let mut rungs = rungs;
        let (mut parts, count) = (parts, rungs.len());
        if !as_fault {
            rungs[place % count] = odd;
            let index = place % parts.len();
            parts[index].3 = odd;
        }
        let (circuit, _) = ladder(&rungs, &parts);
        let ends = (circuit.negative.unwrap(), circuit.positive.unwrap());
        let faults = if as_fault {
            vec![
                Fault { kind: FaultKind::Series { branch: BranchId(place as u32 % circuit.branches.len() as u32), ohms: odd } },
                Fault { kind: FaultKind::Bridge { a: ends.0, b: ends.1, ohms: odd } },
                Fault { kind: FaultKind::Sink { point: ends.1, volts: odd, ohms: odd, unpowered: odd } },
            ]
        } else {
            Vec::new()
        };
        let solver = Solver::new(&circuit);
        for taken in 0..=faults.len() {
            for point in 0..circuit.points.len() {
                let meter = Meter::volts(halfsplit_circuit::PointId(point as u32), ends.0);
                if let Ok(reading) = solver.read(&run(), &faults[..taken], &meter) {
                    prop_assert!(reading.nominal.is_finite() && reading.low <= reading.high, "{reading:?}");
                }
            }
        }
    }
}
