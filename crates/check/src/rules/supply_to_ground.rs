//! `supply-to-ground`.

use halfsplit_circuit::BranchKind;
use halfsplit_model::Entity;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("supply-to-ground", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    let circuit = survey.circuit();
    for short in survey.shorts.iter().filter(|short| !short.reported) {
        let source = circuit.branch(short.source);
        let what = survey.output_name(short.source).unwrap_or_else(|| survey.point_name(source.a));
        let ground = match circuit.body == Some(short.ground) {
            true => "the body".to_owned(),
            false => format!("its own ground {}", super::load_without_feed::outside(survey, short.ground)),
        };
        let fused = short.path.iter().find(|&&id| matches!(circuit.branch(id).kind, BranchKind::Fuse { .. }));
        let fused = fused.map(|&id| survey.part_name(circuit.branch(id).part));
        let how = match fused {
            Some(fuse) => format!("is joined to {ground} through {fuse} and without any load"),
            None => format!("is joined to {ground} by copper"),
        };
        let wires: Vec<_> = short.path.iter().filter_map(|&id| survey.wire(id)).collect();
        let place = match short.wire.and_then(|id| survey.wire(id)) {
            Some(wire) => survey.wire_place(wire),
            None => match survey.name_place(Entity::Part(source.part)) {
                Some(place) => place,
                None => continue,
            },
        };
        let way = match wires.is_empty() {
            true => String::new(),
            false => format!(": {}", survey.wires_in_words(&wires)),
        };
        let mut detail = found.add(place, format!("{what} {how}{way}: a dead short"));
        let others = wires.iter().map(|wire| (survey.wire_place(wire), *wire)).filter(|(p, _)| *p != place);
        for (place, wire) in others.take(3) {
            detail = detail.with(place, format!("the way leads through {}", survey.wire_name(wire)));
        }
        detail.help("one end of one of these wires is written at the wrong pin or ground point");
    }
}
