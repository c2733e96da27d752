//! Published direct-current examples, recomputed.
//!
//! Source, where nothing else is said: Lessons In Electric Circuits, T. R. Kuphaldt
//! (figures and tables read at the source: SAW; re-solved: COMPUTED). Ideal sources
//! of the book stand as sources behind a microohm.

use halfsplit_circuit::{
    BranchId, BranchKind, Builder, Fault, FaultKind, Meter, PartKind, Solution, Solver, State, read, wire,
};

const IDEAL: f64 = 1e-6;

/// A circuit of sources and resistors between numbered nodes; node 0 is the black lead's.
struct Example {
    circuit: halfsplit_circuit::Circuit,
    branches: Vec<BranchId>,
}

/// Sources as (plus, minus, volts, inner), resistors as (a, b, ohms).
fn example(sources: &[(u32, u32, f64, f64)], resistors: &[(u32, u32, f64)]) -> Example {
    let mut build = Builder::new();
    let mut branches = Vec::new();
    for (i, &(a, b, volts, inner)) in sources.iter().enumerate() {
        let part = build.part(&format!("G{i}"), "", PartKind::Supply);
        let (a, b) = (build.inside(&a.to_string()), build.inside(&b.to_string()));
        branches.push(build.branch(part, a, b, BranchKind::Source { volts, inner }));
    }
    for (i, &(a, b, ohms)) in resistors.iter().enumerate() {
        build.inside(&a.to_string());
        build.inside(&b.to_string());
        branches.push(build.resistor(&format!("R{i}"), &a.to_string(), &b.to_string(), ohms));
    }
    Example { circuit: build.build().unwrap(), branches }
}

impl Example {
    fn solve(&self, faults: &[Fault]) -> Solution {
        Solver::new(&self.circuit).solve(&State::default(), faults).unwrap()
    }

    fn volts(&self, solution: &Solution, red: u32, black: u32) -> f64 {
        let at = |node: u32| self.circuit.point_named(&node.to_string()).unwrap();
        solution.volts(at(red), at(black))
    }

    /// Current in a branch, sources first, in the order given.
    fn amps(&self, solution: &Solution, index: usize) -> f64 {
        solution.current(self.branches[index])
    }

    fn ohms(&self, red: u32, black: u32) -> f64 {
        let at = |node: u32| self.circuit.point_named(&node.to_string()).unwrap();
        let state = State { battery: false, ..State::default() };
        read(&self.circuit, &state, &[], &Meter::ohms(at(red), at(black))).unwrap().nominal
    }
}

/// Agreement to half a unit of the last published digit.
fn near(value: f64, published: f64, digit: f64) {
    println!("checked {published} {digit} {value}"); // Read by tests/outside/run.
    assert!((value - published).abs() <= 0.5 * digit * 1.001, "published {published}, computed {value}");
}

/// "Branch current method" and "Thevenin's theorem": 28 V and 7 V over 4, 2 and 1 Ω.
#[test]
fn c1_two_sources() {
    let it = example(&[(1, 0, 28.0, IDEAL), (3, 0, 7.0, IDEAL)], &[(1, 2, 4.0), (2, 0, 2.0), (2, 3, 1.0)]);
    let solved = it.solve(&[]);
    near(it.volts(&solved, 1, 2), 20.0, 0.001);
    near(it.volts(&solved, 2, 0), 8.0, 0.001);
    near(it.volts(&solved, 2, 3), 1.0, 0.001);
    near(it.amps(&solved, 2), 5.0, 0.001);
    near(it.amps(&solved, 3), 4.0, 0.001);
    near(it.amps(&solved, 4), 1.0, 0.001);
    near(it.amps(&solved, 0), -5.0, 0.001);
    near(it.amps(&solved, 1), 1.0, 0.001);
}

/// "Mesh current method": an unbalanced bridge on 24 V.
#[test]
fn c2_unbalanced_bridge() {
    let arms = [(1, 2, 150.0), (1, 3, 50.0), (2, 3, 100.0), (2, 0, 300.0), (3, 0, 250.0)];
    let it = example(&[(1, 0, 24.0, IDEAL)], &arms);
    let solved = it.solve(&[]);
    near(it.volts(&solved, 1, 2), 6.345, 0.001);
    near(it.volts(&solved, 1, 3), 4.690, 0.001);
    near(it.volts(&solved, 3, 2), 1.655, 0.001);
    near(it.volts(&solved, 2, 0), 17.66, 0.01);
    near(it.volts(&solved, 3, 0), 19.31, 0.01);
    near(-it.amps(&solved, 0), 0.136092, 1e-6);
}

