//! `twisted-apart`.

use std::collections::BTreeSet;

use halfsplit_circuit::{ConnectorId, PartId, PointKind};

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, ends},
};

pub(super) const RULE: Rule = rule!("twisted-apart", Warning, Circuit, check);

/// A connector, and which half of it.
type Plug = (ConnectorId, u8);

fn check(survey: &Survey, found: &mut Found) {
    for pair in &survey.model.facts.twisted {
        let [one, two] = pair.wires.map(|wire| plugs(survey, wire));
        let (only_one, only_two) = (one.difference(&two).next(), two.difference(&one).next());
        // A wire of a pair may end at a splice where its mate does at a pin; each at a plug of its own they are no pair.
        let (Some(&here), Some(&there)) = (only_one, only_two) else { continue };
        let [first, second] = pair.wires.map(|wire| survey.part_name(wire));
        let [here, there] = [here, there].map(|plug| shown(survey, plug));
        found
            .add(pair.place, format!("{first} and {second} are said to be twisted, but {first} ends at {here} and {second} at {there}"))
            .help("the two wires of a pair run side by side from plug to plug: name the right mate");
    }
}

/// The connectors at which a wire ends.
fn plugs(survey: &Survey, wire: PartId) -> BTreeSet<Plug> {
    let wires = survey.model.wires.iter().filter(|known| known.part == wire);
    let plug = |(point, _)| match survey.circuit().point(point).kind {
        PointKind::Cavity { connector, half, .. } => Some((connector, half)),
        _ => None,
    };
    wires.flat_map(ends).filter_map(plug).collect()
}

/// A plug's name; of an inline connector with its half.
fn shown(survey: &Survey, (id, half): Plug) -> String {
    let connector = survey.circuit().connector(id);
    match connector.owner {
        Some(_) => connector.name.clone(),
        None => format!("{}.{}", connector.name, connector.halves[usize::from(half)]),
    }
}
