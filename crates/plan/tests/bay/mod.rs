//! The reference circuit R5 with its minutes and weights, as the worked scenarios state them.
#![allow(dead_code)] // Each test binary uses its own part of it.

#[path = "../../../circuit/tests/reference_circuit/mod.rs"]
mod reference_circuit;

use halfsplit_circuit::{Circuit, Key, PartId, State};
use halfsplit_plan::{Next, Plan, Request, Step};

const REACH: [(&str, &str, f64, Option<f64>); 8] = [
    ("A10.X1", "left cowl", 4.0, None),
    ("A10.X2", "left cowl", 4.0, None),
    ("X21", "engine left, top", 2.0, None),
    ("X31", "engine top", 1.5, None),
    ("X32", "under the intake", 8.0, None),
    ("X33", "front of the head", 3.0, None),
    ("X34", "behind the undershield", 5.0, None),
    ("X35", "bulkhead, in the open", 1.0, Some(0.2)),
];

const SUSPICION: [(&str, f64); 14] = [
    ("B1", 2.0),
    ("B2", 2.0),
    ("B3", 3.0),
    ("B4", 3.0),
    ("B5", 1.0),
    ("W3", 1.5),
    ("W4", 0.2),
    ("W5", 0.15),
    ("W6", 0.15),
    ("W7", 1.0),
    ("W1", 0.25),
    ("W2", 0.25),
    ("W8", 0.2),
    ("A10", 0.5),
];

/// R5.
pub fn r5() -> Circuit {
    let mut circuit = reference_circuit::r5();
    for (name, place, reach, parting) in REACH {
        let id = circuit.connector_named(name).unwrap();
        let connector = &mut circuit.connectors[id.index()];
        connector.place = place.to_owned();
        connector.reach = Some(reach);
        connector.parting = parting;
    }
    let inline = circuit.connector_named("X21").unwrap();
    circuit.connectors[inline.index()].repart = Some(0.3);
    for (name, weight) in SUSPICION {
        let part = part(&circuit, name);
        circuit.parts[part.index()].suspicion = Some(weight);
    }
    for (name, minutes) in [("F12", 1.5), ("K3", 0.5), ("GP102", 2.0)] {
        let part = part(&circuit, name);
        circuit.parts[part.index()].reach = Some(minutes);
    }
    circuit
}

pub fn part(circuit: &Circuit, name: &str) -> PartId {
    circuit.part_named(name).unwrap_or_else(|| panic!("no part {name}"))
}

/// Key on, 12.40 V at the battery.
pub fn key_on() -> State {
    let mut state = State::with_key(Key::Run);
    state.set_supply(12.4);
    state
}

/// Scenario S01 as it comes through the door.
pub fn s01(circuit: &Circuit) -> Request {
    let mut request = Request::new(circuit.point_named("X35:1").unwrap(), key_on());
    request.reads = Some(0.235);
    request.facts = vec!["A10 communicates".to_owned()];
    request
}

/// Targets along one way through the plan, choosing the outcome whose units include this one.
pub fn way(plan: &Plan, unit: &str) -> (Vec<String>, Option<String>) {
    let mut targets = Vec::new();
    let mut at = plan.start.clone();
    loop {
        match at {
            Next::End(end) => return (targets, Some(end.words)),
            Next::Step(id) => {
                let step: &Step = plan.step(id).unwrap();
                targets.push(step.target.clone());
                let Some(outcome) = step.outcomes.iter().find(|o| o.units.iter().any(|u| u == unit)) else {
                    return (targets, None);
                };
                at = outcome.next.clone();
            }
        }
    }
}

/// A plan in lines, for reading in a snapshot.
pub fn lines(plan: &Plan) -> String {
    let mut text = format!(
        "meter {} ({}), black {}, {} min; {:.2} min expected, {}\n",
        plan.meter.name,
        plan.meter.place,
        plan.meter.black,
        plan.meter.minutes,
        plan.expected_minutes,
        plan.optimality
    );
    for refused in &plan.meter.refused {
        text += &format!("  not {}: {}\n", refused.name, refused.reason);
    }
    for suspect in &plan.suspects {
        let ohms = suspect.ohms.map(|o| format!(" {o:.3} Ω")).unwrap_or_default();
        text += &format!("  {:.3} {}: {}{ohms}\n", suspect.weight, suspect.name, suspect.mode);
    }
    for step in &plan.steps {
        text +=
            &format!("{} [{} min, {:.2} to go] {}\n", step.id, step.minutes, step.to_go, step.instruction);
        for outcome in &step.outcomes {
            let range = match outcome.range {
                Some(r) => format!("{:.3}..{:.3} {}", r.low, r.high, step.unit),
                None => "else".to_owned(),
            };
            let next = match &outcome.next {
                Next::Step(id) => format!("go to {id}"),
                Next::End(end) => end.words.clone(),
            };
            text += &format!("    {range} {}: {} -> {next}\n", outcome.class, outcome.units.join(", "));
        }
    }
    text
}
