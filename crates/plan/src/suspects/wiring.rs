//! Wires, splices, contacts, neighbouring cavities, and what somebody may have tapped on.

use std::collections::BTreeSet;

use halfsplit_circuit::{BranchId, BranchKind, PartKind, PointId, PointKind, adjacent, net};

use super::{Gather, Shape, is_heavy};
use crate::grid::Range;
use crate::harness::{Piece, pieces};
use crate::priors;

/// Volts at which equipment that pulls a wire down saturates, least and most (own estimate; worked scenario S07 has 0.15 V).
pub(super) const SINK_VOLTS: [f64; 2] = [0.05, 0.4];
/// Resistance of such equipment without power (worked scenario S07: 47 kΩ); it may as well be none.
const SINK_UNPOWERED: [f64; 2] = [47e3, f64::INFINITY];

pub(super) fn gather(gather: &mut Gather<'_>) {
    let circuit = gather.circuit;
    let pieces = pieces(circuit, circuit.branches().map(|(id, _)| id));
    for piece in &pieces {
        shorts(gather, piece);
        breaks(gather, piece);
    }
    for (id, branch) in circuit.branches() {
        if let BranchKind::Mated { .. } = branch.kind {
            let unit = gather.part(branch.part);
            let mode = format!("contact {} open or spread", gather.say(branch.a));
            let heavy = is_heavy(circuit, branch.a) || is_heavy(circuit, branch.b);
            let range = if heavy { Range::AddedHeavy } else { Range::Added };
            gather.add(unit, mode, priors::CONNECTOR_OPEN, Shape::Series { branch: id }, range);
        }
    }
    bridges(gather);
    for piece in &pieces {
        unlisted(gather, piece);
    }
}

/// A piece rubbed through to body, to a wire in the same run, or to power. Of two pieces that touch either may be
/// the hurt one.
fn shorts(gather: &mut Gather<'_>, piece: &Piece) {
    let circuit = gather.circuit;
    let unit = gather.harness(piece);
    let Some(wire) = likeliest(gather, piece) else { return };
    let chafe = |branch, to| Shape::Chafe { branch, to };
    if let Some(body) = circuit.body {
        let mode = "rubbed through to body".to_owned();
        gather.add(unit, mode, priors::WIRE_TO_BODY, chafe(wire, body), Range::Short);
    }
    let first_of = |point: PointId| net(circuit, gather.focus.state, point).points.first().copied();
    let mut touching = Vec::new();
    let mut met: BTreeSet<PointId> = BTreeSet::new();
    for (ours, other) in neighbours(gather, piece) {
        let to = circuit.branch(other).a;
        let (Some(one), Some(two)) = (first_of(circuit.branch(ours).a), first_of(to)) else { continue };
        if one != two && met.insert(two) {
            touching.push((ours, other, to));
        }
    }
    let each = priors::WIRE_TO_WIRE / touching.len().max(1) as f64;
    for (ours, other, to) in touching {
        let mode =
            format!("{} touching {}", circuit.part(circuit.branch(ours).part).name, words(gather, other));
        gather.add(unit, mode, each, chafe(ours, to), Range::Short);
    }
    let Some(positive) = circuit.positive else { return };
    if !gather.focus.lifted || !piece.points.iter().any(|&p| gather.on_net(p)) {
        let mode = "touching a wire with battery volts".to_owned();
        gather.add(unit, mode, priors::WIRE_TO_WIRE, chafe(wire, positive), Range::Short);
        return;
    }
    // What lifts the wire is asked for by the fuse that guards it, so that pulling that fuse tells.
    let mode = "touching a wire that no fuse guards".to_owned();
    gather.add(unit, mode, priors::WIRE_TO_WIRE, chafe(wire, positive), Range::Short);
    for branch in &circuit.branches {
        let part = circuit.part(branch.part);
        if matches!(branch.kind, BranchKind::Fuse { .. }) && part.pulls && !gather.on_net(branch.b) {
            let mode = format!("touching a wire behind {}", part.name);
            gather.add(unit, mode, priors::WIRE_TO_WIRE, chafe(wire, branch.b), Range::Short);
        }
    }
}

/// A wire of a piece open or resistive, its crimps included.
fn breaks(gather: &mut Gather<'_>, piece: &Piece) {
    let circuit = gather.circuit;
    let unit = gather.harness(piece);
    let joints = circuit.branches().filter(|(_, branch)| {
        let own = matches!(circuit.part(branch.part).kind, PartKind::Splice | PartKind::Wire);
        own && matches!(branch.kind, BranchKind::Joint { .. }) && piece.parts.contains(&branch.part)
    });
    let joints: Vec<BranchId> = joints.map(|(id, _)| id).collect();
    let mut all: Vec<BranchId> = piece.wires.iter().chain(&joints).copied().collect();
    all.sort_unstable();
    all.dedup();
    for wire in all {
        let branch = circuit.branch(wire);
        let name = &circuit.part(branch.part).name;
        let splices: Vec<&str> = [branch.a, branch.b]
            .into_iter()
            .filter(|&p| circuit.point(p).kind == PointKind::Splice)
            .map(|p| circuit.point(p).name.as_str())
            .collect();
        let what = if matches!(branch.kind, BranchKind::Joint { .. }) {
            format!("crimp of {name}")
        } else {
            name.clone()
        };
        let mode = match splices[..] {
            [] => format!("{what} open or resistive"),
            [one] => format!("{what} open or resistive, its crimp in {one} included"),
            _ => format!("{what} open or resistive, its crimps in {} included", splices.join(" and ")),
        };
        let heavy = is_heavy(circuit, branch.a) || is_heavy(circuit, branch.b);
        let range = if heavy { Range::AddedHeavy } else { Range::Added };
        gather.add(unit, mode, priors::WIRE_OPEN, Shape::Series { branch: wire }, range);
    }
}

