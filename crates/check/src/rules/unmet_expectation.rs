//! `unmet-expectation`.

use crate::{Rule, expect::Outcome, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("unmet-expectation", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for expectation in &survey.expectations {
        let Outcome::Unmet(instead) = &expectation.outcome else { continue };
        found
            .add(
                expectation.place,
                format!("\"{}\" expects `{}`, but {instead}", expectation.title, expectation.expected),
            )
            .help(
                "either the circuit is wrong on the way to it, or the block: its state, its fault, or the value \
                 copied from the drawing",
            );
    }
}
