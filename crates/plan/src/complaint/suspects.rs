//! Every single fault of the circuit that shows the complaint.

use std::collections::BTreeSet;

use halfsplit_circuit::{
    Amps, BranchId, BranchKind, Fault, FaultKind, NamedFault, Ohms, PartKind, Solution, faults_of,
};

use super::{BLOWS, Complaint, Desk};
use crate::facts::Fact;
use crate::plan::{Dropped, FactUsed};
use crate::priors;
use crate::request::PlanError;
use crate::search::Set;
use crate::suspects::{Unit, UnitKind};

/// Resistances that a bad joint, contact or break is tried with: from a joint of a starter cable to a
/// fuse that leaks across damp.
const SERIES: [Ohms; 15] =
    [0.004, 0.008, 0.016, 0.05, 0.2, 0.6, 1.2, 3.0, 10.0, 60.0, 300.0, 2e3, 40e3, 1.2e6, f64::INFINITY];
/// Resistances that a short or a touch is tried with.
const SHORT: [Ohms; 7] = [0.05, 0.3, 0.6, 1.8, 10.0, 120.0, 1e3];
/// A current beyond the sound one that burns a wire which no fuse guards (own estimate).
const BURNS: Amps = 100.0;
/// Weight of two wires touching, or two cavities bridged, against a wire's own faults (own estimate).
const TOUCH_SHARE: f64 = 0.1;

/// A suspect that shows the complaint.
#[derive(Clone, Debug)]
pub(crate) struct Accused {
    pub unit: usize,
    pub mode: String,
    pub ohms: Option<Ohms>,
    pub weight: f64,
    pub variants: Vec<Vec<Fault>>,
    /// The output that its module commands on.
    pub commanded: Option<BranchId>,
}

pub(crate) struct Bill {
    pub units: Vec<Unit>,
    pub accused: Vec<Accused>,
    pub dropped: Vec<Dropped>,
    pub facts: Vec<FactUsed>,
}

pub(crate) fn gather(desk: &Desk<'_>, sound: &Solution, facts: &[Fact]) -> Result<Bill, PlanError> {
    let mut bill = Bill {
        units: Vec::new(),
        accused: Vec::new(),
        dropped: Vec::new(),
        facts: facts.iter().map(|f| FactUsed { words: f.words.clone(), excluded: 0 }).collect(),
    };
    let mut done: Vec<FaultKind> = Vec::new();
    for named in faults_of(desk.circuit).into_iter().chain(inside_modules(desk)) {
        let [fault] = named.faults.as_slice() else { continue };
        let family = family(desk, &fault.kind);
        // A fault that differs from one before it in its ohms only is the same suspect.
        let same = |other: &FaultKind| alike(other, &fault.kind);
        if done.iter().any(same) {
            continue;
        }
        done.push(fault.kind.clone());
        let mut variants = Vec::new();
        let (mut against, mut burnt) = (None, None);
        for kind in family {
            let faults = vec![Fault { kind }];
            let Ok(found) = desk.solver.solve(&desk.inquiry.state, &faults) else { continue };
            if !desk.shows(&found, sound, &faults).unwrap_or(false) {
                continue;
            }
            if let Some(why) = blows(desk, &found, sound) {
                burnt = Some(why);
                continue;
            }
            let state = &desk.inquiry.state;
            let agrees =
                |fact: &Fact| fact.agrees(&desk.solver, state, &faults, &found, sound).unwrap_or(true);
            match facts.iter().position(|fact| !agrees(fact)) {
                Some(fact) => against = Some(fact),
                None => variants.push(faults),
            }
        }
        if variants.is_empty() {
            let contradicts = against.map(|fact: usize| {
                bill.facts[fact].excluded += 1;
                format!("contradicts \"{}\"", facts[fact].words)
            });
            if let Some(why) = contradicts.or(burnt) {
                bill.dropped.push(Dropped {
                    name: unit(desk, &named).name,
                    mode: mode(desk, &named, &[]),
                    why,
                });
            }
            continue;
        }
        let unit = bill.unit(unit(desk, &named));
        let ohms = ohms(&variants);
        bill.accused.push(Accused {
            unit,
            mode: mode(desk, &named, &variants),
            ohms,
            weight: 1.0,
            variants,
            commanded: None,
        });
    }
    if matches!(desk.inquiry.complaint, Complaint::StaysOn(_)) {
        bill.commanded(desk);
    }
    bill.split();
    bill.weigh(desk);
    bill.accused.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(a.unit.cmp(&b.unit)));
    for extra in bill.accused.drain(Set::MOST.min(bill.accused.len())..) {
        let why = format!("less likely than {} others, which one plan can hold", Set::MOST);
        bill.dropped.push(Dropped { name: bill.units[extra.unit].name.clone(), mode: extra.mode, why });
    }
    Ok(bill)
}

