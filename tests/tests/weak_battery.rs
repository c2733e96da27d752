//! A battery that gives way under load: what was read at its posts is evidence, and no supply to reckon with.

use std::path::Path;

use halfsplit_circuit::{Fault, FaultKind, Key, Meter, Solver, State};
use halfsplit_plan::{Complaint, Inquiry, plan_complaint, replay::Replay};
use halfsplit_tests::replay::open;

/// 12.6 V behind 8 mΩ and 190 mΩ more feed 1.00 Ω of heater over about 34 mΩ of fuse, switch, plugs and copper:
/// 12.6 V / 1.232 Ω is 10.2 A, and the posts are left with 12.6 V - 10.2 A * 0.198 Ω, which is 10.6 V.
#[test]
fn low_posts_accuse_the_battery_before_a_joint() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/weak-battery.circuit");
    let model = open(&file).unwrap();
    let circuit = &model.circuit;
    let mut state = State::with_key(Key::Run);
    model.set(&mut state, "S1=on").unwrap();
    let battery = circuit.part_named("G1").unwrap();
    let (inner, _) = circuit.branches_of(battery).next().unwrap();
    let gives_way: Vec<Fault> = vec![FaultKind::Series { branch: inner, ohms: 0.19 }.into()];
    let posts = Meter::volts(circuit.positive.unwrap(), circuit.negative.unwrap());
    let read = Solver::new(circuit).nominal(&state, &gives_way, &posts).unwrap().value;
    assert!((read - 10.6).abs() < 0.1, "{read} V at the posts");

    state.set_supply(read);
    let inquiry = Inquiry::new(Complaint::parse(circuit, "R1 is weak").unwrap(), state);
    let plan = plan_complaint(circuit, &inquiry, None).unwrap();
    assert_eq!(plan.suspects[0].name, "G1", "{:?}", plan.suspects);
    let whole: f64 = plan.suspects.iter().map(|suspect| suspect.weight).sum();
    let own: f64 = plan.suspects.iter().filter(|s| s.name == "G1").map(|s| s.weight).sum();
    assert!(own > 0.5 * whole, "{own} of {whole}");
    // A bad joint behind the posts leaves more there, not less: only a slip in that reading lets it be one.
    let most = plan.suspects.iter().filter(|s| s.name != "G1").map(|s| s.weight).fold(0.0, f64::max);
    assert!(most < 0.2 * own, "{most} beside {own}");
    let walk = Replay::new(circuit).walk(&plan, &gives_way).unwrap();
    assert!(walk.names(&plan, 0), "{}", walk.end.words);
}
