//! `floating-net`.

use halfsplit_circuit::{PointId, PointKind};

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("floating-net", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for net in survey.nets() {
        if !is_floating(survey, &net.points) || net.points.iter().any(|&p| survey.doubts_but_loose(p)) {
            continue;
        }
        let wires = survey.wires_of(net);
        let Some(first) = wires.first() else { continue };
        let message = match wires.len() {
            1 => format!("{} joins no part, ground or supply at either end", survey.wire_name(first)),
            _ => format!(
                "{} are joined to each other and to no part, ground or supply",
                survey.wires_in_words(&wires)
            ),
        };
        let mut detail = found.add(survey.wire_place(first), message);
        for wire in wires.iter().skip(1).take(3) {
            detail = detail.with(survey.wire_place(wire), "this wire belongs to it");
        }
        detail.help("a wire to a part, an inline connector or a ground point is missing, or one names the wrong splice");
    }
}

/// Whether nothing but wires, splices and inline connectors is in a net.
pub(super) fn is_floating(survey: &Survey, points: &[PointId]) -> bool {
    points.iter().all(|&point| match survey.circuit().point(point).kind {
        PointKind::Splice => true,
        PointKind::Cavity { connector, .. } => {
            survey.circuit().connector(connector).owner.is_none() && !survey.is_elsewhere(point)
        }
        _ => false,
    })
}
