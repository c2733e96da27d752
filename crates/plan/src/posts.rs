//! Volts read at the battery's own posts. What a sound car can show there is the supply that everything else is
//! reckoned from. What it cannot show is evidence like any other: a flat battery, one that gives way, a cable that is
//! shorted or a regulator that lets go may be the fault itself.

use halfsplit_circuit::{Circuit, Meter, Solver, State};

use crate::case::{Job, Observation};
use crate::predict::sound;
use crate::request::Request;

/// Half of the last digit of a reading at the posts.
const HALF_A_DIGIT: f64 = 0.005;

/// The reading at the posts that a state goes by, where a sound circuit does not show it in that state.
fn unsound(solver: &Solver<'_>, state: &State) -> Option<Observation> {
    let (circuit, read) = (solver.circuit(), state.supply()?);
    let leads = Meter::volts(circuit.positive?, circuit.negative?);
    let reads = [read - HALF_A_DIGIT, read + HALF_A_DIGIT];
    let state = unmeasured(state);
    let sound = sound(solver, &state, leads)?;
    (!sound.meets(reads)).then_some(Observation { state, leads, reads })
}

fn unmeasured(state: &State) -> State {
    State { supply_millivolts: None, ..state.clone() }
}

/// The same request with an unsound reading at the posts as evidence; `None` where there is none.
pub(crate) fn of_request(circuit: &Circuit, request: &Request) -> Option<Request> {
    request.state.supply()?;
    let found = unsound(&Solver::new(circuit), &request.state)?;
    let mut request = request.clone();
    request.state = unmeasured(&request.state);
    request.readings.iter_mut().for_each(|reading| reading.state = unmeasured(&reading.state));
    request.stated.iter_mut().for_each(|(state, _)| *state = unmeasured(state));
    request.posts = Some(found);
    Some(request)
}

/// The same job with the first unsound reading at the posts as evidence; `None` where there is none.
pub(crate) fn of_job(circuit: &Circuit, job: &Job) -> Option<(Job, Observation)> {
    let states = job.readings.iter().map(|reading| &reading.state).chain(&job.fact_states);
    let solver = Solver::new(circuit);
    let found = states.chain([&job.now]).find_map(|state| unsound(&solver, state))?;
    let mut job = job.clone();
    job.readings.iter_mut().for_each(|reading| reading.state = unmeasured(&reading.state));
    job.fact_states.iter_mut().chain([&mut job.now]).for_each(|state| *state = unmeasured(state));
    Some((job, found))
}
