//! `blank-but-wired`.

use halfsplit_circuit::CavityRole;
use halfsplit_model::Entity;

use crate::{
    Rule,
    doubt::is_taken,
    rule::Found,
    survey::{Survey, ends},
};

pub(super) const RULE: Rule = rule!("blank-but-wired", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for wire in &survey.model.wires {
        for (point, place) in ends(wire).filter(|&(point, _)| is_taken(survey, point)) {
            let said = match survey.cavity_role(point) {
                Some(CavityRole::Blank) => "is said to be blank",
                Some(CavityRole::Spare) => "is said to be a spare without a wire",
                _ => "is said to be drawn in another file",
            };
            let (name, cavity) = (survey.wire_name(wire), survey.point_name(point));
            found
                .add(place, format!("{name} goes into {cavity}, which {said}"))
                .with_some(survey.model.declaration(Entity::Point(point)), "said here")
                .help("mend the wire's cavity, or take this cavity out of that line");
        }
    }
}
