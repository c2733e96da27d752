//! Drawing up a plan.

mod steps;
pub(crate) mod tables;
pub(crate) mod words;
mod wrong;

pub(crate) use words::ohms;
use wrong::wrong;

use halfsplit_circuit::{BranchKind, Circuit, Class, ConnectorId, Meter, Minutes, PartKind, Volts};

use crate::accuse::{Accused, Bill, Question, Told, accuse, facts_of, typed};
use crate::bench::Bench;
use crate::complaint::{self, Complaint};
use crate::evidence::{Line, Said};
use crate::facts::Fact;
use crate::ground::lay;
use crate::hunt::{Action, Hunt, Quarry};
use crate::judge;
use crate::legal;
use crate::plan::{Complained, Dropped, MeterPlace, Optimality, Plan, Range, Recheck, Refused, Suspect};
use crate::posts;
use crate::predict::Corners;
use crate::priors;
use crate::request::{PlanError, Request, Suspects};
use crate::search::{Effort, Proof, SearchError, Tree, follow, solve};
use crate::suspects::{Focus, Shape, Unit, UnitKind};
use crate::wiggle;
use crate::worlds::Worlds;

/// What one search may compute; the reference circuit's plan at a quarter of a volt, proved optimal, takes 6.1 million.
const WORK: u64 = 7_000_000;

/// Draws up the plan that finds the fault in the fewest expected minutes.
///
/// # Errors
/// [`PlanError`] where there is nothing to plan, where a fact or the meter place is of no use, or
/// where a danger stands before every step.
pub fn plan(circuit: &Circuit, request: &Request) -> Result<Plan, PlanError> {
    draw_up(circuit, request, None)
}

/// As [`plan`], asking now and then whether the answer is still wanted.
///
/// # Errors
/// As [`plan`], and [`SearchError::Cancelled`](crate::search::SearchError::Cancelled) once
/// `cancelled` says so.
pub fn plan_unless(
    circuit: &Circuit,
    request: &Request,
    cancelled: &dyn Fn() -> bool,
) -> Result<Plan, PlanError> {
    draw_up(circuit, request, Some(cancelled))
}

fn draw_up(
    circuit: &Circuit,
    request: &Request,
    cancelled: Option<&dyn Fn() -> bool>,
) -> Result<Plan, PlanError> {
    let stop = || match cancelled.is_some_and(|cancelled| cancelled()) {
        true => Err(SearchError::Cancelled),
        false => Ok(()),
    };
    // One that nobody wants any more is not begun.
    stop()?;
    let corners = Corners::of(circuit);
    let case = Case::open(circuit, &corners, request)?;
    stop()?;
    case.draw_unless(request, cancelled)
}

/// Expected minutes of parting these connectors in this order, each singly and left out, until one
/// repair unit is left. The source's own connector stands for the wire dead and ohms.
///
/// Inline connectors are parted only where the order names them and [`Request::splits`] allows it.
///
/// # Errors
/// As [`plan`].
pub fn minutes_in_order(
    circuit: &Circuit,
    request: &Request,
    order: &[ConnectorId],
) -> Result<Minutes, PlanError> {
    let corners = Corners::of(circuit);
    let case = Case::open(circuit, &corners, request)?;
    let Ready { mut hunt, minutes, .. } = case.hunt(request)?;
    hunt.broad = false;
    let source = hunt.ground.source_tap.map(|t| hunt.ground.taps[t].connector);
    let taps: Vec<ConnectorId> = hunt.ground.taps.iter().map(|t| t.connector).collect();
    let actions = hunt.actions.clone();
    let tree = follow(&mut hunt, |_, _, moves| {
        let find =
            |wanted: &dyn Fn(Action) -> bool| moves.iter().position(|m| wanted(actions[m.action as usize]));
        let listed = order.iter().find_map(|&connector| {
            if Some(connector) == source {
                return find(&|a| matches!(a, Action::Ohms { .. }));
            }
            find(&|a| matches!(a, Action::Part { tap, remate: false } if taps[tap] == connector))
        });
        // Past the list only the leads are moved.
        listed.or_else(|| find(&|a| matches!(a, Action::Ohms { .. })))
    });
    Ok(minutes + tree.expected)
}

/// Share of all chance below which a suspect is not worth a step of its own: before any reading but the first, and
/// after more (own estimates).
const RIDES: [f64; 2] = [1e-3, 1e-2];

