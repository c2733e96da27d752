//! `meter-place`.

use std::collections::{BTreeSet, VecDeque};

use halfsplit_circuit::{BranchKind, ConnectorId, Minutes, PointId, PointKind};
use halfsplit_model::Entity;

use crate::{
    Rule,
    rule::Found,
    short::other,
    survey::{Survey, number},
};

pub(super) const RULE: Rule = rule!("meter-place", Note, Circuit, check);

/// More inline connectors than any reference passes; beyond it nobody chooses by eye.
const MOST_INLINES: usize = 64;

fn check(survey: &Survey, found: &mut Found) {
    for (name, id) in &survey.circuit().outputs {
        let reference = survey.circuit().branch(*id);
        if !matches!(reference.kind, BranchKind::Reference { .. }) {
            continue;
        }
        // Where a wire is reported, the net is not what it will be.
        if survey.doubts_net_of(reference.a) {
            continue;
        }
        let net = &survey.nets()[survey.net_of(reference.a)];
        let mut pins: Vec<(Minutes, PointId, ConnectorId)> =
            net.points.iter().filter_map(|&point| resting_place(survey, point)).collect();
        pins.sort_by(|one, two| one.0.total_cmp(&two.0));
        let Some(&(least, ..)) = pins.first() else { continue };
        let cheapest: Vec<_> = pins.iter().copied().filter(|pin| pin.0 <= least).collect();
        let inlines: BTreeSet<ConnectorId> = net.points.iter().filter_map(|&p| inline(survey, p)).collect();
        if inlines.len() > MOST_INLINES {
            continue;
        }
        let stay: Vec<(ConnectorId, BTreeSet<PointId>)> =
            inlines.iter().map(|&inline| (inline, stays(survey, reference.a, inline))).collect();
        let beyond = |point: PointId| {
            stay.iter().find(|(_, joined)| !joined.contains(&point)).map(|(inline, _)| *inline)
        };
        // One cheapest pin that stays joined is enough.
        let Some(traps) = cheapest.iter().map(|pin| Some((*pin, beyond(pin.1)?))).collect::<Option<Vec<_>>>()
        else {
            continue;
        };
        let Some(&((minutes, pin, connector), inline)) = traps.first() else { continue };
        let owner = survey.circuit().connector(connector);
        let between = &survey.circuit().connector(inline).name;
        let Some(place) = survey.name_place(Entity::Connector(connector)) else { continue };
        let help = match pins.iter().find(|pin| beyond(pin.1).is_none()) {
            Some(&(minutes, pin, _)) => format!(
                "rest it at {} instead ({} min), which stays joined to {name}",
                survey.point_name(pin),
                number(minutes)
            ),
            None => format!(
                "no pin of this net stays joined to {name} when {between} is parted: the meter has to move then"
            ),
        };
        found
            .add(
                place,
                format!(
                    "{}, {} min away, is the easiest place for the meter on {name}, but it lies beyond {between}: once {between} is parted \
                     the meter hangs on a dead stub at {}",
                    owner.name,
                    number(minutes),
                    survey.point_name(pin)
                ),
            )
            .with_some(survey.name_place(Entity::Connector(inline)), format!("{between} lies between"))
            .help(help);
    }
}

/// A plug pin on which a lead can rest, with the minutes to get there.
fn resting_place(survey: &Survey, point: PointId) -> Option<(Minutes, PointId, ConnectorId)> {
    let PointKind::Cavity { connector, half: 0, .. } = survey.circuit().point(point).kind else {
        return None;
    };
    let on = survey.circuit().connector(connector);
    on.owner?;
    survey.wires_at(point).next()?;
    Some((on.reach?, point, connector))
}

fn inline(survey: &Survey, point: PointId) -> Option<ConnectorId> {
    let PointKind::Cavity { connector, .. } = survey.circuit().point(point).kind else { return None };
    survey.circuit().connector(connector).owner.is_none().then_some(connector)
}

/// What stays joined to a point by copper while a connector is parted.
fn stays(survey: &Survey, start: PointId, parted: ConnectorId) -> BTreeSet<PointId> {
    let mut seen = BTreeSet::from([start]);
    let mut queue = VecDeque::from([start]);
    while let Some(here) = queue.pop_front() {
        for (_, branch) in survey.branches_at(here) {
            let shut = matches!(branch.kind, BranchKind::Mated { connector, .. } if connector == parted);
            let there = other(branch, here);
            if branch.kind.is_copper() && !shut && seen.insert(there) {
                queue.push_back(there);
            }
        }
    }
    seen
}
