//! `load-without-return`.

use std::collections::BTreeMap;

use halfsplit_circuit::{BranchId, PointId, PointKind};

use crate::{
    Rule,
    doubt::missing_colours,
    rule::Found,
    survey::{Survey, list},
};

use super::{load_without_feed::outside, pin_on_blank_cavity};

pub(super) const RULE: Rule = rule!("load-without-return", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    if !survey.reach.has_supply {
        return;
    }
    let missing = missing_colours(survey);
    let on_blank = pin_on_blank_cavity::parts(survey);
    for (net, loads) in unreturned(survey) {
        // A ground pin that is said to be blank is reported there.
        if loads.iter().any(|&load| on_blank.contains(&survey.circuit().branch(load).part)) {
            continue;
        }
        // The wire that is missing at an inline connector is reported there.
        if survey.has_colour(net, &missing) {
            continue;
        }
        let Some(&first) = loads.first() else { continue };
        let Some(place) = survey.branch_place(first) else { continue };
        let branch = survey.circuit().branch(first);
        let mut parts: Vec<&str> =
            loads.iter().map(|&l| survey.part_name(survey.circuit().branch(l).part)).collect();
        parts.dedup();
        if survey.circuit().point(branch.b).kind == PointKind::Inside {
            let part = list(&parts);
            found
                .add(place, format!("the current of {part} has no way back: none of its lines names a ground pin that is wired"))
                .help("name the ground pins in a `return` line, and draw their wires to ground");
            continue;
        }
        let pin = outside(survey, branch.b);
        let wires = survey.wires_of(&survey.nets()[net]);
        let why = match wires.len() {
            0 => format!("no wire ends at {pin}"),
            1 => format!("{} ends where nothing leads to ground", survey.wire_name(wires[0])),
            _ => format!("{} lead to no ground point or battery post", survey.wires_in_words(&wires)),
        };
        let mut detail =
            found.add(place, format!("the current of {} has no way back from {pin}: {why}", list(&parts)));
        for wire in wires.iter().take(3) {
            detail = detail.with(survey.wire_place(wire), "this wire is joined to it");
        }
        let help = match foreign(survey, pin) {
            Some(name) => format!(
                "a line in a part's block names the part's own terminals: name one, such as `31`, and draw the wire from it to {name}"
            ),
            None => "draw the ground wire that is missing; where it is in another file, mark the cavity `elsewhere`".to_owned(),
        };
        detail.help(help);
    }
}

/// The ground point, splice or bar after which a part's own terminal is called, where there is one: whoever wrote that
/// line meant it.
fn foreign<'n>(survey: &Survey, terminal: &'n str) -> Option<&'n str> {
    let (_, name) = terminal.split_once(':')?;
    let is_shared = |&point: &PointId| {
        matches!(survey.circuit().point(point).kind, PointKind::Ground | PointKind::Splice | PointKind::Bar)
    };
    survey.model.names.points_called(name).iter().any(is_shared).then_some(name)
}

/// Loads from which current does not get back in any key position, by the net of their ground pin.
fn unreturned(survey: &Survey) -> BTreeMap<usize, Vec<BranchId>> {
    let mut by_net: BTreeMap<usize, Vec<BranchId>> = BTreeMap::new();
    for (id, branch) in survey.loads() {
        let [a, b] = [branch.a, branch.b];
        let back = |point: PointId| survey.reach.is_returned(point);
        let turned = survey.reach.is_turned(a, b);
        // With no wire at either pin the part is not drawn yet; that is one finding, not two.
        let bare = |point| !survey.is_wired(&survey.nets()[survey.net_of(point)]);
        let undrawn = !survey.reach.is_fed(a) && bare(a) && bare(b);
        if !back(b) && !turned && !undrawn && !survey.doubts_net_of(b) {
            by_net.entry(survey.net_of(b)).or_default().push(id);
        }
    }
    by_net
}
