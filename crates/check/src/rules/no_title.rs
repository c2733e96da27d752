//! `no-title`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("no-title", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        if problem.kind == ProblemKind::NoTitle {
            found
                .add(problem.place, "this file has no `circuit` line")
                .help("write what the circuit does in its second line: `circuit \"rear lamps\"`; a file that only serves others says `library \"…\"` there");
        }
    }
}
