//! `ambiguous-name`.

use halfsplit_model::ProblemKind;

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, list},
};

pub(super) const RULE: Rule = rule!("ambiguous-name", Error, File, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        let ProblemKind::AmbiguousName { written, candidates } = &problem.kind else { continue };
        let quoted: Vec<String> = candidates.iter().take(4).map(|name| format!("`{name}`")).collect();
        found
            .add(problem.place, format!("`{written}` can be any of {}", list(&quoted)))
            .help("write the name of the part in front, then a dot");
    }
}
