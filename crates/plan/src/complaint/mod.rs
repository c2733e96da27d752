//! Complaints about a function: it does not work, it is weak, it stays on, a fuse blows, something draws while the
//! vehicle sleeps, a dead bus shows the wrong ohms, a clamp the wrong amperes.

mod words;

use std::time::Duration;

use halfsplit_circuit::{
    Amps, BranchId, BranchKind, Circuit, Fault, Hazard, Meter, Ohms, PartId, PointId, Quantity, ReadError,
    Solution, Solver, State,
};

use crate::judge::{self, working_volts};
use crate::plan::Plan;
use crate::request::{Costs, PlanError, Request};

pub use words::WORDS;
pub(crate) use words::{class, said};

/// What is complained of.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Complaint {
    /// A load gets less than a working share of its volts.
    Dead(PartId),
    /// A load gets less than its sound volts, but something.
    Weak(PartId),
    /// A load is on where it should be off.
    StaysOn(PartId),
    /// A fuse blows, a new one too.
    Blows(PartId),
    /// The battery gives this current with everything asleep.
    Draws(Amps),
    /// Ohms read between two points of a dead circuit.
    Ohms {
        /// Red lead.
        red: PointId,
        /// Black lead.
        black: PointId,
        /// What the meter showed; infinite is OL.
        reads: Ohms,
    },
    /// A current by a clamp that is not what a sound circuit shows.
    Amps {
        /// Around which conductor.
        clamp: Meter,
        /// What it showed, least and most, whichever way its arrow was.
        reads: [Amps; 2],
    },
}

/// What a plan for a complaint is asked for.
#[derive(Clone, Debug)]
pub struct Inquiry {
    /// What is complained of.
    pub complaint: Complaint,
    /// Key, switches and supply under which it shows.
    pub state: State,
    /// What is known besides, in the words of [`crate::facts::WORDS`].
    pub facts: Vec<String>,
    /// Dangers that trained people have dealt with: what, and the connector or part.
    pub cleared: Vec<(Hazard, String)>,
    /// What the small moves cost.
    pub costs: Costs,
    /// States the exact search may open before it gives way to a rollout.
    pub effort: usize,
    /// After this long the best plan so far is given; `None` takes the effort that it takes.
    pub within: Option<Duration>,
}

impl Inquiry {
    /// A plan for this complaint in this state with the default costs.
    pub fn new(complaint: Complaint, state: State) -> Inquiry {
        Inquiry {
            complaint,
            state,
            facts: Vec::new(),
            cleared: Vec::new(),
            costs: Costs::default(),
            effort: 4_000,
            within: None,
        }
    }

    /// The same question as a request.
    ///
    /// # Errors
    /// [`PlanError::NoNegative`] where the circuit has no battery negative.
    pub fn request(&self, circuit: &Circuit) -> Result<Request, PlanError> {
        let negative = circuit.negative.ok_or(PlanError::NoNegative)?;
        let mut request = Request::new(negative, self.state.clone());
        request.complaint = Some(self.complaint);
        request.facts.clone_from(&self.facts);
        request.cleared.clone_from(&self.cleared);
        request.costs = self.costs;
        request.effort = self.effort;
        request.within = self.within;
        Ok(request)
    }
}

/// Minutes to wait until the vehicle sleeps (worked scenario S19: 25).
pub(crate) const SLEEP: f64 = 25.0;

/// Draws up the plan that finds the cause of a complaint in the fewest expected minutes.
///
/// # Errors
/// [`PlanError`] where the complaint is what a sound circuit shows, or where nothing in the circuit explains it.
pub fn plan_complaint(
    circuit: &Circuit,
    inquiry: &Inquiry,
    cancelled: Option<&dyn Fn() -> bool>,
) -> Result<Plan, PlanError> {
    let request = inquiry.request(circuit)?;
    match cancelled {
        Some(cancelled) => crate::draw::plan_unless(circuit, &request, cancelled),
        None => crate::draw::plan(circuit, &request),
    }
}

/// Whether a circuit with these faults shows the complaint: what is tried again after a mend.
///
/// # Errors
/// [`PlanError`] where it cannot be computed.
pub fn shows_complaint(circuit: &Circuit, inquiry: &Inquiry, faults: &[Fault]) -> Result<bool, PlanError> {
    let solver = Solver::new(circuit);
    let sound = solver.solve(&inquiry.state, &[])?;
    let found = solver.solve(&inquiry.state, faults)?;
    Ok(shows(&solver, &inquiry.state, inquiry.complaint, &found, &sound, faults)?)
}

/// Whether a solution with these faults shows a complaint.
pub(crate) fn shows(
    solver: &Solver<'_>,
    state: &State,
    complaint: Complaint,
    found: &Solution,
    sound: &Solution,
    faults: &[Fault],
) -> Result<bool, ReadError> {
    let circuit = solver.circuit();
    let any = |part: PartId, test: &dyn Fn(f64, f64) -> bool| {
        judge::loads(circuit, part)
            .any(|id| test(working_volts(circuit, id, found, faults), working_volts(circuit, id, sound, &[])))
    };
    Ok(match complaint {
        Complaint::Dead(part) => any(part, &|now, due| due > judge::DUE && now < judge::WORKS * due),
        Complaint::Weak(part) => {
            any(part, &|now, due| due > judge::DUE && now < judge::STRONG * due && now > judge::OUT * due)
        }
        Complaint::StaysOn(part) => {
            any(part, &|now, due| due < judge::DUE && now > judge::WORKS * state.supply().unwrap_or(12.0))
        }
        Complaint::Blows(fuse) => {
            let share = overload(circuit, found, fuse);
            let fuses = circuit.branches().filter(|(_, b)| matches!(b.kind, BranchKind::Fuse { .. }));
            // The fuse that is loaded most opens first and saves the others.
            let mut others = fuses.filter(|(_, b)| b.part != fuse);
            share > judge::BLOWS && others.all(|(_, b)| overload(circuit, found, b.part) <= share)
        }
        Complaint::Draws(amps) => (draw(circuit, found) - amps).abs() <= 0.05 * amps + 0.003,
        Complaint::Ohms { red, black, reads } => {
            let value = solver.nominal(state, faults, &Meter::ohms(red, black))?.value;
            value == reads || (value - reads).abs() <= 0.05 * reads + 0.3
        }
        Complaint::Amps { clamp, reads: [low, high] } => {
            let value = solver.nominal(state, faults, &clamp)?.value.abs();
            let room = judge::meter_off(Quantity::Amps, high) + judge::gap(high, Quantity::Amps);
            low - room <= value && value <= high + room
        }
    })
}

/// What the battery gives.
pub(crate) fn draw(circuit: &Circuit, solution: &Solution) -> Amps {
    let sources = circuit.branches().filter(|(_, b)| matches!(b.kind, BranchKind::Source { .. }));
    sources.map(|(id, _)| -solution.current(id)).sum()
}

/// Current through a fuse as a share of its rating.
fn overload(circuit: &Circuit, solution: &Solution, fuse: PartId) -> f64 {
    let of = |(id, branch): (BranchId, &halfsplit_circuit::Branch)| match branch.kind {
        BranchKind::Fuse { rating, .. } => solution.current(id).abs() / rating,
        _ => 0.0,
    };
    circuit.branches_of(fuse).map(of).fold(0.0, f64::max)
}
