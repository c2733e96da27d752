//! Readings and facts against what every suspect predicts.

use halfsplit_circuit::{Quantity, ReadError, Solution};

use super::{Contradiction, Evidence, FLOOR, Job, Line, Observation, Posterior};
use crate::bench::Bench;
use crate::draw::Case;
use crate::facts::Fact;
use crate::hunt::{Span, gap};
use crate::plan::Range;
use crate::priors;
use crate::request::PlanError;
use crate::suspects::UnitKind;

/// How likely a wrong wire or two faults make a reading that a drawn suspect explains as well (own estimate).
const ANYTHING: f64 = 0.7;
/// What always remains possible never falls below this share of its first chance (own estimate).
const ALWAYS: f64 = 1e-2;

/// What comes of the evidence.
pub(super) struct Weighed {
    /// In the order of the case's accused, then what always remains possible.
    pub suspects: Vec<Posterior>,
    /// Chances of the accused alone, not normed.
    pub chances: Vec<f64>,
    pub contradiction: Option<Contradiction>,
}

pub(super) fn weigh(case: &Case<'_>, job: &Job, first: usize, facts: &[Fact]) -> Result<Weighed, PlanError> {
    let mut suspects: Vec<Posterior> = case
        .accused
        .iter()
        .map(|accused| Posterior {
            name: case.units[accused.unit].name.clone(),
            mode: accused.mode.clone(),
            drawn: case.units[accused.unit].kind != UnitKind::Unlisted,
            module: (case.bench.source.module).is_some_and(|m| case.units[accused.unit].parts.contains(&m)),
            prior: accused.weight,
            probability: accused.weight,
            evidence: Vec::new(),
        })
        .collect();
    let always = suspects.len();
    suspects.extend([
        stranger(
            "wrong wire or wrong variant",
            "the leads are on another wire, or the car is built otherwise",
            priors::WRONG_WIRE,
        ),
        stranger("two faults", "more than one of the suspects at once", priors::TWO_FAULTS),
    ]);

    let mut factors = vec![1.0_f64; suspects.len()];
    let mut contradiction = None;
    let mut take = |line, predicted: Vec<(f64, Option<Range>)>, quantity, sound: Option<Range>| {
        let explained = predicted
            .iter()
            .zip(&suspects)
            .zip(&factors)
            .any(|(((factor, _), s), before)| s.drawn && factor * before > FLOOR);
        if !explained && contradiction.is_none() {
            contradiction = Some(Contradiction { line, sound, means: Vec::new() });
        }
        for (at, suspect) in suspects.iter_mut().enumerate() {
            let (factor, predicted) = match predicted.get(at) {
                Some(&known) => known,
                None => {
                    let factor = if explained { ANYTHING } else { 1.0 };
                    (factor.max(ALWAYS / factors[at]).min(1.0), None)
                }
            };
            factors[at] *= factor;
            suspect.evidence.push(Evidence { line, predicted, quantity, factor });
        }
    };

    for (at, fact) in facts.iter().enumerate() {
        // The plan's own suspects went by it already.
        if fact.is_silence().is_some() {
            continue;
        }
        let sound = case.bench.solver.solve(&case.bench.state, &[])?;
        let predicted = case
            .accused
            .iter()
            .map(|accused| {
                let Bench { solver, state, .. } = &case.bench;
                let agrees = accused.variants.iter().any(|faults| match solve(case, faults) {
                    Some(found) => fact.agrees(solver, state, faults, &found, &sound).unwrap_or(true),
                    None => true,
                });
                (if agrees { 1.0 } else { FLOOR }, None)
            })
            .collect();
        take(Line::Fact(at), predicted, Quantity::Volts, None);
    }
    for (at, reading) in job.readings.iter().enumerate() {
        let quantity = reading.leads.quantity();
        let Some(sound) = predict(case, reading, &[])? else { continue };
        let mut predicted = Vec::new();
        for accused in &case.accused {
            let mut whole: Option<Span> = None;
            for faults in &accused.variants {
                if let Some(span) = predict(case, reading, faults)? {
                    whole = Some(whole.map_or(span, |w| w.join(span)));
                }
            }
            let range = whole.map(range);
            // The suspects were fitted to the complaint itself.
            let fits = at == first || whole.is_none_or(|span| within(span, reading));
            predicted.push((if fits { 1.0 } else { FLOOR }, range));
        }
        take(Line::Reading(at), predicted, quantity, Some(range(sound)));
    }

    let priors: f64 = suspects.iter().map(|s| s.prior).sum();
    let whole: f64 = suspects.iter().zip(&factors).map(|(s, f)| s.prior * f).sum();
    let mut chances = Vec::new();
    for (at, (suspect, factor)) in suspects.iter_mut().zip(&factors).enumerate() {
        let chance = suspect.prior * factor;
        if at < always {
            chances.push(chance);
        }
        suspect.prior /= priors;
        suspect.probability = chance / whole;
    }
    Ok(Weighed { suspects, chances, contradiction })
}

fn stranger(name: &str, mode: &str, weight: f64) -> Posterior {
    Posterior {
        name: name.to_owned(),
        mode: mode.to_owned(),
        drawn: false,
        module: false,
        prior: weight,
        probability: weight,
        evidence: Vec::new(),
    }
}

fn solve(case: &Case<'_>, faults: &[halfsplit_circuit::Fault]) -> Option<Solution> {
    case.bench.solver.solve(&case.bench.state, faults).ok()
}

/// What the meter shows with these faults; `None` where nothing steady comes, or where the meter cannot
/// be used: ohms on a live circuit count for nothing.
fn predict(
    case: &Case<'_>,
    reading: &Observation,
    faults: &[halfsplit_circuit::Fault],
) -> Result<Option<Span>, PlanError> {
    match case.bench.solver.read(&reading.state, faults, &reading.leads) {
        Ok(r) => Ok(Some(Span { nominal: r.nominal, low: r.low, high: r.high })),
        Err(
            ReadError::LiveCircuit { .. }
            | ReadError::NoStableState { .. }
            | ReadError::TwoStableStates { .. },
        ) => Ok(None),
        Err(error) => Err(error.into()),
    }
}

/// Whether a reading lies in what is predicted, widened by what a person tells apart.
pub(super) fn within(span: Span, reading: &Observation) -> bool {
    let ohms = reading.leads.quantity() == Quantity::Ohms;
    let [low, high] = reading.reads;
    if low.is_infinite() || span.high.is_infinite() && span.low.is_infinite() {
        // Above the meter's range there is only OL.
        let least = halfsplit_circuit::meter::OVERLOAD;
        return high.is_infinite() && span.high >= least || span.low.is_infinite() && low >= least;
    }
    low <= span.high + gap(span.high, ohms) && high + gap(high, ohms) >= span.low
}

fn range(span: Span) -> Range {
    Range { nominal: span.nominal, low: span.low, high: span.high }
}
