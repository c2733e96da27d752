//! `unused-use`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("unused-use", Note, File, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        let ProblemKind::UnusedUse { written } = &problem.kind else { continue };
        found
            .add(problem.place, format!("nothing of `{written}` is used here"))
            .help("leave this line out, unless something is still to come");
    }
}
