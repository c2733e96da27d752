//! A vehicle-sized circuit of 300 points, 200 faults in it and 50 places to read.
//!
//! Ten zones hang on one bus. Each has a fuse, a relay switched by the body module, a zone module
//! with a 5 V reference for four sensors, two lamps and a ground joint; every
//! wire passes an inline connector.

use halfsplit_circuit::{
    BranchKind, Builder, Circuit, Fault, FaultKind, FeedSpec, Key, Meter, PointKind, ReferenceSpec,
    RelaySpec, State, When,
};

/// Zones of the circuit.
const ZONES: usize = 10;

/// The circuit; 300 points.
pub fn circuit() -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.6, 0.008);
    build.link("FL1", 125.0);
    build.bar("BUS1");
    build.wire("W1", "G1:30", "FL1:feed", "RD", 16.0, 0.5);
    build.wire("W2", "FL1:load", "BUS1", "RD", 16.0, 0.3);
    build.ground_point("GP1", 0.2e-3);
    build.wire("W3", "G1:31", "GP1", "BK", 25.0, 0.4);
    for zone in 0..ZONES {
        zone_of(&mut build, zone);
    }
    // Spare splices at the end of a wire bring the count to 300.
    let mut spare = 0;
    while build.circuit().points.len() < 300 {
        let name = format!("SP9{spare}");
        build.splice(&name);
        build.wire(&format!("W9{spare}"), "BUS1", &name, "RD", 1.0, 0.5);
        spare += 1;
    }
    build.build().unwrap_or_default()
}

fn zone_of(build: &mut Builder, zone: usize) {
    let name = |what: &str| format!("{what}{zone}");
    let wire = |build: &mut Builder, part: &str, a: &str, b: &str, metres: f64| {
        build.wire(&format!("W{zone}{part}"), a, b, "GY/RD", 1.0, metres);
    };
    build.fuse(&name("F"), 15.0);
    build.ground_point(&name("GP2"), 0.5e-3);
    let relay = RelaySpec { coil: 80.0, pull_in: 8.0, drop_out: 3.0 };
    build.relay(&name("K"), relay);
    let module = build.module(&name("A"), "zone");
    for pin in ["feed", "ground", "ref", "return", "coil"] {
        build.point(&format!("A{zone}.{pin}"), PointKind::Terminal);
    }
    let at = |pin: &str| format!("A{zone}.{pin}");
    let run = || When::keys(&[Key::Run]);
    let feed = FeedSpec { awake: Some(24.0), standby: Some(6000.0), wakes: Some(6.0), when: run() };
    build.feed(module, &at("feed"), &at("ground"), feed);
    let spec = ReferenceSpec { volts: 5.0, inner: 0.2, limit: Some(0.12), unpowered: 4700.0 };
    build.reference(module, &at("ref"), &at("return"), spec);
    build.joint(module, &at("return"), &at("ground"), 1e-3);
    build.driver(module, &at("coil"), &at("ground"), 0.15, 0.1, When::always());
    build.inline(&format!("X{zone}"), ["body", "zone"], 4);
    build.splice(&name("SP1"));
    build.splice(&name("SP2"));
    wire(build, "a", "BUS1", &format!("F{zone}:feed"), 0.3);
    wire(build, "b", &format!("F{zone}:load"), &format!("K{zone}:30"), 0.2);
    wire(build, "c", &format!("F{zone}:load"), &format!("K{zone}:86"), 0.2);
    wire(build, "d", &format!("F{zone}:load"), &at("feed"), 1.5);
    wire(build, "e", &format!("K{zone}:85"), &at("coil"), 1.5);
    wire(build, "f", &at("ground"), &name("GP2"), 0.9);
    wire(build, "g", &at("ref"), &format!("X{zone}.body:1"), 0.8);
    wire(build, "h", &format!("X{zone}.zone:1"), &name("SP1"), 0.5);
    wire(build, "i", &at("return"), &format!("X{zone}.body:2"), 0.8);
    wire(build, "j", &format!("X{zone}.zone:2"), &name("SP2"), 0.5);
    for sensor in 0..3 {
        let part = build.sensor(&format!("B{zone}{sensor}"), "pressure");
        for pin in ["1", "2"] {
            build.point(&format!("B{zone}{sensor}:{pin}"), PointKind::Terminal);
        }
        let (supply, ground) = (format!("B{zone}{sensor}:1"), format!("B{zone}{sensor}:2"));
        wire(build, &format!("k{sensor}"), &name("SP1"), &supply, 0.6);
        wire(build, &format!("l{sensor}"), &name("SP2"), &ground, 0.6);
        build.draws(part, &supply, &ground, 0.008, 5.0);
    }
    wire(build, "m", &format!("K{zone}:87"), &format!("X{zone}.body:3"), 0.8);
    build.lamp(&name("E"), &format!("X{zone}.zone:3"), &name("GP2"), 21.0, 12.0);
}

/// The state the table is asked in.
pub fn state() -> State {
    let mut state = State::with_key(Key::Run);
    state.set_supply(12.4);
    state
}

/// 200 single faults: opens, added resistance, shorts to body and to power, and dead and welded parts.
pub fn faults(circuit: &Circuit) -> Vec<Vec<Fault>> {
    let mut all: Vec<FaultKind> = Vec::new();
    for (branch, it) in circuit.branches() {
        match it.kind {
            BranchKind::Wire { .. } => {
                let body = circuit.body.unwrap_or(it.a);
                let power = circuit.positive.unwrap_or(it.a);
                all.push(FaultKind::Series { branch, ohms: f64::INFINITY });
                all.push(FaultKind::Series { branch, ohms: 2.0 });
                all.push(FaultKind::Chafe { branch, along: 0.5, to: body, ohms: 0.05 });
                all.push(FaultKind::Chafe { branch, along: 0.5, to: power, ohms: 0.05 });
            }
            BranchKind::Mated { .. } | BranchKind::Fuse { .. } | BranchKind::Joint { .. } => {
                all.push(FaultKind::Series { branch, ohms: 8.0 });
            }
            BranchKind::Reference { .. } => all.push(FaultKind::Dead { branch }),
            BranchKind::RelayContact { .. } | BranchKind::Driver { .. } => {
                all.push(FaultKind::Dead { branch });
                all.push(FaultKind::StuckClosed { branch, ohms: 0.02 });
            }
            BranchKind::Load { .. } => all.push(FaultKind::Bridge { a: it.a, b: it.b, ohms: 1.8 }),
            _ => {}
        }
    }
    let step = all.len().div_euclid(200).max(1);
    all.into_iter().step_by(step).take(200).map(|kind| vec![kind.into()]).collect()
}

/// 50 places against battery negative, the meter alone.
pub fn meters(circuit: &Circuit) -> Vec<Meter> {
    let black = circuit.negative.unwrap_or(halfsplit_circuit::PointId(0));
    let points = 0..circuit.points.len() as u32;
    points.step_by(6).take(50).map(|point| Meter::volts(halfsplit_circuit::PointId(point), black)).collect()
}
