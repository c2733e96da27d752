//! The reference circuit R5 of the worked scenarios, built by hand.
#![allow(dead_code)] // Each test binary uses its own part of it.

use halfsplit_circuit::{
    Builder, Circuit, FaultKind, FeedSpec, Key, Load, Measure, Meter, PointId, Reading, ReferenceSpec,
    RelaySpec, Solver, State, When,
};

const SENSORS: [(&str, &str, &str, usize, usize, usize, f64); 5] = [
    // part, connector, label, supply cavity, ground cavity, signal cavity, draw in mA
    ("B1", "X31", "manifold pressure", 1, 2, 3, 6.0),
    ("B2", "X32", "fuel-rail pressure", 3, 1, 2, 8.0),
    ("B3", "X33", "camshaft position", 1, 3, 2, 10.0),
    ("B4", "X34", "A/C pressure", 2, 1, 3, 8.0),
    ("B5", "X35", "brake-booster vacuum", 1, 2, 3, 6.0),
];

const WIRES: [(&str, &str, &str, &str, f64, f64); 38] = [
    ("W1", "A10.X2:14", "SP10", "GY/RD", 0.5, 0.4),
    ("W2", "SP10", "X21.body:6", "GY/RD", 0.5, 0.9),
    ("W3", "X21.engine:6", "SP11", "GY/YE", 0.5, 0.7),
    ("W4", "SP11", "X31:1", "GY/YE", 0.5, 0.4),
    ("W5", "SP11", "X32:3", "GY/YE", 0.5, 0.6),
    ("W6", "SP11", "X33:1", "GY/YE", 0.5, 0.9),
    ("W7", "SP10", "X34:2", "GY/RD", 0.5, 2.2),
    ("W8", "SP10", "X35:1", "GY/RD", 0.5, 0.8),
    ("W11", "A10.X2:29", "SP12", "BK/GY", 0.5, 0.4),
    ("W12", "SP12", "X21.body:7", "BK/GY", 0.5, 0.9),
    ("W13", "X21.engine:7", "SP13", "BK/WH", 0.5, 0.7),
    ("W14", "SP13", "X31:2", "BK/WH", 0.5, 0.4),
    ("W15", "SP13", "X32:1", "BK/WH", 0.5, 0.6),
    ("W16", "SP13", "X33:3", "BK/WH", 0.5, 0.9),
    ("W17", "SP12", "X34:1", "BK/GY", 0.5, 2.2),
    ("W18", "SP12", "X35:2", "BK/GY", 0.5, 0.8),
    ("W21a", "X31:3", "X21.engine:8", "YE/BU", 0.5, 1.1),
    ("W21b", "X21.body:8", "A10.X2:15", "YE/BU", 0.5, 1.3),
    ("W22a", "X32:2", "X21.engine:9", "YE/GN", 0.5, 1.3),
    ("W22b", "X21.body:9", "A10.X2:16", "YE/GN", 0.5, 1.3),
    ("W23a", "X33:2", "X21.engine:10", "YE/VT", 0.5, 1.6),
    ("W23b", "X21.body:10", "A10.X2:17", "YE/VT", 0.5, 1.3),
    ("W24", "X34:3", "A10.X2:18", "VT/WH", 0.5, 2.6),
    ("W25", "X35:3", "A10.X2:19", "GN/WH", 0.5, 1.2),
    ("W31", "A10.X2:31", "X36:2", "GY/BU", 0.5, 1.6),
    ("W32", "A10.X2:32", "X36:3", "BK/BU", 0.5, 1.6),
    ("W33", "X36:4", "A10.X2:33", "GN/BU", 0.5, 1.6),
    ("W100", "G1:31", "GP1", "BK", 25.0, 0.4),
    ("W101", "G1:30", "FL1:feed", "RD", 10.0, 0.5),
    ("W102", "F12:load", "A10.X1:1", "RD/YE", 0.75, 2.1),
    ("W105", "F14:load", "A10.X1:3", "RD/BU", 0.75, 2.1),
    ("W106", "F3:load", "K3:86", "BK/YE", 0.5, 0.6),
    ("W107", "K3:85", "A10.X1:6", "BN/WH", 0.5, 2.0),
    ("W108", "A10.X1:2", "GP102", "BN", 1.5, 0.9),
    ("W109", "A10.X1:4", "GP102", "BN", 1.5, 0.9),
    ("W110", "S1:15", "F3:feed", "BK", 1.5, 0.2),
    ("W111", "BUS1", "S1:30", "RD", 1.5, 0.2),
    ("W112", "K3:87", "F14:feed", "RD", 6.0, 0.05),
];

