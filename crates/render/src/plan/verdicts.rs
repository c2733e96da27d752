//! What to do at a verdict before anything is replaced: where to look in a harness, why a fuse blew, how a load is
//! proved directly.

use halfsplit_circuit::{BranchKind, Circuit, FaultKind, Ohms, PartId, PartKind};
use halfsplit_plan::{Next, Plan, Suspect, Unit, UnitKind};

use super::danger;
use super::first_page::{Car, some_of};
use crate::value::{span_of_ohms, span_of_volts, volts};

/// Pieces of harness that are described.
const PIECES: usize = 2;
/// Names in a line.
const NAMED: usize = 4;

/// The one repair unit that these suspects leave: how it fails, in fewer and fewer words.
pub(super) fn how(plan: &Plan, suspects: &[usize]) -> Vec<String> {
    let left: Vec<_> = suspects.iter().filter_map(|&at| plan.suspects.get(at)).collect();
    let Some(first) = left.first() else { return Vec::new() };
    let mut modes: Vec<&str> = Vec::new();
    for suspect in &left {
        if !suspect.mode.is_empty() && !modes.contains(&suspect.mode.as_str()) {
            modes.push(&suspect.mode);
        }
    }
    let known: Option<Vec<Ohms>> =
        left.iter().map(|suspect| suspect.ohms.filter(|ohms| ohms.is_finite())).collect();
    let about = known.filter(|known| !known.is_empty()).map_or(String::new(), |known| {
        let least = known.iter().copied().fold(f64::INFINITY, f64::min);
        let most = known.iter().copied().fold(0.0, f64::max);
        format!(", about {}", span_of_ohms(least, most))
    });
    let name = &first.name;
    match &modes[..] {
        [] => Vec::new(),
        [only] => vec![format!("{name}: {only}{about}"), format!("{name}: {only}")],
        [first, more @ ..] => vec![
            format!("{name}: {}{about}", modes.join("; or ")),
            format!("{name}: {}", modes.join("; or ")),
            format!("{name}: {first} …+{} more", more.len()),
        ],
    }
}

/// Lines for the repair units at the plan's ends: a label and what to do.
pub(super) fn lines(plan: &Plan, car: Car<'_>, tight: bool) -> Vec<(String, String)> {
    let circuit = &car.model.circuit;
    let at_ends = at_ends(plan);
    let mut lines = Vec::new();
    let of = |wanted: &dyn Fn(&Unit) -> bool| {
        let units = at_ends.iter().map(|&at| &plan.units[at]).filter(|unit| wanted(unit));
        units.collect::<Vec<_>>()
    };
    let names = |units: &[&Unit]| {
        let names: Vec<String> = units.iter().map(|unit| unit.name.clone()).collect();
        some_of(&names, NAMED)
    };
    let is =
        |unit: &Unit, kinds: &[PartKind]| matches!(unit.kind, UnitKind::Part(kind) if kinds.contains(&kind));

    let harness = of(&|unit| unit.kind == UnitKind::Harness);
    let looked: Vec<(&Unit, Look)> = harness.iter().map(|&unit| (unit, look(unit, car))).collect();
    let (mut known, plain): (Vec<_>, Vec<_>) =
        looked.into_iter().partition(|(_, look)| look.words().is_some());
    // What the file remarks of a wire is worth more than its length.
    known.sort_by_key(|(_, look)| look.remarks.is_empty());
    for (at, (unit, look)) in known.iter().take(PIECES).enumerate() {
        if tight && at > 0 && look.remarks.is_empty() {
            break;
        }
        lines.extend(look.words().map(|words| (format!("If {}", unit.name), words)));
    }
    if !plain.is_empty() && (known.is_empty() || !tight) {
        let plain: Vec<&Unit> = plain.into_iter().map(|(unit, _)| unit).collect();
        let which = if plain.len() > 2 { "a wire".to_owned() } else { names(&plain) };
        lines.push((format!("If {which}"), "its ends, bends and clips, by hand-widths.".into()));
    }
    let fuses = of(&|unit| is(unit, &[PartKind::Fuse, PartKind::Link]));
    if !fuses.is_empty() {
        let words = "why did it blow? Loads off one by one, then wires; same rating.";
        lines.push((format!("If {}", names(&fuses)), words.into()));
    }
    let loads = of(&|unit| is(unit, &[PartKind::Lamp, PartKind::Motor, PartKind::Load]));
    if !loads.is_empty() {
        lines.push((format!("If {}", names(&loads)), prove_load(plan, &loads, circuit)));
    }
    if let Some(prove) = prove(plan) {
        lines.push(("Prove".into(), prove));
    }
    lines
}

/// Repair units at the ends of the plan, the heaviest first.
fn at_ends(plan: &Plan) -> Vec<usize> {
    let mut weights: Vec<(usize, f64)> = Vec::new();
    let mut met: Vec<usize> = Vec::new();
    let ends = plan.steps.iter().flat_map(|step| &step.outcomes).map(|outcome| &outcome.next);
    for end in ends.chain([&plan.start]) {
        let Next::End(end) = end else { continue };
        for &at in end.suspects.iter().filter(|at| !end.remote.contains(at)) {
            let Some(suspect) = plan.suspects.get(at).filter(|_| !met.contains(&at)) else { continue };
            met.push(at);
            let Some(unit) = suspect.unit else { continue };
            match weights.iter_mut().find(|known| known.0 == unit) {
                Some(known) => known.1 += suspect.weight,
                None => weights.push((unit, suspect.weight)),
            }
        }
    }
    weights.sort_by(|a, b| b.1.total_cmp(&a.1));
    weights.into_iter().map(|(unit, _)| unit).collect()
}

