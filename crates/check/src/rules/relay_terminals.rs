//! `relay-terminals`.

use halfsplit_circuit::{BranchKind, PartKind, PointId};

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("relay-terminals", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for (id, branch) in survey.circuit().branches() {
        if survey.circuit().part(branch.part).kind != PartKind::Relay {
            continue;
        }
        let Some(place) = survey.branch_place(id) else { continue };
        let part = survey.part_name(branch.part);
        let ends = [terminal(survey, branch.a), terminal(survey, branch.b)];
        let any = |numbers: &[&str]| ends.into_iter().flatten().find(|end| numbers.contains(end));
        match branch.kind {
            BranchKind::Coil { .. } => {
                if let Some(end) = any(&["30", "87", "87a"]) {
                    found
                        .add(place, format!("the coil of {part} is at terminal {end}, which is a contact"))
                        .help("by DIN 72552 the coil is at 86 and 85; 30, 87 and 87a are contacts");
                }
            }
            BranchKind::RelayContact { closed_at_rest, .. } => {
                let (wrong, right) = if closed_at_rest { ("87", "87a") } else { ("87a", "87") };
                if let Some(end) = any(&["85", "86"]) {
                    found
                        .add(place, format!("a contact of {part} is at terminal {end}, which is the coil's"))
                        .help("by DIN 72552 the coil is at 86 and 85; contacts are 30, 87 and 87a");
                } else if any(&[wrong]).is_some() {
                    let closes = if closed_at_rest { "while it rests" } else { "when it pulls in" };
                    found
                        .add(place, format!("the contact of {part} that closes {closes} is at {wrong}"))
                        .help(format!(
                            "by DIN 72552 that contact is {right}; for the other sort of contact write `{}`",
                            if closed_at_rest { "contact" } else { "rest-contact" }
                        ));
                }
            }
            _ => {}
        }
    }
}

/// `86` of `K3:86`.
fn terminal<'m>(survey: &Survey<'m>, point: PointId) -> Option<&'m str> {
    survey.point_name(point).rsplit_once(':').map(|(_, terminal)| terminal)
}
