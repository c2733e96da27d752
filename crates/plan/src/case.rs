//! One car's job: what the readings so far leave of the suspects, and what comes next.
//!
//! Bayes over the suspects that a plan would have. A reading inside what a suspect predicts, widened by what a
//! person tells apart, is likely; outside it falls to a floor, never to zero, because the model may be wrong.

mod bay;
mod evidence;
mod gates;
mod held;
mod next;
mod patterns;

use std::collections::BTreeSet;

use halfsplit_circuit::{Circuit, Class, Hazard, Load, Measure, Meter, Quantity, Solver, State, Volts};

use crate::complaint::{Complaint, Inquiry, shows_complaint};
use crate::draw::Case;
use crate::facts::Fact;
use crate::learned::Seen;
use crate::plan::{CautionNote, Plan, Range};
use crate::posts;
use crate::predict::{Corners, sound};
use crate::request::{Costs, PlanError, Request, Suspects};
use crate::suspects::UnitKind;

pub use bay::{Bay, Shown};
pub use gates::{Gate, GateKind, ModuleItem, ModuleLast, Proof};
pub use held::Held;
pub use next::Next;
pub use patterns::Pattern;

/// Least likelihood of a reading: the model may be wrong (values: floor of 1e-3, COMPUTED there from a Gaussian that
/// is over-confident without it).
pub const FLOOR: f64 = 1e-3;

/// One reading of a job.
#[derive(Clone, PartialEq, Debug)]
pub struct Observation {
    /// Key, battery, switches, and everything that was out.
    pub state: State,
    /// Where the leads were, and what the meter was set to.
    pub leads: Meter,
    /// What it showed, least and most: volts, ohms or amperes, infinite for OL. Of amperes the amount counts.
    pub reads: [f64; 2],
}

/// What was found right without a reading of the circuit.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Checked {
    /// The battery, tested under load.
    Battery,
    /// Bus ohms, wake line, who answers.
    Network,
    /// The module is coded for this car.
    Configuration,
    /// An output that latches off was given its key cycle.
    Latch,
    /// The module's software is the car's.
    Software,
    /// Added equipment is found, separated, and the reading taken again.
    Equipment,
}

/// Everything that is known of a job.
#[derive(Clone, Debug, Default)]
pub struct Job {
    /// What was read, in order; the first live reading that is wrong is the complaint.
    pub readings: Vec<Observation>,
    /// What is known besides, in the words of [`crate::facts::WORDS`] or of [`crate::COMPLAINTS`].
    pub facts: Vec<String>,
    /// The state in which each fact was seen; that of the complaint where there is none.
    pub fact_states: Vec<State>,
    /// How many of the facts were noted before anything was read: a complaint among them is what the job is about.
    pub facts_before: usize,
    /// Volts of the battery at rest, of each where there are several; empty where nobody read them.
    pub rested: Vec<Volts>,
    /// Volts of the system; 12 where nothing is said.
    pub system: Option<Volts>,
    /// Whether a battery that was low has been charged since, so that it has to be tested.
    pub was_low: bool,
    /// What was found right without a reading.
    pub checked: BTreeSet<Checked>,
    /// Dangers that trained people have dealt with: what, and the connector or part.
    pub cleared: Vec<(Hazard, String)>,
    /// The state that the car is in.
    pub now: State,
    /// Confirmed causes of other cars with this circuit.
    pub seen: Vec<Seen>,
    /// What the small moves cost.
    pub costs: Costs,
    /// Whether the plan from the complaint is wanted too, to hold the minutes against it.
    pub with_plan: bool,
}

/// What the readings amount to.
#[derive(Clone, Debug)]
pub struct Report {
    /// The pin of the complaint; empty where nothing wrong was read yet.
    pub pin: String,
    /// The line that the job is about.
    pub complaint: Option<Line>,
    /// What the complaint amounts to.
    pub class: Option<Class>,
    /// Suspects by chance, likeliest first; what no reading excludes is among them.
    pub suspects: Vec<Posterior>,
    /// Name and mode of what explained the complaint and is excluded by the other lines, if there is one fault.
    pub cleared: Vec<(String, String)>,
    /// What recovered, rose in part, stayed good: what the order of readings says beside the numbers.
    pub patterns: Vec<Pattern>,
    /// What the lines can mean, with shares, likeliest first; empty while there is one line.
    pub meanings: Vec<(Meaning, f64)>,
    /// A line that does not fit, where one fault that stays is unlikely.
    pub contradiction: Option<Contradiction>,
    /// Gates, closed and open.
    pub gates: Vec<Gate>,
    /// The source's module, and what is missing before it may be named.
    pub module: Option<ModuleLast>,
    /// What else can hold an output of a module that does not talk.
    pub held: Vec<Held>,
    /// What comes next.
    pub next: Next,
    /// Minutes expected from here to one repair unit.
    pub to_go: Option<f64>,
    /// Connectors to mate again, fuses to put back.
    pub remate: Vec<String>,
    /// Dangers on the way.
    pub cautions: Vec<CautionNote>,
    /// The plan from the complaint, as if nothing had been read since, where [`Job::with_plan`] asks for it.
    pub plan: Option<Plan>,
}

