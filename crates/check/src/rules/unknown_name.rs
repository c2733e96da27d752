//! `unknown-name`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("unknown-name", Error, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        let ProblemKind::UnknownName { written, wanted, near } = &problem.kind else { continue };
        let detail = found.add(problem.place, format!("no {wanted} is called `{written}`"));
        match near {
            Some(near) => {
                detail.help(format!("did you mean `{near}`?")).fix(
                    format!("write `{near}`"),
                    problem.place,
                    near.clone(),
                );
            }
            None => {
                detail.help("declare it, or mend the spelling; names differ in case, and O is not 0");
            }
        }
    }
}
