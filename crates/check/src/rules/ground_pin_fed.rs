//! `ground-pin-fed`.

use std::collections::BTreeMap;

use halfsplit_circuit::BranchId;
use halfsplit_model::Entity;

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, list},
    wrong_pin::{How, fed_at_both},
};

use super::load_without_feed::{outside, wire_side};

pub(super) const RULE: Rule = rule!("ground-pin-fed", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    let circuit = survey.circuit();
    // Several loads grounded through one wrong wire are one fault.
    let mut by_net: BTreeMap<usize, (BranchId, Vec<BranchId>)> = BTreeMap::new();
    for wrong in survey.wrong_pins.iter().chain(&fed_at_both(survey)) {
        if let How::Fed(supplier) = wrong.how {
            let net = survey.net_of(circuit.branch(wrong.load).b);
            by_net.entry(net).or_insert((supplier, Vec::new())).1.push(wrong.load);
        }
    }
    for (supplier, loads) in by_net.into_values() {
        let Some(&first) = loads.first() else { continue };
        let load = circuit.branch(first);
        let mut parts: Vec<&str> =
            loads.iter().map(|&id| survey.part_name(circuit.branch(id).part)).collect();
        parts.dedup();
        let pin = outside(survey, load.b);
        let supply = circuit.branch(supplier).part;
        let by = survey.output_name(supplier).unwrap_or_else(|| survey.part_name(supply));
        let wires: Vec<_> = survey.wires_at(wire_side(survey, load.b)).collect();
        let place = wires.first().map(|wire| survey.wire_place(wire)).or_else(|| survey.branch_place(first));
        let Some(place) = place else { continue };
        let how = match wires.is_empty() {
            true => String::new(),
            false => format!(" over {}", survey.wires_in_words(&wires)),
        };
        found
            .add(place, format!("{pin} is a ground pin of {}, and it is joined to what {by} feeds{how}", list(&parts)))
            .with_some(survey.branch_place(first).filter(|p| *p != place), format!("{pin} is its ground by this line"))
            .with_some(survey.name_place(Entity::Part(supply)), format!("{by} feeds it"))
            .help("the wire belongs to a ground point or sensor ground; or feed and ground are swapped in the part's line");
    }
}
