//! The drop budget of a slow crank closes, and its figures are those of worked scenario S14 (healthy column).

use std::path::Path;

use halfsplit_circuit::{Key, State};
use halfsplit_plan::{Complaint, Inquiry, plan_complaint};
use halfsplit_tests::replay::open;

#[test]
fn the_budget_of_a_slow_crank_closes_on_the_printed_figures() {
    let path = "../examples/vane/starter.circuit";
    let model = open(&Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap();
    let mut state = State::with_key(Key::Crank);
    // At the posts while it cranks.
    state.set_supply(10.6);
    let starter = model.circuit.part_named("M1").unwrap();
    let plan = plan_complaint(&model.circuit, &Inquiry::new(Complaint::Weak(starter), state), None).unwrap();
    let budget = plan.budget.unwrap();
    let sum: f64 = budget.rows.iter().map(|row| row.volts).sum();
    assert!((sum - budget.total).abs() < 1e-6, "{sum} against {}", budget.total);
    let between = |from: &str, to: &str| -> f64 {
        let first = budget.rows.iter().position(|row| row.from == from).unwrap();
        let last = budget.rows.iter().position(|row| row.to == to).unwrap();
        budget.rows[first..=last].iter().map(|row| row.volts).sum()
    };
    // Printed: 10.6 V, 0.30 V, 0.20 V, 9.90 V, 0.20 V; within 5 % or one unit of the last digit.
    let printed = [
        ("post to post", budget.total, 10.6, 0.53),
        ("post to the solenoid", between("G1:30", "K9:30"), 0.30, 0.015),
        ("over the solenoid", between("K9:30", "K9:45"), 0.20, 0.01),
        ("the motor", between("M1:45", "M1:31"), 9.90, 0.495),
        ("case to post", between("M1:31", "G1:31"), 0.20, 0.01),
    ];
    for (what, found, figure, within) in printed {
        assert!((found - figure).abs() <= within, "{what}: {found} against {figure}");
    }
}
