//! No plan asks for what can hurt: every step of every plan of every circuit with a danger in it is
//! held against the rules of the trade, read off the circuit and not off the planner's own legality.

use std::path::{Path, PathBuf};

use halfsplit_base::{Files, disk};
use halfsplit_circuit::{
    BranchKind, Circuit, Connector, Hazard, Key, Load, Measure, PointId, PointKind, State, net,
};
use halfsplit_model::Model;
use halfsplit_plan::{Plan, PlanError, Request, plan};

/// The circuits that have a danger in them, or an output that a lamp would harm.
const CIRCUITS: [&str; 8] = [
    "examples/vane/horn.circuit",
    "examples/vane/starter.circuit",
    "examples/vane/fuel-pump.circuit",
    "examples/vane/level-sensors.circuit",
    "examples/vane/can-bus.circuit",
    "examples/lark/sensors-and-fan.circuit",
    "examples/tern/reference-a.circuit",
    "tests/fixtures/squib-inline.circuit",
];

fn model(path: &str) -> Model {
    let path: PathBuf = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/..")).join(path);
    let mut files = Files::default();
    let file = files.set(path.clone(), &disk::read(&path).unwrap());
    files.set_root(file, disk::library_root(&path));
    halfsplit_model::library::load(&mut files, file, &mut disk::read_in);
    let model = halfsplit_model::lower(&files, file);
    assert_eq!(model.problems, [], "{}", path.display());
    model
}

/// Whether nobody may go to a connector.
fn dangerous(circuit: &Circuit, connector: &Connector) -> bool {
    let owner = connector.owner.map(|part| circuit.part(part).cautions.clone()).unwrap_or_default();
    let all = connector.cautions.iter().chain(&owner);
    all.into_iter().any(|c| c.hazard == Hazard::Airbag || c.hazard == Hazard::HighVoltage)
}

fn connector_of(circuit: &Circuit, point: PointId) -> Option<&Connector> {
    match circuit.point(point).kind {
        PointKind::Cavity { connector, .. } => Some(circuit.connector(connector)),
        _ => None,
    }
}

/// Names of the connectors of an airbag or high-voltage part that a wire ends at; a ground or a
/// wire of the battery's ends everywhere.
fn ends_in_danger(circuit: &Circuit, point: PointId) -> Option<String> {
    let there = net(circuit, &State::default(), point);
    if [circuit.negative, circuit.positive, circuit.body].into_iter().flatten().any(|p| there.contains(p)) {
        return None;
    }
    let ends = there.points.iter().filter_map(|&p| connector_of(circuit, p));
    ends.into_iter().find(|c| dangerous(circuit, c)).map(|c| c.name.clone())
}

/// What is forbidden in a plan, in words; empty where nothing is.
fn forbidden(circuit: &Circuit, plan: &Plan, began: &State, high: bool) -> Vec<String> {
    let mut found = Vec::new();
    for step in &plan.steps {
        let mut say = |what: String| found.push(format!("step {}: {what}: {}", step.id, step.instruction));
        for &out in step.state.unplugged.difference(&began.unplugged) {
            let connector = circuit.connector(out);
            if dangerous(circuit, connector) {
                say(format!("parts {}", connector.name));
            }
            let wires = connector.cavities.iter().flat_map(|c| c.points).flatten();
            if let Some(end) = wires.into_iter().find_map(|p| ends_in_danger(circuit, p)) {
                say(format!("parts {} with a wire to {end} in it", connector.name));
            }
            if high && step.state.battery {
                say(format!("parts {} on a high reading", connector.name));
            }
        }
        for lead in [step.leads.red, step.leads.black] {
            if let Some(connector) = connector_of(circuit, lead).filter(|c| dangerous(circuit, c)) {
                say(format!("a lead at {}", connector.name));
            }
        }
        match step.leads.measure {
            // A clamp touches nothing.
            Measure::Amps(_) => {}
            Measure::Ohms => {
                if step.state.battery {
                    say("ohms with the battery on".to_owned());
                }
                for lead in [step.leads.red, step.leads.black] {
                    if let Some(end) = ends_in_danger(circuit, lead) {
                        say(format!("ohms into {end}"));
                    }
                }
            }
            Measure::Volts(Load::Lamp) => {
                let there = net(circuit, &step.state, step.leads.red);
                let delicate = circuit
                    .branches()
                    .any(|(_, b)| matches!(b.kind, BranchKind::Reference { .. }) && there.contains(b.a));
                if delicate {
                    say("a lamp on a reference".to_owned());
                }
            }
            Measure::Volts(_) | Measure::Inject { .. } => {}
        }
    }
    // The tables that go with a plan are read by the same people.
    let named = |name: &str| circuit.connectors.iter().find(|c| c.name == name);
    let outs = plan.dead_wire.iter().flat_map(|d| &d.out).chain(plan.feeds.iter().map(|f| &f.out));
    for out in outs.filter_map(|name| named(name)) {
        if dangerous(circuit, out) {
            found.push(format!("a table parts {}", out.name));
        }
    }
    let rows = plan.dead_wire.iter().flat_map(|d| d.rows.iter().map(|r| r.black.as_str()));
    for point in rows.filter_map(|name| circuit.point_named(name)) {
        if let Some(end) = ends_in_danger(circuit, point) {
            found.push(format!("the dead-wire table: ohms into {end}"));
        }
    }
    found
}

#[test]
fn no_plan_asks_for_what_can_hurt() {
    let (mut plans, mut gates, mut steps) = (0, 0, 0);
    let mut found = Vec::new();
    // One reading a pin, in turn; where a hand must not go, all of them.
    let mut turn = [0.0, 0.7, 3.0, 12.1].into_iter().cycle();
    for path in CIRCUITS {
        let model = model(path);
        let circuit = &model.circuit;
        for connector in &circuit.connectors {
            for pin in connector.cavities.iter().filter_map(|c| c.points[0]) {
                let readings = if dangerous(circuit, connector) { 4 } else { 1 };
                for reads in turn.by_ref().take(readings) {
                    let mut state = State::with_key(Key::Run);
                    state.set_supply(12.4);
                    let mut request = Request::new(pin, state.clone());
                    request.reads = Some(reads);
                    request.effort = 200;
                    let name = &circuit.point(pin).name;
                    let drawn = plan(circuit, &request);
                    if dangerous(circuit, connector) {
                        assert!(matches!(drawn, Err(PlanError::Gate { .. })), "{path} {name}: {drawn:?}");
                        gates += 1;
                    }
                    let Ok(drawn) = drawn else { continue };
                    plans += 1;
                    steps += drawn.steps.len();
                    let high = drawn.class == Some(halfsplit_circuit::Class::High);
                    let wrong = forbidden(circuit, &drawn, &state, high);
                    found.extend(wrong.into_iter().map(|w| format!("{path} {name} at {reads} V: {w}")));
                }
            }
        }
    }
    assert!(plans > 50 && gates > 5 && steps > 200, "{plans} plans, {gates} gates, {steps} steps");
    assert!(found.is_empty(), "{} of {steps} steps:\n{}", found.len(), found.join("\n"));
}
