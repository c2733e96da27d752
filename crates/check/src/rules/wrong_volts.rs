//! `wrong-volts`.

use halfsplit_circuit::{BranchKind, Volts};
use halfsplit_model::Entity;

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, number},
};

use super::load_without_feed::outside;

pub(super) const RULE: Rule = rule!("wrong-volts", Warning, Circuit, check);

/// Beyond this ratio two voltages do not belong together: 12 V and 24 V do not, 12 V and 14.4 V do.
const RATIO: f64 = 1.6;

fn check(survey: &Survey, found: &mut Found) {
    let Some(system) = survey.model.vehicle.system.filter(|&volts| volts > 0.0) else { return };
    let apart = |volts: Volts, other: Volts| volts > other * RATIO || volts * RATIO < other;
    let sources: Vec<Volts> = (survey.circuit().branches.iter())
        .filter_map(|branch| match branch.kind {
            BranchKind::Source { volts, .. } => Some(volts),
            _ => None,
        })
        .collect();
    let supplies = sources.len();
    // What hangs on the tapped centre of two batteries is made for one of them.
    let tapped = |volts: Volts| supplies > 1 && sources.iter().any(|&one| !apart(volts, one));
    let far = |volts: Volts| apart(volts, system) && !tapped(volts);
    for (id, branch) in survey.circuit().branches() {
        let part = survey.part_name(branch.part);
        match branch.kind {
            BranchKind::Lamp { rated, .. } if apart(rated, system) => {
                let Some(place) = survey.branch_place(id) else { continue };
                found
                    .add(
                        place,
                        format!("{part} is a lamp for {} V in a {} V vehicle", number(rated), number(system)),
                    )
                    .help("mend one of the two; two lamps in series may be so on purpose");
            }
            BranchKind::Load { .. } if survey.reach.at_system_volts[branch.a.index()] => {
                let Some(&rated) = survey.model.rated.get(&id).filter(|&&volts| far(volts)) else { continue };
                let Some(place) = survey.branch_place(id) else { continue };
                let pin = outside(survey, branch.a);
                found
                    .add(
                        place,
                        format!(
                            "{part} draws its current at {} V, but {pin} is at the battery's {} V",
                            number(rated),
                            number(system)
                        ),
                    )
                    .help("a wire from its reference is missing, or the volts are wrong");
            }
            // Two batteries in series make one supply, and each may have half the volts.
            BranchKind::Source { volts, .. } if apart(volts, system) && supplies == 1 => {
                let place =
                    survey.model.said(Entity::Part(branch.part), "volts").or_else(|| survey.branch_place(id));
                let Some(place) = place else { continue };
                found
                    .add(place, format!("{part} gives {} V in a {} V vehicle", number(volts), number(system)))
                    .help("mend one of the two");
            }
            _ => {}
        }
    }
}
