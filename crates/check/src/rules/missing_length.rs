//! `missing-length`.

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("missing-length", Warning, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    // A line that is broken is reported as such.
    for wire in survey.model.wires.iter().filter(|wire| wire.length.is_none() && wire.is_whole()) {
        found
            .add(
                survey.wire_place(wire),
                format!("{} has no length, so its resistance is not known", survey.wire_name(wire)),
            )
            .help("write it behind the section: `2.2 m`; write `unknown` in its place if nobody knows");
    }
}
