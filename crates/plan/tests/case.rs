//! Gates and evidence of a job on the reference circuit.

mod bay;

use bay::r5;
use halfsplit_circuit::{Circuit, Hazard, Key, Load, Measure, Meter, State};
use halfsplit_plan::case::{FLOOR, GateKind, Job, Next, Observation, Proof, Report, follow};

fn live() -> State {
    let mut state = State::with_key(Key::Run);
    state.set_supply(12.4);
    state
}

fn at(circuit: &Circuit, pin: &str, state: State, volts: f64) -> Observation {
    let leads = Meter::volts(circuit.point_named(pin).unwrap(), circuit.negative.unwrap());
    Observation { state, leads, reads: [volts; 2] }
}

fn job(readings: Vec<Observation>) -> Job {
    Job { now: live(), readings, rested: vec![12.6], ..Job::default() }
}

fn battery(rested: &[f64], system: f64) -> (bool, bool) {
    let circuit = r5();
    let job = Job { rested: rested.to_vec(), system: Some(system), ..job(Vec::new()) };
    let report = follow(&circuit, &job).unwrap();
    let gate = report.gates.iter().find(|g| g.kind == GateKind::Battery).unwrap();
    (gate.passed, matches!(report.next, Next::Charge { .. }))
}

/// Passed, and whether nothing but the charge comes next.
#[test]
fn every_battery_rests_by_itself() {
    assert_eq!(battery(&[], 12.0), (false, false));
    assert_eq!(battery(&[12.2], 12.0), (true, false));
    assert_eq!(battery(&[12.19], 12.0), (false, true));
    assert_eq!(battery(&[25.2], 24.0), (false, false));
    assert_eq!(battery(&[24.2], 24.0), (false, true));
    assert_eq!(battery(&[12.6], 24.0), (false, false));
    assert_eq!(battery(&[12.6, 12.5], 24.0), (true, false));
    // 25.0 V over both looks well; one of them is low.
    assert_eq!(battery(&[13.1, 11.9], 24.0), (false, true));
}

fn module_item(report: &Report, piece: &str) -> Proof {
    let items = &report.module.as_ref().unwrap().items;
    items.iter().find(|item| item.what.contains(piece)).unwrap().proof
}

#[test]
fn a_feed_counts_under_the_lamp_with_its_connector_out() {
    let circuit = r5();
    let complaint = at(&circuit, "X35:1", live(), 0.235);
    let parted = live().unplug(circuit.connector_named("A10.X1").unwrap());
    let feed = "feed A10.X1:1";
    let bare = at(&circuit, "A10.X1:1", parted, 12.3);
    let report = follow(&circuit, &job(vec![complaint.clone(), bare.clone()])).unwrap();
    assert_eq!(module_item(&report, feed), Proof::Missing, "a meter alone proves no feed");
    let lamp = |volts| {
        let leads = Meter { measure: Measure::Volts(Load::Lamp), ..bare.leads };
        Observation { leads, reads: [volts; 2], ..bare.clone() }
    };
    let report = follow(&circuit, &job(vec![complaint.clone(), lamp(12.25)])).unwrap();
    assert_eq!(module_item(&report, feed), Proof::Sound(1));
    let report = follow(&circuit, &job(vec![complaint, lamp(0.002)])).unwrap();
    assert_eq!(module_item(&report, feed), Proof::Wrong(1));
    assert!(!report.module.unwrap().may_be_named());
}

#[test]
fn a_reading_outside_what_a_suspect_predicts_falls_to_the_floor_and_no_further() {
    let circuit = r5();
    let parted = live().unplug(circuit.connector_named("X34").unwrap());
    let readings = vec![at(&circuit, "X35:1", live(), 0.235), at(&circuit, "X35:1", parted, 0.236)];
    let report = follow(&circuit, &job(readings)).unwrap();
    // What two readings leave of it is less than a person would go by.
    assert!(report.chance("B4") < 0.01, "{:?}", report.units());
    assert!(report.chance("B3") > report.chance("B4"));
    for suspect in report.suspects.iter().filter(|s| s.drawn) {
        assert!(suspect.evidence.iter().all(|e| e.factor >= FLOOR));
    }
    assert!(report.contradiction.is_none());
}

#[test]
fn fuel_on_the_way_is_a_gate_until_it_is_cleared() {
    let mut circuit = r5();
    let at_x34 = circuit.connector_named("X34").unwrap();
    let caution =
        halfsplit_circuit::Caution { hazard: Hazard::Fuel, words: "fuel line above the plug".to_owned() };
    circuit.connectors[at_x34.index()].cautions.push(caution);
    let mut job = job(vec![at(&circuit, "X35:1", live(), 0.235)]);
    let safety = |job: &Job| {
        let report = follow(&circuit, job).unwrap();
        report.gates.iter().find(|g| g.kind == GateKind::Safety).unwrap().passed
    };
    assert!(!safety(&job));
    // With X35 and X21 out the next plug would be X34, and nobody is sent there.
    for plug in ["X35", "X21"] {
        job.now.unplugged.insert(circuit.connector_named(plug).unwrap());
        job.readings.push(at(&circuit, "X35:1", job.now.clone(), 0.237));
    }
    let goes_to_x34 =
        |job: &Job| matches!(follow(&circuit, job).unwrap().next, Next::Step(step) if step.target == "X34");
    assert!(!goes_to_x34(&job));
    job.cleared.push((Hazard::Fuel, "X34".to_owned()));
    assert!(safety(&job));
}
