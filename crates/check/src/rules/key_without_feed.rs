//! `key-without-feed`.

use halfsplit_circuit::{BranchKind, Key};

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, list},
};

use super::load_without_feed::outside;

pub(super) const RULE: Rule = rule!("key-without-feed", Warning, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for (id, branch) in survey.loads() {
        let BranchKind::Feed { when, .. } = &branch.kind else { continue };
        let fed = |key: &Key| survey.reach.is_fed_in(*key, branch.a);
        let dead: Vec<Key> = when.keys.iter().copied().filter(|key| !fed(key)).collect();
        if dead.is_empty() || survey.doubts_net_of(branch.a) {
            continue;
        }
        let live: Vec<&str> = Key::ALL.iter().filter(|key| fed(key)).map(|key| key.word()).collect();
        if live.is_empty() {
            continue;
        }
        let Some(place) = survey.branch_place(id) else { continue };
        let dead: Vec<&str> = dead.iter().map(|key| key.word()).collect();
        let (part, pin) = (survey.part_name(branch.part), outside(survey, branch.a));
        found
            .add(
                place,
                format!(
                    "{part} is said to be awake with the key in {}, but {pin} is only fed in {}",
                    list(&dead),
                    list(&live)
                ),
            )
            .help(
                "mend the `key` words here or at the contact that feeds it; many supplies die while cranking",
            );
    }
}
