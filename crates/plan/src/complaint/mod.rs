//! Plans for a complaint about a function: it does not work, it is weak, it stays on, something draws
//! while the vehicle sleeps, a dead bus shows the wrong ohms.
//!
//! A pin that reads wrong is hunted with the meter at one place ([`crate::plan`]). Here readings and
//! observations are taken where they are cheapest, each in its own state, and everything is put back
//! after each: the function itself tells whether a change mattered.

mod looks;
mod suspects;
mod trouble;
mod words;
mod write;

use std::time::Duration;

use halfsplit_circuit::{
    Amps, BranchId, BranchKind, Circuit, Fault, Hazard, Key, Meter, Ohms, PartId, PointId, Solution, Solver,
    State,
};

use crate::facts::Fact;
use crate::plan::Plan;
use crate::request::{Costs, PlanError};
use crate::search::{Effort, solve};

pub use words::WORDS;

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
}

/// A load that gets less than this share of its sound volts does not work (design figure: 60 %).
const WORKS: f64 = 0.6;
/// A load that gets less than this share is weak (own estimate; a lamp's light goes roughly as volts to the
/// power 3.4, so 7 % fewer volts are a fifth less light).
pub(crate) const WEAK: f64 = 0.93;
/// Below this share it is out rather than weak (own estimate).
const OUT: f64 = 0.1;
/// Share of its rating from which a fuse is sure to open: 135 % within ten minutes, ISO 8820-3 by way of
/// published component sheets (SAW-2nd).
const BLOWS: f64 = 1.35;
/// Minutes to wait until the vehicle sleeps (worked scenario S19: 25).
const SLEEP: f64 = 25.0;

/// Draws up the plan that finds the cause of a complaint in the fewest expected minutes.
///
/// # Errors
/// [`PlanError`] where the complaint is what a sound circuit shows, or where nothing in the circuit explains it.
pub fn plan_complaint(
    circuit: &Circuit,
    inquiry: &Inquiry,
    cancelled: Option<&dyn Fn() -> bool>,
) -> Result<Plan, PlanError> {
    let negative = circuit.negative.ok_or(PlanError::NoNegative)?;
    let facts = inquiry.facts.iter().map(|f| Fact::parse(circuit, f)).collect::<Result<Vec<_>, _>>()?;
    let desk = Desk { circuit, solver: Solver::new(circuit), inquiry, negative };
    let sound = desk.solver.solve(&inquiry.state, &[])?;
    if desk.shows(&sound, &sound, &[])? {
        return Err(PlanError::SoundComplaint { complaint: desk.words() });
    }
    let bill = suspects::gather(&desk, &sound, &facts)?;
    if bill.accused.is_empty() {
        return Err(PlanError::UnexplainedComplaint { complaint: desk.words() });
    }
    let looks = looks::all(&desk, &bill);
    let mut trouble = trouble::Trouble::new(&desk, &bill.accused, looks);
    let begun = std::time::Instant::now();
    let late = || inquiry.within.is_some_and(|within| begun.elapsed() >= within);
    let effort = Effort { cancelled, enough: Some(&late), ..Effort::of(inquiry.effort) };
    let tree = solve(&mut trouble, effort)?;
    Ok(write::plan(&desk, bill, &mut trouble, &tree))
}

/// Whether a circuit with these faults shows the complaint: what is tried again after a mend.
///
/// # Errors
/// [`PlanError`] where it cannot be computed.
pub fn shows_complaint(circuit: &Circuit, inquiry: &Inquiry, faults: &[Fault]) -> Result<bool, PlanError> {
    let negative = circuit.negative.ok_or(PlanError::NoNegative)?;
    let desk = Desk { circuit, solver: Solver::new(circuit), inquiry, negative };
    let sound = desk.solver.solve(&inquiry.state, &[])?;
    desk.shows(&desk.solver.solve(&inquiry.state, faults)?, &sound, faults)
}

/// What stays the same while suspects and looks are weighed.
pub(crate) struct Desk<'c> {
    pub circuit: &'c Circuit,
    pub solver: Solver<'c>,
    pub inquiry: &'c Inquiry,
    pub negative: PointId,
}

impl Desk<'_> {
    /// Whether a circuit shows the complaint.
    pub fn shows(&self, found: &Solution, sound: &Solution, faults: &[Fault]) -> Result<bool, PlanError> {
        let volts = |solution: &Solution, id: BranchId| {
            let branch = self.circuit.branch(id);
            solution.volts(branch.a, branch.b).abs()
        };
        let any = |part: PartId, test: &dyn Fn(f64, f64) -> bool| {
            loads(self.circuit, part).any(|id| test(volts(found, id), volts(sound, id)))
        };
        Ok(match self.inquiry.complaint {
            Complaint::Dead(part) => any(part, &|now, due| due > 1.0 && now < WORKS * due),
            Complaint::Weak(part) => any(part, &|now, due| due > 1.0 && now < WEAK * due && now > OUT * due),
            Complaint::StaysOn(part) => any(part, &|now, due| due < 1.0 && now > WORKS * self.supply()),
            Complaint::Blows(fuse) => self.overload(found, fuse) > BLOWS,
            Complaint::Draws(amps) => (self.draw(found) - amps).abs() <= 0.05 * amps + 0.003,
            Complaint::Ohms { red, black, reads } => {
                let meter = Meter::ohms(red, black);
                let value = self.solver.nominal(&self.inquiry.state, faults, &meter)?.value;
                value == reads || (value - reads).abs() <= 0.05 * reads + 0.3
            }
        })
    }

    /// What the battery gives.
    pub fn draw(&self, solution: &Solution) -> Amps {
        let sources = self.circuit.branches().filter(|(_, b)| matches!(b.kind, BranchKind::Source { .. }));
        sources.map(|(id, _)| -solution.current(id)).sum()
    }

    /// Current through a fuse as a share of its rating.
    pub fn overload(&self, solution: &Solution, fuse: PartId) -> f64 {
        let of = |(id, branch): (BranchId, &halfsplit_circuit::Branch)| match branch.kind {
            BranchKind::Fuse { rating, .. } => solution.current(id).abs() / rating,
            _ => 0.0,
        };
        self.circuit.branches_of(fuse).map(of).fold(0.0, f64::max)
    }

    fn supply(&self) -> f64 {
        self.inquiry.state.supply().unwrap_or(12.0)
    }

    /// Whether the vehicle has to sleep first.
    pub fn asleep(&self) -> bool {
        matches!(self.inquiry.complaint, Complaint::Draws(_))
    }

    /// Whether the starter turns at every reading.
    pub fn cranks(&self) -> bool {
        self.inquiry.state.key == Key::Crank
    }
}

/// The branches by which a part does its work.
pub(crate) fn loads(circuit: &Circuit, part: PartId) -> impl Iterator<Item = BranchId> + '_ {
    circuit
        .branches_of(part)
        .filter(|(_, b)| matches!(b.kind, BranchKind::Load { .. } | BranchKind::Lamp { .. }))
        .map(|(id, _)| id)
}
