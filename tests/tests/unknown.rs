//! An unknown reach that decides what is done first is named, for a complaint as for a pin.

use std::path::Path;

use halfsplit_circuit::{ConnectorId, Key, State};
use halfsplit_plan::{Complaint, Inquiry, Next, doubts_of_complaint, plan_complaint};
use halfsplit_tests::replay::open;

#[test]
fn an_unknown_reach_that_changes_a_complaints_first_step_is_named() {
    let path = "../examples/haul/mirror-and-heater.circuit";
    let mut model = open(&Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap();
    let mut inquiry = None;
    for at in 0..model.circuit.parts.len() {
        let part = halfsplit_circuit::PartId(at as u32);
        let asked = Inquiry::new(Complaint::Dead(part), State::with_key(Key::Run));
        let drawn = plan_complaint(&model.circuit, &asked, None).ok();
        if drawn.is_some_and(|plan| plan.steps.len() > 2) {
            inquiry = Some(asked);
            break;
        }
    }
    let inquiry = inquiry.unwrap();
    assert_eq!(doubts_of_complaint(&model.circuit, &inquiry), Some(Vec::new()), "every reach is known");
    let mut named = 0;
    for at in 0..model.circuit.connectors.len() {
        let id = ConnectorId(at as u32);
        let known = model.circuit.connectors[id.index()].reach.take();
        for doubt in doubts_of_complaint(&model.circuit, &inquiry).unwrap() {
            named += 1;
            let name = &model.circuit.connector(id).name;
            assert_eq!((doubt.fact, doubt.unit), (format!("reach of {name}"), "min"));
            // What is promised comes about.
            let mut other = model.circuit.clone();
            other.connectors[id.index()].reach = Some(doubt.value);
            let then = plan_complaint(&other, &Inquiry { effort: 300, ..inquiry.clone() }, None).unwrap();
            let Next::Step(first) = then.start else { panic!("{:?}", then.start) };
            assert_eq!(then.step(first).unwrap().target, doubt.first);
        }
        model.circuit.connectors[id.index()].reach = known;
    }
    assert!(named > 0, "no reach decides anything");
}
