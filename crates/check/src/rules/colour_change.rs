//! `colour-change`.

use halfsplit_circuit::PointId;
use halfsplit_model::{Place, Wire};

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, ends},
};

pub(super) const RULE: Rule = rule!("colour-change", Warning, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for connector in survey.circuit().connectors.iter().filter(|c| c.owner.is_none()) {
        for cavity in &connector.cavities {
            let [Some(first), Some(second)] = cavity.points else { continue };
            // A line that gives colours is held against each wire on its own.
            if !cavity.colours[0].is_empty() {
                continue;
            }
            let (Some(one), Some(two)) = (only_colour(survey, first), only_colour(survey, second)) else {
                continue;
            };
            if one.1 != two.1 {
                let (name, at) = (&connector.name, &cavity.name);
                let message = format!(
                    "{} is {} and {} is {}: the colour changes in cavity {at} of {name}, and no line there says so",
                    survey.wire_name(one.0),
                    one.1,
                    survey.wire_name(two.0),
                    two.1
                );
                found
                    .add(two.2, message)
                    .with(one.2, format!("{} on the {} half", one.1, connector.halves[0]))
                    .help(format!(
                        "if it does on the car, add the line `{at} {} to {}` to {name}",
                        one.1, two.1
                    ));
            }
        }
    }
}

/// The wire at a point and its colour, if there is one wire and it has a colour.
fn only_colour<'m>(survey: &Survey<'m>, point: PointId) -> Option<(&'m Wire, &'m str, Place)> {
    let mut wires = survey.wires_at(point);
    let (wire, None) = (wires.next()?, wires.next()) else { return None };
    let (colour, place) = wire.colour.as_ref()?;
    ends(wire).next()?;
    Some((wire, colour.as_str(), *place))
}
