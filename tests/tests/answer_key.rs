//! The answer key of the worked scenarios: the class of the complaint, the first step, and where the walk ends
//! with the scenario's own fault in the circuit; what must never be named is never named at that end.
//!
//! Each circuit is read from its file under `examples/`. Readings are those that a meter shows on the
//! circuit with the fault, taken step by step as the plan asks for them.

use std::path::Path;

use halfsplit_base::{Files, disk};
use halfsplit_circuit::{BranchKind, Fault, FaultKind, Key, State};
use halfsplit_model::{Car, Model};
use halfsplit_plan::{
    Complaint, Inquiry, Plan, Request, StepKind, plan, plan_complaint,
    replay::{Replay, Walk},
};

struct Bay {
    model: Model,
    state: State,
}

impl Bay {
    fn of(circuit: &str, key: Key, settings: &[&str]) -> Bay {
        Bay::of_car(circuit, key, settings, &Car::default())
    }

    fn of_car(circuit: &str, key: Key, settings: &[&str], car: &Car) -> Bay {
        let path = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../examples")).join(circuit);
        let mut files = Files::default();
        let file = files.set(path.clone(), &disk::read(&path).unwrap());
        files.set_root(file, disk::library_root(&path));
        halfsplit_model::library::load(&mut files, file, &mut disk::read_in);
        let model = halfsplit_model::lower_for(&files, file, car);
        assert_eq!(model.problems, []);
        let mut state = State::with_key(key);
        for setting in settings {
            model.set(&mut state, setting).unwrap();
        }
        Bay { model, state }
    }

    fn pin(&self, pin: &str, reads: f64, facts: &[&str]) -> Plan {
        let mut state = self.state.clone();
        state.set_supply(12.4);
        let mut request = Request::new(self.model.names.point(pin).unwrap(), state);
        request.reads = Some(reads);
        request.facts = facts.iter().map(|fact| (*fact).to_owned()).collect();
        plan(&self.model.circuit, &request).unwrap()
    }

    fn complaint(&self, words: &str, facts: &[&str]) -> Plan {
        let complaint = Complaint::parse(&self.model.circuit, words).unwrap();
        self.inquire(complaint, facts)
    }

    fn ohms(&self, red: &str, black: &str, reads: f64) -> Plan {
        let point = |name: &str| self.model.names.point(name).unwrap();
        self.inquire(Complaint::Ohms { red: point(red), black: point(black), reads }, &[])
    }

    fn inquire(&self, complaint: Complaint, facts: &[&str]) -> Plan {
        let mut inquiry = Inquiry::new(complaint, self.state.clone());
        inquiry.facts = facts.iter().map(|fact| (*fact).to_owned()).collect();
        plan_complaint(&self.model.circuit, &inquiry, None).unwrap()
    }

    fn walk(&self, plan: &Plan, fault: &str) -> Walk {
        self.walk_with(plan, self.model.fault(fault).unwrap())
    }

    fn walk_with(&self, plan: &Plan, fault: Fault) -> Walk {
        Replay::new(&self.model.circuit).walk(plan, &[fault]).unwrap()
    }

    /// The repair units at the end of a walk, but for what is all but excluded.
    fn ends_at(&self, plan: &Plan, fault: &str) -> Vec<String> {
        self.units(plan, &self.walk(plan, fault))
    }

    fn units(&self, plan: &Plan, walk: &Walk) -> Vec<String> {
        let likely = walk.end.suspects.iter().filter(|at| !walk.end.remote.contains(at));
        let mut units: Vec<String> = likely.map(|&at| plan.suspects[at].name.clone()).collect();
        units.sort();
        units.dedup();
        units
    }

    /// Every suspect in every variant ends at a set that contains it.
    #[track_caller]
    fn replays(&self, plan: &Plan) {
        let replay = Replay::new(&self.model.circuit);
        for (at, suspect) in plan.suspects.iter().enumerate() {
            for faults in &suspect.variants {
                let walk = replay.walk_with(plan, faults, suspect.commanded).unwrap();
                let taken = walk.steps.iter().zip(&walk.readings);
                let way =
                    taken.map(|(&id, read)| format!("{} -> {read}", plan.step(id).unwrap().instruction));
                assert!(
                    walk.names(plan, at),
                    "{}, {}, {faults:?}: by {:#?} ended at {}",
                    suspect.name,
                    suspect.mode,
                    way.collect::<Vec<_>>(),
                    walk.end.words
                );
            }
        }
    }
}

fn class(plan: &Plan) -> &'static str {
    plan.complaint.as_ref().map_or("", |complaint| complaint.class)
}

fn first(plan: &Plan) -> &str {
    plan.steps.first().map_or("", |step| step.target.as_str())
}

/// Targets of the steps of a walk, in order.
fn way<'p>(plan: &'p Plan, walk: &Walk) -> Vec<&'p str> {
    walk.steps.iter().map(|&id| plan.step(id).unwrap().target.as_str()).collect()
}