/// Neighbouring cavities joined by water or a bent blade.
fn bridges(gather: &mut Gather<'_>) {
    let circuit = gather.circuit;
    for connector in &circuit.connectors {
        for (at, other) in adjacent(connector) {
            let halves: &[usize] = if connector.owner.is_some() { &[0] } else { &[0, 1] };
            for &half in halves {
                let ends = [at, other].map(|c| connector.cavities[c].points[half]);
                let [Some(a), Some(b)] = ends else { continue };
                if net(circuit, gather.focus.state, a).contains(b) {
                    continue;
                }
                let unit = gather.part(connector.part);
                let (from, to) = (&connector.cavities[at].name, &connector.cavities[other].name);
                let side = match connector.owner {
                    Some(_) => String::new(),
                    None => format!(" on the {} half", connector.halves[half]),
                };
                let mode = format!("cavities {from} and {to} bridged{side}");
                gather.add(unit, mode, priors::CONNECTOR_SHORT, Shape::Bridge { a, b }, Range::Short);
            }
        }
    }
}

/// Equipment that the file does not know, tapped on this piece.
fn unlisted(gather: &mut Gather<'_>, piece: &Piece) {
    let circuit = gather.circuit;
    if circuit.negative.is_none() {
        return;
    }
    let Some(wire) = likeliest(gather, piece) else { return };
    let point = circuit.branch(wire).a;
    let unit = gather.unlisted(piece);
    for unpowered in SINK_UNPOWERED {
        let dead = if unpowered.is_finite() { "leaks when dead" } else { "nothing to see when dead" };
        let mode = format!("pulls the wire down, {dead}");
        let shape = Shape::Sink { point, volts: SINK_VOLTS[0], unpowered };
        gather.add(unit, mode, 0.5, shape, Range::Sink);
    }
}

/// The wire of a piece that is the likeliest to be hurt: by its weight, then by its length.
fn likeliest(gather: &Gather<'_>, piece: &Piece) -> Option<BranchId> {
    let circuit = gather.circuit;
    let rank = |id: BranchId| {
        let branch = circuit.branch(id);
        let metres = match branch.kind {
            BranchKind::Wire { metres, .. } => metres.unwrap_or(0.0),
            _ => 0.0,
        };
        // On the net in question the wire must be one of it.
        let here = gather.on_net(branch.a) || gather.on_net(branch.b);
        (here, circuit.part(branch.part).suspicion.unwrap_or(0.0), metres)
    };
    let wires = piece.wires.iter().copied();
    let wires = wires.filter(|&id| matches!(circuit.branch(id).kind, BranchKind::Wire { .. }));
    wires.max_by(|&x, &y| {
        let (x, y) = (rank(x), rank(y));
        x.0.cmp(&y.0).then(x.1.total_cmp(&y.1)).then(x.2.total_cmp(&y.2))
    })
}

/// Wires of other nets that run beside a wire of the piece: both go into the same connector.
fn neighbours(gather: &Gather<'_>, piece: &Piece) -> Vec<(BranchId, BranchId)> {
    let circuit = gather.circuit;
    let ends = |id: BranchId| {
        let branch = circuit.branch(id);
        [branch.a, branch.b].map(|p| match circuit.point(p).kind {
            PointKind::Cavity { connector, half, .. } => Some((connector, half)),
            _ => None,
        })
    };
    let mut found = Vec::new();
    let wires = piece.wires.iter().filter(|&&id| matches!(circuit.branch(id).kind, BranchKind::Wire { .. }));
    for &ours in wires {
        let here = ends(ours);
        for (other, branch) in circuit.branches() {
            let wire = matches!(branch.kind, BranchKind::Wire { .. }) && !piece.wires.contains(&other);
            if wire && ends(other).into_iter().flatten().any(|e| here.contains(&Some(e))) {
                found.push((ours, other));
            }
        }
    }
    found
}

/// A wire by its colour and name.
fn words(gather: &Gather<'_>, wire: BranchId) -> String {
    let branch = gather.circuit.branch(wire);
    let name = &gather.circuit.part(branch.part).name;
    match &branch.kind {
        BranchKind::Wire { colour, .. } if !colour.is_empty() => format!("{colour} {name}"),
        _ => name.clone(),
    }
}
