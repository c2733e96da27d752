//! `wakes-above-supply`.

use crate::{
    Rule,
    rule::Found,
    statements::own,
    survey::{Survey, number},
};

pub(super) const RULE: Rule = rule!("wakes-above-supply", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    let system = survey.model.vehicle.system_volts();
    for line in own(survey).iter().filter(|line| line.fact.keyword() == "wakes") {
        let Some(volts) = line
            .fact
            .quantity("volts")
            .and_then(|q| q.value.value)
            .filter(|volts| system > 0.0 && *volts > system)
        else {
            continue;
        };
        found
            .add(
                line.place(),
                format!(
                    "it wakes at {} V, and the system has {} V: it never does",
                    number(volts),
                    number(system)
                ),
            )
            .help("a point is likely missing: modules wake at some 6 V in a 12 V system");
    }
}
