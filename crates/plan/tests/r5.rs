//! Scenario S01 on the reference circuit, with the suspects and costs that the file states.

mod bay;

use bay::{r5, s01, way};
use halfsplit_plan::{Optimality, minutes_in_order, plan};

#[test]
fn order_and_minutes_of_the_printed_plan() {
    let circuit = r5();
    let plan = plan(&circuit, &s01(&circuit).file_only()).unwrap();
    assert_eq!(plan.meter.name, "X35:1");
    assert_eq!(way(&plan, "B5").0, ["X35"]);
    assert_eq!(way(&plan, "A10").0, ["X35", "X21", "X34", "A10.X2"]);
    assert_eq!(way(&plan, "B2").0, ["X35", "X21", "X31", "X33", "X32"]);
    // 1 + 0.2 + 2·14.2/15.2 + (5.2·5 + 2.2·4)/15.2 + (9·1.5 + 7·3 + 4·8)/15.2
    near(
        plan.expected_minutes,
        1.2 + (2.0 * 14.2 + 5.2 * 5.0 + 2.2 * 4.0 + 9.0 * 1.5 + 7.0 * 3.0 + 4.0 * 8.0) / 15.2,
    );
    assert_eq!(plan.optimality, Optimality::Optimal);
}

#[test]
fn minutes_of_the_orders_it_is_compared_with() {
    let circuit = r5();
    let mut request = s01(&circuit).file_only();
    request.splits = false;
    // Without the group split: X35, X31, X33, X34, X32, A10.X2.
    let single = plan(&circuit, &request).unwrap();
    assert_eq!(way(&single, "A10").0, ["X35", "X31", "X33", "X34", "X32", "A10.X2"]);
    near(single.expected_minutes, 1.2 + (14.2 * 1.5 + 12.2 * 3.0 + 9.2 * 5.0 + 6.2 * 8.0 + 4.2 * 4.0) / 15.2);

    let minutes = |order: &[&str]| {
        let order: Vec<_> = order.iter().map(|n| circuit.connector_named(n).unwrap()).collect();
        minutes_in_order(&circuit, &request, &order).unwrap()
    };
    let list = ["X31", "X32", "X33", "X34", "X35", "A10.X2"];
    assert_eq!(format!("{:.2}", minutes(&list)), "15.53");
    let module_first = ["A10.X2", "X31", "X32", "X33", "X34", "X35"];
    assert_eq!(format!("{:.2}", minutes(&module_first)), "17.84");
}

#[test]
fn a_place_beyond_the_split_is_refused() {
    let circuit = r5();
    let mut request = s01(&circuit).file_only();
    request.meter = circuit.point_named("X31:1");
    let error = plan(&circuit, &request).unwrap_err();
    assert_eq!(
        error.to_string(),
        "the meter cannot rest at X31:1: it lies beyond X21: once X21 is out the meter would watch a dead stub"
    );
}

fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-9, "{found} against {expected}");
}
