//! Proof by simulation: inject a fault, take the readings it gives, follow the plan.

use halfsplit_circuit::{BranchId, Circuit, Fault, Meter, Minutes, ReadError, Solution, Solver, State};

use crate::complaint::{WEAK, loads};
use crate::plan::{Conclusion, Next, Plan, Sense};

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
            let value = sense(&self.solver, &step.state, &faults, step.sense, &step.leads, commanded)?;
            steps.push(step.id);
            readings.push(value);
            minutes += step.minutes;
            let fits = |r: &crate::plan::Range| r.low <= value && value <= r.high;
            let met = step.outcomes.iter().find(|o| o.range.as_ref().is_none_or(fits));
            at = met.map_or_else(|| Next::End(lost()), |o| o.next.clone());
        }
    }
}

/// Share of the supply's volts from which a load counts as working, where a sound circuit gives it none.
const WORKS: f64 = 0.6;

/// What the meter shows, or 1 and 0 for yes and no.
pub(crate) fn sense(
    solver: &Solver<'_>,
    state: &State,
    faults: &[Fault],
    sense: Sense,
    leads: &Meter,
    commanded: Option<BranchId>,
) -> Result<f64, ReadError> {
    let circuit = solver.circuit();
    Ok(f64::from(u8::from(match sense {
        Sense::Meter => return Ok(solver.nominal(state, faults, leads)?.value),
        Sense::Commanded(output) => commanded == Some(output),
        Sense::PulledIn(coil) => solver.solve(state, faults)?.pulled_in(coil),
        Sense::Works(part) | Sense::Strong(part) => {
            let share = if matches!(sense, Sense::Strong(_)) { WEAK } else { WORKS };
            let (found, sound) = (solver.solve(state, faults)?, solver.solve(state, &[])?);
            let volts = |solution: &Solution, id| {
                let branch = circuit.branch(id);
                solution.volts(branch.a, branch.b).abs()
            };
            let due = |id| match volts(&sound, id) {
                due if due > 1.0 => due,
                _ => state.supply().unwrap_or(12.0),
            };
            loads(circuit, part).any(|id| volts(&found, id) >= share * due(id))
        }
    })))
}

/// The end of a walk that no outcome takes further; a whole plan never comes here.
fn lost() -> Conclusion {
    Conclusion { suspects: Vec::new(), words: String::new(), prove: Vec::new(), gated: false }
}
