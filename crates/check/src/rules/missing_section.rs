//! `missing-section`.

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("missing-section", Warning, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    // A line that is broken is reported as such.
    for wire in survey.model.wires.iter().filter(|wire| wire.section.is_none() && wire.is_whole()) {
        found
            .add(survey.wire_place(wire), format!("{} has no section, so its resistance is not known", survey.wire_name(wire)))
            .help("write it behind the colour: `0.5 mm2`, `20 AWG`; write `unknown` in its place if nobody knows");
    }
}
