//! Ours against theirs, family by family.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use halfsplit_circuit::{Circuit, Measure, ReadError, Solver};

use super::dense;
use super::elements::Netlist;
use super::families::{Case, Family};
use super::netlist::{Standing, netlist};
use super::power::{Verdict, judge, wakes};
use super::relays;
use super::simulator::{Diodes, Simulator, Small};

/// Agreement asked for, as a share of full scale: the largest volts of any supply or output, or
/// the resistance itself where ohms are read.
pub const BAR: f64 = 1e-6;

/// Runs after which relays and modules that still move have no rest.
const ROUNDS: usize = 16;

/// Something that comparing can speak of.
#[derive(Clone, PartialEq, Debug)]
pub struct Value {
    /// Point, or two points for a meter.
    pub at: String,
    /// Volts or ohms; infinite ohms is OL.
    pub value: f64,
    /// Full scale.
    pub scale: f64,
}

/// What one of the programs says about a case.
#[derive(Clone, PartialEq, Debug)]
pub enum Answer {
    /// Volts of points against the first of what they hang together with, or a reading.
    Values(Vec<Value>),
    /// No reading: two stable states, or none.
    NoSteadyReading,
    /// It found nothing, which is a failure of the program itself.
    Nothing(String),
}

/// The comparison of one family.
#[derive(Clone, Debug, Default)]
pub struct Outcome {
    /// Family.
    pub name: String,
    /// Program and version.
    pub tool: String,
    /// Cases compared.
    pub cases: usize,
    /// Values compared.
    pub values: usize,
    /// Cases in which both say that there is no steady reading.
    pub no_reading: usize,
    /// Worst error as a share of full scale, and where.
    pub worst: f64,
    /// Where the worst error is.
    pub place: String,
    /// What does not agree, beyond [`BAR`] or in kind.
    pub disagreements: Vec<String>,
    /// Cases in which the other program found no operating point.
    pub unsolved: usize,
    /// What the other program took.
    pub effort: Effort,
}

/// What the other program took for a family.
#[derive(Clone, Copy, Debug, Default)]
pub struct Effort {
    /// Time of its processes.
    pub time: Duration,
    /// Networks solved, relays and modules between runs included.
    pub decks: usize,
    /// Of these, solved by straight pieces because the table gave no operating point.
    pub by_pieces: usize,
}

/// What theirs found: the network it ended with and the volts of its nodes, or why it has none.
type Settled = Result<(Netlist, Vec<f64>), Answer>;

/// Solves every case with the simulator, relays and modules moved between its runs.
///
/// # Errors
/// If the simulator fails as a whole or a case holds what no deck can.
pub fn settle(
    cases: &[&Case],
    starts: Vec<Standing>,
    simulator: &Simulator,
    diodes: Diodes,
) -> Result<(Vec<Settled>, Effort), String> {
    let nothing = || Err(Answer::NoSteadyReading);
    let mut settled: Vec<Settled> = cases.iter().map(|_| nothing()).collect();
    let mut moving: Vec<(usize, Standing)> = starts.into_iter().enumerate().collect();
    let mut effort = Effort::default();
    for _ in 0..ROUNDS {
        if moving.is_empty() {
            break;
        }
        let lists =
            moving.iter().map(|(i, standing)| netlist(cases[*i], standing)).collect::<Result<Vec<_>, _>>()?;
        let refs: Vec<&Netlist> = lists.iter().collect();
        let solved = simulator.solve(&refs, diodes, Small::Controlled)?;
        effort.time += solved.time;
        effort.decks += refs.len();
        effort.by_pieces += solved.by_pieces;
        let mut still = Vec::new();
        let mut resting = Vec::new();
        for (((index, standing), list), volts) in moving.into_iter().zip(lists).zip(solved.volts) {
            match volts {
                None => settled[index] = Err(Answer::Nothing("no operating point".to_owned())),
                Some(volts) => match relays::relays(cases[index], &list, &volts, &standing) {
                    Some(next) => still.push((index, next)),
                    None => resting.push((index, standing, list, volts)),
                },
            }
        }
        let fed = enough(&resting, simulator, diodes, &mut effort)?;
        for ((index, standing, list, volts), enough) in resting.into_iter().zip(fed) {
            match relays::modules(cases[index], &list, &volts, &enough, &standing) {
                Some(next) => still.push((index, next)),
                None => settled[index] = Ok((list, volts)),
            }
        }
        moving = still;
    }
    Ok((settled, effort))
}

