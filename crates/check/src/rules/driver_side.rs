//! `driver-side`.

use halfsplit_circuit::BranchKind;
use halfsplit_model::PinRole;

use crate::{Rule, rule::Found, survey::Survey};

use super::load_without_feed::{outside, wire_side};

pub(super) const RULE: Rule = rule!("driver-side", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for (name, id) in &survey.circuit().outputs {
        let driver = survey.circuit().branch(*id);
        if !matches!(driver.kind, BranchKind::Driver { .. }) {
            continue;
        }
        let Some(place) = survey.branch_place(*id) else { continue };
        let line = survey.line(place);
        let role = |point| survey.model.roles.get(&wire_side(survey, point)).copied();
        // The line itself gives its pins the roles of the side that it says: what is joined to them tells.
        let on_ground = survey.reach.ground[driver.b.index()];
        let says = |word: &str| line.split_whitespace().any(|said| said == word);
        let (a, b) = (outside(survey, driver.a), outside(survey, driver.b));
        let (side, why, other) =
            if says("high-side") && (on_ground || role(driver.b) == Some(PinRole::Return)) {
                ("high-side", format!("it ends at {b}, a ground pin"), "low-side")
            } else if says("low-side") && role(driver.a) == Some(PinRole::Feed) && !on_ground {
                ("low-side", format!("it begins at {a}, a feed pin"), "high-side")
            } else {
                continue;
            };
        found
            .add(place, format!("{name} is said to be {side}, but {why}"))
            .help(format!("a high-side driver leads from a feed pin to its output, a low-side one from its output to a ground pin: write `{other}`, or mend the pins"));
    }
}
