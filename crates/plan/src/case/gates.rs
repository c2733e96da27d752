//! What has to be so before a reading counts, before a step is taken, before a module is named.

use std::collections::BTreeSet;

use halfsplit_circuit::{
    BranchKind, ConnectorId, Hazard, Load, Measure, Quantity, ReadError, Solver, Volts, net,
};

use super::{Checked, Job, Next, Observation, Posterior, Report};
use crate::draw::{Case, tables, words};
use crate::judge::{REST, gap};
use crate::plan::CautionNote;

/// A gate.
#[derive(Clone, PartialEq, Debug)]
pub struct Gate {
    /// Which.
    pub kind: GateKind,
    /// Whether it is passed.
    pub passed: bool,
    /// What was found, or what is missing.
    pub words: String,
}

/// Which gate.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum GateKind {
    /// The battery at rest.
    Battery,
    /// Airbag, high voltage, fuel on the way.
    Safety,
    /// Ohms only on a dead circuit.
    DeadCircuit,
    /// The module last.
    ModuleLast,
}

/// The source's module and what is missing before it may be named.
#[derive(Clone, PartialEq, Debug)]
pub struct ModuleLast {
    /// The module.
    pub name: String,
    /// Its chance.
    pub probability: f64,
    /// What must have a reading.
    pub items: Vec<ModuleItem>,
}

/// One thing that must have a reading.
#[derive(Clone, PartialEq, Debug)]
pub struct ModuleItem {
    /// What, in words.
    pub what: String,
    /// Whether it is a matter of the supply, which comes first.
    pub supply: bool,
    /// What came of it.
    pub proof: Proof,
}

/// What came of a thing that must have a reading.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Proof {
    /// No reading yet.
    Missing,
    /// Right, by this reading of [`Job::readings`].
    Sound(usize),
    /// Wrong, by this reading: that is the first finding, not the module.
    Wrong(usize),
    /// Looked at and found right, without a reading of the circuit.
    Checked,
}

impl ModuleLast {
    /// What has no reading yet, in order.
    pub fn missing(&self) -> impl Iterator<Item = &ModuleItem> {
        self.items.iter().filter(|i| i.proof == Proof::Missing)
    }

    /// Whether the module may be named.
    pub fn may_be_named(&self) -> bool {
        self.items.iter().all(|i| matches!(i.proof, Proof::Sound(_) | Proof::Checked))
    }
}

/// Whether no reading counts yet: the battery is low, or was and is not tested.
pub(super) fn is_low(job: &Job) -> bool {
    let limit = REST - 1e-9;
    job.rested.iter().any(|&volts| volts < limit)
        || job.was_low && !job.checked.contains(&Checked::Battery)
        || one_for_all(job).is_some_and(|volts| volts < limit)
}

/// Where one value stands for the whole row of a 24 V system: each battery's share of it.
fn one_for_all(job: &Job) -> Option<Volts> {
    let [volts] = job.rested[..] else { return None };
    let row = (job.system.unwrap_or(12.0) / 12.0).round().max(1.0);
    (row > 1.0 && volts > 1.5 * REST).then_some(volts / row)
}

/// Battery and dead-circuit gates, which need no suspects.
pub(super) fn first(solver: &Solver<'_>, job: &Job) -> Vec<Gate> {
    let row = (job.system.unwrap_or(12.0) / 12.0).round().max(1.0) as usize;
    let (passed, words) = if job.rested.is_empty() {
        (false, "read each battery at rest, before anything else".to_owned())
    } else if let Some(low) = job.rested.iter().find(|v| **v < REST) {
        let words = format!(
            "{low:.2} V at rest is below {REST} V: charge the battery and test it under load before any other reading counts"
        );
        (false, words)
    } else if is_low(job) && job.was_low {
        (false, "charged; test the battery under load before any other reading counts".to_owned())
    } else if let Some(each) = one_for_all(job) {
        let low = each < REST;
        let words = if low {
            format!(
                "the row of {row} rests at {:.2} V, below {:.1} V: charge and test each battery",
                job.rested[0],
                REST * row as f64
            )
        } else {
            format!("the row rests at {:.2} V; read each of the {row} batteries by itself", job.rested[0])
        };
        (false, words)
    } else if job.rested.len() < row {
        (false, format!("{} of {row} batteries read at rest: read each by itself", job.rested.len()))
    } else {
        let volts: Vec<String> = job.rested.iter().map(|v| format!("{v:.2} V")).collect();
        (true, format!("{} at rest", volts.join(", ")))
    };
    let mut gates = vec![Gate { kind: GateKind::Battery, passed, words }];
    let ohms: Vec<&Observation> =
        job.readings.iter().filter(|r| r.leads.quantity() == Quantity::Ohms).collect();
    if !ohms.is_empty() {
        // A part that hangs on nothing is dead whatever the battery does.
        let is_live = |r: &&&Observation| {
            matches!(solver.read(&r.state, &[], &r.leads), Err(ReadError::LiveCircuit { .. }))
        };
        let live = ohms.iter().filter(is_live).count();
        let words = match live {
            0 => "every ohms reading was taken where no source reaches".to_owned(),
            1 => "an ohms reading was taken on a live circuit: it counts for nothing".to_owned(),
            _ => format!("{live} ohms readings were taken on a live circuit: they count for nothing"),
        };
        gates.push(Gate { kind: GateKind::DeadCircuit, passed: live == 0, words });
    }
    gates
}

