//! `implausible-value`.

use halfsplit_model::Entity;

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, number},
};

pub(super) const RULE: Rule = rule!("implausible-value", Warning, Circuit, check);

/// Longer than the wire from end to end of any coach or road train, in metres.
const LONGEST: f64 = 60.0;
/// Shorter than a wire can be crimped at both ends, in metres.
const SHORTEST: f64 = 0.01;
/// Thicker than any battery cable, in mm².
const THICKEST: f64 = 240.0;
/// Longer than anything but a dash or a body panel takes to come out, in minutes. Own estimate.
const LONG: f64 = 180.0;

fn check(survey: &Survey, found: &mut Found) {
    for wire in &survey.model.wires {
        let name = survey.wire_name(wire);
        if let Some((Some(metres), place)) = wire.length {
            if metres > LONGEST {
                found
                    .add(place, format!("{name} is {} m long; no vehicle is", number(metres)))
                    .help("was it measured in cm or mm? write the unit that it was measured in");
            } else if metres < SHORTEST {
                found
                    .add(place, format!("{name} is {} mm long", number(metres * 1000.0)))
                    .help("a wire is at least as long as its two terminals; write `unknown` if nobody knows");
            }
        }
        if let Some((Some(mm2), place)) = wire.section {
            if mm2 > THICKEST || mm2 <= 0.0 {
                found
                    .add(place, format!("{name} is {} mm2 thick; no wire on a vehicle is", number(mm2)))
                    .help("a point or a zero is likely wrong");
            }
        }
    }
    for (index, connector) in survey.circuit().connectors.iter().enumerate() {
        let id = halfsplit_circuit::ConnectorId(index as u32);
        let Some(place) = survey.model.said(Entity::Connector(id), "reach") else { continue };
        let name = &connector.name;
        match connector.reach {
            Some(minutes) if minutes > LONG => {
                found
                    .add(place, format!("{name} takes {} min to reach, longer than most of a dash takes to come out", number(minutes)))
                    .help("was it meant in minutes or seconds? where it does take so long, say so: `allow implausible-value because \"…\"`");
            }
            Some(minutes) if minutes <= 0.0 => {
                found
                    .add(place, format!("{name} takes no time to reach"))
                    .help("nothing is reached in no time: even a plug in the open takes a quarter of a minute; `unknown` is allowed");
            }
            _ => {}
        }
    }
}