#[test]
fn s01_one_of_five_sensors() {
    let bay = Bay::of("tern/reference-a.circuit", Key::Run, &[]);
    let plan = bay.pin("X35:1", 0.235, &["A10 communicates"]);
    assert_eq!(plan.class.unwrap().to_string(), "near zero");
    assert_eq!(plan.meter.name, "X35:1");
    let walk = bay.walk(&plan, "B4 short 1.8 ohm");
    assert_eq!(way(&plan, &walk)[..3], ["X35", "X21", "X34"]);
    // Never A10, and never W7 once the reading has recovered with X34 out.
    assert_eq!(bay.ends_at(&plan, "B4 short 1.8 ohm"), ["B4"]);
}

#[test]
fn s03_a_silent_module_whose_fuse_is_cracked() {
    let bay = Bay::of("tern/reference-a.circuit", Key::Run, &[]);
    let plan = bay.pin("X35:1", 0.0, &["A10 is silent"]);
    assert_eq!(first(&plan), "F12:load");
    let walk = bay.walk(&plan, "F12 open 40 kohm");
    // Never K3 or A10, and no sensor is parted on the way.
    assert_eq!(bay.ends_at(&plan, "F12 open 40 kohm"), ["F12"]);
    for target in way(&plan, &walk) {
        assert!(!target.starts_with("X3"), "{target} is a sensor's plug");
    }
}

#[test]
fn s05_an_open_crimp_is_no_sensor() {
    let bay = Bay::of("tern/reference-a.circuit", Key::Run, &[]);
    let plan = bay.pin("X31:1", 0.001, &["A10 communicates"]);
    assert_eq!(plan.steps[0].red, "X35:1", "the same net is read on the source side first");
    let units = bay.ends_at(&plan, "W2 at SP10 open 1.2 Mohm");
    assert!(units.iter().any(|unit| unit.contains("W2")), "{units:?}");
    assert!(!units.iter().any(|unit| unit == "B2" || unit == "A10"), "{units:?}");
}

#[test]
fn s07_an_added_alarm() {
    let bay = Bay::of("tern/reference-a.circuit", Key::Run, &[]);
    let plan = bay.pin("X35:1", 0.69, &["A10 communicates"]);
    let units = bay.ends_at(&plan, "SP10 sink 0.15 V behind 4.7 ohm unpowered 47 kohm");
    assert!(units.iter().all(|unit| unit.starts_with("unlisted equipment")), "{units:?}");
    assert!(!units.is_empty());
}

#[test]
fn s09_a_shared_ground() {
    let bay = Bay::of("vane/rear-lamps.circuit", Key::Run, &["S7=pressed"]);
    // The left stop lamp is bright, which costs nothing to see.
    let plan = bay.complaint("E2 is dim", &["E1 is as strong as usual"]);
    assert!(class(&plan).starts_with("weak function"), "{}", class(&plan));
    bay.replays(&plan);
    let units = bay.ends_at(&plan, "GP303 added 3 ohm");
    assert_eq!(units, ["GP303"], "never bulbs, switch or A20");
}

#[test]
fn s11_a_silent_horn() {
    let bay = Bay::of("vane/horn.circuit", Key::Off, &["S5=pressed"]);
    let plan = bay.complaint("M5 does not work", &[]);
    assert_eq!(class(&plan), "one function dead");
    bay.replays(&plan);
    // The click first, then the socket, and never the wheel.
    assert_eq!(plan.steps[0].instruction, "Listen at K5: does it click?");
    let walk = bay.walk(&plan, "K5 coil open");
    assert_eq!(bay.ends_at(&plan, "K5 coil open"), ["K5"]);
    for target in way(&plan, &walk) {
        assert!(
            !["X70", "X71", "X9"].iter().any(|gated| target.starts_with(gated)),
            "{target} is behind the airbag"
        );
    }
}

