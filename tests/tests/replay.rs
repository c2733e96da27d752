//! Every plan from an example file, walked once for every suspect in every
//! variant with simulated readings: each walk must end at a set that contains the truth.

use std::path::Path;

use halfsplit_base::{Files, disk};
use halfsplit_circuit::{Key, State};
use halfsplit_model::Model;
use halfsplit_plan::{Plan, Request, plan, replay::Replay};

fn model(path: &str) -> Model {
    let path = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../examples")).join(path);
    let mut files = Files::default();
    let file = files.set(path.clone(), &disk::read(&path).unwrap());
    files.set_root(file, disk::library_root(&path));
    halfsplit_model::library::load(&mut files, file, &mut disk::read_in);
    let model = halfsplit_model::lower(&files, file);
    assert_eq!(model.problems, []);
    model
}

struct Case<'a> {
    pin: &'a str,
    reads: f64,
    facts: &'a [&'a str],
    set: &'a [&'a str],
}

/// Draws the plan and walks it for every suspect.
#[track_caller]
fn walks_end_at_the_truth(model: &Model, case: &Case<'_>, file_only: bool) -> Plan {
    let mut state = State::with_key(Key::Run);
    state.set_supply(12.4);
    for setting in case.set {
        model.set(&mut state, setting).unwrap();
    }
    let mut request = Request::new(model.names.point(case.pin).unwrap(), state);
    if file_only {
        request = request.file_only();
    }
    request.reads = Some(case.reads);
    request.facts = case.facts.iter().map(|fact| (*fact).to_owned()).collect();
    let plan = plan(&model.circuit, &request).unwrap();
    let replay = Replay::new(&model.circuit);
    for (at, suspect) in plan.suspects.iter().enumerate() {
        for faults in &suspect.variants {
            let walk = replay.walk(&plan, faults).unwrap();
            assert!(
                walk.names(&plan, at),
                "{}, {}: ended at {:?}",
                suspect.name,
                suspect.mode,
                walk.end.words
            );
        }
    }
    plan
}

#[test]
fn the_reference_circuit() {
    let model = model("tern/reference-a.circuit");
    let talks: &[&str] = &["A10 communicates"];
    let near_zero = Case { pin: "X35:1", reads: 0.235, facts: talks, set: &[] };
    walks_end_at_the_truth(&model, &near_zero, false);
    let listed = walks_end_at_the_truth(&model, &near_zero, true);
    assert!((listed.expected_minutes - 9.732_894_736_842_104).abs() < 1e-9, "{}", listed.expected_minutes);
    let pulled_down = Case { pin: "X35:1", reads: 0.69, facts: talks, set: &[] };
    walks_end_at_the_truth(&model, &pulled_down, false);
    let silent = Case { pin: "X35:1", reads: 0.0, facts: &["A10 is silent"], set: &[] };
    walks_end_at_the_truth(&model, &silent, false);
    let open = Case { pin: "X31:1", reads: 0.001, facts: talks, set: &[] };
    walks_end_at_the_truth(&model, &open, false);
    let high = Case { pin: "X35:1", reads: 11.0, facts: talks, set: &[] };
    walks_end_at_the_truth(&model, &high, false);
}

#[test]
fn the_lamps() {
    let model = model("vane/tail-and-stop.circuit");
    let dead = Case { pin: "X61:2", reads: 0.0, facts: &[], set: &["S7=pressed"] };
    walks_end_at_the_truth(&model, &dead, false);
    let one_side = Case { pin: "X62:1", reads: 0.0, facts: &["E3 works"], set: &["S9=on"] };
    walks_end_at_the_truth(&model, &one_side, false);
}

#[test]
fn the_pump() {
    let model = model("vane/fuel-pump.circuit");
    let dead = Case { pin: "X76:1", reads: 0.0, facts: &["A10 communicates"], set: &["A10.PUMP=on"] };
    walks_end_at_the_truth(&model, &dead, false);
}

/// Every plan of one small circuit, for references and for complaints; `tests/replay/run` takes all circuits.
#[test]
fn every_plan_of_a_small_circuit() {
    let path = halfsplit_tests::replay::circuits();
    let path = path.iter().find(|path| path.ends_with("vane/rear-fog.circuit")).unwrap();
    let tally = halfsplit_tests::replay::walk(&halfsplit_tests::replay::open(path).unwrap(), 20);
    assert!(tally.plans >= 2 && tally.singles > 100, "{tally:?}");
    assert_eq!(tally.found, tally.singles, "{:#?}", tally.wrong);
    assert!(tally.pairs > 20 && tally.named + tally.told + tally.proved == tally.pairs, "{:#?}", tally.wrong);
}
