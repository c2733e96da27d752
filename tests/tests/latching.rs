//! A reference that stays off after a short: the key is turned off and on before each reading that could show a recovery.

use std::path::Path;

use halfsplit_circuit::{BranchKind, Key, State};
use halfsplit_plan::{Request, StepKind, plan};
use halfsplit_tests::replay::open;

#[test]
#[ignore = "shorts at the very limit of a latching output bridge all rows, so the plan goes to ohms on the dead wire"]
fn the_key_is_turned_before_each_reading() {
    let path = "../examples/tern/reference-a.circuit";
    let mut model = open(&Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap();
    let mut request = Request::new(model.names.point("X35:1").unwrap(), State::with_key(Key::Run));
    request.reads = Some(0.0);

    // What the file weighs, and the module far away, so that nobody begins with ohms on the dead wire.
    request = request.file_only();
    let module = model.circuit.connector_named("A10.X2").unwrap();
    model.circuit.connectors[module.index()].reach = Some(60.0);
    let recovers = plan(&model.circuit, &request).unwrap();
    for branch in &mut model.circuit.branches {
        if let BranchKind::Reference { latches, .. } = &mut branch.kind {
            *latches = true;
        }
    }
    let latches = plan(&model.circuit, &request).unwrap();
    let parting: Vec<_> =
        latches.steps.iter().filter(|step| step.kind == StepKind::Part && step.unit == "V").collect();
    assert!(parting.len() > 1, "{} steps part something", parting.len());
    for step in parting {
        assert!(step.instruction.contains("Key off and on"), "{}", step.instruction);
    }
    assert!(recovers.steps.iter().all(|step| !step.instruction.contains("Key off and on")));
}
