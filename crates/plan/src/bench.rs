//! The circuit on the bench: the pin asked about, its net, its source, what it reads when sound.

use std::collections::BTreeSet;

use halfsplit_circuit::{
    BranchId, BranchKind, Circuit, Hazard, Meter, Net, PartId, PartKind, PointId, Reading, Solver, State,
    feed_path, net, return_path,
};

use crate::predict::{Corners, Predictor, Span, sound};
use crate::request::{PlanError, Request};

/// Everything that stays the same while suspects and steps are weighed.
pub(crate) struct Bench<'c> {
    pub circuit: &'c Circuit,
    pub predictor: Predictor<'c>,
    pub solver: Solver<'c>,
    pub state: State,
    pub pin: PointId,
    pub black: PointId,
    /// What copper joins to the pin with everything mated that is mated in `state`.
    pub net: Net,
    pub points: BTreeSet<PointId>,
    pub source: Source,
    /// Reading at the pin without any fault.
    pub healthy: Reading,
    /// Whether something lifts the pin above what it should read.
    pub high: bool,
    /// Whether the pin reads more than it should, by however little: then nothing is parted live.
    pub reads_high: bool,
    /// Dangers that trained people have dealt with: what, and the connector or part.
    pub cleared: Vec<(Hazard, String)>,
}

/// What holds the net up, or down where nothing feeds it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Source {
    /// `None` for a net that nothing holds.
    pub branch: Option<BranchId>,
    /// Its end on the net.
    pub point: PointId,
    /// The module whose output it is.
    pub module: Option<PartId>,
}

impl<'c> Bench<'c> {
    pub fn new(
        circuit: &'c Circuit,
        corners: &'c Corners,
        request: &Request,
    ) -> Result<Bench<'c>, PlanError> {
        let state = request.state.clone();
        let pin = request.pin;
        let black = request.black.or(circuit.negative).ok_or(PlanError::NoNegative)?;
        let net = net(circuit, &state, pin);
        let points: BTreeSet<PointId> = net.points.iter().copied().collect();
        let source = source(circuit, &state, pin, &points);
        let solver = Solver::new(circuit);
        let healthy = solver.read(&state, &[], &Meter::volts(pin, black))?;
        Ok(Bench {
            circuit,
            predictor: Predictor::new(circuit, corners),
            solver,
            state,
            pin,
            black,
            net,
            points,
            source,
            healthy,
            high: false,
            reads_high: false,
            cleared: request.cleared.clone(),
        })
    }

    /// What a sound circuit shows at the pin, as a hand meter shows it.
    pub fn sound(&self) -> Span {
        sound(&self.solver, &self.state, Meter::volts(self.pin, self.black)).unwrap_or(Span::ANY)
    }

    /// Name of a point.
    pub fn name(&self, point: PointId) -> &str {
        &self.circuit.point(point).name
    }

    /// Whether the source stays off after a short until the key is turned off and on.
    pub fn latches(&self) -> bool {
        matches!(self.source_kind(), Some(BranchKind::Reference { latches: true, .. }))
    }

    /// What kind of branch holds the net.
    pub fn source_kind(&self) -> Option<&'c BranchKind> {
        self.source.branch.map(|id| &self.circuit.branch(id).kind)
    }

    /// Whether a module's reference holds the net.
    pub fn is_reference(&self) -> bool {
        matches!(self.source_kind(), Some(BranchKind::Reference { .. }))
    }

    /// Feeds of the module that makes the reference; empty for other sources.
    pub fn module_feeds(&self) -> Vec<BranchId> {
        let Some(module) = self.source.module else { return Vec::new() };
        let feeds = self.circuit.branches_of(module);
        feeds.filter(|(_, b)| matches!(b.kind, BranchKind::Feed { .. })).map(|(id, _)| id).collect()
    }
}

fn source(circuit: &Circuit, state: &State, pin: PointId, points: &BTreeSet<PointId>) -> Source {
    let of = |id: BranchId| {
        let branch = circuit.branch(id);
        let point = if points.contains(&branch.a) { branch.a } else { branch.b };
        let module = (circuit.part(branch.part).kind == PartKind::Module).then_some(branch.part);
        Source { branch: Some(id), point, module }
    };
    let reference = circuit
        .branches()
        .find(|(_, b)| matches!(b.kind, BranchKind::Reference { .. }) && points.contains(&b.a));
    if let Some((id, _)) = reference {
        return of(id);
    }
    let battery = |(_, b): &(BranchId, &halfsplit_circuit::Branch)| {
        matches!(b.kind, BranchKind::Source { .. }) && (points.contains(&b.a) || points.contains(&b.b))
    };
    if let Some((id, _)) = circuit.branches().find(battery) {
        return of(id);
    }
    let first = |steps: Vec<halfsplit_circuit::Step>| {
        steps.into_iter().find(|s| !circuit.branch(s.branch).kind.is_copper())
    };
    let step = first(feed_path(circuit, state, pin)).or_else(|| first(return_path(circuit, state, pin)));
    step.map_or(Source { branch: None, point: pin, module: None }, |step| of(step.branch))
}
