//! `system-volts`.

use crate::{
    Rule,
    rule::Found,
    statements::own,
    survey::{Survey, number},
};

pub(super) const RULE: Rule = rule!("system-volts", Warning, Circuit, check);

/// Vehicles had 6 V at least; above 60 V DC it is high voltage, on which nothing of ours may be planned. Both MEMORY, and so
/// only ever a warning; a system without volts is `impossible-value`.
const LEAST: f64 = 5.0;
const MOST: f64 = 60.0;

fn check(survey: &Survey, found: &mut Found) {
    for line in own(survey).iter().filter(|line| line.fact.keyword() == "system") {
        let Some(volts) = line.fact.quantity("volts").and_then(|q| q.value.value) else { continue };
        if volts > 0.0 && !(LEAST..=MOST).contains(&volts) {
            found
                .add(line.place(), format!("a system of {} V: vehicles have 6, 12, 24 or 48 V", number(volts)))
                .help("write the volts of the vehicle's supply: `system 12 V`; high-voltage systems are never part of a plan");
        }
    }
}
