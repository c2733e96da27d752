//! What is wrong with a circuit as a circuit, before any state is asked about.

use std::fmt;

use crate::error::Culprits;
use crate::solve::islands::Islands;
use crate::solve::network::siemens;
use crate::{BranchKind, Circuit, PartId};

/// Something that no reading can make sense of, or that a reading will be silent about.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Flaw {
    /// A branch ends on a point, coil or part that is not there. Nothing can be solved.
    Dangling(Culprits),
    /// A resistance that is zero, negative or not a number. Nothing can be solved.
    NoResistance(Culprits),
    /// A wire of no length, or of no section; it is taken for a wire of unknown length.
    NoLength(Culprits),
    /// Both ends on the same point: it carries nothing, or feeds itself.
    OnOnePoint(Culprits),
    /// Sources that drive one another through nothing but copper, fuses and links.
    SourceLoop(Culprits),
    /// Parts that no source is joined to, whatever is switched on.
    Unfed(Culprits),
}

impl Flaw {
    /// The parts it names.
    pub fn parts(&self) -> &Culprits {
        match self {
            Self::Dangling(parts)
            | Self::NoResistance(parts)
            | Self::NoLength(parts)
            | Self::OnOnePoint(parts)
            | Self::SourceLoop(parts)
            | Self::Unfed(parts) => parts,
        }
    }
}

impl fmt::Display for Flaw {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parts = self.parts();
        match self {
            Self::Dangling(_) => write!(f, "{parts}: an end on something that is not there"),
            Self::NoResistance(_) => {
                write!(f, "{parts}: a resistance that is zero, negative or not a number")
            }
            Self::NoLength(_) => {
                write!(f, "{parts}: no length or no section, so the resistance is not known")
            }
            Self::OnOnePoint(_) => write!(f, "{parts}: both ends on the same point"),
            Self::SourceLoop(_) => write!(f, "{parts}: sources that drive one another with no load between"),
            Self::Unfed(_) => write!(f, "{parts}: no source is joined to this"),
        }
    }
}

/// What puts a kind to parts.
type MakeFlaw = fn(Culprits) -> Flaw;

/// Every flaw of a circuit, the worst kind first; empty for a sound one.
pub fn flaws(circuit: &Circuit) -> Vec<Flaw> {
    let points = circuit.points.len();
    let whole = |b: &crate::Branch| {
        let coil = match b.kind {
            BranchKind::RelayContact { coil, .. } => coil.index() < circuit.branches.len(),
            BranchKind::Generator { sense, .. } => sense.index() < points,
            _ => true,
        };
        b.a.index() < points && b.b.index() < points && b.part.index() < circuit.parts.len() && coil
    };
    let named = |test: &dyn Fn(&crate::Branch) -> bool| -> Vec<PartId> {
        circuit.branches.iter().filter(|b| test(b)).map(|b| b.part).collect()
    };
    let is_length = |metres: &Option<f64>| metres.is_none_or(|m| m.is_finite() && m > 0.0);
    let without_length = |b: &crate::Branch| match &b.kind {
        BranchKind::Wire { section, metres, .. } => !is_length(metres) || !is_length(section),
        _ => false,
    };
    let found: [(MakeFlaw, Vec<PartId>); 6] = [
        (Flaw::Dangling, named(&|b| !whole(b))),
        (Flaw::NoResistance, named(&|b| !resistances(&b.kind).all(|ohms| siemens(ohms).is_some()))),
        (Flaw::NoLength, named(&without_length)),
        (Flaw::OnOnePoint, named(&|b| b.a == b.b)),
        (Flaw::SourceLoop, source_loops(circuit, &whole)),
        (Flaw::Unfed, unfed(circuit, &whole)),
    ];
    let found = found.into_iter().filter(|(_, parts)| !parts.is_empty());
    found.map(|(flaw, parts)| flaw(Culprits::of(circuit, parts))).collect()
}

/// Every resistance of a branch that has to be positive.
fn resistances(kind: &BranchKind) -> impl Iterator<Item = f64> + use<> {
    let both = match *kind {
        BranchKind::Wire { ohms, .. } | BranchKind::Load { ohms, .. } => [ohms, None],
        BranchKind::Mated { ohms, .. }
        | BranchKind::Joint { ohms }
        | BranchKind::Fuse { ohms, .. }
        | BranchKind::Switch { ohms, .. }
        | BranchKind::RelayContact { ohms, .. }
        | BranchKind::Coil { ohms, .. }
        | BranchKind::Diode { ohms, .. }
        | BranchKind::Driver { ohms, .. } => [Some(ohms), None],
        BranchKind::Lamp { hot, .. } => [Some(hot), None],
        BranchKind::Source { inner, .. } | BranchKind::Generator { inner, .. } => [Some(inner), None],
        BranchKind::Reference { inner, unpowered, .. } => [Some(inner), Some(unpowered)],
        BranchKind::Feed { awake, standby, .. } => [awake, standby],
    };
    both.into_iter().flatten()
}

/// Sources whose two ends good conductors join, other sources among them.
fn source_loops(circuit: &Circuit, whole: &dyn Fn(&crate::Branch) -> bool) -> Vec<PartId> {
    let conducts = |kind: &BranchKind| kind.is_copper() || matches!(kind, BranchKind::Fuse { .. });
    let is_source = |kind: &BranchKind| matches!(kind, BranchKind::Source { .. });
    let sources: Vec<usize> = (0..circuit.branches.len())
        .filter(|&i| whole(&circuit.branches[i]) && is_source(&circuit.branches[i].kind))
        .collect();
    let closes = |&&own: &&usize| {
        let mut islands = Islands::apart(circuit.points.len());
        for (index, branch) in circuit.branches.iter().enumerate().filter(|(_, b)| whole(b)) {
            if conducts(&branch.kind) || (is_source(&branch.kind) && index != own) {
                islands.join((branch.a.0, branch.b.0));
            }
        }
        islands.flatten();
        let branch = &circuit.branches[own];
        islands.same(branch.a.index(), branch.b.index())
    };
    sources.iter().filter(closes).map(|&own| circuit.branches[own].part).collect()
}

/// Parts of branches in islands without a source, every contact taken as closed.
fn unfed(circuit: &Circuit, whole: &dyn Fn(&crate::Branch) -> bool) -> Vec<PartId> {
    let mut islands = Islands::apart(circuit.points.len());
    for branch in circuit.branches.iter().filter(|b| whole(b)) {
        islands.join((branch.a.0, branch.b.0));
    }
    islands.flatten();
    let drives = |kind: &BranchKind| {
        matches!(
            kind,
            BranchKind::Source { .. } | BranchKind::Generator { .. } | BranchKind::Reference { .. }
        )
    };
    let whole: Vec<&crate::Branch> = circuit.branches.iter().filter(|b| whole(b)).collect();
    let fed: Vec<usize> = whole.iter().filter(|b| drives(&b.kind)).map(|b| b.a.index()).collect();
    let mut roots: Vec<bool> = vec![false; circuit.points.len()];
    for (point, root) in roots.iter_mut().enumerate() {
        *root = fed.iter().any(|&source| islands.same(source, point));
    }
    // A wire that nothing feeds may be a signal; a part that should draw may not.
    whole.iter().filter(|b| b.kind.draws() && !roots[b.a.index()]).map(|b| b.part).collect()
}
