//! Printed readings of the worked scenarios, asked of `halfsplit volts` on their circuits under `examples/`.
//!
//! A computed value may differ from the printed one by 5 % or by one unit of the last printed digit,
//! whichever is larger. The engine's own tests hold every printed figure; here a handful for each file
//! shows that the file says the same circuit.

use std::{path::Path, process::Command};

use serde_json::Value;

struct Circuit(&'static str);

impl Circuit {
    fn ask(&self, pin: &str, options: &[&str]) -> Value {
        let out = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
            .current_dir(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")))
            .args(["volts", self.0, pin])
            .args(options)
            .args(["--format", "json"])
            .output()
            .unwrap();
        assert!(out.status.success(), "{pin} {options:?}: {}", String::from_utf8_lossy(&out.stderr));
        let answer: Value = serde_json::from_slice(&out.stdout).unwrap();
        answer["reading"].clone()
    }

    /// Asserts one printed value; `digit` is one unit of its last digit.
    #[track_caller]
    fn reads(&self, pin: &str, options: &[&str], printed: f64, digit: f64) {
        let computed = self.ask(pin, options)["nominal"].as_f64();
        let computed = computed.unwrap_or_else(|| panic!("{pin} {options:?} reads OL"));
        let allowed = digit.max(printed.abs() * 0.05) * 1.000_001;
        assert!(
            (computed - printed).abs() <= allowed,
            "{pin} {options:?}: computed {computed}, printed {printed}, allowed {allowed}"
        );
    }

    /// Asserts that a printed value lies inside the computed range.
    #[track_caller]
    fn spans(&self, pin: &str, options: &[&str], printed: f64) {
        let reading = self.ask(pin, options);
        let (low, high) = (reading["low"].as_f64().unwrap(), reading["high"].as_f64().unwrap());
        assert!((low..=high).contains(&printed), "{pin} {options:?}: {printed} is outside {low} to {high}");
    }
}

#[test]
fn s09_a_shared_ground_lifts_its_lamps() {
    let it = Circuit("examples/vane/rear-lamps.circuit");
    let rows: [(&[&str], f64, f64, f64); 4] = [
        (&["--set", "S9=on"], 0.012, 0.73, 0.19),
        (&["--set", "S7=pressed"], 0.051, 2.71, 1.81),
        (&["--set", "S9=on", "--set", "S7=pressed"], 0.063, 3.33, 2.58),
        (&["--set", "A20.RIGHT=on"], 0.051, 2.77, 1.88),
    ];
    for (on, healthy, linear, filament) in rows {
        let fault = [on, &["--fault", "GP303 added 3 ohm"]].concat();
        it.reads("X62:5", on, healthy, 0.001);
        it.reads("X62:5", &fault, linear, 0.01);
        it.spans("X62:5", &fault, filament);
    }
    let open = ["--set", "S7=pressed", "--fault", "GP303 open"];
    it.reads("X62:5", &open, 5.50, 0.01);
    it.reads("SP33", &["--set", "S7=pressed", "--fault", "GP303 added 3 ohm"], 1.22, 0.01);
}

#[test]
fn s11_horn_relay() {
    let it = Circuit("examples/vane/horn.circuit");
    let rest = ["--key", "off"];
    let pressed = ["--key", "off", "--set", "S5=pressed"];
    let with = |fault: &'static str| [&pressed[..], &["--fault", fault]].concat();
    it.reads("K5:85", &rest, 12.40, 0.01);
    it.reads("K5:85", &pressed, 0.04, 0.01);
    it.reads("K5:87", &pressed, 12.31, 0.01);
    it.reads("K5:30", &pressed, 12.36, 0.01);
    it.reads("K5:85", &["--key", "off", "--fault", "K5 coil open"], 12.40, 0.01);
    it.reads("K5:87", &with("K5 coil open"), 0.0, 0.01);
    it.reads("K5:87", &with("K5 contact added 1.2 ohm"), 6.26, 0.01);
    it.reads("K5:85", &with("X9 open"), 12.40, 0.01);
    it.reads("K5:85", &with("X9 added 60 ohm"), 5.49, 0.01);
    it.reads("K5:87", &with("X9 added 60 ohm"), 0.0, 0.01);
    let charging = ["--supply", "14.6 V"];
    it.reads("K5:85", &[&with("X9 added 60 ohm")[..], &charging].concat(), 14.6 - 8.13, 0.01);
    let in_hand = ["--key", "off", "--battery-off", "--unplug", "K5", "--ohms", "--black", "K5:85"];
    // Out of its socket the relay is measured by its own pins; in place, with everything dead, coil and
    // resistor are alone between the same two terminals.
    let in_place: Vec<&str> =
        in_hand.iter().copied().filter(|word| !["--unplug", "K5"].contains(word)).collect();
    it.reads("K5:86", &in_place, 75.6, 0.1);
    it.reads("K5:86", &[&in_place[..], &["--fault", "K5 coil open"]].concat(), 680.0, 1.0);
}

#[test]
fn s12_ohms_at_the_diagnostic_socket() {
    let it = Circuit("examples/vane/can-bus.circuit");
    // A car without the taxi dash: its cluster has the terminator.
    let dead = ["--key", "off", "--battery-off", "--ohms", "--black", "X90:14"];
    let healthy = [&dead[..], &["--without", "TAXI"]].concat();
    let wrong = [&dead[..], &["--option", "TAXI"]].concat();
    it.reads("X90:6", &healthy, 59.9, 0.1);
    it.reads("X90:6", &wrong, 119.1, 0.1);
    it.reads("X90:6", &[&wrong[..], &["--unplug", "A30.X1"]].concat(), 119.4, 0.1);
    it.reads("X90:6", &[&wrong[..], &["--unplug", "A10.X2"]].concat(), 13.3e3, 0.1e3);
    let touch = ["--fault", "A31.X1:7 short to A31.X1:8 0.4 ohm", "--unplug", "X24"];
    it.reads("X90:6", &[&healthy[..], &touch].concat(), 119.6, 0.1);
    it.reads("X90:6", &[&healthy[..], &["--fault", "W1202 open"]].concat(), 119.6, 0.1);
    it.reads("X90:6", &[&healthy[..], &["--fault", "X90:6 short to X90:14 120 ohm"]].concat(), 39.9, 0.1);
}

#[test]
fn s14_drops_while_cranking() {
    let it = Circuit("examples/vane/starter.circuit");
    let crank = ["--key", "crank"];
    let corroded = ["--key", "crank", "--fault", "GP103 added 8 mohm"];
    let over = |black: &'static str, with: &[&'static str]| [with, &["--black", black]].concat();
    it.reads("G1:30", &crank, 10.6, 0.1);
    it.reads("G1:30", &corroded, 10.82, 0.01);
    it.reads("G1:30", &over("K9:30", &crank), 0.30, 0.01);
    it.reads("G1:30", &over("K9:30", &corroded), 0.27, 0.01);
    it.reads("K9:30", &over("K9:45", &crank), 0.20, 0.01);
    it.reads("M1:31", &crank, 0.20, 0.01);
    it.reads("M1:31", &corroded, 1.60, 0.01);
    it.reads("GP103", &over("GP1", &corroded), 1.44, 0.01);
    it.reads("M1:45", &over("M1:31", &crank), 9.90, 0.01);
    it.reads("M1:45", &over("M1:31", &corroded), 8.78, 0.01);
}

#[test]
fn s15_lost_trailer_ground() {
    let it = Circuit("examples/vane/trailer.circuit");
    let tail = ["--set", "S5=on", "--set", "S7=on"];
    let rows: [(&[&str], f64, f64, f64); 4] = [
        (&tail, 0.10, 2.48, 0.59),
        (&["--set", "S6=on"], 0.27, 5.55, 3.77),
        (&["--set", "S1=on"], 0.14, 3.34, 1.15),
        (&["--set", "S5=on", "--set", "S7=on", "--set", "S6=on"], 0.37, 7.19, 6.57),
    ];
    for (on, healthy, linear, filament) in rows {
        let lost = [on, &["--fault", "X80.car:3 open"]].concat();
        it.reads("TG", on, healthy, 0.01);
        it.reads("TG", &lost, linear, 0.01);
        it.spans("TG", &lost, filament);
    }
    let braking = ["--set", "S6=on", "--fault", "X80.car:3 open"];
    it.reads("X80.car:1", &braking, 1.71, 0.01);
    it.reads("X80.trailer:3", &["--set", "S6=on"], 0.06, 0.01);
}

#[test]
fn s16_the_pump_runs_on() {
    let it = Circuit("examples/vane/fuel-pump.circuit");
    let on = ["--supply", "12.4 V", "--key", "run"];
    let with = |fault: &'static str| [&on[..], &["--fault", fault]].concat();
    it.reads("K4:85", &on, 12.28, 0.01);
    it.reads("K4:85", &with("K4 contact welded"), 12.28, 0.01);
    it.reads("K4:85", &with("W1602 short at 1.4 m 0.3 ohm"), 0.05, 0.01);
    // The printed 0.16 V leaves A10's own ground wire out: the black lead stands on its pin.
    let own_ground = ["--black", "A10.X1:2"];
    it.reads("K4:85", &[&with("A10.PUMP stuck 0.6 ohm")[..], &own_ground].concat(), 0.10, 0.01);
    it.reads("K4:85", &[&on[..], &["--set", "A10.PUMP=on"], &own_ground].concat(), 0.161, 0.001);
}

#[test]
fn s19_fuse_millivolts() {
    let it = Circuit("examples/vane/sleeping-draw.circuit");
    let over =
        |fuse: &'static str, more: &[&'static str]| [&["--key", "off", "--black", fuse][..], more].concat();
    let stuck = ["--set", "S8=open"];
    it.reads("F28:feed", &over("F28:load", &stuck), 0.055e-3, 0.001e-3);
    it.reads("F33:feed", &over("F33:load", &stuck), 0.058e-3, 0.001e-3);
    it.reads("F31:feed", &over("F31:load", &stuck), 3.17e-3, 0.01e-3);
    it.reads("F31:feed", &over("F31:load", &["--set", "S8=open", "--unplug", "X92"]), 0.058e-3, 0.001e-3);
}