/// A plan's subject: the circuit, the reading and what explains it.
pub(crate) struct Case<'c> {
    pub bench: Bench<'c>,
    pub complaint: Option<Complaint>,
    /// Volts read at the pin.
    pub reads: Option<Volts>,
    pub class: Option<Class>,
    pub nominal: f64,
    pub silent: bool,
    pub units: Vec<Unit>,
    pub accused: Vec<Accused>,
    pub dropped: Vec<Dropped>,
    pub facts: Vec<crate::plan::FactUsed>,
    pub learned: Option<crate::learned::Learned>,
    /// Everything that is known, the question first.
    pub lines: Vec<Line>,
    pub worlds: Worlds,
    pub pairs: Vec<(Told, Told, f64)>,
}

/// A hunt ready to be searched.
pub(crate) struct Ready<'h, 'c> {
    pub hunt: Hunt<'h, 'c>,
    pub refused: Vec<Refused>,
    /// Minutes to the meter place.
    pub minutes: Minutes,
}

impl<'c> Case<'c> {
    pub fn open(
        circuit: &'c Circuit,
        corners: &'c Corners,
        request: &Request,
    ) -> Result<Case<'c>, PlanError> {
        if let Some(with_posts) = posts::of_request(circuit, request) {
            match Case::weigh(circuit, corners, &with_posts) {
                // A supply that no fault explains is one to reckon with all the same: somebody feeds the car.
                Err(
                    PlanError::Unexplained { .. }
                    | PlanError::UnexplainedComplaint { .. }
                    | PlanError::SoundComplaint { .. }
                    | PlanError::SoundCurrent { .. }
                    | PlanError::Sound { .. },
                ) => {}
                weighed => return weighed,
            }
        }
        Case::weigh(circuit, corners, request)
    }

    fn weigh(circuit: &'c Circuit, corners: &'c Corners, request: &Request) -> Result<Case<'c>, PlanError> {
        let facts: Vec<Fact> =
            request.facts.iter().map(|f| Fact::parse(circuit, f)).collect::<Result<_, _>>()?;
        if let (Some((connector, _)), None) = (legal::cavity(circuit, request.pin), request.complaint)
            && let Some(caution) = legal::shut(circuit, circuit.connector(connector), &request.cleared)
        {
            let at = circuit.connector(connector).name.clone();
            return Err(PlanError::Gate { at, words: caution.words.clone() });
        }
        let mut bench = Bench::new(circuit, corners, request)?;
        let healthy = bench.healthy.nominal;
        let nominal = match bench.source_kind() {
            Some(BranchKind::Reference { volts, .. }) => *volts,
            _ => healthy.abs().max(1.0),
        };
        let class = wrong(&bench, request, nominal)?;
        bench.reads_high = request.complaint.is_none() && class == Some(Class::High);
        bench.high = bench.reads_high && healthy > judge::DUE;
        let lines = lines(circuit, &bench, request, &facts)?;
        let is_silent = |line: &Line| match &line.said {
            Said::Fact(fact) => fact.is_silence().is_some_and(|module| Some(module) == bench.source.module),
            _ => false,
        };
        let silent = request.complaint.is_none() && lines.iter().any(is_silent);
        let question = Question {
            focus: Focus {
                state: &request.state,
                net: request.complaint.is_none().then_some(&bench.net),
                lifted: bench.high,
            },
            lines: &lines,
            file_only: request.suspects == Suspects::FileOnly,
            seen: &request.seen,
            commands: matches!(request.complaint, Some(Complaint::StaysOn(_))),
        };
        let bill = accuse(&bench.predictor, &question)?;
        if bill.accused.is_empty() {
            if let Some(complaint) = request.complaint {
                let complaint = complaint::said(circuit, &request.state, complaint);
                return Err(PlanError::UnexplainedComplaint { complaint });
            }
            let pin = bench.name(bench.pin).to_owned();
            if request.floats {
                return Err(PlanError::Held { pin });
            }
            return Err(PlanError::Unexplained { pin, reads: request.reads.unwrap_or(healthy), healthy });
        }
        let Bill { units, accused, dropped, facts, learned, worlds, pairs } = bill;
        Ok(Case {
            bench,
            complaint: request.complaint,
            reads: request.reads,
            class,
            nominal,
            silent,
            units,
            accused,
            dropped,
            facts,
            learned,
            lines,
            worlds,
            pairs,
        })
    }

    pub fn hunt(&self, request: &Request) -> Result<Ready<'_, 'c>, PlanError> {
        let file_only = request.suspects == Suspects::FileOnly;
        let (ground, refused, minutes) = lay(&self.bench, request, &self.accused, self.silent)?;
        let quarry = self
            .accused
            .iter()
            .map(|a| {
                // What lifts a wire has to be found as well as where.
                let touched = match a.shape {
                    Shape::Chafe { to, .. } if self.bench.high => Some(to),
                    _ => None,
                };
                let (variants, commanded) = (a.variants.clone(), a.commanded);
                Quarry { told: (a.unit, touched), weight: a.weight, variants, shape: a.shape, commanded }
            })
            .collect();
        let mut quarry: Vec<Quarry> = quarry;
        let whole: f64 = quarry.iter().map(|q| q.weight).sum();
        // They are sorted by chance.
        let rides = RIDES[usize::from(!request.readings.is_empty())];
        let likely = quarry.iter().take_while(|q| q.weight >= rides * whole).count();
        let riders = if file_only { Vec::new() } else { quarry.split_off(likely) };
        let begin = request.begin.as_ref();
        let log = self.lines.iter().flat_map(|line| line.taken(self.bench.circuit)).collect();
        Ok(Ready { hunt: Hunt::new(&self.bench, quarry, riders, ground, log, begin), refused, minutes })
    }

    /// The plan for these suspects.
    pub fn draw(&self, request: &Request) -> Result<Plan, PlanError> {
        self.draw_unless(request, None)
    }

    fn draw_unless(
        &self,
        request: &Request,
        cancelled: Option<&dyn Fn() -> bool>,
    ) -> Result<Plan, PlanError> {
        let begun = std::time::Instant::now();
        let mut hunt = self.hunt(request)?;
        let late = || request.within.is_some_and(|within| begun.elapsed() >= within);
        let effort = Effort { states: request.effort, work: WORK, cancelled, enough: Some(&late) };
        let tree = solve(&mut hunt.hunt, effort)?;
        Ok(self.write(request, hunt, &tree))
    }

    fn write(&self, request: &Request, ready: Ready<'_, 'c>, tree: &Tree) -> Plan {
        let Ready { mut hunt, refused, minutes } = ready;
        let bench = &self.bench;
        let suspects = self.suspects();
        let wiggle = wiggle::order(
            bench.circuit,
            &bench.state,
            &bench.cleared,
            &self.units,
            &suspects,
            request.costs.unknown_reach,
        );
        let (steps, start) = steps::write(self, &mut hunt, tree);
        let state = &bench.state;
        let complained = self.complaint.map(|complaint| Complained {
            words: complaint::said(bench.circuit, state, complaint),
            class: complaint::class(&bench.solver, state, complaint),
            set_up: if matches!(complaint, Complaint::Draws(_)) { complaint::SLEEP } else { 0.0 },
        });
        let minutes = minutes + complained.as_ref().map_or(0.0, |complained| complained.set_up);
        let expected_minutes = minutes + tree.expected;
        let optimality = optimality(tree, minutes);
        let home = hunt.ground.home;
        let sound = bench.solver.read(&bench.state, &[], &Meter::volts(home, bench.black));
        let healthy = sound.map_or(range(&bench.healthy), |r| range(&r));
        let name = match self.complaint {
            Some(_) => "as each step says".to_owned(),
            None => bench.name(home).to_owned(),
        };
        let pinned = self.complaint.is_none();
        let meter = MeterPlace {
            red: home,
            name,
            black: words::black(bench, bench.black),
            place: words::place(bench, home),
            colour: words::colour(bench, home),
            minutes: if pinned { minutes } else { 0.0 },
            healthy,
            refused,
        };
        Plan {
            pin: complained.as_ref().map_or_else(|| bench.name(bench.pin).to_owned(), |c| c.words.clone()),
            complaint: complained,
            reads: request.reads,
            class: self.class,
            healthy: range(&bench.healthy),
            key: bench.state.key,
            supply: request.state.supply(),
            meter,
            facts: self.facts.clone(),
            units: self.units.clone(),
            suspects,
            learned: self.learned,
            always: always(request, self.silent),
            dropped: self.dropped.iter().chain(&hunt.ground.left_out).cloned().collect(),
            dead_wire: if pinned { tables::dead_wire(bench, home) } else { None },
            budget: tables::budget(bench, self.complaint),
            wiggle,
            feeds: if pinned { tables::loaded(bench) } else { Vec::new() },
            added_equipment: if pinned { tables::added_equipment() } else { Vec::new() },
            module_gates: tables::module_gates(bench),
            recheck: (pinned && (request.reads.is_some() || request.floats)).then(|| {
                let sound = bench.sound();
                Recheck {
                    red: bench.name(bench.pin).to_owned(),
                    black: bench.name(bench.black).to_owned(),
                    sound: Range { nominal: bench.healthy.nominal, low: sound.low, high: sound.high },
                }
            }),
            cautions: tables::cautions(bench, self.complaint, &steps),
            remate: tables::remate(&steps),
            steps,
            start,
            expected_minutes,
            optimality,
        }
    }

    fn suspects(&self) -> Vec<Suspect> {
        self.accused
            .iter()
            .map(|a| Suspect {
                unit: Some(a.unit),
                name: self.units[a.unit].name.clone(),
                mode: a.mode.clone(),
                ohms: a.ohms,
                weight: a.weight,
                from_cases: a.from_cases,
                variants: a.variants.clone(),
                commanded: a.commanded,
            })
            .collect()
    }

    /// Whether a unit is a module, or equipment that only looks like one's fault.
    pub fn is_module(&self, unit: usize) -> bool {
        self.units[unit].kind == UnitKind::Part(PartKind::Module)
    }
}

