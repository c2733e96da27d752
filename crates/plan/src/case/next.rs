//! What comes next, planned anew from the state that the car is in.

use std::collections::BTreeSet;

use halfsplit_circuit::Quantity;

use super::{FLOOR, Job, Line, Meaning, Observation, Proof, Report, gates};
use crate::draw::{Case, tables};
use crate::judge;
use crate::legal;
use crate::plan::{Conclusion, Next as PlanNext, Step, StepKind};
use crate::predict::Span;
use crate::request::{Begin, PlanError, Request};

/// Chance from which a module is at stake.
const AT_STAKE: f64 = 0.05;

/// What comes next.
#[derive(Clone, Debug)]
pub enum Next {
    /// The battery is charged and tested; nothing else counts before.
    Charge {
        /// In words.
        words: String,
    },
    /// Nothing wrong was read yet.
    FirstReading,
    /// A reading contradicts everything that is drawn: stop and look.
    Stop {
        /// What to do, in order.
        then: Vec<String>,
    },
    /// The cheapest step from here.
    Step(Box<Step>),
    /// What is left has to be proved by the module's own gates, in order.
    Gates {
        /// What to do, in order.
        then: Vec<String>,
    },
    /// One repair unit, or a set that no reading parts, is left.
    End(Conclusion),
}

/// Plans the next step with the chances that the lines left.
pub(super) fn plan(
    case: &mut Case<'_>,
    request: &Request,
    job: &Job,
    report: &mut Report,
) -> Result<(), PlanError> {
    match doubt(case, job, report) {
        Doubt::None => {}
        Doubt::Again(at) => {
            report.next = Next::Step(Box::new(again(case, job, at)));
            return Ok(());
        }
        Doubt::MoreThanOne(words) => {
            report.next = Next::End(Conclusion {
                suspects: Vec::new(),
                remote: Vec::new(),
                units: Vec::new(),
                words,
                prove: vec![
                    "Mend the likelier of the two, then begin again with what is left: the complaint must go with the second.".to_owned(),
                ],
                gated: false,
            });
            return Ok(());
        }
        Doubt::NotDrawn => {
            report.next = Next::Stop { then: after_contradiction(true) };
            return Ok(());
        }
    }
    let most = case.accused.iter().map(|a| a.weight).fold(0.0, f64::max);
    case.accused.retain(|accused| accused.weight > FLOOR * most);

    let at_stake = report.module.as_ref().is_some_and(|m| m.probability >= AT_STAKE);
    if at_stake && gates::is_alone(case, &job.now) {
        report.next = module_gates(report);
        return Ok(());
    }
    let begin = begin(case, job);
    let mut best: Option<(f64, PlanNext, crate::plan::Plan)> = None;
    for (dead, extra) in [(true, 0.0), (false, if job.now.battery { 0.0 } else { job.costs.battery_off })] {
        if dead && job.now.battery {
            continue;
        }
        let request = Request { begin: Some(Begin { dead, ..begin.clone() }), ..request.clone() };
        let plan = match placed(case, request, job) {
            Ok(plan) => plan,
            Err(PlanError::Search(error)) => return Err(error.into()),
            Err(_) => continue,
        };
        let minutes = plan.0 + extra;
        if best.as_ref().is_none_or(|b| minutes < b.0) {
            best = Some((minutes, plan.1.start.clone(), plan.1));
        }
    }
    let Some((minutes, start, plan)) = best else { return Ok(()) };
    report.next = match start {
        PlanNext::Step(id) => match plan.step(id) {
            Some(step) => {
                report.to_go = Some(minutes);
                Next::Step(Box::new(step.clone()))
            }
            None => Next::FirstReading,
        },
        PlanNext::End(end) if end.gated && at_stake => module_gates(report),
        PlanNext::End(end) => Next::End(end),
    };
    Ok(())
}

/// What stands in the way of the next step.
enum Doubt {
    None,
    /// The line to be read again.
    Again(usize),
    /// Two faults, in words.
    MoreThanOne(String),
    NotDrawn,
}

fn doubt(case: &Case<'_>, job: &Job, report: &Report) -> Doubt {
    if report.contradiction.is_none() {
        return Doubt::None;
    }
    let Some((meaning, _)) = report.meanings.iter().find(|(meaning, _)| {
        // A line that was read again is explained: the other reading counts.
        !matches!(meaning, Meaning::Slip(Line::Reading(at)) if was_repeated(job, *at))
            || repeated_otherwise(job, meaning)
    }) else {
        return Doubt::None;
    };
    match meaning {
        Meaning::OneFault | Meaning::ComesAndGoes | Meaning::Slip(Line::Fact(_)) => Doubt::None,
        Meaning::Slip(Line::Reading(at)) if was_repeated(job, *at) => Doubt::None,
        Meaning::Slip(Line::Reading(at)) => Doubt::Again(*at),
        Meaning::TwoFaults(_) => {
            let pairs = case.pairs.iter().take(3).map(|(one, other, share)| {
                let told =
                    |(unit, mode): &crate::accuse::Told| format!("{} ({mode})", case.units[*unit].name);
                format!("{} and {}, {:.0} %", told(one), told(other), 100.0 * share)
            });
            let pairs: Vec<String> = pairs.collect();
            Doubt::MoreThanOne(format!("more than one fault: {}", pairs.join("; or ")))
        }
        Meaning::NotDrawn => Doubt::NotDrawn,
    }
}

