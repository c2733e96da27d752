//! `cavity-twice`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("cavity-twice", Error, File, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        let ProblemKind::CavityTwice { connector, cavity, first } = &problem.kind else { continue };
        found
            .add(problem.place, format!("cavity {cavity} of {connector} has a second line"))
            .with(*first, format!("cavity {cavity} stands here already"))
            .help("one of the two is likely another cavity; where both are right, make them one line");
    }
}