impl Bill {
    fn unit(&mut self, unit: Unit) -> usize {
        self.units.iter().position(|known| known.name == unit.name).unwrap_or_else(|| {
            self.units.push(unit);
            self.units.len() - 1
        })
    }

    /// Parts suspects by how bad they are, as finely as one plan can hold: a joint of some milliohms and one that
    /// is all but open read too differently to be told from others together.
    fn split(&mut self) {
        const BORDERS: [&[Ohms]; 3] = [&[0.03, 0.4, 5.0, 100.0, 1e4], &[0.4, 100.0], &[]];
        for borders in BORDERS {
            let split: Vec<Accused> =
                self.accused.iter().flat_map(|accused| parts(accused, borders)).collect();
            if split.len() <= Set::MOST {
                self.accused = split;
                return;
            }
        }
    }

    /// An output that is on because its module wants it so looks, to a meter, like one that is shorted.
    fn commanded(&mut self, desk: &Desk<'_>) {
        for at in 0..self.accused.len() {
            let stuck = self.accused[at].variants.iter().flatten().find_map(|fault| match fault.kind {
                FaultKind::StuckClosed { branch, .. } => Some(branch),
                _ => None,
            });
            let Some(branch) = stuck else { continue };
            if !matches!(desk.circuit.branch(branch).kind, BranchKind::Driver { .. }) {
                continue;
            }
            let output = output_name(desk, branch);
            let module = desk.circuit.branch(branch).part;
            let name = format!("{} commands {output}", desk.circuit.part(module).name);
            let unit =
                self.unit(Unit { name, parts: BTreeSet::new(), kind: UnitKind::Part(PartKind::Module) });
            self.accused.push(Accused {
                unit,
                mode: "the module wants it on: look for what it is told, before anything is replaced"
                    .to_owned(),
                ohms: None,
                commanded: Some(branch),
                ..self.accused[at].clone()
            });
        }
    }

    /// A unit's weight, shared out among its modes.
    fn weigh(&mut self, desk: &Desk<'_>) {
        for (at, unit) in self.units.iter().enumerate() {
            let said: Vec<f64> = unit
                .parts
                .iter()
                .filter_map(|&p| desk.circuit.part(p).suspicion)
                .filter(|w| *w > 0.0)
                .collect();
            let whole = match (said.as_slice(), unit.kind) {
                ([_, ..], _) if unit.parts.len() > 1 => TOUCH_SHARE * said.iter().sum::<f64>(),
                ([_, ..], _) => said.iter().sum(),
                (_, UnitKind::Harness) if unit.parts.len() > 1 => {
                    TOUCH_SHARE * priors::weight(PartKind::Wire)
                }
                (_, UnitKind::Part(kind)) => priors::weight(kind),
                (_, UnitKind::Harness) => priors::weight(PartKind::Wire),
                (_, UnitKind::Unlisted) => priors::UNLISTED,
            };
            let own: Vec<&mut Accused> = self.accused.iter_mut().filter(|a| a.unit == at).collect();
            let share = whole / own.len().max(1) as f64;
            own.into_iter().for_each(|accused| accused.weight = share);
        }
    }
}

