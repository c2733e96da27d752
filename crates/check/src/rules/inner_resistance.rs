//! `inner-resistance`.

use halfsplit_circuit::BranchKind;
use halfsplit_model::{Entity, SupplyKind};

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, number},
};

pub(super) const RULE: Rule = rule!("inner-resistance", Warning, Circuit, check);

/// A vehicle's battery has less than this inside, in ohms, or it starts no engine. Own estimate: healthy ones have 3 to
/// 15 mohm.
const MOST: f64 = 0.2;

fn check(survey: &Survey, found: &mut Found) {
    for (id, source) in survey.circuit().branches() {
        let BranchKind::Source { inner, .. } = source.kind else { continue };
        if survey.model.supplies.get(&source.part) != Some(&SupplyKind::Battery) || inner <= MOST {
            continue;
        }
        let said = survey.model.said(Entity::Part(source.part), "inner");
        let Some(place) = said.or_else(|| survey.branch_place(id)) else { continue };
        found
            .add(
                place,
                format!(
                    "the battery {} has {} ohm inside: it sags {} V at 10 A",
                    survey.part_name(source.part),
                    number(inner),
                    number(inner * 10.0)
                ),
            )
            .help("a starter battery has some milliohms: `inner 9 mohm`");
    }
}