/// A suspect and its chance.
#[derive(Clone, Debug)]
pub struct Posterior {
    /// The repair unit.
    pub name: String,
    /// How it fails.
    pub mode: String,
    /// Whether the circuit draws it; unlisted equipment, a wrong wire and two faults it does not.
    pub drawn: bool,
    /// Whether it is the source's module.
    pub module: bool,
    /// Chance before the readings.
    pub prior: f64,
    /// Chance after them.
    pub probability: f64,
    /// Line by line.
    pub evidence: Vec<Evidence>,
}

/// What one line does to one suspect.
#[derive(Clone, PartialEq, Debug)]
pub struct Evidence {
    /// The line.
    pub line: Line,
    /// What the suspect predicts there; `None` where it predicts nothing in particular.
    pub predicted: Option<Range>,
    /// Volts, ohms or amperes.
    pub quantity: Quantity,
    /// How likely it makes the line, 1 at most.
    pub factor: f64,
}

/// A line of a job.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Line {
    /// Position in [`Job::readings`].
    Reading(usize),
    /// Position in [`Job::facts`].
    Fact(usize),
}

/// What the lines of a job can mean.
#[derive(Clone, PartialEq, Debug)]
pub enum Meaning {
    /// One fault that stays.
    OneFault,
    /// A slip in this line.
    Slip(Line),
    /// One fault that comes and goes.
    ComesAndGoes,
    /// Two faults: name and mode of each, likeliest pair first.
    TwoFaults(Vec<((String, String), (String, String))>),
    /// Something that is not drawn, another wire or another car.
    NotDrawn,
}

/// A line that does not fit the others.
#[derive(Clone, PartialEq, Debug)]
pub struct Contradiction {
    /// The line.
    pub line: Line,
    /// What a sound circuit reads there.
    pub sound: Option<Range>,
    /// What it can mean.
    pub means: Vec<String>,
}

/// Weighs a job.
///
/// # Errors
/// As [`plan`](crate::plan()), but for a reading that nothing explains: that is the report's contradiction.
pub fn follow(circuit: &Circuit, job: &Job) -> Result<Report, PlanError> {
    for words in &job.facts {
        understood(circuit, words)?;
    }
    let facts: Vec<Fact> = job.facts.iter().filter_map(|words| Fact::parse(circuit, words).ok()).collect();
    let mut report = Report::empty(circuit, job);
    report.gates = gates::first(&Solver::new(circuit), job);
    report.held = held::held(circuit, job, &facts);
    if let Some(gate) = report.gates.iter().find(|g| g.kind == GateKind::Battery && !g.passed)
        && gates::is_low(job)
    {
        report.next = Next::Charge { words: gate.words.clone() };
        return Ok(report);
    }
    let corners = Corners::of(circuit);
    let evident = posts::of_job(circuit, job);
    let job = evident.as_ref().map_or(job, |(job, _)| job);
    let Some((first, mut request)) = complaint(circuit, job)? else {
        report.next = Next::FirstReading;
        return Ok(report);
    };
    request.posts = evident.as_ref().map(|(_, posts)| posts.clone());
    report.complaint = Some(first);
    let pin = match request.complaint {
        Some(Complaint::Amps { clamp, .. }) => clamp.black,
        _ => request.pin,
    };
    report.pin = circuit.point(pin).name.clone();
    let mut case = match Case::open(circuit, &corners, &request) {
        Ok(case) => case,
        Err(error @ (PlanError::Unexplained { .. } | PlanError::UnexplainedComplaint { .. })) => {
            let sound = match error {
                PlanError::Unexplained { healthy, .. } => {
                    Some(Range { nominal: healthy, low: healthy, high: healthy })
                }
                _ => None,
            };
            report.contradiction = Some(Contradiction { line: first, sound, means: means(false) });
            report.next = Next::Stop { then: next::after_contradiction(false) };
            return Ok(report);
        }
        Err(error) => return Err(error),
    };
    report.class = case.class;
    // Silence changes which way a plan goes; every other fact is evidence like a reading.
    let silent = facts.iter().filter(|f| f.is_silence().is_some()).map(|f| f.words.clone());
    let alone =
        Request { readings: Vec::new(), stated: Vec::new(), facts: silent.collect(), ..request.clone() };
    let before = Case::open(circuit, &corners, &alone).ok();
    if job.with_plan {
        report.plan = before.as_ref().and_then(|before| before.draw(&alone).ok());
    }
    let order = evidence::order(first, job);
    let weighed = evidence::weigh(&case, job, &order, before.as_ref())?;
    report.patterns = patterns::find(&case.bench, job);
    report.contradiction = weighed.contradiction.clone();
    report.meanings = weighed.meanings;
    report.suspects = weighed.suspects;
    report.cleared = before.as_ref().map(|before| cleared(before, &report.suspects)).unwrap_or_default();
    report.module = gates::module_last(&case, job, &report.suspects);
    next::plan(&mut case, &request, job, &mut report)?;
    gates::safety(&case, job, &mut report);
    report.suspects.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    report.one_line_each();
    Ok(report)
}