/// Dangers at the connectors of the net and along the next step.
pub(super) fn safety(case: &Case<'_>, job: &Job, report: &mut Report) {
    let circuit = case.bench.circuit;
    let mut dangers: BTreeSet<(String, Hazard, String)> = BTreeSet::new();
    let mut notes: BTreeSet<CautionNote> = BTreeSet::new();
    let mut take = |at: &str, cautions: &[halfsplit_circuit::Caution]| {
        for caution in cautions {
            if matches!(caution.hazard, Hazard::Airbag | Hazard::HighVoltage | Hazard::Fuel) {
                dangers.insert((at.to_owned(), caution.hazard, caution.words.clone()));
            }
            let (hazard, words) = (Some(caution.hazard), caution.words.clone());
            notes.insert(CautionNote { at: at.to_owned(), hazard, words });
        }
    };
    for &id in &case.bench.net.branches {
        let branch = circuit.branch(id);
        let part = circuit.part(branch.part);
        take(&part.name, &part.cautions);
        if let BranchKind::Mated { connector, .. } = branch.kind {
            let connector = circuit.connector(connector);
            take(&connector.name, &connector.cautions);
            if let Some(owner) = connector.owner {
                take(&circuit.part(owner).name, &circuit.part(owner).cautions);
            }
        }
    }
    report.cautions = notes.into_iter().collect();
    let open: Vec<String> = dangers
        .iter()
        .filter(|(at, hazard, _)| !job.cleared.iter().any(|(h, item)| h == hazard && item == at))
        .map(|(at, _, words)| format!("{at}: {words}"))
        .collect();
    let words = match (open.is_empty(), dangers.is_empty()) {
        (true, true) => return,
        (true, false) => "every danger on this wire was dealt with by trained people".to_owned(),
        (false, _) => format!(
            "not before trained people have dealt with it by the maker's procedure: {}",
            open.join("; ")
        ),
    };
    if let Next::Step(step) = &report.next {
        let owner = circuit.connector_named(&step.target).and_then(|c| circuit.connector(c).owner);
        let names = [Some(step.target.as_str()), owner.map(|part| circuit.part(part).name.as_str())];
        let goes_there = |at: &str| names.contains(&Some(at));
        // A gate ends the way; it does not make it dearer.
        if !open.is_empty() && open.iter().any(|line| goes_there(line.split(": ").next().unwrap_or_default()))
        {
            report.next = Next::Gates { then: vec![words.clone()] };
            report.to_go = None;
        }
    }
    report.gates.push(Gate { kind: GateKind::Safety, passed: open.is_empty(), words });
}

/// What must have a reading before the source's module is named; nothing where no module is the source.
pub(super) fn module_last(case: &Case<'_>, job: &Job, suspects: &[Posterior]) -> Option<ModuleLast> {
    let bench = &case.bench;
    let circuit = bench.circuit;
    let module = bench.source.module?;
    let name = circuit.part(module).name.clone();
    let probability = suspects.iter().filter(|s| s.module).map(|s| s.probability).sum();
    let mut items = Vec::new();
    for check in tables::loaded(bench) {
        let proof = judge(job, |reading| {
            let leads = &reading.leads;
            let placed = leads.measure == Measure::Volts(Load::Lamp)
                && words::black(bench, leads.red) == check.red
                && words::black(bench, leads.black) == check.black
                && reading.state.battery
                && reading.state.unplugged.iter().any(|&c| circuit.connector(c).name == check.out);
            let least = if check.note.is_empty() { check.at_least } else { check.expected.low };
            placed.then(|| reading.reads[0] >= least - gap(least, Quantity::Volts))
        });
        let what = format!("{} {}, {} under load, {} out", check.role, check.cavity, check.what, check.out);
        items.push(ModuleItem { what, supply: true, proof });
    }
    let checked = |what: &str, sign: Checked| {
        let proof = if job.checked.contains(&sign) { Proof::Checked } else { Proof::Missing };
        ModuleItem { what: what.to_owned(), supply: false, proof }
    };
    items.push(checked(
        "added equipment: found on the car, separated, and the reading taken again",
        Checked::Equipment,
    ));
    if bench.is_reference() {
        items.push(load_free(case, job));
    }
    items.extend(dead_wire(case, job));
    if let Some(item) = fed(case, job) {
        items.push(item);
    }
    items.push(checked("network and wake line", Checked::Network));
    items.push(checked("configuration and variant as the car's", Checked::Configuration));
    items.push(checked("key cycle, where the output latches", Checked::Latch));
    items.push(checked("software as the car's", Checked::Software));
    Some(ModuleLast { name, probability, items })
}

