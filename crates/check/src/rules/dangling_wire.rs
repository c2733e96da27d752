//! `dangling-wire`.

use halfsplit_model::WireEnd;

use crate::{
    Rule,
    doubt::is_loose_end,
    rule::Found,
    survey::{Survey, ends},
};

use super::floating_net::is_floating;

pub(super) const RULE: Rule = rule!("dangling-wire", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    let floating: Vec<bool> = survey.nets().iter().map(|net| is_floating(survey, &net.points)).collect();
    for wire in &survey.model.wires {
        let name = survey.wire_name(wire);
        if let [WireEnd::Stub(_), WireEnd::Stub(place)] = wire.ends {
            found
                .add(place, format!("both ends of {name} hang free"))
                .help("join one end to something, or leave the wire out");
            continue;
        }
        for (point, place) in ends(wire).filter(|&(point, _)| is_loose_end(survey, point)) {
            // A net of which no end reaches a part is reported whole.
            if floating[survey.net_of(point)] {
                continue;
            }
            let splice = survey.point_name(point);
            found
                .add(place, format!("{name} ends at {splice}, where no other wire is joined"))
                .with_some(
                    survey.name_place(halfsplit_model::Entity::Point(point)),
                    format!("{splice} is declared here"),
                )
                .help("a splice joins two wires or more: name the right one, or write `stub` for an end that hangs free");
        }
    }
}
