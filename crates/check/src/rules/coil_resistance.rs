//! `coil-resistance`.

use halfsplit_circuit::{BranchKind, PartKind};

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, number},
};

pub(super) const RULE: Rule = rule!("coil-resistance", Warning, Circuit, check);

/// A coil that moves a contact draws more than this, in amperes. Own estimate: the smallest relays take 15 mA at 12 V.
const LEAST: f64 = 0.005;

fn check(survey: &Survey, found: &mut Found) {
    let system = survey.model.vehicle.system_volts();
    for (id, coil) in survey.circuit().branches() {
        let BranchKind::Coil { ohms, assumed: false, .. } = coil.kind else { continue };
        let is_relay = survey.circuit().part(coil.part).kind == PartKind::Relay;
        if !is_relay || ohms <= 0.0 || system <= 0.0 || system / ohms >= LEAST {
            continue;
        }
        let Some(place) = survey.branch_place(id) else { continue };
        let milliamps = system / ohms * 1000.0;
        found
            .add(
                place,
                format!(
                    "the coil of {} draws {} mA at {} V, too little to move a contact",
                    survey.part_name(coil.part),
                    number(milliamps),
                    number(system)
                ),
            )
            .help("a coil of a car's relay has some 50 to 150 ohm at 12 V: was ohm meant for kohm?");
    }
}
