//! Worked scenario S19: which branch drains a sleeping car, by millivolts over its fuses.

mod reference_circuit;

use halfsplit_circuit::{Builder, Circuit, Load, Measure, State, When};
use reference_circuit::{Bench, agrees};

const VOLTS: Measure = Measure::Volts(Load::None);

/// Fuses F28, F33 and F31 with what they feed, asleep; the glovebox switch is `S8`.
fn asleep() -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.45, 1e-6);
    let bar = build.bar("BUS1");
    build.joint(bar, "G1:30", "BUS1", 1e-6);
    for (fuse, rating) in [("F28", 15.0), ("F33", 10.0), ("F31", 10.0)] {
        build.fuse(fuse, rating);
        build.joint(bar, "BUS1", &format!("{fuse}:feed"), 1e-6);
    }
    build.splice("SP91");
    build.ground_point("GP201", 0.1e-3);
    build.joint(bar, "body", "G1:31", 0.3e-3);
    build.inside("E8 switched");
    let draws = [
        ("A28", "X91", 4, 1, 2, Some(12e-3)),
        ("A20", "A20.X3", 4, 1, 2, Some(8e-3)),
        ("E8", "X92", 2, 1, 2, None),
        ("A25", "X93", 8, 7, 8, Some(3e-3)),
        ("A26", "X94", 4, 2, 4, Some(5e-3)),
    ];
    for (name, connector, cavities, supply, ground, amps) in draws {
        let part = build.module(name, "");
        build.connector(part, connector, cavities);
        let (plus, minus) = (format!("{connector}.part:{supply}"), format!("{connector}.part:{ground}"));
        match amps {
            Some(amps) => {
                build.draws(part, &plus, &minus, amps, 12.45);
            }
            None => {
                build.switch("S8", &plus, "E8 switched", &["shut", "open"], When::positions(&["open"]));
                build.lamp("E8 lamp", "E8 switched", &minus, 5.0, 12.0);
            }
        }
        build.wire(
            &format!("W{connector} ground"),
            &format!("{connector}:{ground}"),
            "GP201",
            "BN",
            0.75,
            0.5,
        );
    }
    let wires = [
        ("W1901", "F28:load", "X91:1", "RD/BU", 1.0, 2.2),
        ("W1902", "F33:load", "A20.X3:1", "RD/YE", 0.75, 1.1),
        ("W1903", "F31:load", "SP91", "RD/VT", 1.0, 1.6),
        ("W1904", "SP91", "X92:1", "RD/VT", 0.5, 1.0),
        ("W1905", "SP91", "X93:7", "RD/VT", 0.75, 0.9),
        ("W1906", "SP91", "X94:2", "RD/VT", 0.75, 4.2),
    ];
    for (name, a, b, colour, mm2, metres) in wires {
        build.wire(name, a, b, colour, mm2, metres);
    }
    build.build().unwrap()
}

#[test]
fn s19_fuse_millivolts() {
    let circuit = asleep();
    let bench = Bench::new(&circuit);
    let mut stuck = State::default();
    stuck.positions.insert(circuit.part_named("S8").unwrap(), "open".to_owned());
    let over = |state: &State, fuse: &str| {
        bench.reading(state, &[], &format!("{fuse}:feed"), &format!("{fuse}:load"), VOLTS)
    };
    // Computed, and as a display of 0.1 mV shows it.
    let out = bench.unplug_more(&stuck, &["X92"]);
    let rows = [
        (&stuck, "F28", 0.055, 0.1),
        (&stuck, "F33", 0.058, 0.1),
        (&stuck, "F31", 3.17, 3.2),
        (&out, "F31", 0.058, 0.1),
    ];
    for (state, fuse, millivolts, shown) in rows {
        let reading = over(state, fuse);
        agrees(&reading, millivolts * 1e-3, 0.001e-3);
        let display = (reading.nominal * 1e4).round() / 10.0;
        assert!((display - shown).abs() < 1e-9, "{fuse}: {display}");
    }
    let amps = |state: &State, fuse: &str| {
        let (branch, _) = circuit.branches_of(circuit.part_named(fuse).unwrap()).next().unwrap();
        bench.solver.solve(state, &[]).unwrap().current(branch)
    };
    let near = |computed: f64, printed: f64, digit: f64| {
        assert!((computed - printed).abs() <= (0.05 * printed).max(digit), "{printed}: {computed}");
    };
    near(amps(&stuck, "F31"), 0.440, 0.001);
    near(amps(&stuck, "F28"), 0.012, 0.001);
    near(amps(&stuck, "F33"), 0.008, 0.001);
    let total = |state: &State| ["F28", "F33", "F31"].iter().map(|fuse| amps(state, fuse)).sum::<f64>();
    near(total(&stuck), 0.460, 0.001);
    near(total(&stuck) - total(&out), 0.432, 0.001);
    near(total(&State::default()), 0.028, 0.001);
    near(30.0 / total(&stuck), 65.0, 1.0);
    near(30.0 / total(&State::default()), 1071.0, 1.0);
    // A 15 A fuse where 10 A is taken for granted: the same millivolts read as 689 mA.
    near(over(&stuck, "F31").nominal / 4.6e-3, 0.689, 0.001);
}
