//! `colour-contradiction`.

use halfsplit_circuit::{CavityRole, PointId, PointKind};
use halfsplit_model::{Entity, Place, Wire};
use halfsplit_syntax::colour::colour_name;

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, ends},
};

pub(super) const RULE: Rule = rule!("colour-contradiction", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for wire in &survey.model.wires {
        let Some((colour, place)) = &wire.colour else { continue };
        let against: Vec<Clash> =
            ends(wire).filter_map(|(point, _)| clash(survey, wire, colour, point)).collect();
        let Some(first) = against.first() else { continue };
        let (name, said, cavity) = (survey.wire_name(wire), first.colour, survey.point_name(first.point));
        let message = format!("{name} is {}, but the line of {cavity} says {}", spoken(colour), spoken(said));
        let mut detail = found.add(*place, message);
        for clash in &against {
            detail = detail.with_some(clash.place, format!("{} here", clash.colour));
        }
        if first.inline && against.len() == 1 {
            detail.help(
                "mend the one that is wrong; where the colour changes in this connector, write both on its line: \
                 `GY/RD to GY/YE`, first half first",
            );
        } else if against.len() == 2 && against[0].colour == against[1].colour {
            detail.help("both ends agree: the wire's own colour is likely the slip").fix(
                format!("write {said}"),
                *place,
                said.to_owned(),
            );
        } else {
            detail.help("mend the one that is wrong: base colour first, then the tracer; or the wire is in the wrong cavity");
        }
    }
}

struct Clash<'m> {
    point: PointId,
    colour: &'m str,
    place: Option<Place>,
    inline: bool,
}

/// The colour that a cavity's line gives, where it is another than the wire's.
fn clash<'m>(survey: &Survey<'m>, wire: &Wire, colour: &str, point: PointId) -> Option<Clash<'m>> {
    let PointKind::Cavity { connector, half, cavity } = survey.circuit().point(point).kind else {
        return None;
    };
    let connector = survey.circuit().connector(connector);
    let cavity = connector.cavities.get(cavity as usize)?;
    let said = cavity.colours[half as usize].as_str();
    if said.is_empty() || said == colour {
        return None;
    }
    // With several wires in one cavity the line can only give the colour of one.
    let shared = survey.wires_at(point).take(16).any(|other| {
        other.part != wire.part && other.colour.as_ref().is_some_and(|(other, _)| other == said)
    });
    if shared || cavity.role == CavityRole::Elsewhere {
        return None;
    }
    let place = survey.model.declaration(Entity::Point(point));
    Some(Clash { point, colour: said, place, inline: connector.owner.is_none() })
}

/// `GY/RD (grey with a red tracer)`.
fn spoken(colour: &str) -> String {
    match colour_name(colour) {
        Some(name) => format!("{colour} ({name})"),
        None => colour.to_owned(),
    }
}
