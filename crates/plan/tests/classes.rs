//! Other classes of first reading: silence, an open, a leak to something unlisted, volts too high.

mod bay;

use bay::{key_on, lines, r5};
use halfsplit_circuit::{Circuit, Fault, FaultKind};
use halfsplit_plan::replay::{Walk, replay};
use halfsplit_plan::{Plan, PlanError, Request, StepKind, plan};

fn ask(circuit: &Circuit, pin: &str, reads: f64, facts: &[&str]) -> Request {
    let mut request = Request::new(circuit.point_named(pin).unwrap(), key_on());
    request.reads = Some(reads);
    request.facts = facts.iter().map(|f| (*f).to_owned()).collect();
    request
}

fn walk(circuit: &Circuit, plan: &Plan, fault: FaultKind) -> Walk {
    replay(circuit, plan, &[Fault { kind: fault }]).unwrap()
}

/// Units that the walk ends with.
fn found(plan: &Plan, walk: &Walk) -> Vec<String> {
    let mut names: Vec<String> = walk.end.suspects.iter().map(|&s| plan.suspects[s].name.clone()).collect();
    names.dedup();
    names
}

fn series(circuit: &Circuit, part: &str, ohms: f64) -> FaultKind {
    let (branch, _) = circuit.branches_of(bay::part(circuit, part)).next().unwrap();
    FaultKind::Series { branch, ohms }
}

#[test]
fn a_silent_module_is_searched_along_its_feeds() {
    // Scenario S03: F12 leaks 40 kΩ, A10 asleep, both references zero.
    let circuit = r5();
    let plan = plan(&circuit, &ask(&circuit, "X35:1", 0.0, &["A10 is silent"])).unwrap();
    let first = &plan.steps[0];
    assert_eq!(
        (first.target.as_str(), first.kind, first.minutes),
        ("F12:load", StepKind::Probe, 1.5),
        "{}",
        lines(&plan)
    );
    assert!(plan.steps.iter().all(|s| s.out.is_empty()), "nothing is unplugged");
    let walk = walk(&circuit, &plan, series(&circuit, "F12", 40e3));
    assert_eq!(found(&plan, &walk), ["F12"]);
    assert!((walk.readings[0] - 0.0021).abs() < 1e-4, "2.1 mV under the lamp");
    // Relay and sensors are consequences, never suspects.
    assert!(plan.suspects.iter().all(|s| s.name != "K3" && !s.name.starts_with('B') || s.name == "BUS1"));
}

#[test]
fn an_open_is_looked_for_on_the_source_side_first() {
    // Scenario S05: the crimp of W2 in SP10 has 1.2 MΩ.
    let circuit = r5();
    let plan = plan(&circuit, &ask(&circuit, "X31:1", 0.001, &["A10 communicates"])).unwrap();
    let first = &plan.steps[0];
    assert_eq!(first.red, "X35:1", "{}", lines(&plan));
    let walk = walk(&circuit, &plan, series(&circuit, "W2", 1.2e6));
    assert!((walk.readings[0] - 5.0).abs() < 0.01);
    assert_eq!(found(&plan, &walk), ["body harness W1 W2 W7 W8"]);
    assert_eq!(walk.end.words, "body harness W1 W2 W7 W8: W2 open or resistive, its crimp in SP10 included");
}

#[test]
fn equipment_that_nobody_drew_is_named_and_not_the_module() {
    // Scenario S07: an alarm box taps W1 at SP10, 0.15 V behind 4.7 Ω, 47 kΩ when dead.
    let circuit = r5();
    let plan = plan(&circuit, &ask(&circuit, "X35:1", 0.69, &["A10 communicates"])).unwrap();
    let point = circuit.point_named("SP10").unwrap();
    let sink = FaultKind::Sink { point, volts: 0.15, ohms: 4.7, unpowered: 47e3 };
    let walk = walk(&circuit, &plan, sink);
    assert_eq!(
        found(&plan, &walk),
        ["unlisted equipment on the body harness W1 W2 W7 W8"],
        "{}",
        lines(&plan)
    );
    let targets: Vec<&str> = walk.steps.iter().map(|&id| plan.step(id).unwrap().target.as_str()).collect();
    assert_eq!(targets[..2], ["X35", "X21"]);
}

#[test]
fn nothing_is_unplugged_live_on_a_high_reading() {
    let circuit = r5();
    let plan = plan(&circuit, &ask(&circuit, "X35:1", 12.1, &["A10 communicates"])).unwrap();
    for step in &plan.steps {
        assert!(step.state.unplugged.is_empty() || !step.state.battery, "{}", step.instruction);
    }
}

/// Its sensor holds the pin to the module's ground, so that only a lost ground lets it float.
#[test]
fn a_pin_that_its_sensor_holds_floats_with_its_ground_alone() {
    let circuit = r5();
    let mut held = ask(&circuit, "X36:2", 0.0, &["A10 communicates"]);
    (held.reads, held.floats) = (None, true);
    let plan = plan(&circuit, &held).unwrap();
    assert!(!plan.suspects.is_empty());
    for suspect in &plan.suspects {
        assert!(["wire W109", "A10", "A10.X1"].contains(&suspect.name.as_str()), "{}", lines(&plan));
    }
}

#[test]
fn what_lifts_a_wire_is_found_fuse_by_fuse() {
    let circuit = r5();
    let plan = plan(&circuit, &ask(&circuit, "X35:1", 11.0, &["A10 communicates"])).unwrap();
    let wire = circuit.branches_of(circuit.part_named("W3").unwrap()).next().unwrap().0;
    for (to, words) in [("F14:load", "behind F14"), ("F3:load", "behind F3"), ("BUS1", "no fuse guards")] {
        let to = circuit.point_named(to).unwrap();
        let walk = walk(&circuit, &plan, FaultKind::Chafe { branch: wire, along: 0.5, to, ohms: 16.6 });
        let pulls = walk.steps.iter().any(|&id| plan.step(id).unwrap().kind == StepKind::Pull);
        assert!(pulls, "{to:?}: {}", lines(&plan));
        assert!(walk.end.words.contains(words), "{to:?}: {}", walk.end.words);
        assert!(walk.end.suspects.iter().all(|&at| plan.suspects[at].mode.contains(words)));
    }
}

#[test]
fn a_sound_reading_is_no_fault() {
    let circuit = r5();
    let error = plan(&circuit, &ask(&circuit, "X35:1", 4.97, &[])).unwrap_err();
    assert!(matches!(error, PlanError::Sound { .. }), "{error}");
}

#[test]
fn a_fact_of_no_use_says_what_can_be_said() {
    let circuit = r5();
    let error = plan(&circuit, &ask(&circuit, "X35:1", 0.2, &["A11 communicates"])).unwrap_err();
    let PlanError::UnknownFact { known, .. } = &error else { panic!("{error}") };
    assert!(known.contains(&"A10 communicates".to_owned()));
    assert!(known.contains(&"B4 works".to_owned()));
}
