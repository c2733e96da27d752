//! `wrong-argument`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("wrong-argument", Error, File, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        match &problem.kind {
            ProblemKind::WrongArgument { name, kind, message, declared } => {
                let what = match name.as_str() {
                    "" => "what is set here".to_owned(),
                    name => format!("`{name}`"),
                };
                found
                    .add(problem.place, format!("{what} does not fit kind `{kind}`: {message}"))
                    .with(*declared, format!("`{kind}` is declared here"))
                    .help("give it what the kind's own value is: the same unit, or the same sort of name");
            }
            ProblemKind::WithoutKind => {
                found
                    .add(problem.place, "`with` sets parameters of a kind, and this part is of none")
                    .help("name the kind behind the part's name: `sensor B4 as PRESSURE`");
            }
            _ => {}
        }
    }
}
