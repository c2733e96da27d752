//! Random circuits from a seed, by a generator of our own so that a seed means the same for ever.
//!
//! Distributions, all independent:
//!
//! - **points** 4 to 40 (linear) or 4 to 24 (with diodes and limiters); a random tree joins them (each
//!   point to an earlier one), then half as many more branches between any two points;
//! - **branches** of the linear family: half wires, 1 mΩ to 1 Ω; two in five loads, 1 Ω to 10 kΩ; the
//!   rest loads of 10 kΩ to 10 MΩ. With diodes and limiters one in four is a wire. All resistances
//!   are uniform in their logarithm;
//! - **supplies** 1 to 3, from any point to any other, 1 to 48 V behind 1 mΩ to 1 Ω;
//! - **diodes** 1 to 6, 0.3 to 0.8 V, slope 10 mΩ to 1 Ω; **references** 1 to 4, 3 to 12 V behind
//!   0.1 to 1 Ω, limited to 20 to 500 mA, one in five able to sink; **drivers** up to 2, always
//!   on, 0.05 to 0.3 V and 0.1 to 2 Ω;
//! - **a fault** in six cases of seven: added resistance of 0.1 Ω to 1 MΩ, a clean break, a bridge of 10 mΩ
//!   to 10 kΩ, a chafed wire (0.05 to 0.95 of its way, 10 mΩ to 100 Ω), unlisted equipment (0 to
//!   12 V behind 1 to 1,000 Ω), or two of these at once.

use halfsplit_circuit::{
    BranchId, BranchKind, BuildError, Builder, Circuit, Fault, FaultKind, PartKind, PointId, ReferenceSpec,
    When,
};

/// SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014).
#[derive(Clone, Debug)]
pub struct Random(u64);

impl Random {
    /// The stream of a seed.
    pub fn new(seed: u64) -> Random {
        Random(seed)
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform in 0 up to 1.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Uniform in `0..count`; `count` is small, so the remainder's bias is below 1e-16.
    pub fn below(&mut self, count: usize) -> usize {
        (self.bits() % count.max(1) as u64) as usize
    }

    /// Uniform between two values.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Uniform in the logarithm.
    pub fn log(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.unit())
    }

    /// Two different values below `count`.
    fn pair(&mut self, count: usize) -> (usize, usize) {
        let a = self.below(count);
        (a, (a + 1 + self.below(count - 1)) % count)
    }
}

/// What a random circuit is made of.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kind {
    /// Wires, loads and supplies.
    Linear,
    /// Diodes, references and drivers too.
    Limiting,
}

/// A circuit of a seed, and its faults.
///
/// # Errors
/// Only if the builder refuses what was drawn, which would be a mistake here.
pub fn circuit(kind: Kind, random: &mut Random) -> Result<(Circuit, Vec<Fault>), BuildError> {
    let mut build = Builder::new();
    let points = 4 + random.below(if kind == Kind::Linear { 37 } else { 21 });
    for point in 0..points {
        build.inside(&format!("n{point}"));
    }
    let name = |point: usize| format!("n{point}");
    let tree: Vec<(usize, usize)> = (1..points).map(|point| (point, random.below(point))).collect();
    let more: Vec<(usize, usize)> = (0..points / 2).map(|_| random.pair(points)).collect();
    let wires_in_100 = if kind == Kind::Linear { 50 } else { 25 };
    let mut wires = Vec::new();
    for (index, (a, b)) in tree.into_iter().chain(more).enumerate() {
        let which = random.below(100);
        let part = build.part(&format!("R{index}"), "", PartKind::Load);
        let (a, b) = (name(a), name(b));
        if which < wires_in_100 {
            let ohms = Some(random.log(1e-3, 1.0));
            let kind = BranchKind::Wire { ohms, section: None, metres: None, colour: String::new() };
            wires.push(build.between(part, &a, &b, kind));
        } else {
            let ohms = if which < 90 { random.log(1.0, 1e4) } else { random.log(1e4, 1e7) };
            build.between(part, &a, &b, BranchKind::Load { ohms: Some(ohms), active: When::always() });
        }
    }
    for index in 0..1 + random.below(3) {
        let (a, b) = random.pair(points);
        let part = build.part(&format!("G{index}"), "", PartKind::Supply);
        let kind = BranchKind::Source { volts: random.between(1.0, 48.0), inner: random.log(1e-3, 1.0) };
        build.between(part, &name(a), &name(b), kind);
    }
    if kind == Kind::Limiting {
        limiting(&mut build, random, points);
    }
    let mut circuit = build.build()?;
    circuit.negative = Some(PointId(0));
    let faults = faults(&circuit, &wires, random);
    Ok((circuit, faults))
}

fn limiting(build: &mut Builder, random: &mut Random, points: usize) {
    let module = build.module("A1", "");
    let two = |random: &mut Random| {
        let (a, b) = random.pair(points);
        (format!("n{a}"), format!("n{b}"))
    };
    for index in 0..1 + random.below(6) {
        let (a, b) = two(random);
        let part = build.part(&format!("V{index}"), "", PartKind::Load);
        let kind = BranchKind::Diode { forward: random.between(0.3, 0.8), ohms: random.log(1e-2, 1.0) };
        build.between(part, &a, &b, kind);
    }
    for _ in 0..1 + random.below(4) {
        let (a, b) = two(random);
        let ReferenceSpec { volts, inner, limit, unpowered } = ReferenceSpec {
            volts: random.between(3.0, 12.0),
            inner: random.log(0.1, 1.0),
            limit: Some(random.log(0.02, 0.5)),
            unpowered: 4700.0,
        };
        let sinks = random.below(5) == 0;
        let kind = BranchKind::Reference { volts, inner, limit, unpowered, sinks, latches: false };
        build.between(module, &a, &b, kind);
    }
    for _ in 0..random.below(3) {
        let (a, b) = two(random);
        let (saturation, ohms) = (random.between(0.05, 0.3), random.log(0.1, 2.0));
        build.driver(module, &a, &b, saturation, ohms, When::always());
    }
}

/// None, one or two faults.
fn faults(circuit: &Circuit, wires: &[BranchId], random: &mut Random) -> Vec<Fault> {
    let points = circuit.points.len();
    let which = random.below(7);
    let mut one = |kind: usize| {
        let branch = BranchId(random.below(circuit.branches.len()) as u32);
        let (a, b) = random.pair(points);
        let (a, b) = (PointId(a as u32), PointId(b as u32));
        let kind = match kind {
            0 => FaultKind::Series { branch, ohms: random.log(0.1, 1e6) },
            1 => FaultKind::Series { branch, ohms: f64::INFINITY },
            2 => FaultKind::Bridge { a, b, ohms: random.log(1e-2, 1e4) },
            3 if !wires.is_empty() => FaultKind::Chafe {
                branch: wires[random.below(wires.len())],
                along: random.between(0.05, 0.95),
                to: a,
                ohms: random.log(1e-2, 100.0),
            },
            _ => FaultKind::Sink {
                point: a,
                volts: random.between(0.0, 12.0),
                ohms: random.log(1.0, 1e3),
                unpowered: 47e3,
            },
        };
        Fault { kind }
    };
    match which {
        0 => Vec::new(),
        6 => vec![one(0), one(2)],
        which => vec![one(which - 1)],
    }
}