/// Off, on, off: what the pin must read with the culprit back, and without it. The pages behind say it at length.
fn prove(plan: &Plan) -> Option<String> {
    let reads = plan.reads.filter(|_| plan.complaint.is_none())?;
    let sound = span_of_volts(plan.healthy.low, plan.healthy.high);
    Some(format!("mended or out {sound}, as it was {} again (off, on, off).", volts(reads)))
}

/// Where to look first along a piece of harness.
struct Look {
    /// Wires with a danger or a remark, and what it is.
    remarks: Vec<String>,
    /// The longest of several.
    longest: Option<String>,
}

impl Look {
    /// Nothing where the file tells no place before another.
    fn words(&self) -> Option<String> {
        let remarks = self.remarks.join(", ");
        match (self.remarks.is_empty(), &self.longest) {
            (true, None) => None,
            (true, Some(longest)) => Some(format!("first along {longest}, by hand-widths.")),
            (false, Some(longest)) => Some(format!("first at {remarks}, then {longest}.")),
            (false, None) => Some(format!("first at {remarks}; move it by hand-widths.")),
        }
    }
}

fn look(unit: &Unit, car: Car<'_>) -> Look {
    let (model, circuit) = (car.model, &car.model.circuit);
    let wires = || unit.parts.iter().copied().filter(|&part| circuit.part(part).kind == PartKind::Wire);
    let mut remarks: Vec<String> = Vec::new();
    let mut remarked: Vec<PartId> = Vec::new();
    for part in wires() {
        let it = circuit.part(part);
        let runs = || model.facts.runs_of(part);
        let mut hurts = it.cautions.iter().chain(runs().flat_map(|run| &run.cautions));
        let note = Some(it.note.clone()).filter(|note| !note.is_empty());
        let places = runs().map(|run| run.at.clone()).filter(|at| !at.is_empty());
        let kind = hurts.next().map(|caution| format!("{} there", danger::word(caution.hazard)));
        let said: Vec<String> = note.into_iter().chain(places).chain(kind).collect();
        if !said.is_empty() {
            remarks.push(format!("{} ({})", it.name, said.join(", ")));
            remarked.push(part);
        }
    }
    let longest = wires()
        .filter_map(|part| Some((part, metres(circuit, part)?)))
        .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))
        .filter(|(part, _)| wires().count() > 1 && !remarked.contains(part));
    let longest =
        longest.map(|(part, metres)| format!("{} ({metres:.1} m, the longest)", circuit.part(part).name));
    Look { remarks, longest }
}

fn metres(circuit: &Circuit, part: PartId) -> Option<f64> {
    circuit.branches_of(part).find_map(|(_, branch)| match branch.kind {
        BranchKind::Wire { metres, .. } => metres,
        _ => None,
    })
}

/// Proves a load: by its own pins, or by taking it away where it takes what it should not; by a good twin where the
/// circuit has one; fed by hand only where nothing can hurt.
fn prove_load(plan: &Plan, loads: &[&Unit], circuit: &Circuit) -> String {
    let own = |suspect: &&Suspect| suspect.unit.is_some_and(|at| loads.contains(&&plan.units[at]));
    let breaks = plan.suspects.iter().filter(own).any(|suspect| {
        let fault = suspect.variants.first().and_then(|faults| faults.first());
        fault.is_some_and(|fault| matches!(fault.kind, FaultKind::Series { .. } | FaultKind::Dead { .. }))
    });
    let mut words = match breaks {
        true => "full volts at its pins and still wrong: the part",
        false => "its plug out and all is well, in again and it is not: the part",
    }
    .to_owned();
    let parts = || loads.iter().flat_map(|unit| unit.parts.iter().copied());
    let pair = parts().find_map(|part| Some((part, twin(circuit, part)?)));
    if let (Some((part, twin)), true) = (pair, breaks) {
        words = format!("{words}; or swap {} with {}", circuit.part(part).name, circuit.part(twin).name);
    }
    let dangerous = |part: PartId| {
        let mut plugs = circuit.connectors.iter().filter(|connector| connector.owner == Some(part));
        !circuit.part(part).cautions.is_empty() || plugs.any(|connector| !connector.cautions.is_empty())
    };
    match breaks && parts().any(dangerous) {
        true => format!("{words}; feed none by hand."),
        false => format!("{words}."),
    }
}

/// Another part of the same kind with the same electrical values.
fn twin(circuit: &Circuit, part: PartId) -> Option<PartId> {
    let value = |part: PartId| {
        circuit.branches_of(part).find_map(|(_, branch)| match branch.kind {
            BranchKind::Lamp { hot, rated } => Some((hot, rated)),
            BranchKind::Load { ohms: Some(ohms), .. } => Some((ohms, 0.0)),
            _ => None,
        })
    };
    let own = value(part)?;
    let kind = circuit.part(part).kind;
    (0..circuit.parts.len() as u32)
        .map(PartId)
        .find(|&other| other != part && circuit.part(other).kind == kind && value(other) == Some(own))
}