/// The circuit.
///
/// A10 has two grounds inside: its draw and its driver return by X1:2, while the
/// references' returns and the electronics stand on X1:4, so that its own draw
/// does not lift the sensors' ground.
pub fn r5() -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.6, 0.008);
    let link = build.link("FL1", 60.0);
    build.bar("BUS1");
    build.joint(link, "FL1:load", "BUS1", 1e-4);
    for (fuse, rating) in [("F12", 10.0), ("F14", 15.0), ("F3", 5.0)] {
        build.fuse(fuse, rating);
    }
    let relay = RelaySpec { coil: 80.0, pull_in: 8.0, drop_out: 3.0 };
    let relay = build.relay("K3", relay);
    let bus = build.part_named("BUS1");
    build.joint(bus, "BUS1", "F12:feed", 1e-4);
    build.joint(bus, "BUS1", "K3:30", 1e-4);
    let _ = relay;
    // Ground strap 0.3 mΩ, GP1 0.2 mΩ, GP102 0.5 mΩ: 1 mΩ from GP102 to battery negative.
    build.ground_point("GP1", 0.2e-3);
    build.ground_point("GP102", 0.5e-3);
    for name in ["S1:30", "S1:15"] {
        build.point(name, halfsplit_circuit::PointKind::Terminal);
    }
    build.switch("S1", "S1:30", "S1:15", &[], When::keys(&[Key::Run, Key::Crank]));

    let module = build.module("A10", "engine control");
    build.connector(module, "A10.X1", 6);
    build.connector(module, "A10.X2", 48);
    build.inline("X21", ["body", "engine"], 10);
    for (part, connector, label, supply, ground, _, milliamperes) in SENSORS {
        let part = build.sensor(part, label);
        build.connector(part, connector, 3);
        let pin = |cavity: usize| format!("{connector}.part:{cavity}");
        build.draws(part, &pin(supply), &pin(ground), milliamperes / 1000.0, 5.0);
    }
    let pedal = build.sensor("B6", "accelerator pedal");
    build.connector(pedal, "X36", 6);
    build.draws(pedal, "X36.part:2", "X36.part:3", 0.006, 5.0);
    for splice in ["SP10", "SP11", "SP12", "SP13"] {
        build.splice(splice);
    }

    build.inside("A10.internal ground");
    let run = || When::keys(&[Key::Run, Key::Crank]);
    let feed = FeedSpec { awake: Some(24.0), standby: Some(6000.0), wakes: Some(6.0), when: run() };
    build.feed(module, "A10.X1.part:1", "A10.X1.part:2", feed);
    let main = FeedSpec { awake: None, standby: None, wakes: None, when: run() };
    build.feed(module, "A10.X1.part:3", "A10.X1.part:2", main);
    build.joint(module, "A10.X1.part:4", "A10.internal ground", 1e-4);
    for (name, output, ground) in [("A10.REF_A", "14", "29"), ("A10.REF_B", "31", "32")] {
        let spec = ReferenceSpec { volts: 5.0, inner: 0.2, limit: Some(0.120), unpowered: 4700.0 };
        let (output, ground) = (format!("A10.X2.part:{output}"), format!("A10.X2.part:{ground}"));
        let reference = build.reference(module, &output, &ground, spec);
        build.name_output(name, reference);
        build.joint(module, &ground, "A10.internal ground", 1e-4);
    }
    build.driver(module, "A10.X1.part:6", "A10.X1.part:2", 0.15, 0.1, When::always());
    for (name, a, b, colour, mm2, metres) in WIRES {
        build.wire(name, a, b, colour, mm2, metres);
    }
    build.build().expect("R5 builds")
}

/// The circuit with handles to ask it by name.
pub struct Bench<'c> {
    pub circuit: &'c Circuit,
    pub solver: Solver<'c>,
}

impl<'c> Bench<'c> {
    pub fn new(circuit: &'c Circuit) -> Bench<'c> {
        Bench { circuit, solver: Solver::new(circuit) }
    }

    pub fn point(&self, name: &str) -> PointId {
        self.circuit.point_named(name).unwrap_or_else(|| panic!("no point {name}"))
    }

    /// Key on at 12.40 V with these connectors parted.
    pub fn key_on(&self, unplugged: &[&str]) -> State {
        let mut state = State::with_key(Key::Run);
        state.set_supply(12.4);
        self.unplugged(state, unplugged)
    }

    /// Battery off, key off.
    pub fn dead(&self, unplugged: &[&str]) -> State {
        self.unplugged(State { battery: false, ..State::default() }, unplugged)
    }

    /// A state with more connectors parted.
    pub fn unplug_more(&self, state: &State, names: &[&str]) -> State {
        self.unplugged(state.clone(), names)
    }

    fn unplugged(&self, mut state: State, names: &[&str]) -> State {
        for name in names {
            state.unplugged.insert(self.circuit.connector_named(name).expect("a connector"));
        }
        state
    }

    pub fn reading(
        &self,
        state: &State,
        faults: &[FaultKind],
        red: &str,
        black: &str,
        measure: Measure,
    ) -> Reading {
        let faults: Vec<_> = faults.iter().cloned().map(Into::into).collect();
        let meter = Meter { red: self.point(red), black: self.point(black), measure };
        self.solver.read(state, &faults, &meter).unwrap_or_else(|e| panic!("{red}: {e}"))
    }

    /// Volts against battery negative, the meter alone.
    pub fn volts(&self, state: &State, faults: &[FaultKind], red: &str) -> Reading {
        self.reading(state, faults, red, "G1:31", Measure::Volts(Load::None))
    }

    pub fn bridge(&self, a: &str, b: &str, ohms: f64) -> FaultKind {
        FaultKind::Bridge { a: self.point(a), b: self.point(b), ohms }
    }

    /// Resistance added to the (first) branch of a part.
    pub fn series(&self, part: &str, ohms: f64) -> FaultKind {
        let part = self.circuit.part_named(part).expect("a part");
        let (branch, _) = self.circuit.branches_of(part).next().expect("a branch");
        FaultKind::Series { branch, ohms }
    }
}

/// |computed − printed| at most the larger of 5 % and one unit of the last printed digit.
pub fn agrees(reading: &Reading, printed: f64, digit: f64) {
    println!("checked {printed} {digit} {}", reading.nominal); // Read by tests/outside/run.
    let off = (reading.nominal - printed).abs();
    assert!(
        off <= (0.05 * printed.abs()).max(digit) * (1.0 + 1e-9),
        "printed {printed}, computed {}",
        reading.nominal
    );
    assert!(reading.low <= reading.nominal && reading.nominal <= reading.high);
}