/// The last reading that speaks of a thing decides.
fn judge(job: &Job, verdict: impl Fn(&Observation) -> Option<bool>) -> Proof {
    let last = job.readings.iter().enumerate().filter_map(|(at, r)| verdict(r).map(|good| (at, good))).last();
    match last {
        Some((at, true)) => Proof::Sound(at),
        Some((at, false)) => Proof::Wrong(at),
        None => Proof::Missing,
    }
}

/// Connectors of the net's parts, the source's own and the others.
fn plugs(case: &Case<'_>) -> (Vec<ConnectorId>, Vec<ConnectorId>) {
    let circuit = case.bench.circuit;
    let mut all: Vec<ConnectorId> = Vec::new();
    for &id in &case.bench.net.branches {
        if let BranchKind::Mated { connector, .. } = circuit.branch(id).kind
            && circuit.connector(connector).owner.is_some()
            && !all.contains(&connector)
        {
            all.push(connector);
        }
    }
    all.into_iter().partition(|&c| circuit.connector(c).owner == case.bench.source.module)
}

/// Whether everything that can be parted from the source is out, by itself or with an inline before it.
pub(super) fn is_alone(case: &Case<'_>, state: &halfsplit_circuit::State) -> bool {
    let circuit = case.bench.circuit;
    let (_, others) = plugs(case);
    let joined = net(circuit, state, case.bench.source.point);
    !others.is_empty()
        && others.iter().all(|&c| {
            let connector = circuit.connector(c);
            state.unplugged.contains(&c)
                || !connector.cavities.iter().any(|cavity| {
                    cavity.points[0].is_some_and(|p| case.bench.points.contains(&p) && joined.contains(p))
                })
        })
}

fn load_free(case: &Case<'_>, job: &Job) -> ModuleItem {
    let proof = judge(job, |reading| {
        let live = reading.leads.measure == Measure::Volts(Load::None) && reading.state.battery;
        let joined = || net(case.bench.circuit, &reading.state, case.bench.source.point);
        let here = live && is_alone(case, &reading.state) && joined().contains(reading.leads.red);
        // Low or sound: the reading is what is asked for; what it says is weighed with the suspects.
        here.then_some(true)
    });
    ModuleItem { what: "the reference with all its loads off".to_owned(), supply: false, proof }
}

/// The wire dead: to body, to power, to each neighbour.
fn dead_wire(case: &Case<'_>, job: &Job) -> Vec<ModuleItem> {
    let bench = &case.bench;
    let circuit = bench.circuit;
    let Some(dead) = tables::dead_wire(bench, bench.pin) else { return Vec::new() };
    let mut items = Vec::new();
    for row in dead.rows.iter().filter(|row| row.what != tables::END_TO_END) {
        let point = circuit.points.iter().position(|p| p.name == row.black);
        let point = point.map(|at| halfsplit_circuit::PointId(at as u32)).or(match row.black.as_str() {
            "battery negative" => circuit.negative,
            _ => circuit.positive,
        });
        let proof = judge(job, |reading| {
            let ohms = reading.leads.measure == Measure::Ohms && !reading.state.battery;
            let on_wire = |p| bench.points.contains(&p);
            let there = |p| point.is_some_and(|point| net(circuit, &reading.state, p).contains(point));
            let (red, black) = (reading.leads.red, reading.leads.black);
            let placed = ohms && (on_wire(red) && there(black) || on_wire(black) && there(red));
            let least = row.expected.low;
            let sound = if least.is_infinite() {
                reading.reads[0].is_infinite()
            } else {
                reading.reads[0] >= least - gap(least, Quantity::Ohms)
            };
            placed.then_some(sound)
        });
        let to = match row.black.as_str() {
            "battery negative" => "ground (body and battery negative)".to_owned(),
            "battery positive" => "power (the feeds)".to_owned(),
            pin if row.what.is_empty() => format!("its neighbour {pin}"),
            pin => format!("its neighbour {pin}, {}", row.what),
        };
        items.push(ModuleItem { what: format!("the wire, dead, to {to}"), supply: false, proof });
    }
    items
}

/// The wire fed from outside, the module out.
fn fed(case: &Case<'_>, job: &Job) -> Option<ModuleItem> {
    let (own, _) = plugs(case);
    if own.is_empty() {
        return None;
    }
    let proof = judge(job, |reading| {
        let Measure::Inject { volts, .. } = reading.leads.measure else { return None };
        let placed = case.bench.points.contains(&reading.leads.red)
            && own.iter().all(|c| reading.state.unplugged.contains(c));
        placed.then(|| reading.reads[0] >= 0.95 * volts)
    });
    let what = "the wire fed from outside, the module's connector out: it has to hold its volts".to_owned();
    Some(ModuleItem { what, supply: false, proof })
}
