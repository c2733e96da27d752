//! The tree as numbered steps.

use halfsplit_circuit::{Load, Measure, Quantity};

use super::{Case, words};
use crate::hunt::{Action, Hunt, Phase, Rig, Span};
use crate::plan::{Conclusion, Next, Range, Sense, Step, StepKind, StepOutcome};
use crate::search::{Node, Set, Tree};

/// What can be said when a reading fits no outcome.
pub(crate) const FITS_NONE: &str = "fits none of these";

/// Writes every step of the tree, the outcome that leaves most suspects first.
pub(super) fn write(case: &Case<'_>, hunt: &mut Hunt<'_, '_>, tree: &Tree) -> (Vec<Step>, Next) {
    // Numbers are given in the order a reader follows: down the heavier branch first.
    let mut order: Vec<usize> = Vec::new();
    let mut stack = vec![0];
    while let Some(at) = stack.pop() {
        let Some(step) = tree.nodes.get(at).and_then(|n| n.step.as_ref()) else { continue };
        order.push(at);
        let mut next = step.next.clone();
        next.sort_by(|&a, &b| weight(hunt, &tree.nodes[a]).total_cmp(&weight(hunt, &tree.nodes[b])));
        stack.extend(next);
    }
    let id = |node: usize| order.iter().position(|&n| n == node).map(|at| at + 1);
    let next = |node: usize| match id(node) {
        Some(id) => Next::Step(id),
        None => Next::End(end(case, tree.nodes[node].set)),
    };
    let steps = order.iter().enumerate().filter_map(|(at, &node)| one(case, hunt, tree, node, at + 1, &next));
    let steps = steps.collect();
    (steps, next(0))
}

fn weight(hunt: &Hunt<'_, '_>, node: &Node) -> f64 {
    node.set.iter().map(|i| hunt.weights[i]).sum()
}

fn one(
    case: &Case<'_>,
    hunt: &mut Hunt<'_, '_>,
    tree: &Tree,
    node: usize,
    id: usize,
    next: &dyn Fn(usize) -> Next,
) -> Option<Step> {
    let here = &tree.nodes[node];
    let branching = here.step.as_ref()?;
    let action = hunt.actions[branching.taken.action as usize];
    let rig = hunt.rig(here.setup);
    let (after, view, minutes) = hunt.apply(rig, action)?;
    let (state, meter) = hunt.stage(view);
    let is_ohms = view.is_ohms();
    let sound = hunt.sound(view);
    let bench = &case.bench;

    let mut outcomes: Vec<StepOutcome> = Vec::new();
    for (outcome, &to) in branching.taken.outcomes.iter().zip(&branching.next) {
        let span = hunt.bins(outcome.set, view).into_iter().map(|b| b.1).reduce(join)?;
        outcomes.push(StepOutcome {
            range: Some(range(span)),
            class: match action {
                Action::Pull { .. } | Action::KeyOff => words::lifted(case, span.nominal).to_owned(),
                Action::Probe { at, .. } if hunt.ground.probes[at].returns => {
                    words::way_back(span.nominal).to_owned()
                }
                // Beyond a plug that is out the wire is dead when sound.
                Action::Probe { at, .. }
                    if bench.points.contains(&hunt.ground.probes[at].red)
                        && words::is_dead(case, sound.nominal) =>
                {
                    let dead = words::is_dead(case, span.nominal);
                    if dead { "dead, as it has to be" } else { "not dead: something feeds it" }.to_owned()
                }
                _ => words::class(case, span.nominal, sound.nominal, is_ohms),
            },
            suspects: outcome.set.iter().collect(),
            units: words::units(case, outcome.set),
            next: next(to),
        });
    }
    outcomes.push(none(case, meter.quantity() == Quantity::Ohms));

    let (kind, target, place) = aim(case, hunt, rig, action);
    let out = state.unplugged.iter().map(|&c| bench.circuit.connector(c).name.clone());
    let pulled = state.pulled.difference(&bench.state.pulled).map(|&p| bench.circuit.part(p).name.clone());
    let out = out.chain(pulled).collect();
    Some(Step {
        id,
        kind,
        instruction: instruction(case, hunt, rig, after, action, &meter.measure),
        target,
        place,
        minutes,
        to_go: here.expected,
        red: bench.name(meter.red).to_owned(),
        black: words::black(bench, meter.black),
        unit: if is_ohms { "ohm" } else { "V" },
        out,
        state,
        leads: meter,
        sense: Sense::Meter,
        held: Vec::new(),
        sound: range(sound),
        outcomes,
    })
}

fn join(a: Span, b: Span) -> Span {
    Span { nominal: a.nominal, low: a.low.min(b.low), high: a.high.max(b.high) }
}

fn range(span: Span) -> Range {
    Range { nominal: span.nominal, low: span.low, high: span.high }
}

/// What a step is about and where that is.
fn aim(case: &Case<'_>, hunt: &Hunt<'_, '_>, rig: Rig, action: Action) -> (StepKind, String, String) {
    let circuit = case.bench.circuit;
    let of_tap = |tap: usize| {
        let connector = circuit.connector(hunt.ground.taps[tap].connector);
        (connector.name.clone(), connector.place.clone())
    };
    let of_point = |point| (case.bench.name(point).to_owned(), words::place(&case.bench, point));
    let (kind, (target, place)) = match action {
        Action::Part { tap, .. } => (StepKind::Part, of_tap(tap)),
        Action::Cut { tap, .. } => (StepKind::Ohms, of_tap(tap)),
        Action::Look | Action::KeyOff => (StepKind::Probe, of_point(hunt.ground.home)),
        Action::Pull { at } => {
            let part = circuit.part(hunt.ground.fuses[at].0);
            (StepKind::Pull, (part.name.clone(), part.place.clone()))
        }
        Action::Load => (StepKind::Load, of_point(hunt.ground.home)),
        Action::Inject | Action::Ohms { .. } => {
            let kind = if action == Action::Inject { StepKind::Inject } else { StepKind::Ohms };
            let fresh = hunt.ground.source_tap.filter(|&t| !rig.parted.contains(t));
            (kind, fresh.map_or_else(|| of_point(hunt.ground.home), of_tap))
        }
        Action::Probe { at, .. } => (StepKind::Probe, of_point(hunt.ground.probes[at].red)),
    };
    (kind, target, place)
}

