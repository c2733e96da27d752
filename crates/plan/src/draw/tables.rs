//! The tables that go with every plan: dead wire, loaded feeds, gates, cautions.

use std::collections::BTreeSet;

use halfsplit_circuit::{
    BranchId, BranchKind, CavityRole, Circuit, ConnectorId, Hazard, Key, Load, Measure, Meter, PartId,
    PointId, Segment, State, net,
};

use super::{range, words};
use crate::bench::Bench;
use crate::complaint::Complaint;
use crate::judge;
use crate::legal;
use crate::plan::{CautionNote, DeadRow, DeadWire, DropBudget, DropRow, LoadedCheck, Step};

/// Volts that a loaded feed may stay under the battery, and a loaded ground above negative.
const FEED_DROP: f64 = 0.3;
const GROUND_DROP: f64 = 0.1;

/// What the rows of the wire's own far ends say.
pub(crate) const END_TO_END: &str = "the wire itself, end to end";

/// Ohms from the meter place with every branch out and the battery off.
pub(crate) fn dead_wire(bench: &Bench<'_>, home: PointId) -> Option<DeadWire> {
    let circuit = bench.circuit;
    // No ohms into a squib or a high-voltage part.
    if legal::leads_to_danger(bench, home).is_some() {
        return None;
    }
    let mut state = State { battery: false, key: Key::Off, ..bench.state.clone() };
    let mut out: Vec<ConnectorId> = Vec::new();
    for &id in &bench.net.branches {
        if let BranchKind::Mated { connector, .. } = circuit.branch(id).kind
            && circuit.connector(connector).owner.is_some()
            && legal::parts_danger(bench, connector).is_none()
            && !out.contains(&connector)
        {
            out.push(connector);
        }
    }
    out.sort_unstable();
    state.unplugged.extend(out.iter().copied());

    let mut blacks: Vec<(PointId, String)> = Vec::new();
    if let Some(negative) = circuit.negative {
        blacks.push((negative, "body and battery negative".to_owned()));
    }
    if let Some(positive) = circuit.positive {
        blacks.push((positive, "feeds".to_owned()));
    }
    // Every other wire in the same connectors, once a net, and neighbouring cavities whose wire
    // is drawn elsewhere.
    let wired: BTreeSet<PointId> = circuit
        .branches
        .iter()
        .filter(|b| matches!(b.kind, BranchKind::Wire { .. }))
        .flat_map(|b| [b.a, b.b])
        .collect();
    let mut met: BTreeSet<PointId> = bench.points.clone();
    for &point in &bench.points {
        let Some((connector, half)) = legal::cavity(circuit, point) else { continue };
        let it = circuit.connector(connector);
        if it.owner.is_some() && half != 0 {
            continue;
        }
        let half = usize::from(half);
        let own = it.cavities.iter().position(|c| c.points[half] == Some(point));
        for (at, cavity) in it.cavities.iter().enumerate() {
            let Some(other) = cavity.points[half] else { continue };
            let beside = own.is_some_and(|own| own.abs_diff(at) == 1) && cavity.role == CavityRole::Elsewhere;
            let apart = met.contains(&other) || !wired.contains(&other) && !beside;
            // No ohms into a squib or a high-voltage part.
            if apart || legal::leads_to_danger(bench, other).is_some() {
                continue;
            }
            met.extend(net(circuit, &state, other).points);
            let elsewhere = if wired.contains(&other) { "" } else { "drawn elsewhere" };
            let words = [words::colour(bench, other), cavity.label.clone(), elsewhere.to_owned()];
            let words: Vec<String> = words.into_iter().filter(|w| !w.is_empty()).collect();
            blacks.push((other, words.join(" ")));
        }
    }
    // The far ends of the wire itself.
    for &point in &bench.points {
        let far = legal::cavity(circuit, point).is_some_and(|(c, half)| {
            circuit.connector(c).owner.is_some()
                && half == 0
                && point != home
                && legal::closed(bench, c).is_none()
        });
        if far {
            blacks.push((point, END_TO_END.to_owned()));
        }
    }

    let rows: Vec<DeadRow> = blacks
        .into_iter()
        .filter_map(|(point, what)| {
            let reading = bench.solver.read(&state, &[], &Meter::ohms(home, point)).ok()?;
            Some(DeadRow { black: words::black(bench, point), what, expected: range(&reading) })
        })
        .collect();
    if rows.is_empty() {
        return None;
    }
    let out = out.into_iter().map(|c| circuit.connector(c).name.clone()).collect();
    Some(DeadWire { red: bench.name(home).to_owned(), out, rows })
}

