//! `serial-overlap`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("serial-overlap", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        let ProblemKind::SerialOverlap { name, first, from, to } = &problem.kind else { continue };
        let which = match to {
            to if to == from => format!("build serial {from}"),
            &u64::MAX => format!("every build serial from {from} on"),
            to => format!("build serials {from} to {to}"),
        };
        found
            .add(problem.place, format!("{name} is said twice for {which}"))
            .with(*first, "the other one holds for them too")
            .help("a range ends one before the next begins: `when serial 1..40217`, `when serial >= 40218`");
    }
}
