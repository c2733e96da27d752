//! Readings and facts against what every suspect predicts.

use halfsplit_circuit::{Fault, Quantity};

use super::{Contradiction, Evidence, FLOOR, Job, Line, Meaning, Observation, Posterior};
use crate::accuse::Told;
use crate::draw::Case;
use crate::evidence::Said;
use crate::judge;
use crate::plan::Range;
use crate::predict::Span;
use crate::request::PlanError;
use crate::suspects::UnitKind;

/// Share of all that can be from which one meaning of the lines counts as likely.
const LIKELY: f64 = 0.5;

/// What comes of the evidence.
pub(super) struct Weighed {
    /// In the order of the case's accused, then what is not one drawn fault.
    pub suspects: Vec<Posterior>,
    pub contradiction: Option<Contradiction>,
    /// What the lines can mean, with shares, likeliest first.
    pub meanings: Vec<(Meaning, f64)>,
}

pub(super) fn weigh(
    case: &Case<'_>,
    job: &Job,
    order: &[Line],
    before: Option<&Case<'_>>,
) -> Result<Weighed, PlanError> {
    let meanings = meanings(case, order);
    let pairs: f64 = case.pairs.iter().map(|pair| pair.2).fold(0.0, |whole, share| whole + share);
    let whole: f64 = case.accused.iter().map(|a| a.weight).sum();
    let drawn = 1.0 - case.worlds.other - pairs;
    let prior = |name: &str, mode: &str| {
        let Some(before) = before else { return 0.0 };
        let all: f64 = before.accused.iter().map(|a| a.weight).sum();
        let own = before.accused.iter().filter(|a| before.units[a.unit].name == name && a.mode == mode);
        let alike = case.accused.iter().filter(|a| case.units[a.unit].name == name && a.mode == mode);
        own.map(|a| a.weight).sum::<f64>() / all.max(f64::MIN_POSITIVE) / alike.count().max(1) as f64
    };
    let mut suspects: Vec<Posterior> = case
        .accused
        .iter()
        .map(|accused| {
            let name = case.units[accused.unit].name.clone();
            Posterior {
                prior: prior(&name, &accused.mode),
                name,
                mode: accused.mode.clone(),
                drawn: case.units[accused.unit].kind != UnitKind::Unlisted,
                module: (case.bench.source.module)
                    .is_some_and(|m| case.units[accused.unit].parts.contains(&m)),
                probability: accused.weight / whole.max(f64::MIN_POSITIVE) * drawn,
                evidence: Vec::new(),
            }
        })
        .collect();
    let variants: Vec<&[Vec<Fault>]> = case.accused.iter().map(|accused| &accused.variants[..]).collect();
    for (at, reading) in job.readings.iter().enumerate() {
        let predicted = case.bench.predictor.spans(&reading.state, &variants, &[reading.leads]);
        for (suspect, span) in suspects.iter_mut().zip(predicted) {
            let fits = span.is_none_or(|span| within(span, reading));
            let quantity = reading.leads.quantity();
            let factor = if fits { 1.0 } else { FLOOR };
            suspect.evidence.push(Evidence {
                line: Line::Reading(at),
                predicted: span.map(range),
                quantity,
                factor,
            });
        }
    }
    for (line, own) in order.iter().zip(&case.lines) {
        let (Line::Fact(_), Said::Fact(_)) = (line, &own.said) else { continue };
        let stretches: Vec<Vec<Vec<Fault>>> = case.accused.iter().map(|a| a.variants.clone()).collect();
        let found = own.likelihoods(&case.bench.predictor, &stretches)?;
        for (suspect, factor) in suspects.iter_mut().zip(found) {
            let factor = factor.max(FLOOR);
            suspect.evidence.push(Evidence {
                line: *line,
                predicted: None,
                quantity: Quantity::Volts,
                factor,
            });
        }
    }
    // What is not drawn predicts nothing in particular.
    let readings =
        job.readings.iter().enumerate().map(|(at, reading)| (Line::Reading(at), reading.leads.quantity()));
    let facts = order.iter().zip(&case.lines).filter(|(_, own)| matches!(own.said, Said::Fact(_)));
    let evidence: Vec<Evidence> = readings
        .chain(facts.map(|(line, _)| (*line, Quantity::Volts)))
        .map(|(line, quantity)| Evidence { line, predicted: None, quantity, factor: 1.0 })
        .collect();
    let other = "the leads are on another wire, or the car is built otherwise";
    suspects.extend([
        stranger("wrong wire or wrong variant", other, case.worlds.other, &evidence),
        stranger("two faults", "more than one of the suspects at once", pairs, &evidence),
    ]);
    let contradiction = contradiction(case, job, order, &meanings)?;
    Ok(Weighed { suspects, contradiction, meanings })
}

