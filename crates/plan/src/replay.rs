//! Proof by simulation: inject a fault, take the readings it gives, follow the plan.

use halfsplit_circuit::{BranchId, Circuit, Fault, Meter, Minutes, ReadError, Solver, State};

use crate::judge::{self, Drive};
use crate::plan::{Conclusion, Next, Plan, Sense, StepOutcome};

/// A walk through a plan with a fault injected.
#[derive(Clone, PartialEq, Debug)]
pub struct Walk {
    /// Ids of the steps that were taken.
    pub steps: Vec<usize>,
    /// What each step read.
    pub readings: Vec<f64>,
    /// Minutes of those steps, the way to the meter place included.
    pub minutes: Minutes,
    /// Where it ended.
    pub end: Conclusion,
}

impl Walk {
    /// Whether the walk ended at "fits none of these".
    pub fn fits_none(&self) -> bool {
        self.end.suspects.is_empty()
    }

    /// Whether the end names the repair unit of this suspect.
    pub fn names(&self, plan: &Plan, suspect: usize) -> bool {
        let unit = |at: usize| plan.suspects.get(at).map(|s| s.unit);
        self.end.suspects.iter().any(|&at| unit(at) == unit(suspect))
    }
}

/// Follows a plan with these faults in the circuit.
///
/// # Errors
/// [`ReadError`] where the faulty circuit finds no steady state.
pub fn replay(circuit: &Circuit, plan: &Plan, faults: &[Fault]) -> Result<Walk, ReadError> {
    Replay::new(circuit).walk(plan, faults)
}

/// Many walks through plans of one circuit.
pub struct Replay<'c> {
    solver: Solver<'c>,
}

impl<'c> Replay<'c> {
    /// Prepares a circuit.
    pub fn new(circuit: &'c Circuit) -> Replay<'c> {
        Replay { solver: Solver::new(circuit) }
    }

    /// The circuit that is walked.
    pub fn circuit(&self) -> &'c Circuit {
        self.solver.circuit()
    }

    /// As [`replay`].
    ///
    /// # Errors
    /// As [`replay`].
    pub fn walk(&self, plan: &Plan, faults: &[Fault]) -> Result<Walk, ReadError> {
        self.walk_with(plan, faults, None)
    }

    /// As [`Replay::walk`], with an output that its module commands on.
    ///
    /// # Errors
    /// As [`replay`].
    pub fn walk_with(
        &self,
        plan: &Plan,
        faults: &[Fault],
        commanded: Option<BranchId>,
    ) -> Result<Walk, ReadError> {
        let (mut steps, mut readings, mut minutes) = (Vec::new(), Vec::new(), plan.meter.minutes);
        let mut at = plan.start.clone();
        loop {
            let step = match at {
                Next::End(end) => return Ok(Walk { steps, readings, minutes, end }),
                Next::Step(id) => plan.step(id),
            };
            let Some(step) = step else { return Ok(Walk { steps, readings, minutes, end: lost() }) };
            let faults: Vec<Fault> = faults.iter().chain(&step.held).cloned().collect();
            let value = match sense(&self.solver, &step.state, &faults, step.sense, &step.leads, commanded) {
                Ok(value) => Some(value),
                Err(ReadError::NoStableState { .. } | ReadError::TwoStableStates { .. }) => None,
                Err(error) => return Err(error),
            };
            steps.push(step.id);
            readings.push(value.unwrap_or(f64::NAN));
            minutes += step.minutes;
            let fits = |outcome: &&StepOutcome| match (value, outcome.range) {
                (Some(value), Some(range)) => range.low <= value && value <= range.high,
                (None, None) => outcome.wanders,
                _ => false,
            };
            let met = step.outcomes.iter().find(fits).or(step.outcomes.last());
            at = met.map_or_else(|| Next::End(lost()), |o| o.next.clone());
        }
    }
}

/// What the meter shows, or 1 and 0 for yes and no.
pub(crate) fn sense(
    solver: &Solver<'_>,
    state: &State,
    faults: &[Fault],
    sense: Sense,
    leads: &Meter,
    commanded: Option<BranchId>,
) -> Result<f64, ReadError> {
    Ok(f64::from(u8::from(match sense {
        Sense::Meter => return Ok(solver.nominal(state, faults, leads)?.value),
        Sense::Commanded(output) => commanded == Some(output),
        Sense::PulledIn(coil) => solver.solve(state, faults)?.pulled_in(coil),
        Sense::Works(drive) => works(solver, state, faults, drive, judge::WORKS)?,
        Sense::Strong(drive) => works(solver, state, faults, drive, judge::STRONG)?,
    })))
}

fn works(
    solver: &Solver<'_>,
    state: &State,
    faults: &[Fault],
    drive: Drive,
    share: f64,
) -> Result<bool, ReadError> {
    let (found, sound) = (solver.solve(state, faults)?, solver.solve(state, &[])?);
    let supply = state.supply().unwrap_or(12.0);
    Ok(judge::at_least(solver.circuit(), drive, share, (&found, faults), &sound, supply))
}

/// The end of a walk that no outcome takes further; a whole plan never comes here.
fn lost() -> Conclusion {
    Conclusion {
        suspects: Vec::new(),
        remote: Vec::new(),
        units: Vec::new(),
        words: String::new(),
        prove: Vec::new(),
        gated: false,
    }
}
