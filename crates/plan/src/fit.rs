//! Which suspects explain the reading, and with what resistance.

use halfsplit_circuit::{Fault, Meter, Ohms, ReadError, Volts};

use crate::bench::Bench;
use crate::suspects::{Draft, Shape};

/// Least resistance of an unwanted touch; below it lies only a weld (own estimate).
const LEAST: Ohms = 5e-3;
/// Largest resistance that still pulls a limited or fused wire visibly (own estimate).
const MOST: Ohms = 1e8;
/// How far a fitted reading may be off: the last digit of a hand meter and a wandering contact, volts.
const NEAR: Volts = 5e-3;
/// And as a share of the reading.
const NEAR_SHARE: f64 = 0.02;

/// What came of fitting one suspect.
#[derive(Debug)]
pub(crate) enum Fit {
    /// It gives the reading.
    Explains(Explained),
    /// It cannot; the reason in words.
    No(String),
}

/// The resistances that reproduce a reading.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Explained {
    /// The one to print; `None` where no resistance is open, infinite for a clean break.
    pub ohms: Option<Ohms>,
    /// Those to predict with: one fitted value, or the ends of a range that all give the reading.
    pub variants: Vec<Ohms>,
}

/// Fits the open resistance so that the pin reads what was read.
///
/// Without a reading every suspect that moves the pin by more than the meter's
/// share keeps a plain value: a short of 1 Ω, a clean break.
pub(crate) fn fit(bench: &Bench<'_>, draft: &Draft, reads: Option<Volts>) -> Result<Fit, ReadError> {
    let Some(reads) = reads else { return plain(bench, draft) };
    let near = NEAR.max(NEAR_SHARE * reads.abs());
    let close = |volts: Option<Volts>| volts.is_some_and(|v| (v - reads).abs() <= near);
    let at = |ohms: Ohms| at_pin(bench, draft.shape.fault(ohms));
    if !draft.shape.has_ohms() {
        let volts = at(1.0)?;
        return Ok(if close(volts) {
            Fit::Explains(Explained { ohms: None, variants: vec![1.0] })
        } else {
            Fit::No(no(reads, volts, volts))
        });
    }

    let far = if draft.shape.can_break() { Ohms::INFINITY } else { MOST };
    let (at_least, at_far) = (at(LEAST)?, at(far)?);
    // Both ends of the scale can explain only a reading that the fault does not touch.
    if close(at_far) && !close(at_least) {
        let first = boundary(LEAST, MOST, |ohms| Ok(!close(at(ohms)?)))?;
        // On the very edge a relay or a module tips either way within tolerance, so that nothing
        // can be predicted; twice the resistance stands for the lower end.
        let first = 2.0 * first;
        let variants = vec![first, (first * MOST).sqrt(), far];
        return Ok(Fit::Explains(Explained { ohms: Some(far), variants }));
    }
    if close(at_least) && !close(at_far) {
        let mut last = boundary(LEAST, MOST, |ohms| Ok(close(at(ohms)?)))?;
        // Where an output trips there is an edge too; half the resistance stands for the upper end.
        if at(1.01 * last)?.is_none_or(|volts| (volts - reads).abs() > 0.1 * bench.healthy.nominal.abs()) {
            last = (0.5 * last).max(LEAST);
        }
        return Ok(Fit::Explains(Explained { ohms: Some(last), variants: vec![LEAST, last] }));
    }
    if let (Some(one), Some(other)) = (at_least, at_far)
        && (one < reads) != (other < reads)
    {
        let fitted =
            boundary(LEAST, MOST, |ohms| Ok(at(ohms)?.is_none_or(|v| (v < reads) == (one < reads))))?;
        // A jump (a module that falls asleep) can skip the reading altogether.
        if close(at(fitted)?) {
            return Ok(Fit::Explains(Explained { ohms: Some(fitted), variants: vec![fitted] }));
        }
    }
    Ok(Fit::No(no(reads, at_least, at_far)))
}

/// Keeps what leaves the pin without volts of its own: a clean break, or an output that is dead.
pub(crate) fn fit_floating(bench: &Bench<'_>, draft: &Draft) -> Result<Fit, ReadError> {
    let ohms = match draft.shape {
        Shape::Series { .. } => Some(Ohms::INFINITY),
        Shape::Dead { .. } => None,
        _ => return Ok(Fit::No("would hold the pin, which floats".to_owned())),
    };
    let fault = draft.shape.fault(ohms.unwrap_or(1.0));
    let meter = Meter::volts(bench.pin, bench.black);
    match bench.solver.nominal(&bench.state, &[fault], &meter) {
        Ok(reading) if reading.floating => {
            Ok(Fit::Explains(Explained { ohms, variants: vec![ohms.unwrap_or(1.0)] }))
        }
        Ok(reading) => Ok(Fit::No(format!("the pin would not float but read {:.3} V", reading.value))),
        Err(ReadError::NoStableState { .. } | ReadError::TwoStableStates { .. }) => {
            Ok(Fit::No("relays or modules would switch on and off without end".to_owned()))
        }
        Err(error) => Err(error),
    }
}

/// Where a condition that holds at `low` stops holding on the way to `high`, on a scale of decades.
fn boundary(
    low: Ohms,
    high: Ohms,
    mut holds: impl FnMut(Ohms) -> Result<bool, ReadError>,
) -> Result<Ohms, ReadError> {
    let (mut low, mut high) = (low.log10(), high.log10());
    // Ten decades halved thirty times leave one part in 1e8.
    for _ in 0..30 {
        let middle = 0.5 * (low + high);
        if holds(10f64.powf(middle))? { low = middle } else { high = middle }
    }
    Ok(10f64.powf(high))
}

fn no(reads: Volts, one: Option<Volts>, other: Option<Volts>) -> String {
    match (one, other) {
        (Some(a), Some(b)) if (a - b).abs() < 1e-3 => {
            format!("does not explain {reads} V: the pin would read {a:.3} V")
        }
        (Some(a), Some(b)) => {
            let (least, most) = (a.min(b), a.max(b));
            format!("does not explain {reads} V: the pin would read {least:.3} V or {most:.3} V, not between")
        }
        _ => format!("does not explain {reads} V: relays or modules would switch on and off without end"),
    }
}

fn plain(bench: &Bench<'_>, draft: &Draft) -> Result<Fit, ReadError> {
    let ohms = match draft.shape {
        Shape::Series { .. } => Some(Ohms::INFINITY),
        Shape::Dead { .. } => None,
        _ => Some(1.0),
    };
    let volts = at_pin(bench, draft.shape.fault(ohms.unwrap_or(1.0)))?;
    let sound = bench.healthy.nominal;
    Ok(match volts {
        Some(volts) if (volts - sound).abs() <= 0.05 * sound.abs() => {
            Fit::No(format!("the pin would still read {volts:.2} V"))
        }
        _ => Fit::Explains(Explained { ohms, variants: vec![ohms.unwrap_or(1.0)] }),
    })
}

/// Nominal volts at the pin with this fault, as the meter shows them; `None` where relays or
/// modules find no steady state.
fn at_pin(bench: &Bench<'_>, fault: Fault) -> Result<Option<Volts>, ReadError> {
    let meter = Meter::volts(bench.pin, bench.black);
    match bench.solver.nominal(&bench.state, &[fault], &meter) {
        Ok(reading) => Ok(Some(reading.value)),
        Err(ReadError::NoStableState { .. } | ReadError::TwoStableStates { .. }) => Ok(None),
        Err(error) => Err(error),
    }
}