impl Report {
    fn empty(circuit: &Circuit, job: &Job) -> Report {
        let out = job.now.unplugged.iter().map(|&c| circuit.connector(c).name.clone());
        let pulled = job.now.pulled.iter().map(|&p| circuit.part(p).name.clone());
        Report {
            pin: String::new(),
            complaint: None,
            class: None,
            suspects: Vec::new(),
            cleared: Vec::new(),
            patterns: Vec::new(),
            meanings: Vec::new(),
            contradiction: None,
            gates: Vec::new(),
            module: None,
            held: Vec::new(),
            next: Next::FirstReading,
            to_go: None,
            remate: out.chain(pulled).collect(),
            cautions: Vec::new(),
            plan: None,
        }
    }

    /// Suspects that differ in how bad the fault is alone are one line, with the evidence of the likeliest.
    fn one_line_each(&mut self) {
        let mut lines: Vec<Posterior> = Vec::new();
        for suspect in std::mem::take(&mut self.suspects) {
            match lines.iter_mut().find(|l| l.name == suspect.name && l.mode == suspect.mode) {
                Some(known) => {
                    known.prior += suspect.prior;
                    known.probability += suspect.probability;
                }
                None => lines.push(suspect),
            }
        }
        lines.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        self.suspects = lines;
    }

    /// Chance of a whole repair unit.
    pub fn chance(&self, name: &str) -> f64 {
        self.suspects.iter().filter(|s| s.name == name).map(|s| s.probability).sum()
    }

    /// Repair units by chance, likeliest first.
    pub fn units(&self) -> Vec<(&str, f64)> {
        let names: BTreeSet<&str> = self.suspects.iter().map(|s| s.name.as_str()).collect();
        let mut units: Vec<(&str, f64)> = names.into_iter().map(|n| (n, self.chance(n))).collect();
        units.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(b.0)));
        units
    }
}

/// What explained the complaint alone, and is not among these any more.
fn cleared(before: &Case<'_>, left: &[Posterior]) -> Vec<(String, String)> {
    let mut cleared: Vec<(String, String)> = Vec::new();
    for accused in &before.accused {
        let it = (before.units[accused.unit].name.clone(), accused.mode.clone());
        let drawn = before.units[accused.unit].kind != UnitKind::Unlisted;
        let is_left = left.iter().any(|suspect| (&suspect.name, &suspect.mode) == (&it.0, &it.1));
        if drawn && !is_left && !cleared.contains(&it) {
            cleared.push(it);
        }
    }
    cleared
}

/// Whether the words can be said of a circuit, as a fact or as a complaint.
///
/// # Errors
/// [`PlanError::UnknownFact`] with what can be said.
pub fn understood(circuit: &Circuit, words: &str) -> Result<(), PlanError> {
    match Complaint::parse(circuit, words) {
        Ok(_) => Ok(()),
        Err(_) => Fact::parse(circuit, words).map(|_| ()),
    }
}

