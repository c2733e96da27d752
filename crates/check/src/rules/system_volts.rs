//! `system-volts`.

use crate::{
    Rule,
    rule::Found,
    statements::own,
    survey::{Survey, number},
};

pub(super) const RULE: Rule = rule!("system-volts", Error, Circuit, check);

/// Below 60 V DC it is no high voltage; above it is, and no system that a circuit of ours may be planned on. 6 V is the
/// least that vehicles had.
const LEAST: f64 = 5.0;
const MOST: f64 = 60.0;

fn check(survey: &Survey, found: &mut Found) {
    for line in own(survey).iter().filter(|line| line.fact.keyword() == "system") {
        let Some(volts) = line.fact.quantity("volts").and_then(|q| q.value.value) else { continue };
        if !(LEAST..=MOST).contains(&volts) {
            found
                .add(line.place(), format!("a system of {} V: vehicles have 6, 12, 24 or 48 V", number(volts)))
                .help("write the volts of the vehicle's supply: `system 12 V`; high-voltage systems are never part of a plan");
        }
    }
}
