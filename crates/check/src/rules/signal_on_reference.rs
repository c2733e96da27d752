//! `signal-on-reference`.

use halfsplit_circuit::BranchKind;
use halfsplit_model::PinRole;

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, ends},
};

pub(super) const RULE: Rule = rule!("signal-on-reference", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for (point, role) in &survey.model.roles {
        if *role != PinRole::Signal || survey.doubts_net_of(*point) {
            continue;
        }
        let net = survey.net_of(*point);
        let reference = survey.circuit().outputs.iter().find(|(_, id)| {
            let branch = survey.circuit().branch(*id);
            matches!(branch.kind, BranchKind::Reference { .. }) && survey.net_of(branch.a) == net
        });
        let Some((name, _)) = reference else { continue };
        let wire = survey.wires_at(*point).next();
        let Some((wire, place)) = wire.and_then(|wire| Some((wire, ends(wire).find(|(p, _)| p != point)?.1)))
        else {
            continue;
        };
        let (wire, pin) = (survey.wire_name(wire), survey.point_name(*point));
        found
            .add(place, format!("{wire} joins the signal {pin} to {name}: it reads the reference's volts whatever is measured"))
            .help("mend the end of the wire: a signal goes to an input of its module");
    }
}
