//! `pins-swapped`.

use halfsplit_circuit::{BranchKind, PartKind};

use crate::{Rule, rule::Found, survey::Survey};

use super::load_without_feed::outside;

pub(super) const RULE: Rule = rule!("pins-swapped", Error, check);

fn check(survey: &Survey, found: &mut Found) {
    for (id, branch) in survey.loads() {
        let kind = survey.circuit().part(branch.part).kind;
        // Lamps, motors and heaters work either way round.
        if !(kind == PartKind::Sensor || matches!(branch.kind, BranchKind::Feed { .. })) {
            continue;
        }
        let [a, b] = [branch.a, branch.b];
        let grounded = survey.reach.ground[a.index()];
        if grounded && survey.reach.is_fed(b) && !survey.reach.ground[b.index()] {
            let Some(place) = survey.branch_place(id) else { continue };
            let (feed, ground) = (outside(survey, a), outside(survey, b));
            let part = survey.part_name(branch.part);
            found
                .add(place, format!("{part} takes {feed} for its feed and {ground} for its ground, but {feed} is grounded and {ground} is fed"))
                .help("the two pins are swapped, here or at the wires");
        }
    }
}
