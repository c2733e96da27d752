//! `wrong-kind`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("wrong-kind", Error, File, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        let ProblemKind::WrongKind { name, sort, part, declared } = &problem.kind else { continue };
        found
            .add(problem.place, format!("`{name}` is a kind of {sort}, and this is a {part}"))
            .with(*declared, format!("`{name}` is declared here"))
            .help(format!("open the line with `{sort}`, or name a kind of {part}"));
    }
}
