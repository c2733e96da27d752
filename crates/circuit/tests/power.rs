//! A module without feed or ground is dead, and no output stands above what feeds it.

use halfsplit_circuit::{
    Builder, Circuit, Fault, FaultKind, FeedSpec, Key, Meter, PointId, ReferenceSpec, Solver, State, When,
};

/// A module behind F1 and W2, its 8 V reference to a load that is grounded at the body.
fn circuit(feed: FeedSpec, load: f64) -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.6, 0.008);
    build.ground_point("GP1", 0.001);
    build.wire("W9", "GP1", "G1:31", "BK", 25.0, 0.4);
    build.fuse("F1", 10.0);
    let module = build.module("A5", "");
    build.connector(module, "A5.X1", 4);
    build.wire("W0", "G1:30", "F1:feed", "RD", 2.5, 0.5);
    build.wire("W1", "F1:load", "A5.X1:1", "RD", 1.5, 1.0);
    build.wire("W2", "A5.X1:2", "GP1", "BN", 1.5, 1.0);
    build.feed(module, "A5.X1.part:1", "A5.X1.part:2", feed);
    let spec = ReferenceSpec { volts: 8.0, inner: 0.2, limit: None, unpowered: 1e6 };
    build.reference(module, "A5.X1.part:3", "A5.X1.part:2", spec);
    build.resistor("R1", "A5.X1:3", "GP1", load);
    build.build().unwrap()
}

fn feed(awake: f64) -> FeedSpec {
    FeedSpec { awake: Some(awake), standby: None, wakes: Some(6.0), when: When::keys(&[Key::Run]) }
}

struct Car {
    circuit: Circuit,
    state: State,
}

impl Car {
    fn new(circuit: Circuit) -> Car {
        Car { circuit, state: State::with_key(Key::Run) }
    }

    fn at(&self, name: &str) -> PointId {
        self.circuit.point_named(name).unwrap()
    }

    fn added(&self, wire: &str, ohms: f64) -> Vec<Fault> {
        let part = self.circuit.part_named(wire).unwrap();
        let (branch, _) = self.circuit.branches_of(part).next().unwrap();
        vec![FaultKind::Series { branch, ohms }.into()]
    }

    /// Volts at a pin, the same from the table as from scratch.
    fn volts(&self, pin: &str, faults: &[Fault]) -> f64 {
        let solver = Solver::new(&self.circuit);
        let meter = Meter::volts(self.at(pin), self.at("G1:31"));
        let reading = solver.read(&self.state, faults, &meter).unwrap();
        assert!(reading.low <= reading.nominal && reading.nominal <= reading.high);
        let table = solver.table(&self.state, &[vec![], faults.to_vec()], &[meter]);
        let listed = table.at(1, 0).unwrap().value;
        assert!((listed - reading.nominal).abs() < 1e-6, "{listed} against {}", reading.nominal);
        reading.nominal
    }
}

#[test]
fn sound_it_gives_its_volts() {
    let car = Car::new(circuit(feed(25.0), 1000.0));
    // 8 V above a ground that 0.5 A lifts by some 12 mV.
    assert!((car.volts("A5.X1:3", &[]) - 8.01).abs() < 0.01);
}

/// What it gives must not keep it alive: the reference would pull the module's own ground below the body's.
#[test]
fn with_its_ground_open_it_is_dead_whatever_it_draws() {
    for awake in [25.0, 600.0, 5000.0] {
        for load in [5.0, 100.0, 1000.0, 47e3] {
            let car = Car::new(circuit(feed(awake), load));
            let open = car.added("W2", f64::INFINITY);
            let volts = car.volts("A5.X1:3", &open);
            assert!(volts.abs() < 0.7, "{awake} ohm, {load} ohm: {volts}");
        }
    }
}

#[test]
fn with_its_feed_open_it_is_dead() {
    let car = Car::new(circuit(feed(25.0), 1000.0));
    assert!(car.volts("A5.X1:3", &car.added("W1", f64::INFINITY)).abs() < 1e-6);
}

/// 25 ohm behind 20 ohm from 12.6 V are 7.0 V, and there is nothing to make 8 V of it.
#[test]
fn a_weak_feed_holds_the_output_down() {
    let car = Car::new(circuit(feed(25.0), 1000.0));
    let weak = car.added("W1", 20.0);
    let (fed, out) = (car.volts("A5.X1:1", &weak), car.volts("A5.X1:3", &weak));
    assert!((fed - 7.0).abs() < 0.02, "{fed}");
    assert!(out <= fed && out > fed - 0.05, "{out} of {fed}");
}

/// The same behind a weak ground: the output stands above the lifted ground by what is left across the module.
#[test]
fn a_weak_ground_lifts_no_output_above_the_feed() {
    let car = Car::new(circuit(feed(25.0), 1000.0));
    for ohms in [0.5, 5.0, 15.0, 20.0] {
        let weak = car.added("W2", ohms);
        let (fed, out) = (car.volts("A5.X1:1", &weak), car.volts("A5.X1:3", &weak));
        assert!(out <= fed + 1e-6, "{ohms} ohm: {out} above {fed}");
    }
}

/// A module of which nobody knows what it draws needs a ground all the same.
#[test]
fn an_unknown_draw_needs_a_ground_too() {
    let unknown = FeedSpec { awake: None, ..feed(25.0) };
    let car = Car::new(circuit(unknown, 1000.0));
    assert!(car.volts("A5.X1:3", &[]) > 7.9);
    assert!(car.volts("A5.X1:3", &car.added("W2", f64::INFINITY)).abs() < 0.7);
}

/// An output that gives nothing to the last digits while its module floats: it would carry all that the feed draws, so
/// the module has no ground, on whichever side of zero those digits are.
#[test]
fn an_output_that_gives_nothing_is_no_ground() {
    for (own, other) in [(4.48, 6.25), (5.0, 8.0), (4.9, 7.3), (3.3, 10.1), (8.7, 5.2)] {
        for load in [45.0, 210.0, 458.0, 3300.0] {
            let unknown = FeedSpec { awake: None, ..feed(25.0) };
            let mut build = Builder::new();
            build.supply("G1", 12.6, 0.008);
            build.ground_point("GP1", 0.001);
            build.wire("W9", "GP1", "G1:31", "BK", 25.0, 0.4);
            let module = build.module("A5", "");
            build.connector(module, "A5.X1", 4);
            build.wire("W1", "G1:30", "A5.X1:1", "RD", 1.5, 1.0);
            build.wire("W2", "A5.X1:2", "GP1", "BN", 1.5, 1.0);
            build.feed(module, "A5.X1.part:1", "A5.X1.part:2", unknown);
            for (pin, volts) in [(3, own), (4, other)] {
                let spec = ReferenceSpec { volts, inner: 0.2, limit: None, unpowered: 1e6 };
                build.reference(module, &format!("A5.X1.part:{pin}"), "A5.X1.part:2", spec);
            }
            build.resistor("R1", "A5.X1:3", "GP1", load);
            build.resistor("R2", "A5.X1:4", "A5.X1:2", load * 3.0);
            let car = Car::new(build.build().unwrap());
            for pin in ["A5.X1:3", "A5.X1:4"] {
                let volts = car.volts(pin, &car.added("W2", f64::INFINITY));
                assert!(volts.abs() < 0.7, "{own} V, {other} V, {load} ohm: {pin} at {volts}");
            }
        }
    }
}
