//! What was seen in another state counts in that state.

use std::path::Path;

use halfsplit_circuit::{Key, State};
use halfsplit_plan::{Complaint, Inquiry, Plan, PlanError, plan_complaint};
use halfsplit_tests::replay::open;

fn tail_lamp_out(facts: &[&str]) -> Result<Plan, PlanError> {
    let path = "../examples/vane/tail-and-stop.circuit";
    let model = open(&Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap();
    let mut state = State::with_key(Key::Run);
    model.set(&mut state, "S9=on").unwrap();
    let lamp = model.circuit.part_named("E1").unwrap();
    let mut inquiry = Inquiry::new(Complaint::Dead(lamp), state);
    inquiry.effort = 300;
    inquiry.facts = facts.iter().map(|fact| (*fact).to_owned()).collect();
    plan_complaint(&model.circuit, &inquiry, None)
}

/// One filament that works with the brake pressed clears the ground that both share.
#[test]
fn a_lamp_that_works_in_another_state_clears_what_both_states_share() {
    let suspects =
        |plan: &Plan| plan.suspects.iter().map(|s| format!("{}: {}", s.name, s.mode)).collect::<Vec<_>>();
    let without = tail_lamp_out(&[]).unwrap();
    let with = tail_lamp_out(&["E1 works with S9=off S7=pressed"]).unwrap();
    assert!(with.facts[0].excluded > 0);
    let cleared: Vec<String> =
        suspects(&without).into_iter().filter(|s| !suspects(&with).contains(s)).collect();
    assert!(cleared.iter().any(|s| s.starts_with("GP302:")), "{cleared:?}");
    assert!(!with.suspects.is_empty() && with.suspects.len() < without.suspects.len());
}

#[test]
fn a_state_that_cannot_be_set_is_told() {
    for words in
        ["E1 works with S7=open", "E1 works with key sideways", "E1 works with", "E1 works with rain"]
    {
        let error = tail_lamp_out(&[words]).unwrap_err();
        assert!(matches!(error, PlanError::UnknownFact { .. }), "{words}: {error}");
    }
}
