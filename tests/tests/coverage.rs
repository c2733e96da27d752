//! What a file cannot tell apart: the named fact, once it stands in the file, does what was promised.

use std::path::Path;

use halfsplit_circuit::{Key, State};
use halfsplit_model::Model;
use halfsplit_plan::{Request, coverage::coverage};
use halfsplit_tests::replay::open;

fn model(path: &str) -> Model {
    open(&Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../examples")).join(path)).unwrap()
}

#[test]
fn a_stated_reach_parts_what_was_promised() {
    let mut model = model("vane/fuel-pump.circuit");
    let mut request = Request::new(model.names.point("BUS3").unwrap(), State::with_key(Key::Run));
    request.floats = true;
    let before = coverage(&model.circuit, &request).unwrap();
    let mut facts = before.groups.iter().flat_map(|group| &group.facts);
    let fact = facts.find(|fact| fact.fact == "the reach of F14").unwrap();
    assert!(fact.pairs.0 > 0 && fact.pairs.0 < fact.pairs.1, "{fact:?}");

    let fuse = model.circuit.part_named("F14").unwrap();
    model.circuit.parts[fuse.index()].reach = Some(1.0);
    let after = coverage(&model.circuit, &request).unwrap();
    assert_eq!(after.suspects, before.suspects);
    assert!(after.told >= before.told);
    let mut facts = after.groups.iter().flat_map(|group| &group.facts);
    assert!(facts.all(|fact| fact.fact != "the reach of F14"), "what is stated is not asked for again");
}

#[test]
fn every_suspect_is_told_or_listed() {
    let model = model("tern/reference-a.circuit");
    let mut state = State::with_key(Key::Run);
    state.set_supply(12.4);
    let mut request = Request::new(model.names.point("X35:1").unwrap(), state);
    request.reads = Some(0.0);
    request.facts = vec!["A10 communicates".to_owned()];
    let found = coverage(&model.circuit, &request).unwrap();
    let listed: usize = found.groups.iter().map(|group| group.suspects.len()).sum();
    assert_eq!(found.told + listed, found.suspects);
    assert!(found.told >= 2 && listed >= 4, "{found:#?}");
    // Where an output is dead or its own contact is open reads alike; no sensor is among them.
    let names: Vec<&str> =
        found.groups.iter().flat_map(|g| &g.suspects).map(|suspect| suspect.name.as_str()).collect();
    assert!(names.contains(&"A10.X2") && !names.contains(&"B4"), "{names:?}");
}
