//! `load-without-feed`.

use std::collections::BTreeMap;

use halfsplit_circuit::{BranchId, Key, PointId};

use crate::{
    Rule,
    doubt::missing_colours,
    rule::Found,
    survey::{Survey, list},
};

pub(super) const RULE: Rule = rule!("load-without-feed", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    if !survey.reach.has_supply {
        return;
    }
    let missing = missing_colours(survey);
    for (net, loads) in unfed(survey) {
        // The wire that is missing at an inline connector is reported there.
        if survey.has_colour(net, &missing) {
            continue;
        }
        let Some(&first) = loads.first() else { continue };
        let Some(place) = survey.branch_place(first) else { continue };
        let branch = survey.circuit().branch(first);
        let pin = outside(survey, branch.a);
        let mut wires = survey.wires_of(&survey.nets()[net]);
        let mut parts: Vec<&str> =
            loads.iter().map(|&l| survey.part_name(survey.circuit().branch(l).part)).collect();
        parts.dedup();
        let why = match (wires.len(), survey.reach.ground[branch.a.index()], survey.reach.is_fed(branch.a)) {
            (0, ..) => format!("no wire ends at {pin}"),
            (_, true, _) => {
                let at_pin: Vec<_> = survey.wires_at(wire_side(survey, branch.a)).collect();
                wires = if at_pin.is_empty() { wires } else { at_pin };
                format!("{} joins it to ground", survey.wires_in_words(&wires))
            }
            (_, _, true) => format!("no key position both feeds {pin} and gives its current a way back"),
            (1, ..) => format!("{} ends where nothing feeds it", survey.wire_name(wires[0])),
            _ => format!("{} lead to no supply, fuse or output", survey.wires_in_words(&wires)),
        };
        let mut detail = found.add(place, format!("nothing feeds {} at {pin}: {why}", list(&parts)));
        for wire in wires.iter().take(3) {
            detail = detail.with(survey.wire_place(wire), "this wire is joined to it");
        }
        detail.help("draw the wire, fuse or contact that is missing; where it is in another file, mark the cavity `elsewhere`");
    }
}

/// Loads that no supply reaches in any key position, by the net of their feed pin.
fn unfed(survey: &Survey) -> BTreeMap<usize, Vec<BranchId>> {
    let mut by_net: BTreeMap<usize, Vec<BranchId>> = BTreeMap::new();
    for (id, branch) in survey.loads() {
        let [a, b] = [branch.a, branch.b];
        let both = |feed: PointId, back: PointId| {
            Key::ALL.iter().any(|&k| survey.reach.is_fed_in(k, feed) && survey.reach.is_returned_in(k, back))
        };
        let lacks_only_return = survey.reach.is_fed(a) && !survey.reach.is_returned(b);
        let sound = both(a, b) || survey.reach.is_turned(a, b) || lacks_only_return;
        if !sound && !survey.doubts_net_of(a) {
            by_net.entry(survey.net_of(a)).or_default().push(id);
        }
    }
    by_net
}

/// The name of a pin from outside.
pub(super) fn outside<'m>(survey: &Survey<'m>, point: PointId) -> &'m str {
    survey.point_name(wire_side(survey, point))
}

/// The outside of a pin: of a part's cavity its wire side.
pub(crate) fn wire_side(survey: &Survey, point: PointId) -> PointId {
    match survey.circuit().point(point).kind {
        halfsplit_circuit::PointKind::Cavity { connector, cavity, .. } => {
            let connector = survey.circuit().connector(connector);
            match connector.cavities.get(cavity as usize).and_then(|c| c.points[0]) {
                Some(wire_side) if connector.owner.is_some() => wire_side,
                _ => point,
            }
        }
        _ => point,
    }
}
