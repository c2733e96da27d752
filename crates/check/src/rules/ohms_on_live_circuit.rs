//! `ohms-on-live-circuit`.

use halfsplit_circuit::{Measure, ReadError, meter};

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("ohms-on-live-circuit", Error, Case, check);

fn check(survey: &Survey, found: &mut Found) {
    let Some(case) = &survey.model.case else { return };
    for reading in case.log.iter().filter(|reading| reading.leads.measure == Measure::Ohms) {
        let Err(ReadError::LiveCircuit { name, .. }) =
            meter::read(survey.circuit(), &reading.state, &[], &reading.leads)
        else {
            continue;
        };
        found
            .add(
                reading.place,
                format!("`{}` is read in ohms, but {name} can drive these leads", reading.words),
            )
            .help(
                "say `battery off` and what was parted above the reading, in the order in which it was done",
            );
    }
}
