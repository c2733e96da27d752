//! `pins-swapped`.

use halfsplit_circuit::{Branch, BranchId, BranchKind, PartKind};

use crate::{Rule, rule::Found, survey::Survey, wrong_pin::is_turned_on_reference};

use super::load_without_feed::outside;

pub(super) const RULE: Rule = rule!("pins-swapped", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    let mut swapped: Vec<(BranchId, &Branch)> =
        survey.loads().filter(|(_, branch)| is_swapped(survey, branch)).collect();
    for (name, id) in &survey.circuit().outputs {
        let reference = survey.circuit().branch(*id);
        if !matches!(reference.kind, BranchKind::Reference { .. }) {
            continue;
        }
        let on = |load: &Branch| {
            survey.net_of(load.a) == survey.net_of(reference.b)
                && survey.net_of(load.b) == survey.net_of(reference.a)
        };
        // Whatever hangs on a reference is swapped at once only where the reference is.
        let users = swapped.iter().filter(|(_, load)| on(load)).count();
        let Some(place) = survey.branch_place(*id).filter(|_| users > 1) else { continue };
        swapped.retain(|(_, load)| !on(load));
        let (pin, ground) = (outside(survey, reference.a), outside(survey, reference.b));
        found
            .add(
                place,
                format!(
                    "{name} gives its volts at {pin} and has its ground at {ground}, but all {users} that hang on it take {ground} \
                     for their feed and {pin} for their ground"
                ),
            )
            .help("the two pins are swapped here, or the two wires at the module");
    }
    for (id, branch) in swapped {
        let Some(place) = survey.branch_place(id) else { continue };
        let (feed, ground) = (outside(survey, branch.a), outside(survey, branch.b));
        let part = survey.part_name(branch.part);
        found
            .add(place, format!("{part} takes {feed} for its feed and {ground} for its ground, but {feed} is grounded and {ground} is fed"))
            .help("the two pins are swapped, here or at the wires");
    }
}

/// Whether a load that works one way round only is the other way round.
fn is_swapped(survey: &Survey, load: &Branch) -> bool {
    // Lamps, motors and heaters work either way round.
    let one_way = survey.circuit().part(load.part).kind == PartKind::Sensor
        || matches!(load.kind, BranchKind::Feed { .. });
    let [a, b] = [load.a, load.b];
    let reach = &survey.reach;
    if !one_way {
        return false;
    }
    reach.ground[a.index()] && reach.is_fed(b) && !reach.ground[b.index()]
        || is_turned_on_reference(survey, load)
}
