//! Random modules behind feeds and grounds of every quality, from a seed.
//!
//! Distributions, all independent; ohms are uniform in their logarithm:
//!
//! - **a supply** of 6 to 28 V behind 1 mΩ to 0.1 Ω between `plus` and the ground, and a body behind 1 mΩ to 0.1 Ω;
//! - **modules** 1 to 3, each with 1 or 2 feeds and one return through a wire each of its own, 10 mΩ to 0.5 Ω, one
//!   in three of 0.5 to 50 Ω;
//! - **feeds** draw through 20 Ω to 2 kΩ, one in four through nobody knows what; asleep nothing or 1 to 100 kΩ; they
//!   wake at 0.3 to 0.7 of the supply, one in four of a second feed at nothing;
//! - **references** 1 to 3 a module, 3 to 12 V behind 0.1 to 1 Ω, half of them limited to 20 to 500 mA, one in
//!   five able to sink; each with a load of 20 Ω to 20 kΩ to the body, the module's return or another's output;
//! - **a fault** in six cases of seven: a wire open, a wire of 1 to 100 Ω more, a wire chafed to the body, or two
//!   wires that touch (0.05 to 0.95 of their ways, 10 mΩ to 100 Ω), or an open and a touch at once.

use halfsplit_circuit::{
    BranchId, BranchKind, BuildError, Builder, Circuit, Fault, FaultKind, FeedSpec, PartKind, PointId, When,
};

use super::random::Random;

/// A circuit of a seed, and its faults.
///
/// # Errors
/// Only if the builder refuses what was drawn, which would be a mistake here.
pub fn circuit(random: &mut Random) -> Result<(Circuit, Vec<Fault>), BuildError> {
    let mut drawn = Drawn { build: Builder::new(), wires: Vec::new() };
    let minus = drawn.build.inside("minus");
    drawn.build.inside("plus");
    let body = drawn.build.inside("body");
    let battery = drawn.build.part("G1", "", PartKind::Supply);
    let volts = random.between(6.0, 28.0);
    let inner = random.log(1e-3, 0.1);
    drawn.build.between(battery, "plus", "minus", BranchKind::Source { volts, inner });
    drawn.wire("body", "minus", random.log(1e-3, 0.1));
    let mut outputs: Vec<String> = Vec::new();
    for index in 0..1 + random.below(3) {
        drawn.module(index, volts, &mut outputs, random);
    }
    let Drawn { build, wires } = drawn;
    let mut circuit = build.build()?;
    circuit.negative = Some(minus);
    let faults = faults(&wires, body, random);
    Ok((circuit, faults))
}

struct Drawn {
    build: Builder,
    wires: Vec<BranchId>,
}

impl Drawn {
    fn wire(&mut self, a: &str, b: &str, ohms: f64) {
        let part = self.build.part(&format!("W{}", self.wires.len()), "", PartKind::Wire);
        let kind = BranchKind::Wire { ohms: Some(ohms), section: None, metres: None, colour: String::new() };
        self.wires.push(self.build.between(part, a, b, kind));
    }

    fn lead(&mut self, a: &str, b: &str, random: &mut Random) {
        let ohms = if random.below(3) == 0 { random.log(0.5, 50.0) } else { random.log(0.01, 0.5) };
        self.wire(a, b, ohms);
    }

    fn module(&mut self, index: usize, supply: f64, outputs: &mut Vec<String>, random: &mut Random) {
        let module = self.build.module(&format!("A{index}"), "");
        let back = format!("back{index}");
        self.build.inside(&back);
        self.lead(&back, "body", random);
        for feed in 0..1 + random.below(2) {
            let pin = format!("feed{index}.{feed}");
            self.build.inside(&pin);
            self.lead("plus", &pin, random);
            let awake = (random.below(4) > 0).then(|| random.log(20.0, 2e3));
            let standby = (random.below(2) == 0).then(|| random.log(1e3, 1e5));
            let wakes = (feed == 0 || random.below(4) > 0).then(|| supply * random.between(0.3, 0.7));
            self.build.feed(module, &pin, &back, FeedSpec { awake, standby, wakes, when: When::always() });
        }
        for output in 0..1 + random.below(3) {
            let pin = format!("out{index}.{output}");
            self.build.inside(&pin);
            let kind = BranchKind::Reference {
                volts: random.between(3.0, 12.0),
                inner: random.log(0.1, 1.0),
                limit: (random.below(2) == 0).then(|| random.log(0.02, 0.5)),
                unpowered: 1e6,
                sinks: random.below(5) == 0,
                latches: false,
            };
            self.build.between(module, &pin, &back, kind);
            let to = match random.below(3) {
                0 => "body".to_owned(),
                1 if !outputs.is_empty() => outputs[random.below(outputs.len())].clone(),
                _ => back.clone(),
            };
            let load = self.build.part(&format!("R{index}.{output}"), "", PartKind::Load);
            let ohms = Some(random.log(20.0, 2e4));
            self.build.between(load, &pin, &to, BranchKind::Load { ohms, active: When::always() });
            outputs.push(pin);
        }
    }
}

/// None, one or two faults.
fn faults(wires: &[BranchId], body: PointId, random: &mut Random) -> Vec<Fault> {
    let which = random.below(7);
    let at = random.below(wires.len());
    let (branch, next) = (wires[at], wires[(at + 1 + random.below(wires.len() - 1)) % wires.len()]);
    let (along, further) = (random.between(0.05, 0.95), random.between(0.05, 0.95));
    let ohms = random.log(1e-2, 100.0);
    let open = FaultKind::Series { branch, ohms: f64::INFINITY };
    let touch = FaultKind::Touch { one: (branch, along), other: (next, further), ohms };
    let kinds = match which {
        0 => vec![],
        1 | 2 => vec![open],
        3 => vec![FaultKind::Series { branch, ohms: random.log(1.0, 100.0) }],
        4 => vec![FaultKind::Chafe { branch, along, to: body, ohms }],
        5 => vec![touch],
        _ => vec![open, touch],
    };
    kinds.into_iter().map(Fault::from).collect()
}