#[test]
fn s12_a_bus_at_the_diagnostic_socket() {
    let mut car = Car::default();
    car.options.insert("TAXI".into(), false);
    let mut bay = Bay::of_car("vane/can-bus.circuit", Key::Off, &[], &car);
    bay.state.battery = false;
    let missing = bay.ohms("X90:6", "X90:14", 119.1);
    assert_eq!(class(&missing), "ohms of a dead bus");
    bay.replays(&missing);
    // The cluster lacks its terminator, as the wrong variant does.
    let circuit = &bay.model.circuit;
    let cluster = circuit.part_named("A30").unwrap();
    let terminator = circuit.branches_of(cluster).find_map(|(id, branch)| match branch.kind {
        BranchKind::Load { ohms: Some(ohms), .. } if (ohms - 120.0).abs() < 1.0 => Some(id),
        _ => None,
    });
    let gone = FaultKind::Series { branch: terminator.unwrap(), ohms: f64::INFINITY };
    let units = bay.units(&missing, &bay.walk_with(&missing, gone.into()));
    assert!(units.iter().any(|unit| unit == "A30") && !units.iter().any(|unit| unit == "A10"), "{units:?}");
    // Nobody worked on the dash of this one: the file's suspicion of the cluster does not hold.
    let dash = bay.model.circuit.parts.iter_mut().find(|part| part.name == "A30").unwrap();
    dash.suspicion = None;
    let touching = bay.ohms("X90:6", "X90:14", 0.65);
    bay.replays(&touching);
    // X24 splits the bus; no node is convicted.
    assert_eq!(first(&touching), "X24");
    let units = bay.ends_at(&touching, "A31.X1:7 short to A31.X1:8 0.4 ohm");
    assert!(!units.iter().any(|unit| ["A10", "A30", "A31", "A32"].contains(&unit.as_str())), "{units:?}");
}

#[test]
fn s14_a_slow_crank() {
    let bay = Bay::of("vane/starter.circuit", Key::Crank, &[]);
    let plan = bay.complaint("M1 cranks slowly", &[]);
    assert_eq!(class(&plan), "slow crank: drop budget");
    bay.replays(&plan);
    assert_eq!(bay.ends_at(&plan, "GP103 added 8 mohm"), ["GP103"], "never the battery, never the starter");
}

#[test]
fn s15_a_lost_trailer_ground() {
    let bay = Bay::of("vane/trailer.circuit", Key::Run, &["S6=on"]);
    let plan = bay.complaint("E15 is dim", &[]);
    bay.replays(&plan);
    let units = bay.ends_at(&plan, "X80.car:3 open");
    assert!(units.iter().any(|unit| unit == "X80"), "{units:?}");
}

#[test]
fn s16_a_pump_that_runs_on() {
    let mut bay = Bay::of("vane/fuel-pump.circuit", Key::Run, &[]);
    bay.state.set_supply(12.4);
    let plan = bay.complaint("M2 stays on", &[]);
    assert_eq!(class(&plan), "function that stays on");
    bay.replays(&plan);
    assert_eq!(plan.steps[0].instruction, "Key off and listen: is M2 still on?");
    let walk = bay.walk(&plan, "A10.PUMP stuck 0.6 ohm");
    assert_eq!(way(&plan, &walk)[..3], ["M2", "A10.PUMP", "X1:18"]);
    // The module last: what nobody drew on its wire is looked for before.
    let stuck = bay.ends_at(&plan, "A10.PUMP stuck 0.6 ohm");
    assert!(stuck.iter().any(|unit| unit == "A10"), "{stuck:?}");
    assert!(stuck.iter().all(|unit| unit == "A10" || unit.starts_with("unlisted equipment")), "{stuck:?}");
    // Parting the whole of A10's plug takes the coil's feed with it and proves nothing: no step does so.
    assert!(plan.steps.iter().all(|step| step.target != "X1"));
    assert_eq!(bay.ends_at(&plan, "K4 contact welded"), ["K4"]);
    let chafed = bay.ends_at(&plan, "W1602 short at 1.4 m 0.3 ohm");
    assert!(
        chafed.iter().any(|unit| unit.ends_with("W1602")) && !chafed.iter().any(|unit| unit == "A10"),
        "{chafed:?}"
    );
}

#[test]
fn s19_a_draw_asleep() {
    let bay = Bay::of("vane/sleeping-draw.circuit", Key::Off, &[]);
    let plan = bay.complaint("draws 460 mA asleep", &[]);
    assert_eq!(class(&plan), "draw asleep");
    bay.replays(&plan);
    assert!(plan.steps[0].target.starts_with('F'), "{}", plan.steps[0].instruction);
    let walk = bay.walk(&plan, "S8 welded");
    assert!(way(&plan, &walk).contains(&"X92"), "{:?}", way(&plan, &walk));
    let units = bay.ends_at(&plan, "S8 welded");
    assert!(units.iter().any(|unit| unit == "S8"), "{units:?}");
    // No fuse is ever pulled to find a draw.
    assert!(plan.steps.iter().all(|step| step.state.pulled.is_empty()));
}

#[test]
fn s21_the_meter_rests_where_only_one_such_wire_is() {
    let bay = Bay::of("vane/level-sensors.circuit", Key::Run, &[]);
    let plan = bay.pin("A40.X2:6", 0.275, &[]);
    assert_eq!(plan.meter.name, "X103:1");
    // The place is read before anything is parted there: that costs nothing, and tells a pin that only wanders.
    let parted = plan.steps.iter().find(|step| step.kind == StepKind::Part).unwrap();
    assert_eq!(parted.target, "X103");
    assert_eq!(bay.ends_at(&plan, "B22 short 3 ohm"), ["B22"]);
}
