//! A net with more suspects than every step can be weighed for in every set-up.

use std::{collections::BTreeSet, time::Duration};

use halfsplit_circuit::{Fault, PointId, Solver, idle, touched};
use halfsplit_plan::{Optimality, plan, replay::Replay};
use halfsplit_tests::big_net::net;

/// Every suspect's walk ends at a set with the truth, although the search only estimates what steps part.
#[test]
fn every_walk_ends_at_the_truth() {
    let (circuit, request) = net(35);
    let plan = plan(&circuit, &request).unwrap();
    assert!(plan.suspects.len() > 60, "{} suspects are no broad hunt", plan.suspects.len());
    let Optimality::Within { bound, .. } = plan.optimality else {
        panic!("{:?} was not proved", plan.optimality);
    };
    assert!(bound > 1.0 && bound < plan.expected_minutes, "{bound}");
    let replay = Replay::new(&circuit);
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
            // Cavities and wires beside each other read alike; a sensor is told from all else that is likely.
            if suspect.name.starts_with('B') {
                let likely: Vec<usize> =
                    walk.end.suspects.iter().copied().filter(|at| !walk.end.remote.contains(at)).collect();
                assert_eq!(likely, [at], "{}: {:?}", suspect.name, walk.end.words);
            }
        }
    }
}

/// No time at all still gives a whole plan: the simple policy, read with all tolerances.
#[test]
fn a_plan_within_no_time_is_whole() {
    let (circuit, mut request) = net(13);
    let at_leisure = plan(&circuit, &request).unwrap();
    request.within = Some(Duration::ZERO);
    let hurried = plan(&circuit, &request).unwrap();
    assert!(hurried.expected_minutes >= at_leisure.expected_minutes - 1e-9);
    assert_ne!(hurried.optimality, Optimality::Optimal);
    let replay = Replay::new(&circuit);
    for (at, suspect) in hurried.suspects.iter().enumerate() {
        let walk = replay.walk(&hurried, &suspect.variants[0]).unwrap();
        assert!(walk.names(&hurried, at), "{}: ended at {:?}", suspect.name, walk.end.words);
    }
}

/// Without its dead ends a circuit reads the same, whatever is wrong with it and whatever is out.
#[test]
fn dead_ends_change_no_reading() {
    let (circuit, request) = net(24);
    let plan = plan(&circuit, &request).unwrap();
    let mut kept: BTreeSet<PointId> = plan.steps.iter().flat_map(|s| [s.leads.red, s.leads.black]).collect();
    let faults = plan.suspects.iter().flat_map(|suspect| suspect.variants.clone());
    let faults: Vec<Vec<Fault>> = faults.collect();
    kept.extend(faults.iter().flatten().flat_map(|fault| touched(&circuit, fault)));
    let idle = idle(&circuit, &kept);
    assert!(idle.iter().filter(|idle| **idle).count() > circuit.branches.len() / 10);
    let (whole, trimmed) = (Solver::new(&circuit), Solver::without(&circuit, idle));
    for step in &plan.steps {
        for faults in &faults {
            let [one, other] =
                [&whole, &trimmed].map(|solver| solver.read(&step.state, faults, &step.leads).unwrap());
            let pairs = [(one.nominal, other.nominal), (one.low, other.low), (one.high, other.high)];
            for (one, other) in pairs {
                let same = one == other || (one - other).abs() <= 1e-6 * one.abs().max(1.0);
                assert!(same, "{}: {one} against {other}", step.instruction);
            }
        }
    }
}
