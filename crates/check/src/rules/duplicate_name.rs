//! `duplicate-name`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("duplicate-name", Error, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        let ProblemKind::DuplicateName { name, other, first } = &problem.kind else { continue };
        if name == other {
            found
                .add(problem.place, format!("`{name}` is declared a second time"))
                .with(*first, format!("`{name}` is declared here"))
                .help("give one of the two another name; this second line is left out until then");
        } else {
            found
                .add(problem.place, format!("`{name}` looks like `{other}`, which is declared already"))
                .with(*first, format!("`{other}` is declared here"))
                .help("if both are the same, write it the same way; if not, choose a name that nobody misreads");
        }
    }
}
