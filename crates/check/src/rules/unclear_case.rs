//! `unclear-case`.

use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("unclear-case", Error, Case, check);

fn check(survey: &Survey, found: &mut Found) {
    for fact in survey.model.case.iter().flat_map(|case| &case.facts) {
        if let Err(error) = halfsplit_plan::case::understood(survey.circuit(), &fact.words) {
            found.add(fact.place, error.to_string()).help("as it stands it would count for nothing");
        }
    }
    for problem in &survey.model.problems {
        let ProblemKind::Unclear { words } = &problem.kind else { continue };
        found
            .add(problem.place, format!("the circuit of this case does not know such a state: {words}"))
            .help("every reading below it would be computed for another state than the car was in");
    }
}