/// Of each network whose relays rest, which of its feeds are enough to wake their modules.
fn enough(
    resting: &[(usize, Standing, Netlist, Vec<f64>)],
    simulator: &Simulator,
    diodes: Diodes,
    effort: &mut Effort,
) -> Result<Vec<Vec<bool>>, String> {
    let judged: Vec<Vec<Verdict>> = (resting.iter())
        .map(|(_, _, list, volts)| list.feeds.iter().map(|fed| judge(list, volts, fed)).collect())
        .collect();
    let asked = judged.iter().flatten().filter_map(|verdict| match verdict {
        Verdict::Ask(probe) => Some(&**probe),
        Verdict::Known(_) => None,
    });
    let asked: Vec<&Netlist> = asked.collect();
    let solved = simulator.solve(&asked, diodes, Small::Controlled)?;
    effort.time += solved.time;
    effort.decks += asked.len();
    let mut answers = solved.volts.iter();
    let mut all = Vec::with_capacity(resting.len());
    for ((_, _, list, _), verdicts) in resting.iter().zip(&judged) {
        let one = list.feeds.iter().zip(verdicts).map(|(fed, verdict)| match verdict {
            Verdict::Known(enough) => *enough,
            Verdict::Ask(_) => wakes(fed, answers.next().and_then(Option::as_ref)),
        });
        all.push(one.collect());
    }
    Ok(all)
}

/// Our answer, about the points and scales of theirs.
pub fn ours(solver: &Solver<'_>, case: &Case, theirs: &[Value]) -> Answer {
    let value = match &case.meter {
        None => match solver.solve(&case.state, &case.faults) {
            Err(error) => return no_reading(&error),
            Ok(solution) => {
                let of = |name: &str| case.circuit.point_named(name);
                let volts = |value: &Value| {
                    let (point, against) = value.at.split_once(" against ")?;
                    Some(Value { value: solution.volts(of(point)?, of(against)?), ..value.clone() })
                };
                let values: Option<Vec<Value>> = theirs.iter().map(volts).collect();
                return values.map_or_else(|| Answer::Nothing("a point is gone".to_owned()), Answer::Values);
            }
        },
        Some(meter) if case.filament => solver.filament(&case.state, &case.faults, meter),
        Some(meter) => solver.nominal(&case.state, &case.faults, meter),
    };
    match value {
        Err(error) => no_reading(&error),
        Ok(reading) => {
            let values = theirs.iter().map(|value| Value { value: reading.value, ..value.clone() });
            Answer::Values(values.collect())
        }
    }
}

fn no_reading(error: &ReadError) -> Answer {
    match error {
        ReadError::TwoStableStates { .. } | ReadError::NoStableState { .. } => Answer::NoSteadyReading,
        other => Answer::Nothing(other.to_string()),
    }
}

/// Their volts as the values that are compared.
pub fn values(case: &Case, list: &Netlist, volts: &[f64]) -> Vec<Value> {
    let point = |index: usize| case.circuit.points[index].name.as_str();
    let mut joined = list.joined(volts);
    if let Some(meter) = case.meter {
        let (red, black) = (meter.red.index(), meter.black.index());
        let at = format!("{} against {}", point(red), point(black));
        let read = volts[red] - volts[black];
        if meter.measure != Measure::Ohms {
            return vec![Value { at, value: read, scale: list.full_scale }];
        }
        let ol = !joined.same(red, black) || read > halfsplit_circuit::meter::OVERLOAD;
        return vec![Value { at, value: if ol { f64::INFINITY } else { read }, scale: read.abs().max(1e-9) }];
    }
    let points = case.circuit.points.len();
    let mut first: Vec<Option<usize>> = vec![None; list.nodes];
    first[joined.find(list.ground)] = Some(list.ground);
    let mut values = Vec::new();
    for index in 0..points {
        let against = *first[joined.find(index)].get_or_insert(index);
        if against != index {
            let at = format!("{} against {}", point(index), point(against));
            values.push(Value { at, value: volts[index] - volts[against], scale: list.full_scale });
        }
    }
    values
}

/// Compares two answers about one case.
pub fn weigh(outcome: &mut Outcome, case: &str, ours: &Answer, theirs: &Answer) {
    outcome.cases += 1;
    match (ours, theirs) {
        (Answer::Values(ours), Answer::Values(theirs)) => {
            for (one, other) in ours.iter().zip(theirs) {
                outcome.values += 1;
                let off = if one.value == other.value {
                    0.0
                } else {
                    (one.value - other.value).abs() / other.scale
                };
                // Not a number is a disagreement too.
                if off.is_nan() || off > outcome.worst {
                    (outcome.worst, outcome.place) = (off, format!("{case}: {}", one.at));
                }
                if off.is_nan() || off > BAR {
                    let line = format!("{case}: {}: ours {}, theirs {}", one.at, one.value, other.value);
                    outcome.disagreements.push(line);
                }
            }
        }
        (Answer::NoSteadyReading, Answer::NoSteadyReading) => outcome.no_reading += 1,
        (_, Answer::Nothing(_)) => outcome.unsolved += 1,
        (ours, theirs) => {
            let say = |answer: &Answer| match answer {
                Answer::Values(_) => "values".to_owned(),
                Answer::NoSteadyReading => "no steady reading".to_owned(),
                Answer::Nothing(why) => why.clone(),
            };
            outcome.disagreements.push(format!("{case}: ours {}, theirs {}", say(ours), say(theirs)));
        }
    }
}

