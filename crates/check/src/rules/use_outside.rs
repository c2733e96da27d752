//! `use-outside`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("use-outside", Error, File, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        let ProblemKind::UseOutside { written, why } = &problem.kind else { continue };
        found.add(problem.place, format!("`{written}`: {why}")).help(
            "write the path from the library's root, `lib/sensors.circuit`; nothing outside it is read",
        );
    }
}
