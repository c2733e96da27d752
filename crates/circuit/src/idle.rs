//! Dead ends: what carries no current whatever happens elsewhere.

use std::collections::BTreeSet;

use crate::{BranchKind, Circuit, Fault, FaultKind, PointId};

/// For every branch whether it leads to nothing but dead ends, none of which is among `kept`: leads, faults and
/// whatever else is asked about. Readings between kept points are the same without such branches.
pub fn idle(circuit: &Circuit, kept: &BTreeSet<PointId>) -> Vec<bool> {
    let mut kept = kept.clone();
    kept.extend([circuit.negative, circuit.positive, circuit.body].into_iter().flatten());
    let mut meeting: Vec<Vec<usize>> = vec![Vec::new(); circuit.points.len()];
    for (at, branch) in circuit.branches.iter().enumerate() {
        if let BranchKind::Generator { sense, .. } = branch.kind {
            kept.insert(sense);
        }
        for point in [branch.a, branch.b] {
            meeting[point.index()].push(at);
        }
    }
    let mut idle = vec![false; circuit.branches.len()];
    let is_end = |point: usize, idle: &[bool]| {
        let acting = meeting[point].iter().filter(|&&at| !idle[at]).count();
        acting == 1 && !kept.contains(&PointId(point as u32))
    };
    let mut ends: Vec<usize> = (0..circuit.points.len()).filter(|&point| is_end(point, &idle)).collect();
    while let Some(point) = ends.pop() {
        let Some(&at) = meeting[point].iter().find(|&&at| !idle[at]) else { continue };
        let branch = &circuit.branches[at];
        // What switches, drives or regulates is left in, wherever it hangs.
        let plain = branch.kind.is_copper()
            || matches!(
                branch.kind,
                BranchKind::Fuse { .. } | BranchKind::Switch { .. } | BranchKind::Load { .. }
            );
        if !plain || !is_end(point, &idle) {
            continue;
        }
        idle[at] = true;
        let other = if branch.a.index() == point { branch.b } else { branch.a };
        if is_end(other.index(), &idle) {
            ends.push(other.index());
        }
    }
    idle
}

/// The points that a fault touches.
pub fn touched(circuit: &Circuit, fault: &Fault) -> Vec<PointId> {
    let ends = |branch: crate::BranchId| [circuit.branch(branch).a, circuit.branch(branch).b];
    match fault.kind {
        FaultKind::Bridge { a, b, .. } => vec![a, b],
        FaultKind::Chafe { branch, to, .. } => [&ends(branch)[..], &[to]].concat(),
        FaultKind::Touch { one, other, .. } => [ends(one.0), ends(other.0)].concat(),
        FaultKind::Series { branch, .. }
        | FaultKind::Dead { branch }
        | FaultKind::StuckClosed { branch, .. } => ends(branch).to_vec(),
        FaultKind::Sink { point, .. } => vec![point],
    }
}