fn instruction(
    case: &Case<'_>,
    hunt: &Hunt<'_, '_>,
    rig: Rig,
    after: Rig,
    action: Action,
    measure: &Measure,
) -> String {
    let bench = &case.bench;
    let circuit = bench.circuit;
    let name = |tap: usize| {
        let connector = circuit.connector(hunt.ground.taps[tap].connector);
        words::with_place(&connector.name, &connector.place)
    };
    let mut words: Vec<String> = Vec::new();
    let mated = hunt.inlines(rig.parted).without(after.parted);
    for tap in mated.iter() {
        words.push(format!("Mate {} again.", circuit.connector(hunt.ground.taps[tap].connector).name));
    }
    if after.phase == Phase::Dead && rig.phase != Phase::Dead {
        words.push("Key off, battery negative off; prove the wire dead.".to_owned());
    }
    for tap in after.parted.without(rig.parted).iter() {
        words.push(format!("Part {} and leave it out.", name(tap)));
    }
    if matches!(action, Action::Part { .. }) && after.phase == Phase::Live && bench.latches() {
        words.push("Key off and on: after a short this output stays off until then.".to_owned());
    }
    let red = bench.name(hunt.ground.home);
    let black = words::black(bench, bench.black);
    words.push(match action {
        Action::Load => format!("Hang 470 Ω from {red} to {black} and read volts across it."),
        Action::Inject => {
            let volts = hunt.inject_volts();
            format!("Key as before: feed {volts:.1} V from a bench source through 470 Ω into {red}; read volts there.")
        }
        Action::Pull { at } => {
            let fuse = circuit.part(hunt.ground.fuses[at].0);
            format!("Pull {}, nothing unplugged; read volts at {red}; put it back.", words::with_place(&fuse.name, &fuse.place))
        }
        Action::KeyOff => format!("Key off, nothing unplugged; read volts at {red}; key on again."),
        Action::Look => format!("Read volts at {red}, everything mated, black lead on {black}."),
        Action::Probe { at, .. } => {
            let probe = &hunt.ground.probes[at];
            let (red, black) = (words::black(bench, probe.red), words::black(bench, probe.black));
            match probe.load {
                Load::Lamp => format!("Hang a 21 W lamp from {red} to {black}, everything mated; read volts across it."),
                Load::Reference => format!("Hang 470 Ω (no lamp) from {red} to {black}, everything mated; read volts across it."),
                Load::None if probe.returns => format!("Read millivolts at {red}, the circuit's own ground, black lead on {black}."),
                Load::None => format!("Read volts at {red}, the rest as it is, black lead on {black}."),
            }
        }
        _ if *measure == Measure::Ohms => {
            let black = words::black(bench, hunt.ground.blacks[usize::from(after.black)]);
            format!("Read ohms from {red} to {black}, then with the leads turned round.")
        }
        _ => format!("Read volts at {red}."),
    });
    words.join(" ")
}

/// The end of a walk with these suspects left.
fn end(case: &Case<'_>, set: Set) -> Conclusion {
    let gated = set.iter().any(|i| case.is_module(case.accused[i].unit));
    let mut prove = Vec::new();
    if !set.is_empty() {
        prove.push(off_on_off(case));
        prove
            .push("Mate the others one at a time, reading after each: a second fault shows here. If it stays wrong after the mend there is more than one fault: begin again with what is left.".to_owned());
    }
    if gated {
        prove.push("No module is named before every module gate has a reading.".to_owned());
    }
    Conclusion { suspects: set.iter().collect(), words: words::verdict(case, set), prove, gated }
}

/// The proof by taking away, putting back and taking away, with what the pin must read.
fn off_on_off(case: &Case<'_>) -> String {
    let Some(reads) = case.reads else {
        return "Put the last thing back: the reading must fail again; take it away: it must recover (off, on, off)."
            .to_owned();
    };
    let pin = case.bench.name(case.bench.pin);
    let sound = &case.bench.healthy;
    format!(
        "Put the last thing back: {pin} must read about {reads:.3} V again; take it away: {:.2} to {:.2} V (off, on, off).",
        sound.low, sound.high
    )
}

/// The outcome that no suspect gives.
fn none(case: &Case<'_>, is_ohms: bool) -> StepOutcome {
    let words = if is_ohms {
        "Read again with the leads turned round. If it stays: something not drawn is on the wire, two faults, \
         wrong wire or wrong variant, or the meter's range."
    } else {
        "Read again with the lead cleaned and the range checked. If it stays: unlisted equipment, two faults \
         (a partial rise is one of several), wrong wire or wrong variant."
    };
    StepOutcome {
        range: None,
        class: FITS_NONE.to_owned(),
        suspects: Vec::new(),
        units: Vec::new(),
        next: Next::End(Conclusion {
            suspects: Vec::new(),
            words: words.to_owned(),
            prove: Vec::new(),
            gated: case.bench.source.module.is_some(),
        }),
    }
}
