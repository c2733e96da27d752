//! `serial-gap`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("serial-gap", Warning, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        let ProblemKind::SerialGap { name, first, from, to } = &problem.kind else { continue };
        let which = match to {
            to if to == from => format!("build serial {from}"),
            to => format!("build serials {from} to {to}"),
        };
        found
            .add(problem.place, format!("nothing says what {name} is for {which}"))
            .with(*first, "the one before ends earlier")
            .help("let the ranges meet; where such cars were never built, allow this with that reason");
    }
}