/// Every feed and ground of the source's module, harness side, its connector out, lamp across.
pub(crate) fn loaded(bench: &Bench<'_>) -> Vec<LoadedCheck> {
    let circuit = bench.circuit;
    let (Some(module), Some(negative), Some(positive)) =
        (bench.source.module, circuit.negative, circuit.positive)
    else {
        return Vec::new();
    };
    let own: BTreeSet<ConnectorId> = (0..circuit.connectors.len() as u32)
        .map(ConnectorId)
        .filter(|&c| circuit.connector(c).owner == Some(module))
        .collect();
    let parted = legal::with_out(&bench.state, &own);
    let feeds: BTreeSet<PointId> = bench.module_feeds().iter().map(|&f| circuit.branch(f).a).collect();
    let supply = bench.state.supply().unwrap_or_else(|| battery(circuit));

    let mut checks = Vec::new();
    for &connector in &own {
        if legal::parts_danger(bench, connector).is_some() {
            continue;
        }
        let it = circuit.connector(connector);
        for cavity in &it.cavities {
            let [Some(wire), Some(part)] = cavity.points else { continue };
            let is_feed = feeds.contains(&part);
            let is_ground = !is_feed && net(circuit, &parted, wire).contains(negative);
            if !is_feed && !is_ground {
                continue;
            }
            let state = legal::with_out(&bench.state, &BTreeSet::from([connector]));
            let (red, black) = if is_feed { (wire, negative) } else { (positive, wire) };
            let Ok(reading) = bench.solver.read(&state, &[], &Meter::loaded(red, black, Load::Lamp)) else {
                continue;
            };
            let at_least = supply - if is_feed { FEED_DROP } else { GROUND_DROP };
            let note = if reading.nominal < at_least - FEED_DROP {
                format!(
                    "stays dead while {} is out even when sound: what switches it depends on the module",
                    it.name
                )
            } else {
                String::new()
            };
            let what = format!("{} {}", words::colour(bench, wire), cavity.label);
            checks.push(LoadedCheck {
                cavity: bench.name(wire).to_owned(),
                what: what.trim().to_owned(),
                role: if is_feed { "feed" } else { "ground" },
                out: it.name.clone(),
                red: words::black(bench, red),
                black: words::black(bench, black),
                expected: range(&reading),
                at_least,
                note,
            });
        }
    }
    checks
}

fn battery(circuit: &Circuit) -> f64 {
    let volts = circuit.branches.iter().find_map(|b| match b.kind {
        BranchKind::Source { volts, .. } => Some(volts),
        _ => None,
    });
    volts.unwrap_or(12.0)
}

/// Where a sound circuit loses its volts on the way to a weak load and back.
pub(super) fn budget(bench: &Bench<'_>, complaint: Option<Complaint>) -> Option<DropBudget> {
    let Some(Complaint::Weak(part)) = complaint else { return None };
    let (circuit, state) = (bench.circuit, &bench.state);
    let (positive, negative) = (circuit.positive?, circuit.negative?);
    let sound = bench.solver.solve(state, &[]).ok()?;
    let load = judge::loads(circuit, part)
        .max_by(|&one, &other| sound.current(one).abs().total_cmp(&sound.current(other).abs()))?;
    let branch = circuit.branch(load);
    let feed = bench.solver.feed_budget(state, &[], branch.a).ok()?;
    let back = bench.solver.return_budget(state, &[], branch.b).ok()?;
    let row = |from: PointId, to: PointId, part: PartId, volts| DropRow {
        from: circuit.point(from).name.clone(),
        to: circuit.point(to).name.clone(),
        part: circuit.part(part).name.clone(),
        volts,
    };
    let inside = |id: BranchId| matches!(circuit.branch(id).kind, BranchKind::Source { .. });
    let ways =
        |segments: &[Segment]| segments.iter().filter(|s| !inside(s.branch)).copied().collect::<Vec<_>>();
    let mut rows: Vec<DropRow> =
        ways(&feed.segments).iter().rev().map(|s| row(s.to, s.from, s.part, s.volts)).collect();
    rows.push(row(branch.a, branch.b, part, sound.volts(branch.a, branch.b)));
    rows.extend(ways(&back.segments).iter().map(|s| row(s.from, s.to, s.part, s.volts)));
    let total = sound.volts(positive, negative);
    // A way that does not lead from post to post is no budget.
    let sum: f64 = rows.iter().map(|row| row.volts).sum();
    let load = circuit.part(part).name.clone();
    ((sum - total).abs() < 1e-6 * total.abs()).then_some(DropBudget { load, rows, total })
}

/// What to look for that no file draws.
pub(crate) fn added_equipment() -> Vec<String> {
    [
        "Ask first: alarm, tracker, remote start, towing kit, radio? It costs no minutes.",
        "Look along the wire for taps, half a metre from modules, column and fuse box.",
        "Pull the added equipment's own fuse with everything mated: the reading must recover.",
        "It conducts only when powered: ohms on the dead wire may look clean. Repeat with an outside source.",
    ]
    .map(str::to_owned)
    .into()
}

