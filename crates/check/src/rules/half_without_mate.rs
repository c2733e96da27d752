//! `half-without-mate`.

use std::collections::BTreeMap;

use halfsplit_circuit::{ConnectorId, PointId, PointKind};
use halfsplit_model::{Place, Wire};

use crate::{
    Rule,
    doubt::Lonely,
    rule::Found,
    survey::{Survey, ends},
};

pub(super) const RULE: Rule = rule!("half-without-mate", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    let mut by_connector: BTreeMap<ConnectorId, [Vec<&Lonely>; 2]> = BTreeMap::new();
    for lonely in &survey.lonely {
        let half = usize::from(half_of(survey, lonely.wired));
        by_connector.entry(lonely.connector).or_default()[half].push(lonely);
    }
    for [first, second] in by_connector.values() {
        // One cavity wired on this half and one on the other are most likely one slip.
        let pairs = first.len().min(second.len());
        for (one, two) in first.iter().zip(second) {
            let later =
                [one, two].into_iter().max_by_key(|l| wire_at(survey, l.wired).map(|(_, place)| place));
            let Some(later) = later else { continue };
            let earlier = if std::ptr::eq(*later, *one) { two } else { one };
            report(survey, found, later, Some(earlier));
        }
        for lonely in first[pairs..].iter().chain(&second[pairs..]) {
            report(survey, found, lonely, None);
        }
    }
}

fn report(survey: &Survey, found: &mut Found, lonely: &Lonely, pair: Option<&Lonely>) {
    let Some((wire, place)) = wire_at(survey, lonely.wired) else { return };
    let (name, wired, empty) =
        (survey.wire_name(wire), survey.point_name(lonely.wired), survey.point_name(lonely.empty));
    let detail = found.add(place, format!("{name} goes into {wired}, but no wire leaves {empty}"));
    match pair.and_then(|pair| Some((pair, wire_at(survey, pair.wired)?))) {
        Some((pair, (other, place))) => {
            let (other, at, free) =
                (survey.wire_name(other), survey.point_name(pair.wired), survey.point_name(pair.empty));
            detail
                .with(place, format!("{other} goes into {at}, and no wire leaves {free}"))
                .help(format!("do {name} and {other} belong to the same cavity?"));
        }
        None => {
            detail.help(format!(
                "draw the wire at {empty}; if there is none on the car, write `allow half-without-mate because \"…\" on {wired}`"
            ));
        }
    }
}

fn half_of(survey: &Survey, point: PointId) -> u8 {
    match survey.circuit().point(point).kind {
        PointKind::Cavity { half, .. } => half,
        _ => 0,
    }
}

fn wire_at<'m>(survey: &Survey<'m>, point: PointId) -> Option<(&'m Wire, Place)> {
    let wire = survey.wires_at(point).next()?;
    let place = ends(wire).find(|&(p, _)| p == point)?.1;
    Some((wire, place))
}
