//! What to do at a verdict before anything is replaced: where to look in a harness, why a fuse blew, how a load is
//! proved directly.

use halfsplit_circuit::{BranchKind, Circuit, Hazard, Ohms, PartId, PartKind};
use halfsplit_plan::{Next, Plan, Unit, UnitKind};

use super::danger;
use super::first_page::{Car, some_of};
use crate::value::span_of_ohms;

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
    let is = |unit: &Unit, kinds: &[PartKind]| matches!(unit.kind, UnitKind::Part(kind) if kinds.contains(&kind));

    let harness = of(&|unit| unit.kind == UnitKind::Harness);
    let (known, plain): (Vec<&Unit>, Vec<&Unit>) =
        harness.into_iter().partition(|unit| look_first(unit, car).is_some());
    for unit in known.iter().take(if tight { 1 } else { PIECES }) {
        lines.extend(look_first(unit, car).map(|words| (format!("If {}", unit.name), words)));
    }
    if !plain.is_empty() && (known.is_empty() || !tight) {
        lines.push((format!("If {}", names(&plain)), "its ends, bends and clips, by hand-widths.".into()));
    }
    let fuses = of(&|unit| is(unit, &[PartKind::Fuse, PartKind::Link]));
    if !fuses.is_empty() {
        let words = "why did it blow? Loads off one by one, then wires; a new one of its rating.";
        lines.push((format!("If {}", names(&fuses)), words.into()));
    }
    let loads = of(&|unit| is(unit, &[PartKind::Lamp, PartKind::Motor, PartKind::Load]));
    if !loads.is_empty() {
        lines.push((format!("If {}", names(&loads)), prove_load(&loads, circuit)));
    }
    if let Some(prove) = prove(plan) {
        lines.push(("Prove it".into(), prove));
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

/// What the end itself says of its proof, the same at every end of a plan for a pin.
fn prove(plan: &Plan) -> Option<String> {
    if plan.complaint.is_some() {
        return None;
    }
    let outcomes = plan.steps.iter().flat_map(|step| &step.outcomes);
    outcomes.map(|outcome| &outcome.next).chain([&plan.start]).find_map(|next| match next {
        Next::End(end) => end.prove.first().cloned(),
        Next::Step(_) => None,
    })
}

/// The wires of a piece in the order in which to look: those with a danger or a remark, then the longest. Nothing
/// where the file tells no place before another.
fn look_first(unit: &Unit, car: Car<'_>) -> Option<String> {
    let (model, circuit) = (car.model, &car.model.circuit);
    let wires = || unit.parts.iter().copied().filter(|&part| circuit.part(part).kind == PartKind::Wire);
    let mut said: Vec<String> = Vec::new();
    for part in wires() {
        let it = circuit.part(part);
        let runs = || model.facts.runs_of(part);
        let hurts = it.cautions.iter().chain(runs().flat_map(|run| &run.cautions));
        let kinds: Vec<&str> = hurts.map(|caution| danger::word(caution.hazard)).collect();
        let places = runs().filter(|run| !run.at.is_empty()).map(|run| run.at.clone());
        let mut where_: Vec<String> = Some(it.note.clone()).filter(|note| !note.is_empty()).into_iter().collect();
        where_.extend(places);
        where_.extend(kinds.first().map(|kind| format!("{kind} there")));
        if !where_.is_empty() {
            said.push(format!("{} ({})", it.name, where_.join(", ")));
        }
    }
    let longest = wires()
        .filter_map(|part| Some((part, metres(circuit, part)?)))
        .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
    let longest = longest.map(|(part, metres)| format!("{} ({metres:.1} m, the longest)", circuit.part(part).name));
    let longest = longest.filter(|_| wires().count() > 1);
    Some(match (said.is_empty(), longest) {
        (true, None) => return None,
        (true, Some(longest)) => format!("first along {longest}; bends, clips, by hand-widths."),
        (false, Some(longest)) => format!("first at {}, then {longest}.", said.join(", ")),
        (false, None) => format!("first at {}; move it by hand-widths.", said.join(", ")),
    })
}

fn metres(circuit: &Circuit, part: PartId) -> Option<f64> {
    circuit.branches_of(part).find_map(|(_, branch)| match branch.kind {
        BranchKind::Wire { metres, .. } => metres,
        _ => None,
    })
}

/// Proves a load: its own pins first; a good twin where the circuit has one; fed by hand only where nothing can hurt.
fn prove_load(loads: &[&Unit], circuit: &Circuit) -> String {
    let mut words = "full volts at its own pins and it still fails: the part".to_owned();
    let parts = || loads.iter().flat_map(|unit| unit.parts.iter().copied());
    let twins: Vec<String> = parts()
        .filter_map(|part| {
            let twin = twin(circuit, part)?;
            Some(format!("try {} for {}", circuit.part(twin).name, circuit.part(part).name))
        })
        .take(1)
        .collect();
    if !twins.is_empty() {
        words = format!("{words}; {}", twins.join(", "));
    }
    let dangerous = |part: PartId| {
        let plugs = circuit.connectors.iter().filter(|connector| connector.owner == Some(part));
        let hurts = circuit.part(part).cautions.iter().chain(plugs.flat_map(|connector| &connector.cautions));
        let hazards: Vec<Hazard> = hurts.map(|caution| caution.hazard).collect();
        !hazards.is_empty()
    };
    if parts().any(dangerous) {
        return format!("{words}. No feed by hand: danger.");
    }
    format!("{words}.")
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
