//! Proof by simulation: inject a fault, take the readings it gives, follow the plan.

use halfsplit_circuit::{Circuit, Fault, Minutes, ReadError, Solver};

use crate::plan::{Conclusion, Next, Plan};

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

    /// Whether the end names this suspect.
    pub fn names(&self, suspect: usize) -> bool {
        self.end.suspects.contains(&suspect)
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

    /// As [`replay`].
    ///
    /// # Errors
    /// As [`replay`].
    pub fn walk(&self, plan: &Plan, faults: &[Fault]) -> Result<Walk, ReadError> {
        let (mut steps, mut readings, mut minutes) = (Vec::new(), Vec::new(), plan.meter.minutes);
        let mut at = plan.start.clone();
        loop {
            let step = match at {
                Next::End(end) => return Ok(Walk { steps, readings, minutes, end }),
                Next::Step(id) => plan.step(id),
            };
            let Some(step) = step else { return Ok(Walk { steps, readings, minutes, end: lost() }) };
            let value = self.solver.nominal(&step.state, faults, &step.leads)?.value;
            steps.push(step.id);
            readings.push(value);
            minutes += step.minutes;
            let fits = |r: &crate::plan::Range| r.low <= value && value <= r.high;
            let met = step.outcomes.iter().find(|o| o.range.as_ref().is_none_or(fits));
            at = met.map_or_else(|| Next::End(lost()), |o| o.next.clone());
        }
    }
}

/// The end of a walk that no outcome takes further; a whole plan never comes here.
fn lost() -> Conclusion {
    Conclusion { suspects: Vec::new(), words: String::new(), prove: Vec::new(), gated: false }
}
