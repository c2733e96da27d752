//! The net's own copper: wires, splices, contacts, neighbouring cavities, and
//! what somebody may have tapped on.

use std::collections::BTreeSet;

use halfsplit_circuit::{BranchId, BranchKind, PointId, PointKind, net};

use super::{Gather, Shape};
use crate::harness::{Piece, pieces};
use crate::priors;

/// Volts at which equipment that pulls a wire down saturates (worked scenario S07: 0.15 V).
const SINK_VOLTS: f64 = 0.15;
/// Resistance of such equipment without power (worked scenario S07: 47 kΩ); it may as well be none.
const SINK_UNPOWERED: [f64; 2] = [47e3, f64::INFINITY];

pub(super) fn gather(gather: &mut Gather<'_, '_>) {
    let bench = gather.bench;
    let circuit = bench.circuit;
    let pieces = pieces(circuit, bench.net.branches.iter().copied());
    for piece in &pieces {
        shorts(gather, piece);
        breaks(gather, piece);
    }
    for &id in &bench.net.branches {
        if let BranchKind::Mated { .. } = circuit.branch(id).kind {
            let unit = gather.part(circuit.branch(id).part);
            let at = gather.say(circuit.branch(id).a);
            let mode = format!("contact {at} open or spread");
            gather.draft(unit, mode, priors::CONNECTOR_OPEN, Shape::Series { branch: id });
        }
    }
    bridges(gather);
    for piece in &pieces {
        unlisted(gather, piece);
    }
}

/// A piece rubbed through to body, to a wire in the same run, or to power.
fn shorts(gather: &mut Gather<'_, '_>, piece: &Piece) {
    let bench = gather.bench;
    let circuit = bench.circuit;
    let unit = gather.harness(piece);
    let Some(wire) = likeliest(gather, piece) else { return };
    if let Some(body) = circuit.body {
        let mode = "rubbed through to body".to_owned();
        gather.draft(unit, mode, priors::WIRE_TO_BODY, Shape::Chafe { branch: wire, to: body });
    }
    let mut met: BTreeSet<PointId> = BTreeSet::new();
    for (ours, other) in neighbours(gather, piece) {
        let (name, colour) = wire_words(gather, other);
        let to = circuit.branch(other).a;
        if met.contains(&to) {
            continue;
        }
        met.extend(net(circuit, &bench.state, to).points.iter().copied());
        let mode = format!("touching {colour}{name}");
        gather.draft(unit, mode, priors::WIRE_TO_WIRE, Shape::Chafe { branch: ours, to });
    }
    let Some(positive) = circuit.positive else { return };
    if !bench.high {
        let mode = "touching a wire with battery volts".to_owned();
        gather.draft(unit, mode, priors::WIRE_TO_WIRE, Shape::Chafe { branch: wire, to: positive });
        return;
    }
    // What lifts the wire is asked for by the fuse that guards it, so that pulling that fuse tells.
    let mode = "touching a wire that no fuse guards".to_owned();
    gather.draft(unit, mode, priors::WIRE_TO_WIRE, Shape::Chafe { branch: wire, to: positive });
    for branch in &circuit.branches {
        let part = circuit.part(branch.part);
        if matches!(branch.kind, BranchKind::Fuse { .. }) && part.pulls && !bench.points.contains(&branch.b) {
            let mode = format!("touching a wire behind {}", part.name);
            gather.draft(unit, mode, priors::WIRE_TO_WIRE, Shape::Chafe { branch: wire, to: branch.b });
        }
    }
}

/// A wire of a piece open or resistive, its crimps included.
fn breaks(gather: &mut Gather<'_, '_>, piece: &Piece) {
    let bench = gather.bench;
    let unit = gather.harness(piece);
    for &wire in &piece.wires {
        let branch = bench.circuit.branch(wire);
        let name = &bench.circuit.part(branch.part).name;
        let splices: Vec<&str> = [branch.a, branch.b]
            .into_iter()
            .filter(|&p| bench.circuit.point(p).kind == PointKind::Splice)
            .map(|p| bench.name(p))
            .collect();
        let mode = match splices[..] {
            [] => format!("{name} open or resistive"),
            [one] => format!("{name} open or resistive, its crimp in {one} included"),
            _ => format!("{name} open or resistive, its crimps in {} included", splices.join(" and ")),
        };
        gather.draft(unit, mode, priors::WIRE_OPEN, Shape::Series { branch: wire });
    }
}

