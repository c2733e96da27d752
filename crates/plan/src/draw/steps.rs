//! The tree as numbered steps.

use halfsplit_circuit::{Circuit, Load, Measure, Quantity};

use super::{Case, words};
use crate::hunt::{Action, Hunt, Phase, Rig, may_show};
use crate::plan::{Conclusion, Next, Range, Sense, Step, StepKind, StepOutcome};
use crate::predict::Span;
use crate::search::{Node, Set, Tree};
use crate::suspects::output_name;

/// What can be said when a reading fits no outcome.
const FITS_NONE: &str = "fits none of these";

/// What is said of a reading that does not settle.
const UNSTEADY: &str = "no steady reading";

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
    let riders = ride(hunt, tree);
    let id = |node: usize| order.iter().position(|&n| n == node).map(|at| at + 1);
    let next = |node: usize| match id(node) {
        Some(id) => Next::Step(id),
        None => Next::End(end(case, &members(tree.nodes[node].set, &riders[node]))),
    };
    let steps = order.iter().enumerate();
    let steps = steps.filter_map(|(at, &node)| one(case, hunt, tree, &riders, node, at + 1, &next)).collect();
    (steps, next(0))
}

/// For each node what its way leaves beside the suspects that its steps are for: riders, and suspects that stand in
/// another branch and may show here too.
fn ride(hunt: &mut Hunt<'_, '_>, tree: &Tree) -> Vec<Vec<usize>> {
    let mut riders: Vec<Vec<usize>> = vec![Vec::new(); tree.nodes.len()];
    let likely = hunt.quarry.len();
    if let Some(first) = riders.first_mut() {
        first.extend((0..hunt.riders.len()).map(|rider| likely + rider));
    }
    let mut stack = vec![0];
    while let Some(node) = stack.pop() {
        let Some(step) = tree.nodes.get(node).and_then(|n| n.step.as_ref()) else { continue };
        stack.extend(&step.next);
        let action = hunt.actions[step.taken.action as usize];
        let rig = hunt.rig(tree.nodes[node].setup);
        let Some((_, view, _)) = hunt.apply(rig, action) else { continue };
        let own = members(tree.nodes[node].set, &riders[node]);
        let spans = hunt.of_riders(view, &own);
        let bins = hunt.bins(tree.nodes[node].set, view);
        for (outcome, &next) in step.taken.outcomes.iter().zip(&step.next) {
            let Some(row) = row(&bins, outcome.set) else { continue };
            let others = own.iter().zip(&spans).filter(|(at, _)| !outcome.set.contains(**at));
            let fits = others.filter(|&(&at, &span)| {
                // What shows a steady reading or none is looked for behind either.
                may_show(span, row) || row.wanders() && hunt.may_wander(view, hunt.suspect(at))
            });
            riders[next] = fits.map(|(&at, _)| at).collect();
        }
    }
    riders
}

/// The row of an outcome: what its suspects give, up to the borders drawn between rows.
fn row(bins: &[(Set, Span)], outcome: Set) -> Option<Span> {
    let exact = bins.iter().find(|(set, _)| *set == outcome);
    let within = || bins.iter().filter(|(set, _)| set.is_within(outcome)).map(|bin| bin.1).reduce(Span::join);
    exact.map(|bin| bin.1).or_else(within)
}

/// A row that takes in what the riders in it may read beside it, up to its neighbours; up to the middle between them
/// where a rider shows in both.
fn widened(row: Span, rows: &[Span], riders: &[Span]) -> Span {
    if row.wanders() {
        return row;
    }
    let steady = || rows.iter().filter(|other| !other.wanders());
    let below = steady().map(|other| other.high).filter(|high| *high <= row.low);
    let below = below.fold(f64::NEG_INFINITY, f64::max);
    let above = steady().map(|other| other.low).filter(|low| *low >= row.high).fold(f64::INFINITY, f64::min);
    let mut wide = row;
    for rider in riders.iter().filter(|rider| may_show(**rider, row)) {
        let least = if rider.low <= below { 0.5 * (below + row.low) } else { rider.low };
        let most = if rider.high >= above { 0.5 * (row.high + above) } else { rider.high };
        wide.low = wide.low.min(least);
        wide.high = wide.high.max(most);
    }
    wide
}

