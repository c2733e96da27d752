//! A clamp around any conductor, as one of the meters.

mod random_circuit;

use halfsplit_circuit::{
    Builder, Circuit, Fault, FaultKind, Measure, Meter, PointId, Quantity, Solver, State, conductor_at,
};
use proptest::prelude::*;

/// 12.6 V over F1, W1 and a plug into 2.4 ohm, and a load of 12 ohm on the same splice.
fn circuit() -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.6, 0.01);
    build.fuse("F1", 15.0);
    build.splice("SP1");
    build.ground_point("GP1", 0.001);
    let heater = build.sensor("R1", "heater");
    build.connector(heater, "X1", 2);
    build.wire("W0", "G1:30", "F1:feed", "RD", 2.5, 0.5);
    build.wire("W1", "F1:load", "SP1", "RD", 2.5, 2.0);
    build.wire("W2", "SP1", "X1:1", "RD", 1.5, 2.0);
    build.wire("W3", "X1:2", "GP1", "BN", 1.5, 2.0);
    build.wire("W4", "GP1", "G1:31", "BK", 25.0, 0.5);
    build.draws(heater, "X1.part:1", "X1.part:2", 5.0, 12.0);
    build.resistor("R2", "SP1", "GP1", 12.0);
    build.build().unwrap()
}

fn at(circuit: &Circuit, name: &str) -> PointId {
    circuit.point_named(name).unwrap()
}

fn amps(circuit: &Circuit, pin: &str, faults: &[Fault]) -> f64 {
    let meter = Meter::clamp_at(circuit, at(circuit, pin)).unwrap();
    let (solver, state) = (Solver::new(circuit), State::default());
    let reading = solver.read(&state, faults, &meter).unwrap();
    assert_eq!(reading.quantity, Quantity::Amps);
    assert!(reading.low < reading.nominal && reading.nominal < reading.high, "{reading:?}");
    let nominal = solver.nominal(&state, faults, &meter).unwrap().value;
    let table = solver.table(&state, &[faults.to_vec()], &[meter]).at(0, 0).unwrap().value;
    let spread = solver.spread_table(&state, &[faults.to_vec()], &[meter]).at(0, 0).unwrap();
    assert_eq!(nominal, reading.nominal);
    assert!((table - nominal).abs() < 1e-9 && (spread.nominal - nominal).abs() < 1e-9);
    let off = 0.02 * reading.high.abs() + 0.05;
    assert!((spread.high + off - reading.high).abs() < 0.1 * (reading.high - reading.low), "{spread:?}");
    nominal
}

/// Kirchhoff at the splice, and the sign: into the pin.
#[test]
fn every_pin_can_be_read() {
    let circuit = circuit();
    let heater = amps(&circuit, "X1:1", &[]);
    assert!((heater - 5.1).abs() < 0.1, "{heater}");
    assert!((amps(&circuit, "X1:2", &[]) + heater).abs() < 1e-9);
    assert!((amps(&circuit, "X1.part:1", &[]) - heater).abs() < 1e-9);
    let all = -amps(&circuit, "F1:load", &[]);
    assert!((all - heater - 12.4 / 12.0).abs() < 0.02, "{all}");
    // At a splice of several wires no one knows which is meant.
    let several = conductor_at(&circuit, at(&circuit, "SP1")).unwrap_err();
    assert_eq!(several.len(), 2);
}

/// Of a wire that is rubbed through to body, the clamp reads what passes where it sits: more before the spot than
/// behind it, and the difference is what the touch takes.
#[test]
fn a_rubbed_wire_carries_less_behind_the_spot() {
    let circuit = circuit();
    let (wire, branch) = circuit.branches_of(circuit.part_named("W2").unwrap()).next().unwrap();
    let to = at(&circuit, "GP1");
    let chafe = vec![FaultKind::Chafe { branch: wire, along: 0.5, to, ohms: 3.0 }.into()];
    let solver = Solver::new(&circuit);
    let read =
        |end| solver.nominal(&State::default(), &chafe, &Meter::clamp(&circuit, wire, end)).unwrap().value;
    let (before, behind) = (-read(branch.a), read(branch.b));
    assert!((before - behind - 4.1).abs() < 0.15, "{before} A, then {behind} A");
    assert_eq!(Meter::clamp(&circuit, wire, branch.b).measure, Measure::Amps(wire));
}

/// What a fault joins to a point beside the branches that end there.
fn joins(circuit: &Circuit, fault: &Fault, point: PointId) -> bool {
    // A wire from a point to itself has no clamp, and loses something all the same where it is rubbed through.
    let is_loop = |id| [circuit.branch(id).a, circuit.branch(id).b] == [point; 2];
    match fault.kind {
        FaultKind::Bridge { a, b, .. } => a == point || b == point,
        FaultKind::Chafe { branch, to, .. } => to == point || is_loop(branch),
        FaultKind::Touch { one, other, .. } => is_loop(one.0) || is_loop(other.0),
        // It returns to battery negative.
        FaultKind::Sink { point: at, .. } => at == point || point == PointId(0),
        _ => false,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Kirchhoff: with clamps around everything that ends at a point, their amperes into it add up to nothing, wires
    /// that are rubbed through among them.
    #[test]
    fn clamps_around_a_point_add_up_to_nothing(
        parts in random_circuit::recipes(6..28),
        faults in random_circuit::recipes(0..3),
        choice in any::<u8>(),
    ) {
        let circuit = random_circuit::circuit(9, true, &parts);
        let faults: Vec<Fault> = faults.iter().map(|f| random_circuit::fault(&circuit, f)).collect();
        let (solver, state) = (Solver::new(&circuit), random_circuit::state(choice));
        for at in (0..circuit.points.len() as u32).map(PointId) {
            if faults.iter().any(|fault| joins(&circuit, fault, at)) {
                continue;
            }
            let ending = circuit.branches().filter(|(_, b)| (b.a == at) != (b.b == at));
            let clamps: Vec<Meter> = ending.map(|(id, _)| Meter::clamp(&circuit, id, at)).collect();
            let amps: Result<Vec<f64>, _> =
                clamps.iter().map(|clamp| solver.nominal(&state, &faults, clamp).map(|n| n.value)).collect();
            // What oscillates, or what a fault does not fit, has no reading at all.
            let Ok(amps) = amps else { return Ok(()) };
            let most = amps.iter().fold(1e-3, |most: f64, amps| most.max(amps.abs()));
            let sum: f64 = amps.iter().sum();
            prop_assert!(sum.abs() <= 1e-6 * most, "{sum} A into {at:?}: {amps:?} with {faults:?}");
            let table = solver.table(&state, std::slice::from_ref(&faults), &clamps);
            for (column, amps) in amps.iter().enumerate() {
                let fast = table.at(0, column).map(|n| n.value);
                prop_assert!(fast.as_ref().is_ok_and(|fast| (fast - amps).abs() <= 1e-6 * most), "{fast:?} for {amps}");
            }
        }
    }
}
