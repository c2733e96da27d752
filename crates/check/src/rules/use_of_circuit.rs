//! `use-of-circuit`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("use-of-circuit", Error, File, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        let ProblemKind::UseOfCircuit { written, title } = &problem.kind else { continue };
        found
            .add(problem.place, format!("`{written}` is a circuit of its own and not a library"))
            .with(*title, "its title is here")
            .help("put what both need into a file that opens with `library \"…\"`, and let both use that");
    }
}
