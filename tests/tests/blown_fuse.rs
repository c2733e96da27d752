//! A fuse that blows: a lamp in its place, the circuit parted behind it.

use std::path::Path;

use halfsplit_circuit::{Hazard, Key, Load, Measure, State};
use halfsplit_plan::{Complaint, Inquiry, plan_complaint, replay::Replay};
use halfsplit_tests::replay::open;

#[test]
fn a_lamp_stands_in_for_the_fuse_and_the_fuel_gate_holds() {
    let path = "../examples/vane/fuel-pump.circuit";
    let model = open(&Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap();
    let mut state = State::with_key(Key::Run);
    model.set(&mut state, "A10.PUMP=on").unwrap();
    let complaint = Complaint::parse(&model.circuit, "F22 blows").unwrap();
    assert_eq!(complaint, Complaint::Blows(model.circuit.part_named("F22").unwrap()));
    let mut inquiry = Inquiry::new(complaint, state);
    let plan = plan_complaint(&model.circuit, &inquiry, None).unwrap();
    assert!(plan.meter.refused.iter().any(|place| place.name == "X76" && place.reason.contains("vapour")));
    assert_eq!(plan.complaint.as_ref().unwrap().class, "blown fuse");
    let fuse = model.circuit.part_named("F22").unwrap();
    assert!(!plan.steps.is_empty());
    for step in &plan.steps {
        assert!(step.state.pulled.contains(&fuse), "the fuse stays out: {}", step.instruction);
        assert_eq!(step.leads.measure, Measure::Volts(Load::Lamp));
        assert!(!step.out.contains(&"X76".to_owned()), "vapour: {}", step.instruction);
    }
    // The short before the parted plug keeps the lamp bright, the one behind it lets it go dark.
    let replay = Replay::new(&model.circuit);
    for (name, bright) in [("W1603", true), ("M2", false)] {
        let at = plan.suspects.iter().position(|s| s.name.ends_with(name)).unwrap();
        let walk = replay.walk(&plan, &plan.suspects[at].variants[0]).unwrap();
        assert!(walk.names(&plan, at), "{name}: {}", walk.end.words);
        let stays_bright = walk.readings.iter().all(|read| *read > 6.0);
        assert_eq!(stays_bright, bright, "{name}: {:?}", walk.readings);
    }
    // Once trained people have dealt with the vapour that plug may be parted too.
    inquiry.cleared = vec![(Hazard::Fuel, "X76".to_owned())];
    let cleared = plan_complaint(&model.circuit, &inquiry, None).unwrap();
    assert!(cleared.steps.iter().any(|step| step.out.contains(&"X76".to_owned())), "{:?}", cleared.steps);
}

/// A module that shorts its feed is told from the wire to it by parting its plug.
#[test]
fn a_module_shorted_inside_is_found_at_its_plug() {
    let path = "../examples/vane/can-bus.circuit";
    let model = open(&Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap();
    let complaint = Complaint::parse(&model.circuit, "F12 blows").unwrap();
    let inquiry = Inquiry::new(complaint, State::with_key(Key::Run));
    let plan = plan_complaint(&model.circuit, &inquiry, None).unwrap();
    let replay = Replay::new(&model.circuit);
    for module in ["A10", "A30", "A31", "A32"] {
        let at = plan
            .suspects
            .iter()
            .position(|s| s.name == module && s.mode.starts_with("shorted inside"))
            .unwrap();
        let walk = replay.walk(&plan, &plan.suspects[at].variants[0]).unwrap();
        assert!(walk.end.words.starts_with(&format!("{module}: shorted inside")), "{}", walk.end.words);
        assert!(walk.end.gated, "a module is named last");
    }
}
