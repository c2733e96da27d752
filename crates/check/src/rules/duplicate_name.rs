//! `duplicate-name`.

use halfsplit_model::{Place, ProblemKind};

use crate::{Rule, rule::Found, survey::Survey};

use super::unknown_name::is_near;

pub(super) const RULE: Rule = rule!("duplicate-name", Error, File, check);

fn check(survey: &Survey, found: &mut Found) {
    let unknown = unknown(survey);
    for problem in &survey.model.problems {
        let ProblemKind::DuplicateName { name, other, first } = &problem.kind else { continue };
        if name == other {
            let mut detail = found
                .add(problem.place, format!("`{name}` is declared a second time"))
                .with(*first, format!("`{name}` is declared here"));
            if let Some((place, lost)) = lost(&unknown, name) {
                detail = detail.with(place, format!("`{lost}`, named here, is declared nowhere"));
            }
            detail.help("give one of the two another name; this second line is left out until then");
        } else {
            found
                .add(problem.place, format!("`{name}` looks like `{other}`, which is declared already"))
                .with(*first, format!("`{other}` is declared here"))
                .help(
                    "if both are the same, write it the same way; if not, choose a name that nobody misreads",
                );
        }
    }
}

/// Names that nothing declares and that are looked through: a file with more is wrong in another way.
const MOST_UNKNOWN: usize = 100;

fn unknown<'m>(survey: &Survey<'m>) -> Vec<(Place, &'m str)> {
    let unknown = survey.model.problems.iter().filter_map(|problem| match &problem.kind {
        ProblemKind::UnknownName { written, .. } => Some((problem.place, written.as_str())),
        _ => None,
    });
    unknown.take(MOST_UNKNOWN).collect()
}

/// The first name that nothing declares and that this one is near to.
fn lost<'m>(unknown: &[(Place, &'m str)], name: &str) -> Option<(Place, &'m str)> {
    unknown.iter().find(|(_, written)| is_near(name, written)).copied()
}