/// Rows of their own for riders of a step that show in none of its rows, each an end for all riders that show there.
fn strays(own: &[usize], spans: &[Span], taken: &[Span]) -> Vec<(Vec<usize>, Span)> {
    let mut rows: Vec<Span> = Vec::new();
    for &span in spans.iter().filter(|span| !taken.iter().any(|row| may_show(**span, *row))) {
        let whole = |one: Span, other: Span| if one.wanders() { one } else { one.join(other) };
        let (met, others): (Vec<Span>, Vec<Span>) = rows.into_iter().partition(|row| may_show(*row, span));
        rows = others;
        rows.push(met.into_iter().fold(span, whole));
    }
    let of = |row: Span| {
        let riders = own.iter().zip(spans).filter(|(_, span)| may_show(**span, row));
        (riders.map(|(&rider, _)| rider).collect(), row)
    };
    rows.into_iter().map(of).collect()
}

/// Neighbouring rows that end at the same repair units as one row, with what lies between them.
fn one_row_each(case: &Case<'_>, outcomes: Vec<StepOutcome>) -> Vec<StepOutcome> {
    let mut rows: Vec<StepOutcome> = Vec::new();
    for outcome in outcomes {
        let alike = |last: &&mut StepOutcome| {
            let ends = matches!((&last.next, &outcome.next), (Next::End(_), Next::End(_)));
            ends && !last.wanders && !outcome.wanders && last.units == outcome.units
        };
        match rows.last_mut().filter(alike) {
            Some(last) => {
                let more = outcome.suspects.iter().filter(|at| !last.suspects.contains(at));
                let more: Vec<usize> = more.copied().collect();
                last.suspects.extend(more);
                last.next = Next::End(end(case, &last.suspects));
                if let (Some(range), Some(more)) = (&mut last.range, outcome.range) {
                    (range.low, range.high) = (range.low.min(more.low), range.high.max(more.high));
                }
                last.floats |= outcome.floats;
                if last.class != outcome.class {
                    last.class = format!("{} or {}", last.class, outcome.class);
                }
            }
            None => rows.push(outcome),
        }
    }
    rows
}

/// Positions among all suspects: those of the search, and the riders behind them.
fn members(set: Set, riders: &[usize]) -> Vec<usize> {
    set.iter().chain(riders.iter().copied()).collect()
}

fn weight(hunt: &Hunt<'_, '_>, node: &Node) -> f64 {
    node.set.iter().map(|i| hunt.weights[i]).sum()
}

fn one(
    case: &Case<'_>,
    hunt: &mut Hunt<'_, '_>,
    tree: &Tree,
    riders: &[Vec<usize>],
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
    let is_ohms = hunt.is_ohms(view);
    let watched = match action {
        Action::Watch { at } => Some(hunt.ground.looks[at].look.clone()),
        _ => None,
    };
    let sense = watched.as_ref().map_or(Sense::Meter, |look| look.sense);
    let sound = hunt.sound(view);
    let bench = &case.bench;

    let bins = hunt.bins(here.set, view);
    let spans = hunt.of_riders(view, &riders[node]);
    let rows: Vec<Span> = branching.taken.outcomes.iter().filter_map(|o| row(&bins, o.set)).collect();
    let mut strays = strays(&riders[node], &spans, &rows);
    let all: Vec<Span> = rows.iter().copied().chain(strays.iter().map(|stray| stray.1)).collect();
    let mut outcomes: Vec<StepOutcome> = Vec::new();
    for ((outcome, &to), &plain) in branching.taken.outcomes.iter().zip(&branching.next).zip(&rows) {
        let span = widened(plain, &all, &spans);
        let left = members(outcome.set, &riders[to]);
        outcomes.push(StepOutcome {
            range: (!span.wanders()).then(|| range(span)),
            wanders: span.wanders(),
            floats: span.floats,
            class: match action {
                _ if span.wanders() => UNSTEADY.to_owned(),
                Action::Watch { .. } => words::seen(span, sound, sense),
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
            units: words::units(case, &left),
            suspects: left,
            next: next(to),
        });
    }
    let wandering = rows.iter().any(|row| row.wanders());
    let both: Vec<usize> = members(here.set, &riders[node]);
    let both: Vec<usize> = both.into_iter().filter(|&at| hunt.may_wander(view, hunt.suspect(at))).collect();
    match strays.iter_mut().find(|stray| stray.1.wanders()) {
        Some((members, _)) => *members = both,
        None if !wandering && !both.is_empty() => strays.push((both, Span::ANY)),
        None => {}
    }
    for (stray, span) in strays {
        outcomes.push(StepOutcome {
            range: (!span.wanders()).then(|| range(span)),
            wanders: span.wanders(),
            floats: span.floats,
            class: match sense {
                _ if span.wanders() => UNSTEADY.to_owned(),
                Sense::Meter => words::class(case, span.nominal, sound.nominal, is_ohms),
                _ => words::seen(span, sound, sense),
            },
            units: words::units(case, &stray),
            next: Next::End(end(case, &stray)),
            suspects: stray,
        });
    }
    outcomes.sort_by(|a, b| {
        let low = |outcome: &StepOutcome| outcome.range.map_or(f64::INFINITY, |range| range.low);
        low(a).total_cmp(&low(b))
    });
    let mut outcomes = one_row_each(case, outcomes);
    outcomes.push(none(case, meter.quantity() == Quantity::Ohms && sense == Sense::Meter));

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
        black: bench.name(meter.black).to_owned(),
        unit: match sense {
            Sense::Meter if is_ohms => "ohm",
            Sense::Meter => "V",
            _ => "",
        },
        out,
        state,
        leads: meter,
        sense,
        subject: match sense {
            Sense::Meter => String::new(),
            Sense::Works(drive) | Sense::Strong(drive) => drive.name(bench.circuit),
            Sense::PulledIn(coil) => bench.circuit.part(bench.circuit.branch(coil).part).name.clone(),
            Sense::Commanded(output) => output_name(bench.circuit, output),
        },
        held: watched.map(|look| look.held).unwrap_or_default(),
        sound: range(sound),
        outcomes,
    })
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
        Action::Watch { at } => {
            let seen = &hunt.ground.looks[at];
            let place = place_of(circuit, &hunt.ground.places[seen.place].name);
            (seen.look.kind, (seen.look.target.clone(), place))
        }
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
    let mated = rig.parted.without(after.parted);
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
        Action::Watch { at } => hunt.ground.looks[at].look.words.clone(),
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

