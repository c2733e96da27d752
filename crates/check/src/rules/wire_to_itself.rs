//! `wire-to-itself`.

use halfsplit_model::WireEnd;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("wire-to-itself", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for wire in &survey.model.wires {
        if let [WireEnd::Point(a, first), WireEnd::Point(b, second)] = wire.ends {
            if a == b {
                let (name, point) = (survey.wire_name(wire), survey.point_name(a));
                found
                    .add(second, format!("both ends of {name} are at {point}"))
                    .with(first, "the same place")
                    .help("one of the two ends is somewhere else");
            }
        }
    }
}
