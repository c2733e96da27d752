//! `use-cycle`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("use-cycle", Error, File, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        let ProblemKind::UseCycle { chain } = &problem.kind else { continue };
        found
            .add(problem.place, format!("these files use each other in a ring: {}", chain.join(" → ")))
            .help("put what both need into a third file, and let both use that");
    }
}