/// What the job is about: what was complained of before anything was read, or the first reading that is not what a
/// sound circuit shows, or what was complained of later. Everything else is evidence beside it, each line in its own
/// state.
fn complaint(circuit: &Circuit, job: &Job) -> Result<Option<(Line, Request)>, PlanError> {
    let before = 0..job.facts_before.min(job.facts.len());
    if let Some(found) = complained(circuit, job, before)? {
        return Ok(Some(found));
    }
    if let Some(found) = read_wrong(circuit, job)? {
        return Ok(Some(found));
    }
    complained(circuit, job, 0..job.facts.len())
}

/// The first of these facts that is a complaint and not what a sound circuit shows.
fn complained(
    circuit: &Circuit,
    job: &Job,
    facts: std::ops::Range<usize>,
) -> Result<Option<(Line, Request)>, PlanError> {
    for at in facts {
        let Ok(complaint) = Complaint::parse(circuit, &job.facts[at]) else { continue };
        let state = job.fact_states.get(at).unwrap_or(&job.now).clone();
        let inquiry = Inquiry::new(complaint, state);
        // What a sound circuit does is no complaint: it is evidence.
        if shows_complaint(circuit, &inquiry, &[]).unwrap_or(false) {
            continue;
        }
        let request = inquiry.request(circuit)?;
        let line = Line::Fact(at);
        return Ok(Some((line, with_evidence(request, job, line))));
    }
    Ok(None)
}

/// The first reading in volts, or in amperes by a clamp, that a sound circuit does not show.
fn read_wrong(circuit: &Circuit, job: &Job) -> Result<Option<(Line, Request)>, PlanError> {
    let solver = Solver::new(circuit);
    for (at, reading) in job.readings.iter().enumerate() {
        let leads = reading.leads;
        let told = matches!(leads.measure, Measure::Volts(Load::None) | Measure::Amps(_));
        if !told || !reading.state.battery {
            continue;
        }
        if sound(&solver, &reading.state, leads).is_some_and(|sound| sound.meets(reading.reads)) {
            continue;
        }
        let request = match leads.measure {
            Measure::Amps(_) => {
                let complaint = Complaint::Amps { clamp: leads, reads: reading.reads };
                Inquiry::new(complaint, reading.state.clone()).request(circuit)?
            }
            _ => Request {
                black: Some(leads.black),
                reads: Some(0.5 * (reading.reads[0] + reading.reads[1])),
                reads_off: Some(0.5 * (reading.reads[1] - reading.reads[0])),
                suspects: Suspects::All,
                ..Request::new(leads.red, reading.state.clone())
            },
        };
        let line = Line::Reading(at);
        return Ok(Some((line, with_evidence(request, job, line))));
    }
    Ok(None)
}

/// A request with every other line of the job as evidence, each in its own state.
fn with_evidence(mut request: Request, job: &Job, first: Line) -> Request {
    let rest = job.readings.iter().enumerate().filter(|(at, _)| Line::Reading(*at) != first);
    request.readings = rest.map(|(_, reading)| reading.clone()).collect();
    request.costs = job.costs;
    request.seen.clone_from(&job.seen);
    request.cleared.clone_from(&job.cleared);
    let rest = job.facts.iter().enumerate().filter(|(at, _)| Line::Fact(*at) != first);
    request.stated = rest
        .map(|(at, words)| (job.fact_states.get(at).unwrap_or(&request.state).clone(), words.clone()))
        .collect();
    request
}

/// What a reading that nothing explains can mean.
fn means(stays_good: bool) -> Vec<String> {
    let contact = "a contact: what stays good after mating again was mended by the parting";
    let all = [
        "unlisted equipment: something that the file does not draw is on the wire",
        "wrong wire: the leads are on another one of that colour, or in the mirrored cavity",
        "wrong variant: the car is built otherwise than the file",
        "two faults, of which each hides the other",
        "the meter's range, its leads, or a lead that was not where the line says",
    ];
    stays_good.then_some(contact).into_iter().chain(all).map(str::to_owned).collect()
}

/// Minutes in which a plan ends at a repair unit, followed with that unit's likeliest fault in the circuit.
pub fn minutes_to(circuit: &Circuit, plan: &Plan, unit: &str) -> Option<f64> {
    let suspect = plan.suspects.iter().find(|s| s.name == unit && !s.variants.is_empty())?;
    let walk = crate::replay::replay(circuit, plan, suspect.variants.first()?).ok()?;
    Some(walk.minutes)
}