/// The fault with every resistance it may have.
fn family(desk: &Desk<'_>, kind: &FaultKind) -> Vec<FaultKind> {
    let fine: Vec<Ohms>;
    let fitted = matches!(desk.inquiry.complaint, Complaint::Ohms { .. } | Complaint::Draws(_));
    let shorts: &[Ohms] = if fitted {
        fine = (0..170).map(|step| 0.05 * 1.08_f64.powi(step)).collect();
        &fine
    } else {
        &SHORT
    };
    match kind {
        FaultKind::Series { branch, .. } => {
            SERIES.iter().map(|&ohms| FaultKind::Series { branch: *branch, ohms }).collect()
        }
        FaultKind::Bridge { a, b, .. } => {
            shorts.iter().map(|&ohms| FaultKind::Bridge { a: *a, b: *b, ohms }).collect()
        }
        FaultKind::Chafe { branch, along, to, .. } => {
            let chafe = |&ohms: &Ohms| FaultKind::Chafe { branch: *branch, along: *along, to: *to, ohms };
            shorts.iter().map(chafe).collect()
        }
        FaultKind::Touch { one, other, .. } => {
            let touch = |&ohms: &Ohms| FaultKind::Touch { one: *one, other: *other, ohms };
            shorts.iter().map(touch).collect()
        }
        // A transistor that fails keeps some resistance; a welded contact does not.
        FaultKind::StuckClosed { branch, .. }
            if matches!(desk.circuit.branch(*branch).kind, BranchKind::Driver { .. }) =>
        {
            [0.05, 0.6].map(|ohms| FaultKind::StuckClosed { branch: *branch, ohms }).into()
        }
        other => vec![other.clone()],
    }
}

/// Whether two faults are of one family.
fn alike(one: &FaultKind, other: &FaultKind) -> bool {
    match (one, other) {
        (FaultKind::Series { branch: a, .. }, FaultKind::Series { branch: b, .. })
        | (FaultKind::StuckClosed { branch: a, .. }, FaultKind::StuckClosed { branch: b, .. }) => a == b,
        (FaultKind::Bridge { a, b, .. }, FaultKind::Bridge { a: c, b: d, .. }) => (a, b) == (c, d),
        _ => one == other,
    }
}

/// What is repaired or replaced.
fn unit(desk: &Desk<'_>, named: &NamedFault) -> Unit {
    let circuit = desk.circuit;
    let unlisted = named.faults.iter().any(|fault| matches!(fault.kind, FaultKind::Sink { .. }));
    match named.parts.as_slice() {
        [part] if unlisted => Unit {
            name: format!("unlisted equipment on {}", circuit.part(*part).name),
            parts: BTreeSet::new(),
            kind: UnitKind::Unlisted,
        },
        [part] => {
            let it = circuit.part(*part);
            let kind = if it.kind == PartKind::Wire { UnitKind::Harness } else { UnitKind::Part(it.kind) };
            Unit { name: it.name.clone(), parts: BTreeSet::from([*part]), kind }
        }
        parts => Unit {
            name: named.label.clone(),
            parts: parts.iter().copied().collect(),
            kind: UnitKind::Harness,
        },
    }
}

/// How it fails, without its name. One series fault stands for a break and for anything short of it.
fn mode(desk: &Desk<'_>, named: &NamedFault, variants: &[Vec<Fault>]) -> String {
    let label = match named.parts.as_slice() {
        _ if named.faults.iter().any(|fact| matches!(fact.kind, FaultKind::Sink { .. })) => {
            return "tapped on, pulls the wire down".to_owned();
        }
        [part] => {
            named.label.strip_prefix(&format!("{} ", desk.circuit.part(*part).name)).unwrap_or(&named.label)
        }
        // The unit's name says it all.
        _ => return String::new(),
    };
    let series = |finite: bool| {
        variants.iter().flatten().any(|fault| match fault.kind {
            FaultKind::Series { ohms, .. } => ohms.is_finite() == finite,
            _ => false,
        })
    };
    match (series(true), series(false)) {
        (true, true) => label.replace("open", "open or resistive"),
        (true, false) => label.replace("open", "resistive"),
        _ => label.to_owned(),
    }
}

