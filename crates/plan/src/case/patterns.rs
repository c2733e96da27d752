//! What the order of readings says: recovered, rose in part, fails again, stays good.

use halfsplit_circuit::{ConnectorId, Load, Measure, Meter, Quantity};

use super::Job;
use crate::bench::Bench;
use crate::judge::gap;

/// What two readings at the same place say together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Pattern {
    /// The reading rose, but is not sound: one of several.
    Partial {
        /// Position of the later reading.
        reading: usize,
        /// What was parted in between.
        parted: Vec<String>,
    },
    /// The reading is sound with these out.
    Recovered {
        /// Position of the later reading.
        reading: usize,
        /// What was parted in between.
        parted: Vec<String>,
        /// Whether mating it again made it fail again: off, on, off.
        proved: bool,
    },
    /// The reading stayed sound when they were mated again: their contact.
    StaysGood {
        /// Position of the later reading.
        reading: usize,
        /// What was mated again.
        mated: Vec<String>,
    },
}

pub(super) fn find(bench: &Bench<'_>, job: &Job) -> Vec<Pattern> {
    let mut patterns: Vec<Pattern> = Vec::new();
    let mut before: Option<(usize, Seen)> = None;
    for (at, reading) in job.readings.iter().enumerate() {
        let live = reading.leads.measure == Measure::Volts(Load::None) && reading.state.battery;
        if !live || !bench.points.contains(&reading.leads.red) {
            continue;
        }
        let Ok(sound) = bench.solver.read(&reading.state, &[], &reading.leads) else { continue };
        let value = 0.5 * (reading.reads[0] + reading.reads[1]);
        let seen = Seen {
            leads: reading.leads,
            value,
            good: value >= sound.low - gap(sound.low, Quantity::Volts)
                && value <= sound.high + gap(sound.high, Quantity::Volts),
        };
        if let Some((earlier, last)) = before.filter(|(_, last)| last.leads == seen.leads) {
            let (then, now) = (&job.readings[earlier].state.unplugged, &reading.state.unplugged);
            let name = |c: &ConnectorId| bench.circuit.connector(*c).name.clone();
            let parted: Vec<String> = now.difference(then).map(name).collect();
            let mated: Vec<String> = then.difference(now).map(name).collect();
            let target = sound.nominal;
            let nearer =
                (target - seen.value).abs() + gap(seen.value, Quantity::Volts) < (target - last.value).abs();
            match (last.good, seen.good) {
                (false, true) if !parted.is_empty() => {
                    patterns.push(Pattern::Recovered { reading: at, parted, proved: false });
                }
                (false, false) if !parted.is_empty() && nearer => {
                    patterns.push(Pattern::Partial { reading: at, parted });
                }
                (true, false) if !mated.is_empty() => {
                    for pattern in &mut patterns {
                        if let Pattern::Recovered { parted, proved, .. } = pattern {
                            *proved |= parted.iter().any(|p| mated.contains(p));
                        }
                    }
                }
                (true, true) if !mated.is_empty() => {
                    let suspect = patterns.iter().any(|p| match p {
                        Pattern::Recovered { parted, .. } => parted.iter().any(|p| mated.contains(p)),
                        _ => false,
                    });
                    if suspect {
                        patterns.push(Pattern::StaysGood { reading: at, mated });
                    }
                }
                _ => {}
            }
        }
        before = Some((at, seen));
    }
    patterns
}

#[derive(Clone, Copy)]
struct Seen {
    leads: Meter,
    value: f64,
    good: bool,
}