/// Everything that is known, what the plan is about first.
fn lines(
    circuit: &Circuit,
    bench: &Bench<'_>,
    request: &Request,
    facts: &[Fact],
) -> Result<Vec<Line>, PlanError> {
    let state = request.state.clone();
    let leads = Meter::volts(bench.pin, bench.black);
    let first = match (request.complaint, request.reads) {
        (Some(Complaint::Ohms { red, black, reads }), _) => {
            let leads = Meter::ohms(red, black);
            Said::Reads { leads, reads: typed(&leads, reads, request.reads_off) }
        }
        (Some(Complaint::Amps { clamp, reads }), _) => Said::Reads { leads: clamp, reads },
        (Some(complaint), _) => Said::Complaint(complaint),
        _ if request.floats => Said::Floats { leads },
        (None, Some(reads)) => Said::Reads { leads, reads: typed(&leads, reads, request.reads_off) },
        (None, None) => {
            let sound = bench.sound();
            Said::Wrong { leads, sound: [sound.low, sound.high] }
        }
    };
    let mut lines = vec![Line { state, said: first }];
    lines.extend(request.readings.iter().map(|reading| Line {
        state: reading.state.clone(),
        said: Said::Reads { leads: reading.leads, reads: reading.reads },
    }));
    lines.extend(facts_of(&request.state, facts));
    for (state, words) in &request.stated {
        let said = match Fact::parse(circuit, words) {
            Ok(fact) => Said::Fact(fact),
            Err(error) => Said::Complaint(Complaint::parse(circuit, words).map_err(|_| error)?),
        };
        lines.push(Line { state: state.clone(), said });
    }
    lines.extend(request.posts.iter().map(|posts| Line {
        state: posts.state.clone(),
        said: Said::Reads { leads: posts.leads, reads: posts.reads },
    }));
    Ok(lines)
}