/// Neighbouring cavities joined by water or a bent blade.
fn bridges(gather: &mut Gather<'_, '_>) {
    let circuit = gather.bench.circuit;
    for connector in &circuit.connectors {
        let columns = connector.cavities.len().div_ceil(usize::from(connector.rows.max(1)));
        for at in 0..connector.cavities.len() {
            let in_row =
                (at + 1 < connector.cavities.len() && (at + 1) % columns.max(1) != 0).then_some(at + 1);
            let below =
                (connector.rows > 1 && at + columns < connector.cavities.len()).then_some(at + columns);
            for other in in_row.into_iter().chain(below) {
                let halves: &[usize] = if connector.owner.is_some() { &[0] } else { &[0, 1] };
                for &half in halves {
                    let ends = [at, other].map(|c| connector.cavities[c].points[half]);
                    let [Some(a), Some(b)] = ends else { continue };
                    let ours = [a, b].map(|p| gather.bench.points.contains(&p));
                    if ours[0] == ours[1] {
                        continue;
                    }
                    let unit = gather.part(connector.part);
                    let (from, to) = (&connector.cavities[at].name, &connector.cavities[other].name);
                    let side = match connector.owner {
                        Some(_) => String::new(),
                        None => format!(" on the {} half", connector.halves[half]),
                    };
                    let mode = format!("cavities {from} and {to} bridged{side}");
                    gather.draft(unit, mode, priors::CONNECTOR_SHORT, Shape::Bridge { a, b });
                }
            }
        }
    }
}

/// Equipment that the file does not know, tapped on this piece.
fn unlisted(gather: &mut Gather<'_, '_>, piece: &Piece) {
    let Some(wire) = likeliest(gather, piece) else { return };
    let point = gather.bench.circuit.branch(wire).a;
    let unit = gather.unlisted(piece);
    for unpowered in SINK_UNPOWERED {
        let dead = if unpowered.is_finite() { "leaks when dead" } else { "nothing to see when dead" };
        let mode = format!("pulls the wire down, {dead}");
        gather.draft(unit, mode, 0.5, Shape::Sink { point, volts: SINK_VOLTS, unpowered });
    }
}

/// The wire of a piece that is the likeliest to be hurt: by its weight, then by its length.
fn likeliest(gather: &Gather<'_, '_>, piece: &Piece) -> Option<BranchId> {
    let circuit = gather.bench.circuit;
    let rank = |id: BranchId| {
        let branch = circuit.branch(id);
        let metres = match branch.kind {
            BranchKind::Wire { metres, .. } => metres.unwrap_or(0.0),
            _ => 0.0,
        };
        (circuit.part(branch.part).suspicion.unwrap_or(0.0), metres)
    };
    piece.wires.iter().copied().max_by(|&x, &y| {
        let (x, y) = (rank(x), rank(y));
        x.0.total_cmp(&y.0).then(x.1.total_cmp(&y.1))
    })
}

/// Wires of other nets that run beside a wire of the piece: both go into the same connector.
fn neighbours(gather: &Gather<'_, '_>, piece: &Piece) -> Vec<(BranchId, BranchId)> {
    let circuit = gather.bench.circuit;
    let ends = |id: BranchId| {
        let branch = circuit.branch(id);
        [branch.a, branch.b].map(|p| match circuit.point(p).kind {
            PointKind::Cavity { connector, half, .. } => Some((connector, half)),
            _ => None,
        })
    };
    let mut found = Vec::new();
    for &ours in &piece.wires {
        let here = ends(ours);
        for (other, branch) in circuit.branches() {
            let foreign = !gather.bench.points.contains(&branch.a);
            let wire = matches!(branch.kind, BranchKind::Wire { .. });
            if foreign && wire && ends(other).into_iter().flatten().any(|e| here.contains(&Some(e))) {
                found.push((ours, other));
            }
        }
    }
    found
}

fn wire_words(gather: &Gather<'_, '_>, wire: BranchId) -> (String, String) {
    let branch = gather.bench.circuit.branch(wire);
    let name = gather.bench.circuit.part(branch.part).name.clone();
    let colour = match &branch.kind {
        BranchKind::Wire { colour, .. } if !colour.is_empty() => format!("{colour} "),
        _ => String::new(),
    };
    (name, colour)
}