/// Where a connector or part is, in the author's words.
fn place_of(circuit: &Circuit, name: &str) -> String {
    if let Some(id) = circuit.connector_named(name) {
        return circuit.connector(id).place.clone();
    }
    circuit.part_named(name).map(|part| circuit.part(part).place.clone()).unwrap_or_default()
}

/// The end of a walk with these suspects left.
fn end(case: &Case<'_>, set: &[usize]) -> Conclusion {
    let gated = set.iter().any(|&i| case.is_module(case.accused[i].unit));
    let mut prove = Vec::new();
    if case.complaint.is_some() {
        prove.push(
            "Mend it and try under the same conditions as the complaint; undo it: the complaint must come back. If it \
             stays after the mend there is more than one fault: begin again with what is left."
                .to_owned(),
        );
    } else if !set.is_empty() {
        prove.push(off_on_off(case));
        prove
            .push("Mate the others one at a time, reading after each: a second fault shows here. If it stays wrong after the mend there is more than one fault: begin again with what is left.".to_owned());
    }
    if gated {
        prove.push(if case.complaint.is_some() {
            "A module is named last: its feeds and grounds under load, its wires, the network and what it is told must be proved first. What it drives can have killed it: read that before a second one is fitted."
        } else {
            "No module is named before every module gate has a reading."
        }.to_owned());
    }
    let (likely, remote) = words::likely_and_remote(case, set);
    Conclusion {
        suspects: set.to_vec(),
        units: words::units(case, set),
        words: words::verdict(case, &likely, &remote),
        prove,
        gated,
        remote,
    }
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
    let words = if case.complaint.is_some() {
        "Look again under the conditions of the complaint. If it stays: two faults, unlisted equipment, or the car is built otherwise than the file."
    } else if is_ohms {
        "Read again with the leads turned round. If it stays: something not drawn is on the wire, two faults, \
         wrong wire or wrong variant, or the meter's range."
    } else {
        "Read again with the lead cleaned and the range checked. If it stays: unlisted equipment, two faults \
         (a partial rise is one of several), wrong wire or wrong variant."
    };
    StepOutcome {
        range: None,
        wanders: false,
        floats: false,
        class: FITS_NONE.to_owned(),
        suspects: Vec::new(),
        units: Vec::new(),
        next: Next::End(Conclusion {
            suspects: Vec::new(),
            remote: Vec::new(),
            units: Vec::new(),
            words: words.to_owned(),
            prove: Vec::new(),
            gated: case.bench.source.module.is_some(),
        }),
    }
}
