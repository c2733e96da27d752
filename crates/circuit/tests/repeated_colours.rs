//! Worked scenario S21: five wires of one colour in a connector, and what each of them reads.

mod reference_circuit;

use halfsplit_circuit::{
    BranchKind, Builder, Circuit, FaultKind, FeedSpec, Key, Load, Measure, Meter, ReferenceSpec, State, When,
};
use reference_circuit::{Bench, agrees};

const VOLTS: Measure = Measure::Volts(Load::None);
const LOOKALIKES: [&str; 4] = ["2", "11", "16", "24"];

/// Body module A40 with its level and humidity sensors. The dimmer is a switch: `S40` on or off.
fn body_module() -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.4, 1e-6);
    let module = build.module("A40", "body");
    build.connector(module, "A40.X1", 12);
    build.connector(module, "A40.X2", 24);
    let feed =
        FeedSpec { awake: Some(100.0), standby: Some(6e3), wakes: Some(6.0), when: When::keys(&[Key::Run]) };
    build.feed(module, "G1:30", "G1:31", feed);
    build.joint(module, "A40.X1.part:9", "G1:31", 1e-4);
    let spec = ReferenceSpec { volts: 5.0, inner: 0.2, limit: Some(0.080), unpowered: 4700.0 };
    build.reference(module, "A40.X2.part:6", "A40.X1.part:9", spec);
    build.reference(module, "A40.X2.part:2", "A40.X1.part:9", spec);
    build.switch("S40", "G1:30", "A40.X2.part:11", &["off", "on"], When::positions(&["on"]));
    build.switch("S1", "G1:30", "A40.X2.part:24", &[], When::keys(&[Key::Run]));
    // What stands behind the outputs; an output that is off is pulled to ground by its load.
    let load = |ohms| BranchKind::Load { ohms: Some(ohms), active: When::always() };
    for cavity in LOOKALIKES {
        build.inside(&format!("far {cavity}"));
        build.wire(
            &format!("W{cavity}"),
            &format!("A40.X2:{cavity}"),
            &format!("far {cavity}"),
            "GY/RD",
            0.35,
            1.0,
        );
        // Unplugged at its far end, so that ohms see the wire alone.
        if cavity != "2" {
            build.between(module, &format!("A40.X2.part:{cavity}"), "G1:31", load(60.0));
        }
    }
    for splice in ["SP101", "SP102"] {
        build.splice(splice);
    }
    let sensors = [
        ("B21", "X101", 2, 1, 714.0, 1.1),
        ("B22", "X102", 2, 1, 714.0, 3.4),
        ("B23", "X103", 1, 3, 1000.0, 0.9),
    ];
    for (name, connector, supply, ground, ohms, metres) in sensors {
        let sensor = build.sensor(name, "");
        let made = build.connector(sensor, connector, 3);
        // Contacts are left out of this scenario's figures.
        build.contact_ohms(made, 1e-6);
        build.between(
            sensor,
            &format!("{connector}.part:{supply}"),
            &format!("{connector}.part:{ground}"),
            load(ohms),
        );
        build.wire(&format!("W{name}+"), "SP101", &format!("{connector}:{supply}"), "GY/RD", 0.35, metres);
        build.wire(&format!("W{name}-"), "SP102", &format!("{connector}:{ground}"), "BK/GY", 0.35, metres);
    }
    build.wire("W2101", "A40.X2:6", "SP101", "GY/RD", 0.35, 0.6);
    build.wire("W2105", "A40.X1:9", "SP102", "BK/GY", 0.35, 0.6);
    build.build().unwrap()
}

fn shorted(bench: &Bench<'_>) -> [FaultKind; 1] {
    [bench.bridge("X102.part:2", "X102.part:1", 3.0)]
}

#[test]
fn s21_the_same_colour_five_times() {
    let circuit = body_module();
    let bench = Bench::new(&circuit);
    let fault = shorted(&bench);
    let on = bench.key_on(&[]);
    let at = |state: &State, faults: &[FaultKind], cavity: &str| {
        bench.volts(state, faults, &format!("A40.X2:{cavity}"))
    };
    agrees(&at(&on, &[], "6"), 5.00, 0.01);
    agrees(&at(&on, &fault, "6"), 0.275, 0.001);
    for faults in [&[][..], &fault] {
        agrees(&at(&on, faults, "2"), 5.00, 0.01);
        agrees(&at(&on, faults, "16"), 0.00, 0.01);
        agrees(&at(&on, faults, "24"), 12.4, 0.1);
        // A meter shows the mean of the dimmer's two halves.
        let mut dimmed = on.clone();
        dimmed.positions.insert(circuit.part_named("S40").unwrap(), "on".to_owned());
        let mean = (at(&on, faults, "11").nominal + at(&dimmed, faults, "11").nominal) / 2.0;
        assert!((mean - 6.2).abs() <= 0.31, "{mean}");
    }
}

#[test]
fn s21_order_at_x103() {
    let circuit = body_module();
    let bench = Bench::new(&circuit);
    let fault = shorted(&bench);
    // At the sensor's plug, everything in or out: 0.27 V until X102 is out.
    for out in [&[][..], &["X103"], &["X103", "X101"]] {
        let reading = bench.reading(&bench.key_on(out), &fault, "X103:1", "G1:31", VOLTS);
        agrees(&reading, 0.27, 0.01);
    }
    let parted = bench.key_on(&["X103", "X101", "X102"]);
    agrees(&bench.reading(&parted, &fault, "X103:1", "G1:31", VOLTS), 5.00, 0.01);
}

/// Battery off and X103 out, the wanted wire shows 0.1 Ω and its lookalikes OL. A40.X2 is out
/// too: through A40 the lookalikes would be joined by its inner resistances.
#[test]
fn s21_which_of_the_five() {
    let circuit = body_module();
    let bench = Bench::new(&circuit);
    let dead = bench.dead(&["X103", "A40.X2"]);
    let to = |cavity: &str| {
        let meter = Meter::ohms(bench.point("X103:1"), bench.point(&format!("A40.X2:{cavity}")));
        bench.solver.nominal(&dead, &[], &meter).unwrap().value
    };
    let wanted = to("6");
    assert!((wanted - 0.08).abs() <= 0.01, "{wanted}");
    assert_eq!((wanted * 10.0).round() / 10.0, 0.1);
    for cavity in LOOKALIKES {
        assert!(to(cavity).is_infinite(), "{cavity}");
    }
}
