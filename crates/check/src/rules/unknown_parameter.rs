//! `unknown-parameter`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("unknown-parameter", Error, File, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        let ProblemKind::UnknownParameter { name, kind, known, declared } = &problem.kind else { continue };
        let help = match known.as_slice() {
            [] => "it has none: write the fact itself into this part's block, and it replaces the kind's"
                .to_owned(),
            known => format!(
                "it has {}; any other fact is replaced by writing it into this part's block",
                known.join(", ")
            ),
        };
        found
            .add(problem.place, format!("kind `{kind}` has no parameter `{name}`"))
            .with(*declared, format!("`{kind}` is declared here"))
            .help(help);
    }
}
