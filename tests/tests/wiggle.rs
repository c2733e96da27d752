//! Where to move what when a fault comes and goes: most chance per minute first, nothing behind a gate.

use std::path::Path;

use halfsplit_circuit::{Key, State};
use halfsplit_plan::{Plan, Request, plan};
use halfsplit_tests::replay::open;

fn drawn(path: &str, pin: &str, reads: f64) -> Plan {
    let model = open(&Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap();
    let mut request = Request::new(model.names.point(pin).unwrap(), State::with_key(Key::Run));
    request.reads = Some(reads);
    plan(&model.circuit, &request).unwrap()
}

#[test]
fn the_order_is_that_of_chance_per_minute() {
    let plan = drawn("../examples/tern/reference-a.circuit", "X35:1", 0.235);
    assert!(plan.wiggle.len() > 4, "{:?}", plan.wiggle);
    let rate = |name: &str, minutes: f64| {
        let of = |unit: usize| plan.units[unit].name == name;
        let weight: f64 = plan.suspects.iter().filter(|s| s.unit.is_some_and(of)).map(|s| s.weight).sum();
        weight / minutes
    };
    let rates: Vec<f64> = plan.wiggle.iter().map(|item| rate(&item.name, item.minutes)).collect();
    assert!(rates.windows(2).all(|pair| pair[0] >= pair[1] - 1e-12), "{rates:?}");
    // The inside of a sensor or a module is moved by nobody.
    assert!(plan.wiggle.iter().all(|item| !item.name.starts_with('B') && item.name != "A10"));
}

#[test]
fn nothing_behind_a_gate_is_moved() {
    let plan = drawn("fixtures/squib-inline.circuit", "X16:1", 0.2);
    assert!(plan.suspects.iter().any(|suspect| suspect.name == "X20"));
    assert!(!plan.wiggle.is_empty());
    for item in &plan.wiggle {
        assert!(item.name != "X20" && !item.name.starts_with("dash harness"), "{item:?}");
    }
}
