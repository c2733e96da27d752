//! Worked scenario S12: a two-wire bus, as ohms at the diagnostic socket and as volts awake.

mod reference_circuit;

use halfsplit_circuit::{BranchKind, Builder, Circuit, FaultKind, Key, Measure, PartKind, State, When};
use reference_circuit::{Bench, agrees};

/// Contacts are left out of this scenario's figures.
const NO_CONTACT: f64 = 1e-6;
/// A node's differential input.
const INPUT: f64 = 40e3;
const TERMINATOR: f64 = 120.0;

/// The bus, its 0.5 m towards A10 as wires of their own so that the pair can touch there.
///
/// Awake, every node holds the idle bus at 2.5 V through 50 kΩ a wire, and A10's output stage pulls
/// 45 Ω a wire towards 5 V and ground. Neither is printed; both give the 3.5 V and 1.5 V of a
/// dominant bit that training pages on ISO 11898-2 print (SAW).
fn bus(a30_terminated: bool) -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.4, 1e-3);
    let inside = build.part("regulators", "", PartKind::Supply);
    for (name, volts) in [("2V5", 2.5), ("5V", 5.0)] {
        build.inside(name);
        build.between(inside, name, "G1:31", BranchKind::Source { volts, inner: 1e-3 });
    }
    let nodes = [
        ("A10", "A10.X2", 48, 45, true),
        ("A30", "A30.X1", 16, 1, a30_terminated),
        ("A31", "A31.X1", 16, 7, false),
        ("A32", "A32.X1", 16, 11, false),
    ];
    for (name, connector, cavities, high, terminated) in nodes {
        let node = build.module(name, "");
        let made = build.connector(node, connector, cavities);
        build.contact_ohms(made, NO_CONTACT);
        let [h, l] = [high, high + 1].map(|cavity| format!("{connector}.part:{cavity}"));
        let load = |ohms: f64, active: When| BranchKind::Load { ohms: Some(ohms), active };
        build.between(node, &h, &l, load(INPUT, When::always()));
        if terminated {
            build.between(node, &h, &l, load(TERMINATOR, When::always()));
        }
        for pin in [&h, &l] {
            build.between(node, "2V5", pin, load(50e3, When::keys(&[Key::Run])));
        }
        if name == "A10" {
            build.part_mut(node).positions = vec!["recessive".to_owned(), "dominant".to_owned()];
            build.between(node, "5V", &h, load(45.0, When::positions(&["dominant"])));
            build.between(node, &l, "G1:31", load(45.0, When::positions(&["dominant"])));
        }
    }
    let x24 = build.inline("X24", ["dash", "engine"], 8);
    build.contact_ohms(x24, NO_CONTACT);
    for splice in ["SP61", "SP62", "spot H", "spot L", "X90:6", "X90:14"] {
        build.splice(splice);
    }
    let pairs = [
        ("1a", ["A10.X2:45", "spot H"], ["A10.X2:46", "spot L"], 2.5),
        ("1b", ["spot H", "A31.X1:7"], ["spot L", "A31.X1:8"], 0.5),
        ("2a", ["A31.X1:7", "X24.engine:3"], ["A31.X1:8", "X24.engine:4"], 0.6),
        ("2b", ["X24.dash:3", "SP61"], ["X24.dash:4", "SP62"], 0.6),
        ("3", ["SP61", "A32.X1:11"], ["SP62", "A32.X1:12"], 0.3),
        ("4", ["SP61", "X90:6"], ["SP62", "X90:14"], 0.6),
        ("5", ["SP61", "A30.X1:1"], ["SP62", "A30.X1:2"], 2.0),
    ];
    for (segment, high, low, metres) in pairs {
        build.wire(&format!("W{segment}H"), high[0], high[1], "GN/WH", 0.35, metres);
        build.wire(&format!("W{segment}L"), low[0], low[1], "GN/BK", 0.35, metres);
    }
    build.build().unwrap()
}

