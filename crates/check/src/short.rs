//! Supplies and references that copper joins to their own ground, and the wire that does it.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use halfsplit_circuit::{Branch, BranchId, BranchKind, PointId, PointKind};
use halfsplit_model::Wire;

use crate::survey::Survey;

/// A supply or reference that is joined to ground.
pub(crate) struct Short {
    /// The supply or reference.
    pub(crate) source: BranchId,
    /// The ground that it meets.
    pub(crate) ground: PointId,
    /// The way from one to the other.
    pub(crate) path: Vec<BranchId>,
    /// The wire that is likeliest wrong.
    pub(crate) wire: Option<BranchId>,
    /// Whether the way passes a cavity with too many wires, so that the fault is reported there.
    pub(crate) reported: bool,
}

/// Shorts that are looked for in one circuit, and wires tried on each.
const MOST_SHORTS: usize = 16;
const MOST_TRIED: usize = 24;

/// Every supply and reference that copper and fuses join to ground, one for each joined stretch.
pub(crate) fn find(survey: &Survey) -> Vec<Short> {
    let circuit = survey.circuit();
    let mut shorts: Vec<Short> = Vec::new();
    let mut groups = Groups::new(circuit.points.len());
    for (_, branch) in circuit.branches().filter(|(_, b)| joins(b)) {
        groups.join(branch.a, branch.b);
    }
    let mut done = BTreeSet::new();
    for (source, branch) in circuit.branches() {
        let grounds: Vec<PointId> = match branch.kind {
            BranchKind::Source { .. } => [Some(branch.b), circuit.body].into_iter().flatten().collect(),
            BranchKind::Reference { .. } => {
                [Some(branch.b), circuit.body, circuit.negative].into_iter().flatten().collect()
            }
            _ => continue,
        };
        let group = groups.of(branch.a);
        let Some(&ground) = grounds.iter().find(|&&g| groups.of(g) == group) else { continue };
        if shorts.len() == MOST_SHORTS || !done.insert(group) {
            continue;
        }
        let Some(path) = way(survey, branch.a, ground, joins, None) else { continue };
        let wire = culprit(survey, &path, branch.a, ground, joins);
        let reported = passes_crowd(survey, &path);
        shorts.push(Short { source, ground, path, wire, reported });
    }
    shorts
}

/// Copper, and fuses, which are copper until they blow.
fn joins(branch: &Branch) -> bool {
    branch.kind.is_copper() || matches!(branch.kind, BranchKind::Fuse { .. })
}

/// The shortest way from one point to another over branches of some kind, `without` one of them.
pub(crate) fn way(
    survey: &Survey,
    from: PointId,
    to: PointId,
    passes: fn(&Branch) -> bool,
    without: Option<BranchId>,
) -> Option<Vec<BranchId>> {
    let mut came: BTreeMap<PointId, BranchId> = BTreeMap::new();
    let mut queue = VecDeque::from([from]);
    while let Some(here) = queue.pop_front() {
        if here == to {
            let mut path = Vec::new();
            let mut at = to;
            while at != from {
                let branch = *came.get(&at)?;
                path.push(branch);
                at = other(survey.circuit().branch(branch), at);
            }
            path.reverse();
            return Some(path);
        }
        for (id, branch) in survey.branches_at(here) {
            let there = other(branch, here);
            if Some(id) != without && passes(branch) && there != from && !came.contains_key(&there) {
                came.insert(there, id);
                queue.push_back(there);
            }
        }
    }
    None
}

/// The wire of a way that is likeliest the one too many: without it the two points part, it is
/// no lead of either point's own, and it is the thinnest and latest of those.
pub(crate) fn culprit(
    survey: &Survey,
    path: &[BranchId],
    from: PointId,
    to: PointId,
    passes: fn(&Branch) -> bool,
) -> Option<BranchId> {
    let wires: Vec<(BranchId, &Wire)> =
        path.iter().filter_map(|&id| Some((id, survey.wire(id)?))).take(MOST_TRIED).collect();
    let parts = |id: BranchId| way(survey, from, to, passes, Some(id)).is_none();
    let mut tried: Vec<(BranchId, &Wire)> = wires.iter().copied().filter(|&(id, _)| parts(id)).collect();
    if tried.is_empty() {
        tried = wires;
    }
    let inner: Vec<(BranchId, &Wire)> = tried
        .iter()
        .copied()
        .filter(|&(id, _)| !is_lead(survey, id, from) && !is_lead(survey, id, to))
        .collect();
    let chosen = if inner.is_empty() { tried } else { inner };
    let section = |wire: &Wire| wire.section.and_then(|(mm2, _)| mm2).unwrap_or(f64::INFINITY);
    chosen
        .into_iter()
        .min_by(|(_, one), (_, two)| section(one).total_cmp(&section(two)).then(two.place.cmp(&one.place)))
        .map(|(id, _)| id)
}

/// Whether a wire is the lead of a post or pin: one of its ends is joined to it without another wire.
fn is_lead(survey: &Survey, wire: BranchId, post: PointId) -> bool {
    let branch = survey.circuit().branch(wire);
    let beside = |end: PointId| {
        end == post
            || survey
                .branches_at(end)
                .any(|(_, b)| !matches!(b.kind, BranchKind::Wire { .. }) && joins(b) && other(b, end) == post)
    };
    let is_body = |end: PointId| survey.circuit().point(end).kind == PointKind::Ground;
    let at_post = |end: PointId| beside(end) && !is_body(end);
    at_post(branch.a) || at_post(branch.b)
}

/// Whether a way passes a cavity with too many wires.
pub(crate) fn passes_crowd(survey: &Survey, path: &[BranchId]) -> bool {
    let circuit = survey.circuit();
    let crowded = |point: PointId| survey.crowded.contains(&point);
    path.iter().map(|&id| circuit.branch(id)).any(|b| crowded(b.a) || crowded(b.b))
}

/// The other end of a branch.
pub(crate) fn other(branch: &Branch, end: PointId) -> PointId {
    if branch.a == end { branch.b } else { branch.a }
}

/// Points gathered into groups that are joined.
struct Groups {
    parent: Vec<u32>,
}

impl Groups {
    fn new(points: usize) -> Groups {
        Groups { parent: (0..points as u32).collect() }
    }

    fn of(&mut self, point: PointId) -> u32 {
        let mut at = point.0;
        while self.parent[at as usize] != at {
            let above = self.parent[self.parent[at as usize] as usize];
            self.parent[at as usize] = above;
            at = above;
        }
        at
    }

    fn join(&mut self, one: PointId, two: PointId) {
        let (one, two) = (self.of(one), self.of(two));
        self.parent[one as usize] = two;
    }
}
