//! `terminator-value`.

use halfsplit_circuit::BranchKind;

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, number},
};

use super::load_without_feed::wire_side;

pub(super) const RULE: Rule = rule!("terminator-value", Warning, Circuit, check);

/// ISO 11898-2 ends a bus with 120 ohm at each end (SAW-2nd); one in the middle of the bus stands for both.
const LEAST: f64 = 50.0;
const MOST: f64 = 140.0;

fn check(survey: &Survey, found: &mut Found) {
    for (id, branch) in survey.circuit().branches() {
        let BranchKind::Load { ohms: Some(ohms), .. } = branch.kind else { continue };
        let Some(place) = survey.branch_place(id).filter(|_| survey.model.facts.passive.contains(&id)) else {
            continue;
        };
        if !survey.text(place).starts_with("terminator") || (LEAST..=MOST).contains(&ohms) {
            continue;
        }
        let pins = [wire_side(survey, branch.a), wire_side(survey, branch.b)].map(|pin| survey.net_of(pin));
        let mut of_pair =
            survey.model.facts.buses.iter().filter(|bus| ["can", "can-fd"].contains(&bus.kind.as_str()));
        let bus = of_pair
            .find(|bus| bus.high.iter().chain(&bus.low).any(|&pin| pins.contains(&survey.net_of(pin))));
        let Some(bus) = bus else { continue };
        found
            .add(
                place,
                format!(
                    "{} ends {} with {} ohm; a {} bus is ended with 120 ohm",
                    survey.part_name(branch.part),
                    bus.name,
                    number(ohms),
                    bus.kind
                ),
            )
            .help("write `terminator 120 ohm`; what a node looks like from outside is an `input`");
    }
}
