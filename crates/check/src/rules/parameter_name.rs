//! `parameter-name`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("parameter-name", Error, File, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        match &problem.kind {
            ProblemKind::ParameterName { name, means } => {
                found
                    .add(problem.place, format!("`{name}` cannot be a parameter: it is {means}"))
                    .help("take a word in capitals that means nothing else in the block: `PLUG`, `CURRENT`");
            }
            ProblemKind::ParameterTwice { name, first } => {
                found
                    .add(problem.place, format!("`{name}` comes a second time"))
                    .with(*first, format!("`{name}` comes here first"))
                    .help("leave one of the two out; this second one is not used until then");
            }
            _ => {}
        }
    }
}