/// What no single reading can exclude.
fn always(request: &Request, silent: bool) -> Vec<Suspect> {
    let one = |name: &str, mode: &str, weight| Suspect {
        unit: None,
        name: name.to_owned(),
        mode: mode.to_owned(),
        ohms: None,
        weight,
        from_cases: 0.0,
        variants: Vec::new(),
        commanded: None,
    };
    if request.suspects == Suspects::FileOnly {
        return Vec::new();
    }
    let mut always = vec![
        one(
            "wrong wire or wrong variant",
            "the leads are on another wire, or the car is built otherwise",
            priors::NOT_DRAWN,
        ),
        one("two faults", "more than one of the suspects at once", priors::TWO_FAULTS),
    ];
    if silent {
        let mode = "bus pair, wake line or address, which this file may not draw";
        always.push(one("network or wake line", mode, priors::NOT_DRAWN));
    }
    always
}

/// What was proved about a tree that begins after so many minutes.
pub(crate) fn optimality(tree: &Tree, before: Minutes) -> Optimality {
    match tree.proof {
        Proof::Optimal => Optimality::Optimal,
        Proof::Bounded { bound } if bound > 0.0 => {
            let bound = before + bound;
            Optimality::Within { bound, ratio: (before + tree.expected) / bound }
        }
        Proof::Bounded { .. } => Optimality::Unproved,
    }
}

/// A reading as plain data.
pub(crate) fn range(reading: &halfsplit_circuit::Reading) -> Range {
    Range { nominal: reading.nominal, low: reading.low, high: reading.high }
}