/// Runs one family against the simulator; the answers are theirs, by case.
///
/// # Errors
/// If the simulator fails as a whole.
pub fn against_simulator(
    family: &Family,
    simulator: &Simulator,
    diodes: Diodes,
) -> Result<(Outcome, Vec<Answer>), String> {
    let cases: Vec<&Case> = family.cases.iter().collect();
    let starts = cases.iter().map(|case| Standing::at_rest(case)).collect();
    let (settled, effort) = settle(&cases, starts, simulator, diodes)?;
    let mut outcome =
        Outcome { name: family.name.clone(), tool: simulator.version.clone(), effort, ..Outcome::default() };
    let mut answers: Vec<Answer> = Vec::new();
    for (case, settled) in cases.iter().zip(&settled) {
        answers.push(match settled {
            Ok((list, volts)) => Answer::Values(values(case, list, volts)),
            Err(answer) => answer.clone(),
        });
    }
    let own = all_ours(&cases, &answers);
    // Where ours sees two stable states, theirs is started asleep as well and has to end elsewhere.
    let doubtful: Vec<usize> = (0..cases.len()).filter(|&i| own[i] == Answer::NoSteadyReading).collect();
    let again: Vec<&Case> = doubtful.iter().map(|&i| cases[i]).collect();
    let (asleep, more) = settle(&again, vec![Standing::default(); again.len()], simulator, diodes)?;
    outcome.effort.time += more.time;
    outcome.effort.decks += more.decks;
    outcome.effort.by_pieces += more.by_pieces;
    for (&index, other) in doubtful.iter().zip(&asleep) {
        if let (Ok((_, one)), Ok((_, other))) = (&settled[index], other)
            && one.iter().zip(other).any(|(a, b)| (a - b).abs() > 1e-3)
        {
            answers[index] = Answer::NoSteadyReading;
        }
    }
    for ((case, ours), theirs) in cases.iter().zip(&own).zip(&answers) {
        weigh(&mut outcome, &case.name, ours, theirs);
    }
    Ok((outcome, answers))
}

/// Our answers to all cases, one solver for each circuit in a row.
pub fn all_ours(cases: &[&Case], theirs: &[Answer]) -> Vec<Answer> {
    let mut answers = Vec::with_capacity(cases.len());
    let mut place = 0;
    for same in cases.chunk_by(|one, other| Arc::ptr_eq(&one.circuit, &other.circuit)) {
        let circuit: &Circuit = &same[0].circuit;
        let solver = Solver::new(circuit);
        for case in same {
            let about = match &theirs[place] {
                Answer::Values(values) => values.as_slice(),
                _ => &[],
            };
            answers.push(ours(&solver, case, about));
            place += 1;
        }
    }
    answers
}

/// Where numpy is found.
#[derive(Clone, Debug)]
pub struct Numpy {
    /// The Python that has it.
    pub python: PathBuf,
    /// The script that solves.
    pub script: PathBuf,
    /// A folder for its input and output.
    pub folder: PathBuf,
}

/// Runs a linear family against numpy.
///
/// # Errors
/// If numpy fails as a whole.
pub fn against_numpy(family: &Family, numpy: &Numpy) -> Result<Outcome, String> {
    let cases: Vec<&Case> = family.cases.iter().collect();
    let lists =
        cases.iter().map(|case| netlist(case, &Standing::at_rest(case))).collect::<Result<Vec<_>, _>>()?;
    let refs: Vec<&Netlist> = lists.iter().collect();
    let begun = std::time::Instant::now();
    let (volts, tool) = dense::solve(&numpy.python, &numpy.script, &numpy.folder, &refs)?;
    let mut outcome = Outcome {
        name: family.name.clone(),
        tool,
        effort: Effort { time: begun.elapsed(), decks: cases.len(), by_pieces: 0 },
        ..Outcome::default()
    };
    let answers: Vec<Answer> = (0..cases.len())
        .map(|i| match &volts[i] {
            Some(volts) => Answer::Values(values(cases[i], &lists[i], volts)),
            None => Answer::Nothing("not solved".to_owned()),
        })
        .collect();
    for ((case, ours), theirs) in cases.iter().zip(&all_ours(&cases, &answers)).zip(&answers) {
        weigh(&mut outcome, &case.name, ours, theirs);
    }
    Ok(outcome)
}
