//! Scenario S01 on the reference circuit, with the suspects and costs that the file states.

mod bay;

use bay::{lines, r5, s01, way};
use halfsplit_circuit::{Caution, Hazard};
use halfsplit_plan::{Next, Optimality, PlanError, minutes_in_order, plan};

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

#[test]
fn the_whole_plan_keeps_what_nobody_drew_and_proves_before_it_blames() {
    let circuit = r5();
    let plan = plan(&circuit, &s01(&circuit)).unwrap();
    assert_eq!(plan.optimality, Optimality::Optimal);
    // More suspects than the list, and a clue that the list does not use.
    let clue = plan.steps.iter().find(|step| step.instruction.contains("Read millivolts at X35:2")).unwrap();
    assert!(clue.outcomes[0].units.len() < clue.outcomes[1].units.len(), "{}", lines(&plan));
    let chance =
        |name: &str| plan.suspects.iter().filter(|s| s.name.starts_with(name)).map(|s| s.weight).sum::<f64>();
    assert!(chance("unlisted") > 0.0 && chance("unlisted") < chance("B"), "{}", lines(&plan));
    near(chance(""), 1.0);
    // A part that recovers unloaded is told from a break by the reference load.
    let (way, end) = way(&plan, "B5");
    assert_eq!(way, ["X35", "X35:1"]);
    let end = end.unwrap();
    assert!(end.starts_with("B5: shorted inside, X35:1 to X35:2, about 1.9 Ω"), "{end}");
    for step in &plan.steps {
        let last = step.outcomes.last().unwrap();
        assert!(last.range.is_none(), "every step has a way out: {}", step.instruction);
        for outcome in &step.outcomes {
            if let Next::End(end) = &outcome.next
                && outcome.units.iter().any(|u| u == "A10")
            {
                assert!(end.gated, "{}", end.words);
            }
        }
    }
    assert!(plan.remate.contains(&"X21".to_owned()) && plan.remate.contains(&"A10.X2".to_owned()));
    assert!(plan.dropped.iter().any(|d| d.name == "F12"), "fuses cannot pull a reference down");
}

#[test]
fn tables_beside_the_tree() {
    let circuit = r5();
    let plan = plan(&circuit, &s01(&circuit).file_only()).unwrap();
    let wire = plan.dead_wire.unwrap();
    assert_eq!(wire.red, "X35:1");
    assert_eq!(wire.out, ["A10.X2", "X31", "X32", "X33", "X34", "X35"]);
    for row in &wire.rows {
        let to_itself = row.what.starts_with("the wire itself");
        assert_eq!(row.expected.nominal.is_infinite(), !to_itself, "{} {}", row.black, row.what);
    }
    let mut checks: Vec<(&str, &str)> = plan.feeds.iter().map(|c| (c.role, c.cavity.as_str())).collect();
    checks.sort_unstable();
    assert_eq!(
        checks,
        [("feed", "A10.X1:1"), ("feed", "A10.X1:3"), ("ground", "A10.X1:2"), ("ground", "A10.X1:4")]
    );
    let sound = plan.feeds.iter().find(|c| c.cavity == "A10.X1:1").unwrap();
    assert!(sound.expected.nominal >= sound.at_least, "a sound feed passes: {sound:?}");
    let held = plan.feeds.iter().find(|c| c.cavity == "A10.X1:3").unwrap();
    assert!(held.note.contains("depends on the module"), "the main relay is held by A10 itself");
    assert!(plan.module_gates.iter().any(|g| g.contains("ground of A10")));
}

#[test]
fn no_plan_begins_at_an_airbag() {
    let mut circuit = r5();
    let connector = circuit.connector_named("X35").unwrap();
    circuit.connectors[connector.index()]
        .cautions
        .push(Caution { hazard: Hazard::Airbag, words: "disable, wait the stated time".to_owned() });
    assert!(matches!(plan(&circuit, &s01(&circuit)), Err(PlanError::Gate { .. })));
    // From another pin of the net the plan goes round it.
    let mut request = s01(&circuit).file_only();
    request.pin = circuit.point_named("X34:2").unwrap();
    let plan = plan(&circuit, &request).unwrap();
    assert_ne!(plan.meter.name, "X35:1");
    assert!(plan.steps.iter().all(|s| s.target != "X35" && !s.out.contains(&"X35".to_owned())));
}
