//! Every suspect injected, in every mode: the plan must end at a set that contains it.

mod bay;

use bay::{lines, r5, s01};
use halfsplit_circuit::Circuit;
use halfsplit_plan::replay::Replay;
use halfsplit_plan::{Plan, plan};

/// Walks every suspect and returns the mean minutes by weight.
fn every_single(circuit: &Circuit, plan: &Plan) -> f64 {
    let replay = Replay::new(circuit);
    let (mut minutes, mut weight) = (0.0, 0.0);
    for (at, suspect) in plan.suspects.iter().enumerate() {
        for faults in &suspect.variants {
            let walk = replay.walk(plan, faults).unwrap();
            assert!(walk.names(plan, at), "{} {}: {:?}\n{}", suspect.name, suspect.mode, walk, lines(plan));
            minutes += walk.minutes * suspect.weight / suspect.variants.len() as f64;
        }
        weight += suspect.weight;
    }
    minutes / weight
}

#[test]
fn the_plan_of_the_list_finds_each_of_its_suspects() {
    let circuit = r5();
    let plan = plan(&circuit, &s01(&circuit).file_only()).unwrap();
    let walked = every_single(&circuit, &plan);
    assert!((walked - plan.expected_minutes).abs() < 1e-9, "{walked} walked");
}

#[test]
fn the_whole_plan_finds_each_of_its_suspects() {
    let circuit = r5();
    let plan = plan(&circuit, &s01(&circuit)).unwrap();
    let walked = every_single(&circuit, &plan);
    // What is all but excluded takes no step of its own, and is not in the expectation.
    assert!((walked - plan.expected_minutes).abs() < 0.05 * walked, "{walked} walked");
}

#[test]
fn two_faults_at_once_end_with_one_of_them_or_with_neither_fitting() {
    let circuit = r5();
    let plan = plan(&circuit, &s01(&circuit).file_only()).unwrap();
    let replay = Replay::new(&circuit);
    for (a, one) in plan.suspects.iter().enumerate() {
        for (b, other) in plan.suspects.iter().enumerate().skip(a + 1) {
            let both = [one.variants[0].clone(), other.variants[0].clone()].concat();
            let walk = replay.walk(&plan, &both).unwrap();
            let honest = walk.fits_none() || walk.names(&plan, a) || walk.names(&plan, b);
            assert!(honest, "{} and {}: {}", one.name, other.name, walk.end.words);
        }
    }
}
