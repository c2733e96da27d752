//! `relay-volts`.

use halfsplit_circuit::BranchKind;
use halfsplit_model::Entity;

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, number},
};

pub(super) const RULE: Rule = rule!("relay-volts", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for (_, coil) in survey.circuit().branches() {
        let BranchKind::Coil { pull_in, drop_out, .. } = coil.kind else { continue };
        let said = |keyword| survey.model.said(Entity::Part(coil.part), keyword);
        let Some(place) = said("pull-in").or_else(|| said("drop-out")).filter(|_| pull_in <= drop_out) else {
            continue;
        };
        let part = survey.part_name(coil.part);
        let mut detail = found.add(
            place,
            format!(
                "{part} pulls in at {} V and drops out only below {} V",
                number(pull_in),
                number(drop_out)
            ),
        );
        detail = detail.with_some(said("drop-out").filter(|other| *other != place), "where it drops out");
        detail.help("a relay drops out at far fewer volts than it pulls in at: the two are likely swapped");
    }
}