#[test]
fn s12_ohms_at_the_diagnostic_socket() {
    let (right, wrong) = (bus(true), bus(false));
    let (healthy, bare) = (Bench::new(&right), Bench::new(&wrong));
    let ohms = |bench: &Bench<'_>, out: &[&str], faults: &[FaultKind]| {
        bench.reading(&bench.dead(out), faults, "X90:6", "X90:14", Measure::Ohms)
    };
    agrees(&ohms(&healthy, &[], &[]), 59.9, 0.1);
    // S12a: A30 of the variant without terminator.
    agrees(&ohms(&bare, &[], &[]), 119.1, 0.1);
    agrees(&ohms(&bare, &["A30.X1"], &[]), 119.4, 0.1);
    agrees(&ohms(&bare, &["A10.X2"], &[]), 13.3e3, 0.1e3);
    // S12b: the pair touches 0.5 m from A31. No node that is parted changes it.
    let touch = [healthy.bridge("spot H", "spot L", 0.4)];
    for out in [&[][..], &["A10.X2"], &["A30.X1"], &["A31.X1"], &["A32.X1"]] {
        agrees(&ohms(&healthy, out, &touch), 0.65, 0.01);
    }
    agrees(&ohms(&healthy, &["X24"], &touch), 119.6, 0.1);
    for wire in ["W2aH", "W2aL"] {
        agrees(&ohms(&healthy, &[], &[healthy.series(wire, f64::INFINITY)]), 119.6, 0.1);
    }
    let third = [healthy.bridge("X90:6", "X90:14", TERMINATOR)];
    agrees(&ohms(&healthy, &[], &third), 39.9, 0.1);
    // A wire on the chassis leaves the 60 Ω as they are; only line against chassis shows it.
    let chassis = [healthy.bridge("spot H", "G1:31", 0.3)];
    agrees(&ohms(&healthy, &[], &chassis), 59.9, 0.1);
    for line in ["X90:6", "X90:14"] {
        let to_chassis =
            |faults: &[FaultKind]| healthy.reading(&healthy.dead(&[]), faults, line, "G1:31", Measure::Ohms);
        assert!(to_chassis(&[]).nominal > 10e3);
        assert!(to_chassis(&chassis).nominal < 61.0);
    }
}

/// A meter averages the traffic. With one bit in ten dominant the mean of the two states is the
/// printed 2.6 V and 2.4 V; the scenario prints no share of its own.
#[test]
fn s12_volts_awake() {
    let circuit = bus(true);
    let bench = Bench::new(&circuit);
    let a10 = circuit.part_named("A10").unwrap();
    let mean = |faults: &[FaultKind], line: &str| {
        let in_state = |position: &str| {
            let mut state = State::with_key(Key::Run);
            state.positions.insert(a10, position.to_owned());
            bench.volts(&state, faults, line).nominal
        };
        0.9 * in_state("recessive") + 0.1 * in_state("dominant")
    };
    let both = |faults: &[FaultKind]| [mean(faults, "X90:6"), mean(faults, "X90:14")];
    let near = |computed: [f64; 2], printed: [f64; 2]| {
        for (computed, printed) in computed.into_iter().zip(printed) {
            assert!((computed - printed).abs() <= 0.1_f64.max(0.05 * printed), "{printed}: {computed}");
        }
    };
    near(both(&[]), [2.6, 2.4]);
    near(both(&[bench.bridge("spot H", "spot L", 0.4)]), [2.5, 2.5]);
    // "Near 0" is below 0.5 V, "near 12" within half a volt of the battery.
    let grounded = both(&[bench.bridge("spot H", "G1:31", 0.3)]);
    assert!(grounded.iter().all(|volts| *volts < 0.5), "{grounded:?}");
    let on_battery = both(&[bench.bridge("spot L", "G1:30", 0.3)]);
    assert!(on_battery.iter().all(|volts| (volts - 12.4).abs() < 0.5), "{on_battery:?}");
}
