//! `driver-side`.

use std::collections::HashMap;

use halfsplit_circuit::BranchKind;
use halfsplit_model::{PinRole, Place};

use crate::{Rule, rule::Found, statements::own, survey::Survey};

use super::load_without_feed::{outside, wire_side};

pub(super) const RULE: Rule = rule!("driver-side", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    let lines = own(survey).into_iter().filter(|line| line.fact.keyword() == "driver");
    let sides: HashMap<Place, &str> =
        lines.filter_map(|line| Some((line.place(), line.fact.word("side")?.value))).collect();
    for (name, id) in &survey.circuit().outputs {
        let driver = survey.circuit().branch(*id);
        if !matches!(driver.kind, BranchKind::Driver { .. }) {
            continue;
        }
        let Some(place) = survey.branch_place(*id) else { continue };
        // What comes from a kind has no such line here.
        let Some(&said) = sides.get(&place) else { continue };
        let role = |point| survey.model.roles.get(&wire_side(survey, point)).copied();
        // The line itself gives its pins the roles of the side that it says: what is joined to them tells.
        let on_ground = survey.reach.ground[driver.b.index()];
        let (a, b) = (outside(survey, driver.a), outside(survey, driver.b));
        let (why, other) = if said == "high-side" && (on_ground || role(driver.b) == Some(PinRole::Return)) {
            (format!("it ends at {b}, a ground pin"), "low-side")
        } else if said == "low-side" && role(driver.a) == Some(PinRole::Feed) && !on_ground {
            (format!("it begins at {a}, a feed pin"), "high-side")
        } else {
            continue;
        };
        found
            .add(place, format!("{name} is said to be {said}, but {why}"))
            .help(format!("a high-side driver leads from a feed pin to its output, a low-side one from its output to a ground pin: write `{other}`, or mend the pins"));
    }
}
