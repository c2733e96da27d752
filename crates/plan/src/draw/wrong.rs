//! What is wrong with what was read, by what a sound circuit shows at that place in that state.

use halfsplit_circuit::{Amps, Class, Meter, Volts};

use crate::accuse::typed;
use crate::bench::Bench;
use crate::complaint::{self, Complaint};
use crate::predict::{Span, sound};
use crate::request::{PlanError, Request};

/// What a reading amounts to, by what a sound circuit shows at that very place in that very state.
pub(super) fn wrong(
    bench: &Bench<'_>,
    request: &Request,
    nominal: Volts,
) -> Result<Option<Class>, PlanError> {
    if let Some(complaint) = request.complaint {
        if let Complaint::Amps { clamp, reads } = complaint {
            return wrong_amps(bench, request, clamp, reads).map(Some);
        }
        let sound = bench.solver.solve(&request.state, &[])?;
        if complaint::shows(&bench.solver, &request.state, complaint, &sound, &sound, &[])? {
            let complaint = complaint::said(bench.circuit, &request.state, complaint);
            return Err(PlanError::SoundComplaint { complaint });
        }
        return Ok(None);
    }
    if request.floats {
        return Ok(Some(Class::Floating));
    }
    let Some(reads) = request.reads else { return Ok(None) };
    let healthy = bench.healthy.nominal;
    let sound = bench.sound();
    if sound.meets(typed(&Meter::volts(bench.pin, bench.black), reads, request.reads_off)) {
        let pin = bench.name(bench.pin).to_owned();
        return Err(PlanError::Sound { pin, reads, healthy });
    }
    Ok(Some(match Class::of_volts(reads, healthy, nominal) {
        Class::Good if reads < healthy => Class::Low,
        Class::Good => Class::High,
        class => class,
    }))
}

/// What a current amounts to, by the interval of the sound one.
fn wrong_amps(
    bench: &Bench<'_>,
    request: &Request,
    clamp: Meter,
    reads: [Amps; 2],
) -> Result<Class, PlanError> {
    let span = sound(&bench.solver, &request.state, clamp).unwrap_or(Span::ANY);
    if span.meets(reads) {
        return Err(PlanError::SoundCurrent {
            pin: bench.name(clamp.black).to_owned(),
            reads: 0.5 * (reads[0] + reads[1]),
            sound: [span.low, span.high],
        });
    }
    Ok(Class::of_amps(reads[0], span.nominal))
}