/// The line that does not fit where one fault that stays is unlikely.
fn contradiction(
    case: &Case<'_>,
    job: &Job,
    order: &[Line],
    meanings: &[(Meaning, f64)],
) -> Result<Option<Contradiction>, PlanError> {
    if case.worlds.one >= LIKELY {
        return Ok(None);
    }
    // The line whose removal makes all others fit best.
    let slips = case.worlds.slips.iter().enumerate();
    let Some((at, _)) = slips.max_by(|a, b| a.1.total_cmp(b.1)) else { return Ok(None) };
    let Some(&line) = order.get(at) else { return Ok(None) };
    let sound = match line {
        Line::Reading(at) => {
            let reading = &job.readings[at];
            case.bench.predictor.span(&reading.state, &[], reading.leads).map(range)
        }
        Line::Fact(_) => None,
    };
    let means = meanings
        .iter()
        .filter(|(_, share)| *share >= 0.01)
        .map(|(meaning, share)| format!("{} ({:.0} %)", words(meaning), 100.0 * share));
    Ok(Some(Contradiction { line, sound, means: means.collect() }))
}

fn words(meaning: &Meaning) -> String {
    match meaning {
        Meaning::OneFault => "one fault that stays".to_owned(),
        Meaning::Slip(Line::Reading(at)) => {
            format!(
                "a slip in reading {}: digits, key position, a plug thought parted, or the cavity beside",
                at + 1
            )
        }
        Meaning::Slip(Line::Fact(at)) => format!("fact {} does not hold", at + 1),
        Meaning::ComesAndGoes => "one fault that comes and goes: a contact".to_owned(),
        Meaning::TwoFaults(pairs) => {
            let told = |(name, mode): &(String, String)| {
                if mode.is_empty() { name.clone() } else { format!("{name} ({mode})") }
            };
            let first = pairs.first().map(|(one, other)| format!(": {} and {}", told(one), told(other)));
            format!("two faults{}", first.unwrap_or_default())
        }
        Meaning::NotDrawn => {
            "something that is not drawn, another wire, or a car that is built otherwise".to_owned()
        }
    }
}

fn meanings(case: &Case<'_>, order: &[Line]) -> Vec<(Meaning, f64)> {
    let worlds = &case.worlds;
    let told = |(unit, mode): &Told| (case.units[*unit].name.clone(), mode.clone());
    let pairs = case.pairs.iter().map(|(one, other, _)| (told(one), told(other))).collect();
    let mut meanings = vec![
        (Meaning::OneFault, worlds.one),
        (Meaning::ComesAndGoes, worlds.comes_and_goes),
        (Meaning::TwoFaults(pairs), case.pairs.iter().map(|pair| pair.2).sum()),
        (Meaning::NotDrawn, worlds.other),
    ];
    meanings.extend(order.iter().zip(&worlds.slips).map(|(&line, &share)| (Meaning::Slip(line), share)));
    meanings.sort_by(|a, b| b.1.total_cmp(&a.1));
    meanings.retain(|meaning| meaning.1 > 0.0);
    meanings
}

fn stranger(name: &str, mode: &str, share: f64, evidence: &[Evidence]) -> Posterior {
    Posterior {
        name: name.to_owned(),
        mode: mode.to_owned(),
        drawn: false,
        module: false,
        prior: 0.0,
        probability: share,
        evidence: evidence.to_vec(),
    }
}

/// Whether a reading lies in what is predicted, widened by what a person tells apart.
pub(super) fn within(span: Span, reading: &Observation) -> bool {
    let quantity = reading.leads.quantity();
    let [low, high] = reading.reads;
    if low.is_infinite() || span.high.is_infinite() && span.low.is_infinite() {
        // Above the meter's range there is only OL.
        let least = halfsplit_circuit::meter::OVERLOAD;
        return high.is_infinite() && span.high >= least || span.low.is_infinite() && low >= least;
    }
    low <= span.high + judge::gap(span.high, quantity) && high + judge::gap(high, quantity) >= span.low
}

fn range(span: Span) -> Range {
    Range { nominal: span.nominal, low: span.low, high: span.high }
}

/// The lines as the planner takes them are in the order of this list.
pub(super) fn order(first: Line, job: &Job) -> Vec<Line> {
    let readings = (0..job.readings.len()).map(Line::Reading);
    let rest = readings.chain((0..job.facts.len()).map(Line::Fact)).filter(|line| *line != first);
    std::iter::once(first).chain(rest).collect()
}
