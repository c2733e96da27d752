//! No step of any plan is a forbidden one, judged here from the circuit alone and not by the planner's own rules:
//! no airbag or high-voltage plug is parted or probed, no lamp hangs on a reference, a signal, a bus or a module's output, no
//! ohms are read where a source remains, no load is parted live on a reference that is too high, no terminal of the fuel system
//! is parted without its caution at the plan's head.

use std::path::Path;

use halfsplit_circuit::{
    BranchKind, Circuit, Class, ConnectorId, Hazard, Key, Load, Measure, PointId, PointKind, ReadError,
    Solver, State, net,
};
use halfsplit_model::{Model, PinRole};
use halfsplit_plan::{Plan, PlanError, Request, plan};
use halfsplit_tests::replay::{Drawn, circuits, open, plans};

fn fixture(name: &str) -> Model {
    let model = open(&Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures").join(name)).unwrap();
    assert_eq!((model.syntax.len(), model.problems.len()), (0, 0), "{:?} {:?}", model.syntax, model.problems);
    model
}

fn hazards(circuit: &Circuit, id: ConnectorId) -> Vec<Hazard> {
    let connector = circuit.connector(id);
    let owner = connector.owner.map(|part| circuit.part(part).cautions.clone()).unwrap_or_default();
    connector.cautions.iter().chain(&owner).map(|caution| caution.hazard).collect()
}

fn connector_of(circuit: &Circuit, point: PointId) -> Option<ConnectorId> {
    match circuit.point(point).kind {
        PointKind::Cavity { connector, .. } => Some(connector),
        _ => None,
    }
}

/// Everything that a plan's steps may not be.
fn judge(model: &Model, plan: &Plan, wrong: &mut Vec<String>) {
    let circuit = &model.circuit;
    let solver = Solver::new(circuit);
    for step in &plan.steps {
        let mut fail =
            |what: &str| wrong.push(format!("{}, step {}: {what}: {}", plan.pin, step.id, step.instruction));
        let barred = |id: ConnectorId| {
            hazards(circuit, id).iter().any(|h| matches!(h, Hazard::Airbag | Hazard::HighVoltage))
        };
        if step.state.unplugged.iter().any(|&id| barred(id)) {
            fail("parts a barred plug");
        }
        if [step.leads.red, step.leads.black].into_iter().filter_map(|p| connector_of(circuit, p)).any(barred)
        {
            fail("probes a barred plug");
        }
        for &id in &step.state.unplugged {
            let fuel = hazards(circuit, id).contains(&Hazard::Fuel);
            if fuel && !plan.cautions.iter().any(|note| note.hazard == Some(Hazard::Fuel)) {
                fail("goes to the fuel system without its caution");
            }
        }
        if step.leads.measure == Measure::Volts(Load::Lamp) {
            let common = [circuit.negative, circuit.positive, circuit.body];
            let wire = [step.leads.red, step.leads.black].into_iter().find(|&p| !common.contains(&Some(p)));
            let touched = wire.map_or_else(Vec::new, |p| net(circuit, &step.state, p).points);
            // The wire that an output drives, not the feed or the ground that it switches to.
            let output = circuit.branches().any(|(_, b)| {
                let ends = [b.a, b.b].into_iter().filter(|p| touched.contains(p)).count();
                let supplied = circuit.branches_of(b.part).any(|(_, feed)| {
                    matches!(feed.kind, BranchKind::Feed { .. })
                        && [feed.a, feed.b].iter().any(|p| touched.contains(p))
                });
                matches!(b.kind, BranchKind::Driver { .. }) && ends == 1 && !supplied
            });
            let reference = circuit
                .branches()
                .any(|(_, b)| matches!(b.kind, BranchKind::Reference { .. }) && touched.contains(&b.a));
            let signal = touched.iter().any(|point| model.roles.get(point) == Some(&PinRole::Signal));
            let bus = model.facts.buses.iter().any(|bus| {
                bus.high.iter().chain(&bus.low).chain(&bus.line).any(|point| touched.contains(point))
            });
            if reference || signal || bus || output {
                fail("hangs a lamp on a reference, a signal, a bus or a module's output");
            }
        }
        if step.leads.measure == Measure::Ohms
            && matches!(solver.read(&step.state, &[], &step.leads), Err(ReadError::LiveCircuit { .. }))
        {
            fail("reads ohms on a live circuit");
        }
        let live = step.state.battery && step.state.key == Key::Run && step.leads.measure != Measure::Ohms;
        if plan.class == Some(Class::High) && live && !step.state.unplugged.is_empty() {
            fail("parts a load on a high reference");
        }
    }
}

#[test]
fn no_plan_of_an_example_has_a_forbidden_step() {
    let (mut wrong, mut count) = (Vec::new(), 0);
    for path in circuits() {
        let model = open(&path).unwrap();
        // The trailer's many lamps take long; its plans are of the same kinds as the others'.
        if path.ends_with("trailer.circuit") {
            continue;
        }
        for Drawn { plan, .. } in plans(&model) {
            count += plan.steps.len();
            judge(&model, &plan, &mut wrong);
        }
    }
    assert!(count > 200, "{count} steps are too few to prove anything");
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn airbag_high_voltage_fuel_and_a_high_reference() {
    let model = fixture("gates.circuit");
    let (mut wrong, mut count) = (Vec::new(), 0);
    for reads in [0.0, 0.2, 0.7, 2.5, 6.5, 12.0] {
        let mut request = Request::new(model.names.point("X14:1").unwrap(), State::with_key(Key::Run));
        request.reads = Some(reads);
        let Ok(plan) = plan(&model.circuit, &request) else { continue };
        count += plan.steps.len();
        judge(&model, &plan, &mut wrong);
    }
    assert!(count > 5, "{count} steps are too few to prove anything");
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// Without its dangers the same circuit's plan parts those plugs, and the judge sees it once they are back.
#[test]
fn the_judge_sees_what_is_forbidden() {
    let model = fixture("gates.circuit");
    let mut free = model.clone();
    free.circuit.parts.iter_mut().for_each(|part| part.cautions.clear());
    free.circuit.connectors.iter_mut().for_each(|connector| connector.cautions.clear());
    let mut request = Request::new(model.names.point("X14:1").unwrap(), State::with_key(Key::Run));
    request.reads = Some(0.2);
    let plan = plan(&free.circuit, &request).unwrap();
    let mut wrong = Vec::new();
    judge(&model, &plan, &mut wrong);
    assert!(wrong.iter().any(|words| words.contains("X11")), "{wrong:#?}");
    assert!(wrong.iter().any(|words| words.contains("X12")), "{wrong:#?}");
}

#[test]
fn a_pin_behind_a_gate_stops_the_plan_with_the_reason() {
    let model = fixture("gates.circuit");
    for (pin, reason) in [("X11:1", "disarmed"), ("X12:1", "locked out")] {
        let mut request = Request::new(model.names.point(pin).unwrap(), State::with_key(Key::Run));
        request.reads = Some(0.2);
        match plan(&model.circuit, &request) {
            Err(PlanError::Gate { words, .. }) => assert!(words.contains(reason), "{words}"),
            other => panic!("{pin}: {other:?}"),
        }
    }
}

/// The plug carries the reference and, beside it, a squib's two wires: to part it parts those too.
#[test]
fn a_plug_with_a_squibs_wire_in_it_stays_mated_and_no_lead_rests_there() {
    let model = fixture("squib-inline.circuit");
    let mut request = Request::new(model.names.point("X16:1").unwrap(), State::with_key(Key::Run));
    request.reads = Some(0.2);
    let touches = |circuit: &Circuit, plan: &Plan| {
        let plug = circuit.connector_named("X20").unwrap();
        let at = |point| connector_of(circuit, point) == Some(plug);
        plan.steps
            .iter()
            .filter(|step| step.state.unplugged.contains(&plug) || at(step.leads.red) || at(step.leads.black))
            .count()
    };
    let drawn = plan(&model.circuit, &request).unwrap();
    assert!(drawn.steps.len() > 3);
    assert_eq!(touches(&model.circuit, &drawn), 0);
    assert!(
        drawn
            .meter
            .refused
            .iter()
            .any(|place| place.name.starts_with("X20") && place.reason.contains("disarmed"))
    );
    // Without the squib the same plug is the first to be parted.
    let mut free = model.circuit.clone();
    free.parts.iter_mut().for_each(|part| part.cautions.clear());
    free.connectors.iter_mut().for_each(|connector| connector.cautions.clear());
    assert!(touches(&free, &plan(&free, &request).unwrap()) > 0);
}
