//! `use-not-found`.

use halfsplit_base::Refused;
use halfsplit_model::ProblemKind;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("use-not-found", Error, File, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        match &problem.kind {
            ProblemKind::UseNotFound { written, root, why } => {
                let from = match root.as_str() {
                    "" => "the folder of this file".to_owned(),
                    root => format!("`{root}`"),
                };
                let (message, help) = match why {
                    Refused::Missing => (
                        format!("there is no file `{written}`"),
                        format!("the path starts at the library's root, which is {from}"),
                    ),
                    Refused::LedOut => (
                        format!("`{written}` is a link that leads out of the library"),
                        format!("put the file itself under the library's root, which is {from}"),
                    ),
                    Refused::Unread(words) => (
                        format!("`{written}` cannot be read: {words}"),
                        "nothing of it is known here until it can be read".to_owned(),
                    ),
                };
                found.add(problem.place, message).help(help);
            }
            ProblemKind::NoSuchStd { written, known } => {
                let message = format!("the standard library has no file `{written}`");
                found.add(problem.place, message).help(format!("it has {}", known.join(", ")));
            }
            _ => {}
        }
    }
}
