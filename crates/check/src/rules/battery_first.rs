//! `battery-first`.

use halfsplit_model::case::CHARGE_BELOW;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("battery-first", Warning, Case, check);

fn check(survey: &Survey, found: &mut Found) {
    let Some(case) = &survey.model.case else { return };
    let least = CHARGE_BELOW * (survey.model.vehicle.system_volts() / 12.0).max(1.0);
    match case.rested {
        None if !case.log.is_empty() => {
            found
                .add(case.place, "no reading of the battery at rest, but readings that depend on it")
                .help("a low battery sets codes everywhere: read it at the posts with everything off, and write `rested 12.60 V`");
        }
        Some((volts, place)) if volts < least => {
            found
                .add(place, format!("the battery rests at {volts:.2} V, below {least:.1} V"))
                .help("charge and test it before any other reading counts, then read it again");
        }
        _ => {}
    }
}
