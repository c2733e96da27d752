//! Drawing up a plan.

mod steps;
pub(crate) mod tables;
pub(crate) mod words;

pub(crate) use steps::FITS_NONE;
pub(crate) use tables::remate;
pub(crate) use words::ohms;

use halfsplit_circuit::{BranchKind, Circuit, Class, ConnectorId, Meter, Minutes, PartKind, Volts};

use crate::accuse::{Accused, accuse};
use crate::bench::Bench;
use crate::facts::Fact;
use crate::ground::lay;
use crate::hunt::{Action, Hunt, Quarry};
use crate::legal;
use crate::plan::{Dropped, MeterPlace, Optimality, Plan, Range, Refused, Suspect};
use crate::priors;
use crate::request::{PlanError, Request, Suspects};
use crate::search::{Effort, Proof, Set, Tree, follow, solve};
use crate::suspects::{Shape, Unit, UnitKind};
use crate::wiggle;

/// What one search may compute; the reference circuit's default plan, proved optimal, takes 2.6 million.
const WORK: u64 = 16_000_000;

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
    Case::open(circuit, request)?.draw_unless(request, cancelled)
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
    let case = Case::open(circuit, request)?;
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

/// A plan's subject: the circuit, the reading and what explains it.
pub(crate) struct Case<'c> {
    pub bench: Bench<'c>,
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
}

/// A hunt ready to be searched.
pub(crate) struct Ready<'h, 'c> {
    pub hunt: Hunt<'h, 'c>,
    pub refused: Vec<Refused>,
    /// Minutes to the meter place.
    pub minutes: Minutes,
}

impl<'c> Case<'c> {
    pub fn open(circuit: &'c Circuit, request: &Request) -> Result<Case<'c>, PlanError> {
        let facts: Vec<Fact> =
            request.facts.iter().map(|f| Fact::parse(circuit, f)).collect::<Result<_, _>>()?;
        if let Some((connector, _)) = legal::cavity(circuit, request.pin)
            && let Some(caution) = legal::shut(circuit, circuit.connector(connector), &request.cleared)
        {
            let at = circuit.connector(connector).name.clone();
            return Err(PlanError::Gate { at, words: caution.words.clone() });
        }
        let mut bench = Bench::new(circuit, request)?;
        let healthy = bench.healthy.nominal;
        let nominal = match circuit.branch(bench.source.branch).kind {
            BranchKind::Reference { volts, .. } => volts,
            _ => healthy.abs().max(1.0),
        };
        let class = match request.reads {
            _ if request.floats => Some(Class::Floating),
            reads => reads.map(|reads| Class::of_volts(reads, healthy, nominal)),
        };
        if let (Some(reads), Some(Class::Good)) = (request.reads, class) {
            return Err(PlanError::Sound { pin: bench.name(bench.pin).to_owned(), reads, healthy });
        }
        bench.high = class == Some(Class::High);
        let silent = facts.iter().any(|f| f.is_silence().is_some_and(|m| Some(m) == bench.source.module));
        let bill = accuse(&bench, request, &facts)?;
        if bill.accused.is_empty() {
            let pin = bench.name(bench.pin).to_owned();
            if request.floats {
                return Err(PlanError::Held { pin });
            }
            return Err(PlanError::Unexplained { pin, reads: request.reads.unwrap_or(healthy), healthy });
        }
        let mut accused = bill.accused;
        accused.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(a.unit.cmp(&b.unit)));
        let (units, mut dropped, facts, learned) = (bill.units, bill.dropped, bill.facts, bill.learned);
        dropped.extend(accused.split_off(accused.len().min(Set::MOST)).into_iter().map(|rest| Dropped {
            name: units[rest.unit].name.clone(),
            mode: rest.mode,
            why: format!("is not among the {} likeliest that one plan can hold", Set::MOST),
        }));
        Ok(Case {
            bench,
            reads: request.reads,
            class,
            nominal,
            silent,
            units,
            accused,
            dropped,
            facts,
            learned,
        })
    }

    pub fn hunt(&self, request: &Request) -> Result<Ready<'_, 'c>, PlanError> {
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
                Quarry { told: (a.unit, touched), weight: a.weight, variants: a.variants.clone() }
            })
            .collect();
        let begin = request.begin.as_ref();
        Ok(Ready { hunt: Hunt::new(&self.bench, quarry, ground, begin), refused, minutes })
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
        let expected_minutes = minutes + tree.expected;
        let optimality = optimality(tree, minutes);
        let home = hunt.ground.home;
        let sound = bench.solver.read(&bench.state, &[], &Meter::volts(home, bench.black));
        let healthy = sound.map_or(range(&bench.healthy), |r| range(&r));
        let meter = MeterPlace {
            red: home,
            name: bench.name(home).to_owned(),
            black: words::black(bench, bench.black),
            place: words::place(bench, home),
            colour: words::colour(bench, home),
            minutes,
            healthy,
            refused,
        };
        Plan {
            pin: bench.name(bench.pin).to_owned(),
            complaint: None,
            reads: request.reads,
            class: self.class,
            healthy: range(&bench.healthy),
            key: bench.state.key,
            supply: bench.state.supply(),
            meter,
            facts: self.facts.clone(),
            units: self.units.clone(),
            suspects,
            learned: self.learned,
            always: always(request, self.silent),
            dropped: self.dropped.iter().chain(&hunt.ground.left_out).cloned().collect(),
            dead_wire: tables::dead_wire(bench, home),
            budget: None,
            wiggle,
            feeds: tables::loaded(bench),
            added_equipment: tables::added_equipment(),
            module_gates: tables::module_gates(bench),
            cautions: tables::cautions(bench, &steps),
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
                commanded: None,
            })
            .collect()
    }

    /// Whether a unit is a module, or equipment that only looks like one's fault.
    pub fn is_module(&self, unit: usize) -> bool {
        self.units[unit].kind == UnitKind::Part(PartKind::Module)
    }
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
            priors::WRONG_WIRE,
        ),
        one("two faults", "more than one of the suspects at once", priors::TWO_FAULTS),
    ];
    if silent {
        let mode = "bus pair, wake line or address, which this file may not draw";
        always.push(one("network or wake line", mode, priors::WRONG_WIRE));
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
