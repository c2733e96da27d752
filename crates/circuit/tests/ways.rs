//! Nets, feeds and returns on the reference circuit R5.

mod reference_circuit;

use halfsplit_circuit::{BranchId, Circuit, State, Step, feed_path, net, nets, return_path};
use reference_circuit::{Bench, r5};

/// `W8 > SP10 W1 > A10.X2:14 …`: each step's part and point.
fn words(circuit: &Circuit, steps: &[Step]) -> Vec<String> {
    let part = |branch: BranchId| circuit.part(circuit.branch(branch).part).name.clone();
    steps.iter().map(|s| format!("{} > {}", part(s.branch), circuit.point(s.point).name)).collect()
}

fn names(circuit: &Circuit, state: &State, from: &str) -> Vec<String> {
    let net = net(circuit, state, circuit.point_named(from).unwrap());
    net.points.iter().map(|&p| circuit.point(p).name.clone()).collect()
}

#[test]
fn the_reference_reaches_every_sensor() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let whole = names(&circuit, &bench.key_on(&[]), "X34:2");
    for pin in ["A10.X2:14", "A10.X2.part:14", "SP10", "SP11", "X31:1", "X32:3", "X33.part:1", "X35:1"] {
        assert!(whole.iter().any(|n| n == pin), "{pin}");
    }
    assert!(!whole.iter().any(|n| n == "X34:1" || n == "X36:2"));
    let net = net(&circuit, &bench.key_on(&[]), bench.point("X34:2"));
    let wires: Vec<String> = net
        .branches
        .iter()
        .map(|&b| circuit.part(circuit.branch(b).part).name.clone())
        .filter(|name| name.starts_with('W'))
        .collect();
    assert_eq!(wires, ["W1", "W2", "W3", "W4", "W5", "W6", "W7", "W8"]);
}

#[test]
fn parting_an_inline_connector_cuts_the_net_in_two() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let parted = bench.key_on(&["X21"]);
    let body = names(&circuit, &parted, "X34:2");
    let engine = names(&circuit, &parted, "X31:1");
    assert!(body.contains(&"X21.body:6".to_owned()) && !body.contains(&"X21.engine:6".to_owned()));
    assert!(engine.contains(&"X21.engine:6".to_owned()) && engine.contains(&"X33:1".to_owned()));
    assert!(body.iter().all(|name| !engine.contains(name)));
}

#[test]
fn every_point_is_in_one_net() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let all = nets(&circuit, &bench.key_on(&["X21", "X34"]));
    let count: usize = all.iter().map(|net| net.points.len()).sum();
    assert_eq!(count, circuit.points.len());
    for net in &all {
        assert!(net.points.iter().all(|&p| net.contains(p)));
    }
}

#[test]
fn a_reference_is_fed_through_its_module() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let steps = feed_path(&circuit, &bench.key_on(&[]), bench.point("X35:1"));
    assert_eq!(
        words(&circuit, &steps),
        [
            "W8 > SP10",
            "W1 > A10.X2:14",
            "A10.X2 > A10.X2.part:14",
            "A10 > A10.X2.part:14",
            "A10 > A10.X1.part:1",
            "A10.X1 > A10.X1:1",
            "W102 > F12:load",
            "F12 > F12:feed",
            "BUS1 > BUS1",
            "FL1 > FL1:load",
            "FL1 > FL1:feed",
            "W101 > G1:30",
        ]
    );
}

#[test]
fn a_relay_leads_only_while_its_coil_is_pulled_in() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let feed = |state: &State| words(&circuit, &feed_path(&circuit, state, bench.point("F14:load")));
    let live = feed(&bench.key_on(&[]));
    assert!(live.contains(&"K3 > K3:30".to_owned()), "{live:?}");
    assert!(feed(&State::default()).is_empty());
    assert!(feed(&bench.key_on(&["A10.X1"])).is_empty());
    assert!(feed(&bench.key_on(&[]).pull(circuit.part_named("K3").unwrap())).is_empty());
}

#[test]
fn returns_run_down_to_the_negative_post() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let state = bench.key_on(&[]);
    let sensor = words(&circuit, &return_path(&circuit, &state, bench.point("X35:2")));
    assert_eq!(sensor.first().map(String::as_str), Some("W18 > SP12"));
    assert_eq!(sensor.last().map(String::as_str), Some("W100 > G1:31"));
    assert!(sensor.contains(&"W109 > GP102".to_owned()), "{sensor:?}");
    // The relay's coil returns through the driver, which acts only while A10 is awake.
    let coil = words(&circuit, &return_path(&circuit, &state, bench.point("K3:85")));
    assert!(coil.contains(&"A10 > A10.X1.part:2".to_owned()), "{coil:?}");
    assert!(return_path(&circuit, &State::default(), bench.point("K3:85")).is_empty());
    assert!(return_path(&circuit, &state, bench.point("G1:31")).is_empty());
}
