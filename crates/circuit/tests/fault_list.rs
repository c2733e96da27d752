//! The list of every physical fault.

mod reference_circuit;

use std::collections::BTreeSet;

use halfsplit_circuit::{ReadError, Solver, faults_of, pairs_of};
use reference_circuit::{Bench, r5};

#[test]
fn the_reference_circuit_has_every_kind() {
    let circuit = r5();
    let all = faults_of(&circuit);
    let labels: BTreeSet<&str> = all.iter().map(|fault| fault.label.as_str()).collect();
    assert_eq!(labels.len(), all.len(), "no label twice");
    for label in [
        "W7 open",
        "W7 resistive",
        "W7 rubbed through to body",
        "W7 touching a wire with battery volts",
        "unlisted equipment on W7",
        "X34:2 contact open",
        "X34:1 and X34:2 bridged",
        "X21.body:6 and X21.body:7 bridged",
        "W2 touching W12 beside it",
        "F12 open",
        "FL1 resistive",
        "GP102 joint resistive between GP102 and body",
        "K3 coil open",
        "K3 coil shorted",
        "K3 contact K3:30 to K3:87 open",
        "K3 contact K3:30 to K3:87 resistive",
        "K3 contact K3:30 to K3:87 welded",
        "B4 shorted inside",
        "B4 leaking inside",
        "A10.REF_A dead",
        "A10.REF_A shorted inside A10",
        "A10 driver A10.X1.part:6 to A10.X1.part:2 shorted",
        "A10 open inside between A10.X1.part:1 and A10.X1.part:2",
        "S1 contact S1:30 to S1:15 welded",
    ] {
        assert!(labels.contains(label), "{label} is missing of {labels:#?}");
    }
}

#[test]
fn every_listed_fault_and_pair_can_be_solved() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let solver = Solver::new(&circuit);
    let all = faults_of(&circuit);
    let pairs = pairs_of(&all, 500);
    assert!(pairs.len() > 300 && pairs.len() <= 500, "{}", pairs.len());
    assert!(pairs.iter().all(|pair| pair.label.contains(", and ") && pair.faults.len() == 2));
    for state in [bench.key_on(&[]), bench.key_on(&["X21"]), bench.dead(&[])] {
        for named in all.iter().chain(&pairs) {
            let solved = solver.solve(&state, &named.faults);
            // A starved coil behind a bad ground may well make its relay buzz.
            let buzzes = named.faults.len() == 2 && matches!(solved, Err(ReadError::NoStableState { .. }));
            assert!(solved.is_ok() || buzzes, "{}: {:?}", named.label, solved.err());
        }
    }
}