/// What must have a reading before the module is named.
pub(super) fn module_gates(bench: &Bench<'_>) -> Vec<String> {
    let Some(module) = bench.source.module else { return Vec::new() };
    let name = &bench.circuit.part(module).name;
    [
        format!("every feed of {name}, under load"),
        format!("every ground of {name}, under load"),
        "the reference with all its loads off".to_owned(),
        "the wire to body, to every neighbour and to the feeds, dead".to_owned(),
        "the wire fed from outside with the module out: it must hold its volts".to_owned(),
        "no equipment that the file does not know on the wire".to_owned(),
        format!("{name} on the network, its software and variant as the car's"),
        "the cause cleared: a short kills the next module too".to_owned(),
    ]
    .into()
}

/// Dangers at everything the plan touches, and the rules of the trade.
pub(super) fn cautions(bench: &Bench<'_>, complaint: Option<Complaint>, steps: &[Step]) -> Vec<CautionNote> {
    let circuit = bench.circuit;
    let mut notes: BTreeSet<CautionNote> = BTreeSet::new();
    let mut take = |at: &str, cautions: &[halfsplit_circuit::Caution]| {
        for caution in cautions {
            let words = caution.words.clone();
            notes.insert(CautionNote { at: at.to_owned(), hazard: Some(caution.hazard), words });
        }
    };
    for connector in &circuit.connectors {
        let probed = |s: &Step| {
            let here = |p| {
                legal::cavity(circuit, p).is_some_and(|(c, _)| circuit.connector(c).name == connector.name)
            };
            here(s.leads.red) || here(s.leads.black)
        };
        let met = |s: &Step| s.target == connector.name || s.out.contains(&connector.name) || probed(s);
        if steps.iter().any(met) {
            take(&connector.name, &connector.cautions);
            if let Some(owner) = connector.owner {
                let owner = circuit.part(owner);
                take(&owner.name, &owner.cautions);
            }
        }
    }
    if complaint.is_none() {
        for &id in &bench.net.branches {
            let part = circuit.part(circuit.branch(id).part);
            take(&part.name, &part.cautions);
        }
    }
    for step in steps {
        if let Some(part) = step.target.split([':', '.']).next().and_then(|name| circuit.part_named(name)) {
            take(&circuit.part(part).name, &circuit.part(part).cautions);
        }
    }
    let mut list: Vec<CautionNote> = notes.into_iter().collect();
    // Gates first: nobody reads on past them.
    list.sort_by_key(|n| !matches!(n.hazard, Some(Hazard::Airbag | Hazard::HighVoltage | Hazard::Fuel)));
    let rule = |words: &str| CautionNote { at: String::new(), hazard: None, words: words.to_owned() };
    list.push(rule("The maker's instructions, local rules and trained people come before this plan."));
    let Some(complaint) = complaint else {
        return pinned(bench, steps, list, rule);
    };
    if bench.state.key == Key::Crank {
        list.push(rule("Gearbox in neutral, wheels chocked, fuel or ignition disabled the maker's way; crank no longer than 10 s at a time. Test the battery first."));
        list.push(rule(
            "All leads from the posts, not from the clamps: a bad clamp hides behind its own lead.",
        ));
    }
    if matches!(complaint, Complaint::Blows(_)) {
        list.push(rule("Never a bigger fuse, never a wire in its place: the lamp limits the current, the wire that shorts stays hot. Move nothing that the circuit drives."));
    }
    if matches!(complaint, Complaint::Draws(_)) {
        list.push(rule("Latches tripped so that the car believes it is closed, key away, scan tool unplugged; wait until it sleeps."));
        list.push(rule("Never pull a fuse to find a draw: it wakes modules, or resets the hung one and the fault is gone."));
    }
    if steps.iter().any(|step| step.unit == "ohm") {
        list.push(rule("Ohms only with the battery off and the wire proved dead, under 50 mV."));
    }
    if steps.iter().any(|step| matches!(step.leads.measure, Measure::Volts(Load::Lamp))) {
        list.push(rule("The lamp goes on power wires only, never on references, signals, buses, module outputs or airbag circuits."));
    }
    list
}

/// The rules for a pin.
fn pinned(
    bench: &Bench<'_>,
    steps: &[Step],
    mut list: Vec<CautionNote>,
    rule: impl Fn(&str) -> CautionNote,
) -> Vec<CautionNote> {
    list.push(rule("Probe along the seal from the wire side; never force a lead into a terminal."));
    if bench.is_reference() {
        list.push(rule("No test lamp on a reference or signal: it pulls the output down by itself."));
    }
    if steps.iter().any(|s| s.unit == "ohm") {
        list.push(rule("Ohms only with the battery off and the wire proved dead."));
    }
    list
}

/// Connectors that the plan takes apart.
pub(crate) fn remate(steps: &[Step]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for name in steps.iter().flat_map(|s| &s.out) {
        if !names.contains(name) {
            names.push(name.clone());
        }
    }
    names
}
