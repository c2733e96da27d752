//! What comes next, planned anew from the state that the car is in.

use std::collections::BTreeSet;

use super::{Contradiction, FLOOR, Job, Proof, Report, gates};
use crate::draw::{Case, tables};
use crate::legal;
use crate::plan::{Conclusion, Next as PlanNext, Step};
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

/// Plans the next step with the chances that the readings left.
pub(super) fn plan(
    case: &mut Case<'_>,
    request: &Request,
    job: &Job,
    chances: &[f64],
    report: &mut Report,
) -> Result<(), PlanError> {
    if let Some(Contradiction { .. }) = &report.contradiction {
        let powered = report.suspects.iter().filter(|s| !s.drawn).map(|s| s.probability).sum::<f64>() > 0.5;
        report.next = Next::Stop { then: after_contradiction(powered) };
        return Ok(());
    }
    let most = chances.iter().copied().fold(0.0, f64::max);
    for (accused, &chance) in case.accused.iter_mut().zip(chances) {
        accused.weight = chance;
    }
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
