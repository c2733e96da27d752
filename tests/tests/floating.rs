//! A pin on which the meter wanders: nothing holds it, so something on the way to its source is open.

use std::path::Path;

use halfsplit_circuit::{Class, Fault, FaultKind, Key, State};
use halfsplit_plan::{Request, plan, replay::Replay};
use halfsplit_tests::replay::open;

#[test]
fn a_pin_that_floats_is_followed_to_its_source() {
    let path = "../examples/tern/reference-a.circuit";
    let model = open(&Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap();
    let circuit = &model.circuit;
    // What the pedal draws is unknown, so it holds nothing.
    let mut request = Request::new(model.names.point("X36:2").unwrap(), State::with_key(Key::Run));
    request.floats = true;
    let plan = plan(circuit, &request).unwrap();
    assert_eq!(plan.class, Some(Class::Floating));
    let wire = circuit.branches_of(circuit.part_named("W31").unwrap()).next().unwrap().0;
    let open = [Fault { kind: FaultKind::Series { branch: wire, ohms: f64::INFINITY } }];
    let walk = Replay::new(circuit).walk(&plan, &open).unwrap();
    assert!(walk.end.words.starts_with("wire W31:"), "{}", walk.end.words);
    assert!((walk.readings[0] - 5.0).abs() < 0.05, "live at the source: {:?}", walk.readings);
    // Whatever would hold the pin, a short above all, cannot be it.
    for suspect in plan.suspects.iter().filter(|suspect| suspect.unit.is_some()) {
        assert_eq!(suspect.variants.len(), 1);
        let breaks =
            matches!(suspect.variants[0][0].kind, FaultKind::Series { ohms, .. } if ohms.is_infinite());
        assert!(breaks || matches!(suspect.variants[0][0].kind, FaultKind::Dead { .. }), "{suspect:?}");
    }
}
