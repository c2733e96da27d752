//! `unreadable-expectation`.

use crate::{Rule, expect::Outcome, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("unreadable-expectation", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    let mut last = None;
    for expectation in &survey.expectations {
        let Outcome::Unreadable(place, words) = &expectation.outcome else { continue };
        // One slip in a block is in the way of all its lines.
        if last.replace(*place) == Some(*place) {
            continue;
        }
        found
            .add(*place, format!("\"{}\" cannot be computed: {words}", expectation.title))
            .help("a block is computed in the state that it says, with the words of `halfsplit volts`");
    }
}
