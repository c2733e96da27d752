//! `two-wires-in-a-cavity`.

use halfsplit_circuit::{CavityRole, PointId, PointKind};
use halfsplit_model::{Place, Wire};

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, ends},
};

pub(super) const RULE: Rule = rule!("two-wires-in-a-cavity", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for crowd in &survey.crowds {
        let point = crowd.point;
        let mut wires: Vec<(&Wire, Place)> =
            survey.wires_at(point).filter_map(|w| Some((w, end_at(w, point)?))).collect();
        // The stranger last: the wire that is not of the cavity's colour, else the latest in the text.
        let said = said(survey, point);
        wires.sort_by_key(|(wire, place)| {
            let stranger = wire.colour.as_ref().is_some_and(|(colour, _)| !said.is_empty() && colour != said);
            (stranger, *place)
        });
        let beside = |one: &Wire| -> Vec<&(&Wire, Place)> {
            // Of two wires that no car has both of, neither is in the other's way.
            let together = |two: &Wire| two.place != one.place && !survey.never_together(one, two);
            wires.iter().filter(|(two, _)| together(two)).take(3).collect()
        };
        let Some(&(last, place)) = wires.iter().rev().find(|(wire, _)| !beside(wire).is_empty()) else {
            continue;
        };
        let double = survey.cavity_role(point) == Some(CavityRole::DoubleCrimp);
        let room = if double { "two wires are crimped in it already" } else { "one wire is in it already" };
        let (name, cavity) = (survey.wire_name(last), survey.point_name(point));
        let mut detail = found.add(place, format!("{name} goes into {cavity}, and {room}"));
        for (wire, place) in beside(last) {
            detail = detail.with(*place, format!("{} is in {cavity}", coloured(survey, wire)));
        }
        detail.help(advice(survey, point, last));
    }
}

/// The colour that the cavity's line gives on this half.
fn said<'m>(survey: &Survey<'m>, point: PointId) -> &'m str {
    match survey.circuit().point(point).kind {
        PointKind::Cavity { connector, half, cavity } => {
            &survey.circuit().connector(connector).cavities[cavity as usize].colours[half as usize]
        }
        _ => "",
    }
}

fn advice(survey: &Survey, point: PointId, wire: &Wire) -> String {
    let colour = wire.colour.as_ref().map(|(colour, _)| colour.as_str());
    let PointKind::Cavity { connector, half, .. } = survey.circuit().point(point).kind else {
        return String::new();
    };
    let free = survey.circuit().connector(connector).cavities.iter().find(|cavity| {
        let empty = cavity.points[half as usize].is_some_and(|p| survey.wires_at(p).next().is_none());
        let fits = colour.is_some_and(|colour| cavity.colours[half as usize] == colour);
        empty && fits && matches!(cavity.role, CavityRole::Plain | CavityRole::DoubleCrimp)
    });
    match (free, colour) {
        (Some(cavity), Some(colour)) => format!(
            "cavity {} is {colour} and has no wire: is it meant? Where two wires share one terminal, write `double-crimp` on its line",
            cavity.name
        ),
        _ => "one of them likely belongs to the next cavity, or to a splice before it; where two wires share one \
              terminal, write `double-crimp` on its line"
            .to_owned(),
    }
}

fn coloured(survey: &Survey, wire: &Wire) -> String {
    match &wire.colour {
        Some((colour, _)) => format!("{} {colour}", survey.wire_name(wire)),
        None => survey.wire_name(wire).to_owned(),
    }
}

fn end_at(wire: &Wire, point: PointId) -> Option<Place> {
    ends(wire).find(|&(p, _)| p == point).map(|(_, place)| place)
}
