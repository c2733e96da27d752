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
    let mut state = State::with_key(Key::Run);
    model.set(&mut state, "A10.PUMP=on").unwrap();
    let mut request = Request::new(model.names.point("X76:1").unwrap(), state);
    request.reads = Some(0.0);
    let before = coverage(&model.circuit, &request).unwrap();
    let [group] = &before.groups[..] else { panic!("{before:#?}") };
    let fact = group.facts.iter().find(|fact| fact.fact == "the reach of FL1").unwrap();
    assert!(fact.pairs.0 > 0 && fact.pairs.0 < fact.pairs.1, "{fact:?}");

    let link = model.circuit.part_named("FL1").unwrap();
    model.circuit.parts[link.index()].reach = Some(1.0);
    let after = coverage(&model.circuit, &request).unwrap();
    assert_eq!(after.suspects, before.suspects);
    assert!(after.told > before.told, "{before:#?} {after:#?}");
    let with = |coverage: &halfsplit_plan::coverage::Coverage, name: &str| {
        let all = coverage.groups.iter().flat_map(|group| group.suspects.clone());
        all.into_iter().find(|suspect| suspect.name == name).map_or(Vec::new(), |suspect| suspect.with)
    };
    assert_eq!(with(&before, "wire W101").len(), 2);
    assert!(with(&after, "wire W101").is_empty(), "{after:#?}");
}

#[test]
fn every_suspect_is_told_or_listed() {
    let model = model("tern/reference-a.circuit");
    let mut state = State::with_key(Key::Run);
    state.set_supply(12.4);
    let mut request = Request::new(model.names.point("X35:1").unwrap(), state);
    request.reads = Some(0.235);
    request.facts = vec!["A10 communicates".to_owned()];
    let found = coverage(&model.circuit, &request).unwrap();
    let listed: usize = found.groups.iter().map(|group| group.suspects.len()).sum();
    assert_eq!(found.told + listed, found.suspects);
    assert!(found.told >= 10 && listed >= 4, "{found:#?}");
    // Two cavities bridged in a plug that stays in reads like the next plug's, and no sensor is among them.
    let names: Vec<&str> =
        found.groups.iter().flat_map(|g| &g.suspects).map(|suspect| suspect.name.as_str()).collect();
    assert!(names.contains(&"X34") && !names.contains(&"B4"), "{names:?}");
}
