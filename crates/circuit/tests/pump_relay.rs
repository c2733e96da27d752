//! Worked scenario S16: a fuel pump that runs on, and five causes that look alike.

use halfsplit_circuit::{
    BranchId, BranchKind, Builder, Circuit, Fault, FaultKind, FeedSpec, Key, Meter, PartKind, RelaySpec,
    Solver, State, When,
};

/// Pump relay K4, held by A10's driver behind its main feed of 12.28 V.
fn pump() -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.4, 1e-6);
    let box_ = build.part("bar", "", PartKind::Bar);
    build.fuse("F22", 15.0);
    build.joint(box_, "G1:30", "F22:feed", 1e-6);
    build.relay("K4", RelaySpec { coil: 80.0, pull_in: 8.0, drop_out: 3.0 });
    build.joint(box_, "F22:load", "K4:30", 1e-6);
    // The main feed as the scenario gives it, live with the key on.
    let main = build.part("main feed", "", PartKind::Supply);
    build.inside("main");
    build.inside("F14:load");
    build.between(main, "main", "G1:31", BranchKind::Source { volts: 12.28, inner: 1e-6 });
    build.switch("K3", "main", "F14:load", &[], When::keys(&[Key::Run]));
    let module = build.module("A10", "engine control");
    build.connector(module, "A10.X1", 26);
    let feed =
        FeedSpec { awake: Some(24.0), standby: Some(6e3), wakes: Some(6.0), when: When::keys(&[Key::Run]) };
    build.feed(module, "G1:30", "G1:31", feed);
    let command = build.driver(module, "A10.X1.part:18", "G1:31", 0.15, 1e-3, When::positions(&["prime"]));
    build.name_output("A10.PUMP", command);
    let clamp = BranchKind::Diode { forward: 0.7, ohms: 0.1 };
    let relay = build.part_named("K4");
    build.between(relay, "K4:85", "K4:86", clamp);
    for point in ["X75:3", "X76:1", "X76:2"] {
        build.inside(point);
    }
    build.ground_point("GP304", 1e-6);
    build.joint(box_, "body", "G1:31", 1e-6);
    build.wire("W1601", "F14:load", "K4:86", "RD/BU", 0.5, 0.3);
    build.wire("W1602", "K4:85", "A10.X1:18", "BN/YE", 0.5, 2.0);
    build.wire("W1603", "K4:87", "X75:3", "GN/RD", 1.5, 0.9);
    build.wire("W1604", "X75:3", "X76:1", "GN/RD", 1.5, 3.6);
    build.resistor("M2", "X76:1", "X76:2", 2.95);
    build.wire("W1605", "X76:2", "GP304", "BN", 1.5, 1.2);
    build.build().unwrap()
}

struct Case {
    name: &'static str,
    fault: Option<FaultKind>,
    commanded: bool,
    /// Volts at 85 with the key on, and their last printed digit.
    at_85: (f64, f64),
    key_off: bool,
    relay_out: bool,
    /// Terminal X1/18 backed out, key on.
    backed_out: bool,
}

