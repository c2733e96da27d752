//! `half-missing`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("half-missing", Error, File, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        let ProblemKind::HalfMissing { written, halves: [one, two] } = &problem.kind else { continue };
        found
            .add(problem.place, format!("`{written}` does not say on which half of the inline connector"))
            .help(format!("write `{one}` or `{two}`"));
    }
}