/// "Delta-Y and Y-Delta conversions": a bridge on 10 V.
#[test]
fn c3_bridge_by_delta_and_star() {
    let arms = [(1, 2, 12.0), (1, 3, 18.0), (2, 3, 6.0), (2, 0, 18.0), (3, 0, 12.0)];
    let it = example(&[(1, 0, 10.0, IDEAL)], &arms);
    let solved = it.solve(&[]);
    near(it.volts(&solved, 1, 2), 4.706, 0.001);
    near(it.volts(&solved, 1, 3), 5.294, 0.001);
    near(it.volts(&solved, 2, 3), 0.5882, 0.0001);
    near(it.volts(&solved, 2, 0), 5.294, 0.001);
    near(it.volts(&solved, 3, 0), 4.706, 0.001);
}

/// "Node voltage method": 10 V and −4 V.
#[test]
fn c4_node_voltage_method() {
    let arms = [(11, 1, 2.0), (1, 0, 4.0), (1, 2, 2.5), (2, 0, 5.0), (2, 22, 1.0)];
    let it = example(&[(11, 0, 10.0, IDEAL), (22, 0, -4.0, IDEAL)], &arms);
    let solved = it.solve(&[]);
    // The microohm of each source moves the sixth digit.
    near(it.volts(&solved, 1, 0), 3.809524, 1e-5);
    near(it.volts(&solved, 2, 0), -1.547619, 1e-5);
}

/// "Series-parallel combination circuits": two parallel pairs in series on 24 V.
#[test]
fn c5_series_parallel() {
    let arms = [(1, 2, 100.0), (1, 2, 250.0), (2, 0, 350.0), (2, 0, 200.0)];
    let it = example(&[(1, 0, 24.0, IDEAL)], &arms);
    let solved = it.solve(&[]);
    near(it.volts(&solved, 1, 2), 8.6275, 1e-4);
    near(it.volts(&solved, 2, 0), 15.373, 1e-3);
    near(-it.amps(&solved, 0), 0.12078, 1e-5);
    for (index, milliamperes) in [(1, 86.275), (2, 34.510), (3, 43.922), (4, 76.863)] {
        near(it.amps(&solved, index) * 1e3, milliamperes, 1e-3);
    }
    near(it.ohms(1, 0), 198.70, 0.01);
}

/// "Simple series circuits" and "Simple parallel circuits" on 9 V.
#[test]
fn c7_plain_series_and_plain_parallel() {
    let it = example(&[(1, 0, 9.0, IDEAL)], &[(1, 2, 3e3), (2, 3, 10e3), (3, 0, 5e3)]);
    let solved = it.solve(&[]);
    for (red, black, volts) in [(1, 2, 1.5), (2, 3, 5.0), (3, 0, 2.5)] {
        near(it.volts(&solved, red, black), volts, 1e-6);
    }
    near(it.amps(&solved, 1), 0.5e-3, 1e-9);
    let it = example(&[(1, 0, 9.0, IDEAL)], &[(1, 0, 10e3), (1, 0, 2e3), (1, 0, 1e3)]);
    let solved = it.solve(&[]);
    for (index, amps) in [(1, 0.9e-3), (2, 4.5e-3), (3, 9e-3)] {
        near(it.amps(&solved, index), amps, 1e-9);
    }
}

/// "Practical considerations of batteries": inner resistance into 100 Ω, and 0.2 Ω into 1 Ω.
#[test]
fn c8_inner_resistance() {
    for (volts, inner, published) in
        [(13.2, 0.1, 13.187), (13.0, 5.0, 12.381), (11.5, 20.0, 9.583), (7.5, 50.0, 5.0)]
    {
        let it = example(&[(1, 0, volts, inner)], &[(1, 0, 100.0)]);
        near(it.volts(&it.solve(&[]), 1, 0), published, 1e-3);
    }
    let it = example(&[(1, 0, 10.0, 0.2)], &[(1, 0, 1.0)]);
    let solved = it.solve(&[]);
    near(it.amps(&solved, 1), 8.333, 1e-3);
    near(it.volts(&solved, 1, 0), 8.333, 1e-3);
}

/// "Voltmeter impact on measured circuit": 10 MΩ on a 250 MΩ divider.
#[test]
fn c9_the_voltmeter_loads() {
    let it = example(&[(1, 0, 24.0, IDEAL)], &[(1, 2, 250e6), (2, 0, 250e6)]);
    near(it.volts(&it.solve(&[]), 2, 0), 12.0, 1e-3);
    let at = |node: &str| it.circuit.point_named(node).unwrap();
    let reading = read(&it.circuit, &State::default(), &[], &Meter::volts(at("2"), at("0"))).unwrap();
    near(reading.nominal, 0.8889, 1e-4);
}

