//! `load-bridged`.

use std::collections::BTreeSet;

use crate::{Rule, rule::Found, short::way, survey::Survey, wrong_pin::How};

use super::load_without_feed::{outside, wire_side};

pub(super) const RULE: Rule = rule!("load-bridged", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    let mut done = BTreeSet::new();
    for wrong in survey.wrong_pins.iter().filter(|wrong| wrong.how == How::Bridged) {
        let load = survey.circuit().branch(wrong.load);
        let [from, to] = [wire_side(survey, load.a), wire_side(survey, load.b)];
        let Some(place) = survey.branch_place(wrong.load).filter(|_| done.insert((from, to))) else {
            continue;
        };
        let part = survey.part_name(load.part);
        let path = way(survey, from, to, |b| b.kind.is_copper(), None).unwrap_or_default();
        let wires: Vec<_> = path.iter().filter_map(|&id| survey.wire(id)).collect();
        let by = match wires.len() {
            0 => "they are the same pin".to_owned(),
            1 => format!("{} leads from one to the other", survey.wire_name(wires[0])),
            _ => format!("{} lead from one to the other", survey.wires_in_words(&wires)),
        };
        let mut detail = found.add(
            place,
            format!(
                "copper joins {} and {} of {part}, so that it never draws anything: {by}",
                outside(survey, load.a),
                outside(survey, load.b)
            ),
        );
        for wire in wires.iter().take(4) {
            detail = detail.with(survey.wire_place(wire), "the way leads through this wire");
        }
        detail.help("one of these wires names the wrong pin or splice");
    }
}
