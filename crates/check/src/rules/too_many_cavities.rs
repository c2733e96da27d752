//! `too-many-cavities`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("too-many-cavities", Error, File, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        let ProblemKind::TooManyCavities { connector, count, most } = &problem.kind else { continue };
        found
            .add(problem.place, format!("{connector} is said to have {count} cavities; {most} is the most it can get"))
            .help("one digit too many? no connector on a vehicle has more than 500, and no circuit more than 50000");
    }
}