/// "Ammeter impact on measured circuit": 0.5 Ω in either branch.
#[test]
fn c10_the_ammeter_loads() {
    let bare = example(&[(1, 0, 2.0, IDEAL)], &[(1, 0, 3.0), (1, 0, 1.5)]);
    let solved = bare.solve(&[]);
    near(bare.amps(&solved, 1), 0.6667, 1e-4);
    near(bare.amps(&solved, 2), 1.333, 1e-3);
    let added = |index: usize| Fault { kind: FaultKind::Series { branch: bare.branches[index], ohms: 0.5 } };
    near(bare.amps(&bare.solve(&[added(1)]), 1), 0.57143, 1e-5);
    near(bare.amps(&bare.solve(&[added(2)]), 2), 1.0, 1e-3);
}

/// "Ammeter design", shunt: 1 Ω before 15 kΩ on 12 V.
#[test]
fn c11_shunt() {
    let it = example(&[(1, 0, 12.0, IDEAL)], &[(1, 2, 1.0), (2, 0, 15e3)]);
    near(it.volts(&it.solve(&[]), 1, 2) * 1e3, 0.7999, 1e-4);
}

/// "Temperature coefficient of resistance": 15 Ω wires feeding 250 Ω from 14 V, at 20 °C and
/// at 35 °C with the book's coefficient 0.004041.
#[test]
fn c12_warm_wires() {
    let warm = 15.0 * (1.0 + 0.004041 * 15.0);
    for (wire, milliamperes, load, per_wire) in [(15.0, 50.0, 12.5, 0.75), (warm, 49.677, 12.42, 0.79)] {
        let it = example(&[(1, 0, 14.0, IDEAL)], &[(1, 2, wire), (2, 3, 250.0), (3, 0, wire)]);
        let solved = it.solve(&[]);
        near(it.amps(&solved, 1) * 1e3, milliamperes, 1e-3);
        near(it.volts(&solved, 2, 3), load, 0.01);
        near(it.volts(&solved, 1, 2), per_wire, 0.01);
    }
    near(warm, 15.909, 1e-3);
}

/// "Specific resistance": 2,300 ft of 14 AWG each way on 230 V.
#[test]
fn c13_long_wires() {
    // The book's copper is 10.09 Ω·cmil/ft, 1.66243e-9 Ω·m each: 1.6774e-8 Ω·m; IACS copper is 1/58 Ω·mm²/m.
    let book = 10.09 * 1.66243e-9 * 1e6 / wire::COPPER_RESISTIVITY;
    let metres = 2300.0 * 0.3048;
    let ohms = wire::awg_milliohms_per_metre(14) / 1e3 * metres * book;
    near(ohms, 5.651, 0.005);
    let it = example(&[(1, 0, 230.0, IDEAL)], &[(1, 2, ohms), (2, 0, ohms)]);
    near(-it.amps(&it.solve(&[]), 0), 20.352, 0.02);
    // 0.2 Ω per wire wants 116,035 circular mils: 2/0, for 1/0 is too small.
    let circular_mil = 5.067_075e-4;
    let wanted = 10.09 * 2300.0 / 0.2;
    near(wanted, 116_035.0, 1.0);
    assert!(wire::awg_section(0) / circular_mil < wanted && wanted < wire::awg_section(-1) / circular_mil);
}

/// "Voltage divider circuits": 45 V over 5, 10 and 7.5 kΩ.
#[test]
fn c14_divider() {
    let it = example(&[(1, 0, 45.0, IDEAL)], &[(1, 2, 5e3), (2, 3, 10e3), (3, 0, 7.5e3)]);
    let solved = it.solve(&[]);
    for (red, black, volts) in [(1, 2, 10.0), (2, 3, 20.0), (3, 0, 15.0)] {
        near(it.volts(&solved, red, black), volts, 1e-6);
    }
    near(it.amps(&solved, 1), 2e-3, 1e-8);
}

