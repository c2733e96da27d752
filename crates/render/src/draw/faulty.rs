//! Where in a drawing a fault shows.

use halfsplit_circuit::{BranchId, Fault, FaultKind, PointId};

use super::{
    graph::is_body,
    text,
    words::{Line, Speaker, Words},
};

/// Branches that a fault changes by themselves.
pub(super) fn touched_branches(fault: &Fault) -> Vec<BranchId> {
    match fault.kind {
        FaultKind::Chafe { branch, .. }
        | FaultKind::Series { branch, .. }
        | FaultKind::Dead { branch }
        | FaultKind::StuckClosed { branch, .. } => vec![branch],
        FaultKind::Touch { one, other, .. } => vec![one.0, other.0],
        FaultKind::Bridge { .. } | FaultKind::Sink { .. } => Vec::new(),
    }
}

impl Speaker<'_> {
    /// Which faults are at a branch, or at a place if no branch is given.
    pub(super) fn faults_at(&self, points: &[PointId], branch: &[BranchId]) -> Vec<usize> {
        let hits = |fault: &Fault| match (branch, &fault.kind) {
            ([id], FaultKind::Bridge { a, b, .. }) => {
                // A short inside a part lies beside the part's own branch.
                let is_part = !self.circuit.branch(*id).kind.is_copper();
                is_part && points.iter().all(|point| point == a || point == b)
            }
            ([id], _) => touched_branches(fault).contains(id),
            (_, FaultKind::Bridge { a, b, .. }) => {
                (points.contains(a) || points.contains(b)) && !self.is_inner(*a, *b)
            }
            (_, FaultKind::Sink { point, .. }) => points.contains(point),
            (_, FaultKind::Chafe { to, .. }) => points.contains(to) && !is_body(self.circuit, points),
            // A contact that is drawn as one place with both its sides.
            _ => touched_branches(fault).into_iter().any(|id| {
                let branch = self.circuit.branch(id);
                points.contains(&branch.a) && points.contains(&branch.b)
            }),
        };
        (self.faults.iter().enumerate()).filter(|(_, fault)| hits(fault)).map(|(at, _)| at).collect()
    }

    /// Whether a bridge lies beside a branch of one part.
    fn is_inner(&self, a: PointId, b: PointId) -> bool {
        self.circuit.branches.iter().any(|branch| {
            !branch.kind.is_copper() && (branch.a == a && branch.b == b || branch.a == b && branch.b == a)
        })
    }

    /// Says what is wrong beside the symbol, and marks it.
    pub(super) fn tell(&self, words: &mut Words, faults: &[usize]) {
        for &at in faults {
            words.look.dashed = true;
            let written = self.written.get(at).map(String::as_str).unwrap_or_default();
            let mut lines = text::wrapped(written, false, 140, 3).into_iter();
            let first = lines.next().unwrap_or_default();
            words.lines.push(Line { bold: "fault:".to_owned(), plain: first });
            words.lines.extend(lines.map(|plain| Line { bold: String::new(), plain }));
        }
    }
}
