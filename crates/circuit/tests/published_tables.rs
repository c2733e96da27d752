//! Published tables of wire, drops and bus ends, recomputed. Source and mark stand beside each.

use halfsplit_circuit::{Builder, Meter, Solver, State, wire};

/// Agreement to `digit`, in the unit of the figure.
fn near(value: f64, published: f64, digit: f64) {
    println!("checked {published} {digit} {value}"); // Read by tests/outside/run.
    assert!((value - published).abs() <= digit * 1.001, "published {published}, computed {value}");
}

/// Diameter in inches and circular mils of solid round copper: Lessons In Electric Circuits, "Wire
/// table for solid, round copper conductors" (SAW). Gauge 1/0 is 0, 4/0 is −3.
#[test]
fn american_wire_gauge() {
    let rows = [
        (-3, 0.4600, 211_600.0),
        (-2, 0.4096, 167_800.0),
        (-1, 0.3648, 133_100.0),
        (0, 0.3249, 105_500.0),
        (1, 0.2893, 83_690.0),
        (2, 0.2576, 66_370.0),
        (4, 0.2043, 41_740.0),
        (6, 0.1620, 26_250.0),
        (8, 0.1285, 16_510.0),
        (10, 0.1019, 10_380.0),
        (12, 0.08081, 6_530.0),
        (14, 0.06408, 4_107.0),
        (16, 0.05082, 2_583.0),
        (18, 0.04030, 1_624.0),
        (20, 0.03196, 1_022.0),
        (22, 0.02535, 642.5),
        (24, 0.02010, 404.0),
        (26, 0.01594, 254.1),
        (28, 0.01264, 159.8),
        (30, 0.01003, 100.5),
    ];
    for (gauge, inches, circular_mils) in rows {
        let diameter = (wire::awg_section(gauge) / std::f64::consts::FRAC_PI_4).sqrt() / 25.4;
        near(diameter, inches, 5e-4 * inches);
        near((diameter * 1e3).powi(2), circular_mils, 5e-4 * circular_mils);
    }
}

/// Drop over so many feet at so many amperes, by the solve: a current of `amps` through the wire.
fn drop(ohms_per_foot: f64, feet: f64, amps: f64) -> f64 {
    let mut build = Builder::new();
    let (volts, ohms) = (28.0, ohms_per_foot * feet);
    build.supply("G1", volts, 1e-6);
    build.inside("far");
    build.resistor("wire", "G1:30", "far", ohms);
    build.resistor("load", "far", "G1:31", volts / amps - ohms);
    let circuit = build.build().unwrap();
    let meter = Meter::volts(circuit.point_named("G1:30").unwrap(), circuit.point_named("far").unwrap());
    Solver::new(&circuit).nominal(&State::default(), &[], &meter).unwrap().value
}

/// Voltage drops, AC 43.13-1B CHG 1, tables 11-7 and 11-8 (SAW).
///
/// Row 2 of table 11-8 prints .366 V where its own factors make 0.4914 V: an error of the circular,
/// tested against the factors. Row 3 of table 11-7 rounds 3.5552 V up to 3.60 V; row 2 exceeds its own
/// limit of 0.5 V by 4 mV, as a chart reading may.
#[test]
fn advisory_circular_drops() {
    for (ohms, feet, printed, digit) in [
        (0.00044, 107.0, 0.942, 0.001),
        (0.00028, 90.0, 0.504, 0.001),
        (0.00202, 88.0, 3.60, 0.05),
        (0.00306, 100.0, 6.12, 0.01),
        (0.00126, 39.0, 0.98, 0.01),
        (0.00126, 19.5, 0.4914, 0.0001),
        (0.00126, 156.0, 3.93, 0.01),
        (0.00126, 273.0, 6.88, 0.01),
    ] {
        near(drop(ohms, feet, 20.0), printed, digit);
    }
    assert!((drop(0.00126, 19.5, 20.0) - 0.366).abs() > 0.1);
    // Example 1: 50 ft at 20 A within 1 V needs No. 8; No. 10 drops 1.26 V.
    near(drop(0.00126, 50.0, 20.0), 1.26, 0.01);
    near(drop(0.00070, 50.0, 20.0), 0.70, 0.01);
}

/// Road-vehicle copper, ISO 6722-1 in style (MEMORY, never a hard error), lies between pure copper
/// and the limit of IEC 60228 class 5 (SAW, three tables that agree) for every section in both.
#[test]
fn road_vehicle_copper_between_pure_and_class_5() {
    let class_5 = [
        (0.5, 39.0),
        (0.75, 26.0),
        (1.0, 19.5),
        (1.5, 13.3),
        (2.5, 7.98),
        (4.0, 4.95),
        (6.0, 3.30),
        (10.0, 1.91),
        (16.0, 1.21),
        (25.0, 0.780),
        (35.0, 0.554),
        (50.0, 0.386),
        (70.0, 0.272),
        (95.0, 0.206),
        (120.0, 0.161),
    ];
    for (section, limit) in class_5 {
        let own = wire::milliohms_per_metre(section).unwrap();
        let pure = wire::COPPER_RESISTIVITY / section * 1e3;
        assert!(pure < own && own < limit, "{section} mm²: {pure} < {own} < {limit}");
    }
}

/// Ends of a high-speed bus, ISO 11898-2: 120 Ω at each end (SAW); 60 Ω with both, 120 Ω with
/// one, 40 Ω with three (COMPUTED), OL with none.
#[test]
fn bus_ends() {
    for (ends, printed) in [(2, 60.0), (1, 120.0), (3, 40.0)] {
        let mut build = Builder::new();
        build.inside("H");
        build.inside("L");
        for end in 0..ends {
            build.resistor(&format!("R{end}"), "H", "L", 120.0);
        }
        let circuit = build.build().unwrap();
        let meter = Meter::ohms(circuit.point_named("H").unwrap(), circuit.point_named("L").unwrap());
        let dead = State { battery: false, ..State::default() };
        near(Solver::new(&circuit).nominal(&dead, &[], &meter).unwrap().value, printed, 1e-6);
    }
}
