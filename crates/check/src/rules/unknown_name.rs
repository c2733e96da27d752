//! `unknown-name`.

use halfsplit_base::Severity;
use halfsplit_model::{Model, ProblemKind};

use crate::{Rule, rule::Found};

pub(super) const RULE: Rule = Rule {
    id: "unknown-name",
    severity: Severity::Error,
    page: include_str!("unknown-name.md"),
    check: Some(check),
};

fn check(model: &Model, found: &mut Found) {
    for problem in &model.problems {
        let ProblemKind::UnknownName { written, wanted, near } = &problem.kind else { continue };
        let detail = found.add(problem.place, format!("no {wanted} is called `{written}`"));
        match near {
            Some(near) => {
                detail
                    .help(format!("did you mean `{near}`?"))
                    .fix(format!("write `{near}`"), problem.place, near.clone());
            }
            None => {
                detail.help(format!("declare it, or mend the spelling; names differ in case, and O is not 0"));
            }
        }
    }
}