/// Whether a reading was taken again later, or before, with the same leads in the same state.
fn was_repeated(job: &Job, at: usize) -> bool {
    let here = &job.readings[at];
    let same = |other: &Observation| other.leads == here.leads && other.state == here.state;
    job.readings.iter().enumerate().any(|(other, reading)| other != at && same(reading))
}

/// Whether the repeated reading showed something else.
fn repeated_otherwise(job: &Job, meaning: &Meaning) -> bool {
    let Meaning::Slip(Line::Reading(at)) = meaning else { return true };
    let here = &job.readings[*at];
    let middle = |reading: &Observation| 0.5 * (reading.reads[0] + reading.reads[1]);
    let apart = judge::gap(middle(here), here.leads.quantity());
    job.readings.iter().enumerate().any(|(other, reading)| {
        let same = other != *at && reading.leads == here.leads && reading.state == here.state;
        same && (middle(reading) - middle(here)).abs() > apart
    })
}

/// The step that takes a line again.
fn again(case: &Case<'_>, job: &Job, at: usize) -> Step {
    let circuit = case.bench.circuit;
    let reading = &job.readings[at];
    let name = |point| circuit.point(point).name.clone();
    let (red, black) = (name(reading.leads.red), name(reading.leads.black));
    let connectors = reading.state.unplugged.iter().map(|&id| circuit.connector(id).name.clone());
    let pulled = reading.state.pulled.iter().map(|&id| circuit.part(id).name.clone());
    let out: Vec<String> = connectors.chain(pulled).collect();
    let state =
        if out.is_empty() { "everything mated".to_owned() } else { format!("{} out", out.join(", ")) };
    let quantity = reading.leads.quantity();
    let leads = match quantity {
        Quantity::Amps => format!("the clamp around the wire at {black}"),
        _ => format!("red on {red}, black on {black}"),
    };
    let sound = case.bench.predictor.span(&reading.state, &[], reading.leads).unwrap_or(Span::ANY);
    Step {
        id: 1,
        kind: if quantity == Quantity::Ohms { StepKind::Ohms } else { StepKind::Probe },
        instruction: format!(
            "Read again: {leads}, {state}, key {}; it does not fit the other lines. Prove the leads, the cavity and the range first.",
            reading.state.key.word()
        ),
        target: red.clone(),
        place: String::new(),
        minutes: job.costs.again,
        to_go: job.costs.again,
        red,
        black,
        unit: match quantity {
            Quantity::Ohms => "ohm",
            Quantity::Amps => "A",
            Quantity::Volts => "V",
        },
        out,
        state: reading.state.clone(),
        leads: reading.leads,
        sense: crate::plan::Sense::Meter,
        subject: String::new(),
        held: Vec::new(),
        sound: crate::plan::Range { nominal: sound.nominal, low: sound.low, high: sound.high },
        outcomes: Vec::new(),
    }
}

/// A plan with the meter where it is, or where it may rest.
fn placed(case: &Case<'_>, mut request: Request, job: &Job) -> Result<(f64, crate::plan::Plan), PlanError> {
    let used = job.readings.iter().rev().map(|r| r.leads.red).find(|p| case.bench.points.contains(p));
    request.meter = used;
    let plan = match case.draw(&request) {
        Err(PlanError::MeterPlace { .. }) => {
            request.meter = None;
            case.draw(&request)?
        }
        other => other?,
    };
    let there = used == Some(plan.meter.red);
    Ok((plan.expected_minutes - if there { plan.meter.minutes } else { 0.0 }, plan))
}

fn begin(case: &Case<'_>, job: &Job) -> Begin {
    let circuit = case.bench.circuit;
    let mut reached: BTreeSet<_> =
        job.readings.iter().flat_map(|r| r.state.unplugged.iter().copied()).collect();
    for reading in &job.readings {
        for lead in [reading.leads.red, reading.leads.black] {
            reached.extend(legal::cavity(circuit, lead).map(|(connector, _)| connector));
        }
    }
    reached.extend(job.now.unplugged.iter().copied());
    Begin { out: job.now.unplugged.clone(), reached, dead: !job.now.battery }
}

/// Feeds and grounds first, then what was added, then the rest.
fn module_gates(report: &Report) -> Next {
    let Some(module) = &report.module else { return Next::FirstReading };
    let wrong = module.items.iter().filter(|i| matches!(i.proof, Proof::Wrong(_)));
    let wrong = wrong.map(|i| format!("follow what is wrong first: {}", i.what));
    Next::Gates { then: wrong.chain(module.missing().map(|i| i.what.clone())).collect() }
}

pub(super) fn after_contradiction(unlisted: bool) -> Vec<String> {
    let mut then = vec![
        "stop; read once more at the same place, with the leads proved on each other and on the battery"
            .to_owned(),
        "prove the wire: colour, neighbours and view, serial and options".to_owned(),
    ];
    let added = tables::added_equipment();
    if unlisted {
        then.splice(1..1, added)
    } else {
        then.splice(2.., added)
    };
    then
}