/// "Component failure analysis", series: 300 Ω shorted, then open.
#[test]
fn f1_f2_series_faults() {
    let it = example(&[(1, 0, 9.0, IDEAL)], &[(1, 2, 100.0), (2, 3, 300.0), (3, 0, 50.0)]);
    let drops = |solved: &Solution| [(1, 2), (2, 3), (3, 0)].map(|(a, b)| it.volts(solved, a, b));
    let check = |faults: &[Fault], milliamperes: f64, published: [f64; 3]| {
        let solved = it.solve(faults);
        near(it.amps(&solved, 1) * 1e3, milliamperes, 1e-3);
        for (drop, published) in drops(&solved).into_iter().zip(published) {
            near(drop, published, 1e-4);
        }
    };
    check(&[], 20.0, [2.0, 6.0, 1.0]);
    let at = |node: &str| it.circuit.point_named(node).unwrap();
    let short = Fault { kind: FaultKind::Bridge { a: at("2"), b: at("3"), ohms: IDEAL } };
    check(&[short], 60.0, [6.0, 0.0, 3.0]);
    let open = Fault { kind: FaultKind::Series { branch: it.branches[2], ohms: f64::INFINITY } };
    let solved = it.solve(std::slice::from_ref(&open));
    near(it.amps(&solved, 1), 0.0, 1e-12);
    near(it.volts(&solved, 1, 2), 0.0, 1e-9);
    near(it.volts(&solved, 3, 0), 0.0, 1e-9);
    // The full supply stands across the open.
    let reading = read(&it.circuit, &State::default(), &[open], &Meter::volts(at("2"), at("3"))).unwrap();
    near(reading.nominal, 9.0, 1e-3);
    assert!(!reading.floating);
}

/// "Component failure analysis", parallel: 45 Ω open, then shorted.
#[test]
fn f3_f4_parallel_faults() {
    let arms = [(1, 0, 90.0), (1, 0, 45.0), (1, 0, 180.0)];
    let it = example(&[(1, 0, 9.0, IDEAL)], &arms);
    near(it.ohms(1, 0), 25.714, 1e-3);
    let branches = |solved: &Solution| [1, 2, 3].map(|i| it.amps(solved, i) * 1e3);
    let healthy = it.solve(&[]);
    for (now, published) in branches(&healthy).into_iter().zip([100.0, 200.0, 50.0]) {
        near(now, published, 1e-3);
    }
    near(-it.amps(&healthy, 0) * 1e3, 350.0, 1e-2);
    let open = Fault { kind: FaultKind::Series { branch: it.branches[2], ohms: f64::INFINITY } };
    let opened = it.solve(&[open]);
    for (now, published) in branches(&opened).into_iter().zip([100.0, 0.0, 50.0]) {
        near(now, published, 1e-3);
    }
    near(-it.amps(&opened, 0) * 1e3, 150.0, 1e-2);
    // Shorted, with a source that has an inner resistance: little volts anywhere, much
    // current in source and short.
    let real = example(&[(1, 0, 9.0, 0.1)], &arms);
    let at = |node: &str| real.circuit.point_named(node).unwrap();
    let short = Fault { kind: FaultKind::Bridge { a: at("1"), b: at("0"), ohms: 1e-3 } };
    let shorted = real.solve(&[short]);
    assert!(real.volts(&shorted, 1, 0) < 0.1);
    assert!(-real.amps(&shorted, 0) > 80.0);
    assert!(real.amps(&shorted, 1) < 0.01 * 0.1);
}

/// A 12.6 V Zener as a source behind a diode: "Zener diodes", Vol. III.
#[test]
fn zener_as_diode_and_source() {
    let mut build = Builder::new();
    for node in ["0", "1", "2", "3"] {
        build.inside(node);
    }
    let part = build.part("G1", "", PartKind::Supply);
    build.between(part, "1", "0", BranchKind::Source { volts: 45.0, inner: IDEAL });
    let dropper = build.resistor("R1", "1", "2", 1e3);
    let zener = build.part("V1", "", PartKind::Load);
    let diode = build.between(zener, "2", "0", BranchKind::Diode { forward: 12.6, ohms: IDEAL });
    let load = build.resistor("R2", "2", "0", 500.0);
    let circuit = build.build().unwrap();
    let solved = Solver::new(&circuit).solve(&State::default(), &[]).unwrap();
    near(solved.current(dropper) * 1e3, 32.4, 0.1);
    near(solved.current(load) * 1e3, 25.2, 0.1);
    near(solved.current(diode) * 1e3, 7.2, 0.1);
    // Behind 100 kΩ it never breaks down.
    let mut weak = circuit.clone();
    weak.branches[dropper.index()].kind =
        BranchKind::Load { ohms: Some(100e3), active: halfsplit_circuit::When::always() };
    let solved = Solver::new(&weak).solve(&State::default(), &[]).unwrap();
    near(solved.volts(circuit.point_named("2").unwrap(), circuit.point_named("0").unwrap()), 0.22388, 1e-5);
}