#[test]
fn s16_five_causes_of_a_pump_that_runs_on() {
    let circuit = pump();
    let solver = Solver::new(&circuit);
    let point = |name: &str| circuit.point_named(name).unwrap();
    let first = |part: &str| circuit.branches_of(circuit.part_named(part).unwrap()).next().unwrap().0;
    let driver = circuit.output_named("A10.PUMP").unwrap();
    let contact: BranchId = circuit
        .branches()
        .find(|(_, b)| matches!(b.kind, BranchKind::RelayContact { .. }))
        .map(|(id, _)| id)
        .unwrap();
    let chafe = FaultKind::Chafe { branch: first("W1602"), along: 0.7, to: point("body"), ohms: 0.3 };
    let cases = [
        Case {
            name: "healthy",
            fault: None,
            commanded: false,
            at_85: (12.28, 0.01),
            key_off: false,
            relay_out: false,
            backed_out: false,
        },
        Case {
            name: "contact welded",
            fault: Some(FaultKind::StuckClosed { branch: contact, ohms: 0.005 }),
            commanded: false,
            at_85: (12.28, 0.01),
            key_off: true,
            relay_out: false,
            backed_out: true,
        },
        Case {
            name: "driver shorted",
            fault: Some(FaultKind::StuckClosed { branch: driver, ohms: 0.6 }),
            commanded: false,
            at_85: (0.102, 0.001),
            key_off: false,
            relay_out: false,
            backed_out: false,
        },
        Case {
            name: "W1602 chafed",
            fault: Some(chafe.clone()),
            commanded: false,
            at_85: (0.054, 0.001),
            key_off: false,
            relay_out: false,
            backed_out: true,
        },
        Case {
            name: "commanded",
            fault: None,
            commanded: true,
            at_85: (0.161, 0.001),
            key_off: false,
            relay_out: false,
            backed_out: false,
        },
        Case {
            name: "added bypass",
            fault: Some(FaultKind::Bridge { a: point("G1:30"), b: point("X75:3"), ohms: 0.01 }),
            commanded: false,
            at_85: (12.28, 0.01),
            key_off: true,
            relay_out: true,
            backed_out: true,
        },
    ];
    for case in cases {
        let mut on = State::with_key(Key::Run);
        on.commands.insert(driver, case.commanded);
        let mut off = on.clone();
        off.key = Key::Off;
        let fault: Vec<Fault> = case.fault.clone().into_iter().map(Into::into).collect();
        let runs = |state: &State, faults: &[Fault]| {
            solver.solve(state, faults).unwrap().volts(point("X76:1"), point("X76:2")) > 10.0
        };
        let reading = solver.nominal(&on, &fault, &Meter::volts(point("K4:85"), point("G1:31"))).unwrap();
        let off_by = (reading.value - case.at_85.0).abs();
        assert!(off_by <= (0.05 * case.at_85.0).max(case.at_85.1), "{}: {reading:?}", case.name);
        assert_eq!(runs(&off, &fault), case.key_off, "{}: key off", case.name);
        let relay_out = on.clone().pull(circuit.part_named("K4").unwrap());
        assert_eq!(runs(&relay_out, &fault), case.relay_out, "{}: K4 out", case.name);
        // The one terminal, not the whole connector: A10 keeps its feeds.
        let contact_18 = circuit
            .branches()
            .find(|(_, b)| matches!(b.kind, BranchKind::Mated { .. }) && b.a == point("A10.X1:18"))
            .map(|(id, _)| id)
            .unwrap();
        let mut backed_out = fault.clone();
        backed_out.push(FaultKind::Series { branch: contact_18, ohms: f64::INFINITY }.into());
        assert_eq!(runs(&on, &backed_out), case.backed_out, "{}: X1/18 out", case.name);
    }
    // Coil current where something else than A10's command holds the relay, and where A10 does.
    let mut held = State::with_key(Key::Run);
    let driver_shorted = FaultKind::StuckClosed { branch: driver, ohms: 0.6 };
    for (fault, commanded, printed) in
        [(Some(driver_shorted), false, 0.152), (Some(chafe.clone()), false, 0.1528), (None, true, 0.151)]
    {
        held.commands.insert(driver, commanded);
        let fault: Vec<Fault> = fault.into_iter().map(Into::into).collect();
        let amps = solver.solve(&held, &fault).unwrap().current(first("K4"));
        assert!((amps - printed).abs() < 0.001, "printed {printed}, computed {amps}");
    }
    // The running pump seen over its fuse: 4.09 A, 18.8 mV.
    let mut on = State::with_key(Key::Run);
    on.commands.insert(driver, true);
    let amps = solver.solve(&on, &[]).unwrap().current(first("F22"));
    assert!((amps - 4.09).abs() < 0.01, "{amps}");
    let over = solver.nominal(&on, &[], &Meter::volts(point("F22:feed"), point("F22:load"))).unwrap().value;
    assert!((over - 0.0188).abs() < 0.0001, "{over}");
    // 85 to ground, A10.X1 and K4 out: the chafe remains, a shorted driver does not.
    let mut dead = State { battery: false, ..State::default() }.pull(circuit.part_named("K4").unwrap());
    dead.unplugged.insert(circuit.connector_named("A10.X1").unwrap());
    let ohms = |fault: FaultKind| {
        let meter = Meter::ohms(point("K4:85"), point("G1:31"));
        solver.nominal(&dead, &[fault.into()], &meter).unwrap().value
    };
    assert!((ohms(chafe) - 0.35).abs() <= 0.0175);
    assert!(ohms(FaultKind::StuckClosed { branch: driver, ohms: 0.6 }).is_infinite());
}