/// What would not have lasted: the fuse or wire that such a fault takes with it.
fn blows(desk: &Desk<'_>, found: &Solution, sound: &Solution) -> Option<String> {
    if let Complaint::Blows(fuse) = desk.inquiry.complaint {
        // The fuse that is loaded most opens first and saves the wire.
        let share = desk.overload(found, fuse);
        let mut others = desk.circuit.branches().filter(|(_, b)| matches!(b.kind, BranchKind::Fuse { .. }));
        let (_, first) = others.find(|(_, b)| desk.overload(found, b.part) > share)?;
        return Some(format!("would have blown {} first", desk.circuit.part(first.part).name));
    }
    for (id, branch) in desk.circuit.branches() {
        if let BranchKind::Fuse { rating, .. } = branch.kind
            && found.current(id).abs() > BLOWS * rating
            && found.current(id).abs() > 1.1 * sound.current(id).abs()
        {
            let name = &desk.circuit.part(branch.part).name;
            return Some(format!("would have blown {name}: then the fuse is the first finding"));
        }
    }
    let burns = desk.draw(found) > desk.draw(sound) + BURNS;
    burns.then(|| "would have burnt its wire: smoke is the first finding".to_owned())
}

/// Modules that draw through a feed when they should sleep, or that short it.
fn inside_modules(desk: &Desk<'_>) -> Vec<NamedFault> {
    let label = match desk.inquiry.complaint {
        Complaint::Draws(_) => "does not sleep, or leaks inside",
        Complaint::Blows(_) => "shorted inside",
        _ => return Vec::new(),
    };
    let feeds = desk.circuit.branches().filter(|(_, b)| matches!(b.kind, BranchKind::Feed { .. }));
    feeds
        .map(|(_, branch)| NamedFault {
            label: label.to_owned(),
            parts: vec![branch.part],
            faults: vec![FaultKind::Bridge { a: branch.a, b: branch.b, ohms: 100.0 }.into()],
        })
        .collect()
}

/// A suspect by stretches of resistance.
fn parts(accused: &Accused, borders: &[Ohms]) -> Vec<Accused> {
    let stretch = |faults: &Vec<Fault>| {
        let ohms = ohms(std::slice::from_ref(faults)).unwrap_or(0.0);
        borders.iter().filter(|border| ohms >= **border).count()
    };
    let mut parts: Vec<(usize, Accused)> = Vec::new();
    for faults in &accused.variants {
        let stretch = stretch(faults);
        match parts.iter_mut().find(|(at, _)| *at == stretch) {
            Some((_, part)) => part.variants.push(faults.clone()),
            None => parts.push((stretch, Accused { variants: vec![faults.clone()], ..accused.clone() })),
        }
    }
    parts.into_iter().map(|(_, part)| part).collect()
}

/// The one resistance that is left, where only one is.
fn ohms(variants: &[Vec<Fault>]) -> Option<Ohms> {
    let [faults] = variants else { return None };
    match faults.first()?.kind {
        FaultKind::Series { ohms, .. } | FaultKind::Bridge { ohms, .. } | FaultKind::Chafe { ohms, .. } => {
            Some(ohms)
        }
        _ => None,
    }
}

/// An output's name, `A10.PUMP`.
pub(crate) fn output_name(desk: &Desk<'_>, branch: BranchId) -> String {
    let named = desk.circuit.outputs.iter().find(|(_, id)| *id == branch);
    named.map_or_else(
        || desk.circuit.part(desk.circuit.branch(branch).part).name.clone(),
        |(name, _)| name.clone(),
    )
}
