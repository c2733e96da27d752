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

use crate::draw::Case;
use crate::facts::Fact;
use crate::learned::Seen;
use crate::plan::{CautionNote, Plan, Range};
use crate::request::{Costs, PlanError, Request, Suspects};

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
    /// What it showed, least and most: volts or ohms, infinite for OL. Alike unless it wandered.
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
    /// What is known besides, in the words of [`crate::facts::WORDS`].
    pub facts: Vec<String>,
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
}

/// What the readings amount to.
#[derive(Clone, Debug)]
pub struct Report {
    /// The pin of the complaint; empty where nothing wrong was read yet.
    pub pin: String,
    /// Position of the complaint in [`Job::readings`].
    pub complaint: Option<usize>,
    /// What the complaint amounts to.
    pub class: Option<Class>,
    /// Suspects by chance, likeliest first; what no reading excludes is among them.
    pub suspects: Vec<Posterior>,
    /// What recovered, rose in part, stayed good: what the order of readings says beside the numbers.
    pub patterns: Vec<Pattern>,
    /// A reading that nothing the circuit draws explains.
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
    /// The plan from the complaint, as if nothing had been read since.
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
    /// Volts or ohms.
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

/// A line that only the floor explains for every suspect that is drawn.
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
    let facts: Vec<Fact> = job.facts.iter().map(|f| Fact::parse(circuit, f)).collect::<Result<_, _>>()?;
    let mut report = Report::empty(circuit, job);
    report.gates = gates::first(&Solver::new(circuit), job);
    report.held = held::held(circuit, job, &facts);
    if let Some(gate) = report.gates.iter().find(|g| g.kind == GateKind::Battery && !g.passed)
        && gates::is_low(job)
    {
        report.next = Next::Charge { words: gate.words.clone() };
        return Ok(report);
    }
    let Some((first, request)) = complaint(circuit, job, &facts)? else {
        report.next = Next::FirstReading;
        return Ok(report);
    };
    report.complaint = Some(first);
    report.pin = circuit.point(request.pin).name.clone();
    let mut case = match Case::open(circuit, &request) {
        Ok(case) => case,
        Err(PlanError::Unexplained { healthy, .. }) => {
            let line = Line::Reading(first);
            let sound = Range { nominal: healthy, low: healthy, high: healthy };
            report.contradiction = Some(Contradiction { line, sound: Some(sound), means: means(false) });
            report.next = Next::Stop { then: next::after_contradiction(false) };
            return Ok(report);
        }
        Err(error) => return Err(error),
    };
    report.class = case.class;
    let weighed = evidence::weigh(&case, job, first, &facts)?;
    report.patterns = patterns::find(&case.bench, job);
    report.contradiction = weighed.contradiction.clone();
    if let Some(contradiction) = &mut report.contradiction {
        let stays = report.patterns.iter().any(|p| matches!(p, Pattern::StaysGood { .. }));
        contradiction.means = means(stays);
    }
    report.suspects = weighed.suspects;
    report.plan = crate::draw::plan(circuit, &request).ok();
    report.module = gates::module_last(&case, job, &report.suspects);
    next::plan(&mut case, &request, job, &weighed.chances, &mut report)?;
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
            patterns: Vec::new(),
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

/// The first live reading, meter alone, that is not what a sound circuit shows; and what a plan is asked for it.
fn complaint(circuit: &Circuit, job: &Job, facts: &[Fact]) -> Result<Option<(usize, Request)>, PlanError> {
    for (at, reading) in job.readings.iter().enumerate() {
        if reading.leads.measure != Measure::Volts(Load::None) || !reading.state.battery {
            continue;
        }
        let mut request = Request::new(reading.leads.red, reading.state.clone());
        request.black = Some(reading.leads.black);
        request.reads = Some(0.5 * (reading.reads[0] + reading.reads[1]));
        request.suspects = Suspects::All;
        request.costs = job.costs;
        request.seen.clone_from(&job.seen);
        // Silence changes which way a plan goes; every other fact is evidence like a reading.
        request.facts = facts.iter().filter(|f| f.is_silence().is_some()).map(|f| f.words.clone()).collect();
        match Case::open(circuit, &request) {
            Err(PlanError::Sound { .. }) => {}
            Err(error @ PlanError::Gate { .. }) => return Err(error),
            _ => return Ok(Some((at, request))),
        }
    }
    Ok(None)
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