#[test]
fn s21_five_wires_of_one_colour() {
    let it = Circuit("examples/vane/level-sensors.circuit");
    let fault = ["--fault", "B22 short 3 ohm"];
    it.reads("A40.X2:6", &[], 5.00, 0.01);
    it.reads("A40.X2:6", &fault, 0.275, 0.001);
    it.reads("A40.X2:2", &fault, 5.00, 0.01);
    it.reads("A40.X2:16", &fault, 0.00, 0.01);
    it.reads("A40.X2:24", &fault, 12.4, 0.1);
    for out in ["X103", "X103,X101"] {
        it.reads("X103:1", &[&fault[..], &["--unplug", out]].concat(), 0.27, 0.01);
    }
    it.reads("X103:1", &[&fault[..], &["--unplug", "X103,X101,X102"]].concat(), 5.00, 0.01);
    let dead = ["--battery-off", "--ohms", "--unplug", "X103,A40.X2", "--black", "A40.X2:6"];
    it.reads("X103:1", &dead, 0.08, 0.01);
}

#[test]
fn two_batteries_in_series_share_what_is_read() {
    let it = Circuit("examples/haul/two-batteries.circuit");
    it.reads("X1:1", &[], 25.2, 0.1);
    it.reads("X2:1", &[], 12.6, 0.1);
    it.reads("X1:1", &["--supply", "28 V"], 28.0, 0.1);
    it.reads("X2:1", &["--supply", "28 V"], 14.0, 0.1);
    // A car without the radio has its wire all the same.
    it.reads("X2:1", &["--without", "CB"], 12.6, 0.01);
}

#[test]
fn an_h_bridge_turns_both_ways_and_a_high_side_feeds_its_heater() {
    let it = Circuit("examples/haul/mirror-and-heater.circuit");
    let motor = |position: &'static str| ["--black", "X5:2", "--set", position];
    it.reads("X5:1", &motor("A20.MIRROR=forward"), 24.8, 0.5);
    it.reads("X5:1", &motor("A20.MIRROR=reverse"), -24.8, 0.5);
    it.reads("X5:1", &motor("A20.MIRROR=off"), 0.0, 0.01);
    it.reads("X6:1", &[], 24.9, 0.2);
    it.reads("X6:1", &["--key", "off"], 0.0, 0.01);
}

#[test]
fn a_generator_holds_its_sense_wire_at_its_volts() {
    let it = Circuit("examples/vane/charging.circuit");
    let own = ["--black", "G2:31"];
    it.reads("G2:S", &own, 14.2, 0.01);
    it.reads("G2:B", &[&own[..], &["--fault", "W5 open"]].concat(), 14.6, 0.01);
    it.reads("G1:30", &["--key", "off"], 12.3, 0.2);
}
