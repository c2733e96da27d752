//! Nets and the ways of current: what copper joins, where it is fed, where it returns.
//!
//! Nets are walked, not solved. Only relay contacts need the solve: they stand as the coils'
//! volts leave them; where those cannot be computed every relay is taken at rest.

use std::collections::BTreeSet;

use petgraph::Direction;
use petgraph::algo::astar;
use petgraph::graph::{DiGraph, NodeIndex, UnGraph};
use petgraph::visit::{Bfs, EdgeRef};

use crate::{Branch, BranchId, BranchKind, Circuit, PointId, Solution, Solver, State, Volts};

/// What copper joins in one state.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Net {
    /// Every point, ascending; the one asked for is among them.
    pub points: Vec<PointId>,
    /// Every copper branch between them, ascending.
    pub branches: Vec<BranchId>,
}

impl Net {
    /// Whether a point belongs to the net.
    pub fn contains(&self, point: PointId) -> bool {
        self.points.binary_search(&point).is_ok()
    }
}

/// One step of a path.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Step {
    /// The branch that is passed.
    pub branch: BranchId,
    /// The point it leads to. A reference is passed at its output: the point stays the same, and
    /// the next step is the feed of its module.
    pub point: PointId,
}

/// Everything that copper joins to a point: wires, splices, bars and mated cavities.
pub fn net(circuit: &Circuit, state: &State, point: PointId) -> Net {
    if point.index() >= circuit.points.len() {
        return Net { points: Vec::new(), branches: Vec::new() };
    }
    reach(&copper(circuit, state), point)
}

/// The batteries from a source down to battery negative: of two in series the upper one, then the lower.
pub(crate) fn stack<'c>(circuit: &'c Circuit, top: &'c Branch) -> Vec<(&'c Branch, Volts)> {
    let sources: Vec<(&Branch, Volts)> = (circuit.branches.iter())
        .filter_map(|branch| match branch.kind {
            BranchKind::Source { volts, .. } => Some((branch, volts)),
            _ => None,
        })
        .collect();
    let mut stack: Vec<_> =
        sources.iter().copied().filter(|(branch, _)| std::ptr::eq(*branch, top)).collect();
    // Each step goes down one source; more steps than sources would be a ring.
    for _ in 1..sources.len() {
        let Some((last, _)) = stack.last() else { break };
        let copper = net(circuit, &State::default(), last.b);
        let Some(under) = sources.iter().find(|(other, _)| copper.contains(other.a)) else { break };
        stack.push(*under);
    }
    stack
}

/// What a source gives where the supply was read at the battery posts: batteries in series share
/// the reading as their own volts stand to each other; any other source keeps its own.
pub(crate) fn share_of_supply(circuit: &Circuit, source: &Branch, own: Volts, read: Volts) -> Volts {
    let Some(post) = circuit.positive else { return read };
    if circuit.branches.iter().filter(|b| matches!(b.kind, BranchKind::Source { .. })).count() == 1 {
        return if source.a == post { read } else { own };
    }
    let top = circuit.branches.iter().find(|b| b.a == post && matches!(b.kind, BranchKind::Source { .. }));
    let stack = top.map(|top| stack(circuit, top)).unwrap_or_default();
    let total: Volts = stack.iter().map(|(_, volts)| volts).sum();
    match stack.iter().any(|(branch, _)| std::ptr::eq(*branch, source)) {
        true if total != 0.0 => read * own / total,
        true => read,
        false => own,
    }
}

/// Every net of a circuit in one state, single points among them, in order of their first points.
pub fn nets(circuit: &Circuit, state: &State) -> Vec<Net> {
    let graph = copper(circuit, state);
    let mut seen = vec![false; circuit.points.len()];
    let mut nets = Vec::new();
    for index in 0..circuit.points.len() {
        if !seen[index] {
            let net = reach(&graph, PointId(index as u32));
            for point in &net.points {
                seen[point.index()] = true;
            }
            nets.push(net);
        }
    }
    nets
}

/// The copper of a circuit in one state.
fn copper(circuit: &Circuit, state: &State) -> UnGraph<(), BranchId> {
    let mut graph = UnGraph::default();
    for _ in &circuit.points {
        graph.add_node(());
    }
    for (id, branch) in circuit.branches() {
        if is_joined_copper(circuit, state, branch) {
            graph.add_edge(node(branch.a), node(branch.b), id);
        }
    }
    graph
}

fn reach(graph: &UnGraph<(), BranchId>, point: PointId) -> Net {
    let mut points = BTreeSet::new();
    let mut branches = BTreeSet::new();
    let mut walk = Bfs::new(graph, node(point));
    while let Some(here) = walk.next(graph) {
        points.insert(PointId(here.index() as u32));
        branches.extend(graph.edges(here).map(|edge| *edge.weight()));
    }
    Net { points: points.into_iter().collect(), branches: branches.into_iter().collect() }
}

/// The way from a pin up to the positive post: through copper, fuses, closed contacts, diodes,
/// drivers that switch to a feed, and from a reference output through its module's feed.
/// Of several ways the one with least resistance; empty if there is none, or at the post itself.
pub fn feed_path(circuit: &Circuit, state: &State, point: PointId) -> Vec<Step> {
    let mut ways = Ways::new(circuit, state);
    for (id, branch) in circuit.branches() {
        match branch.kind {
            BranchKind::Diode { .. } | BranchKind::Driver { .. } => ways.one_way(id, branch.b, branch.a, 1.0),
            BranchKind::Reference { .. } => ways.reference(id, branch),
            _ => {}
        }
    }
    let goals = circuit.branches.iter().filter(|b| matches!(b.kind, BranchKind::Source { .. })).map(|b| b.a);
    ways.find(point, goals.collect())
}

/// The way from a pin down to battery negative: through copper, closed contacts, diodes and
/// drivers that switch to ground, and through a load where nothing else leads down. Empty if
/// there is none, or at the post itself.
pub fn return_path(circuit: &Circuit, state: &State, point: PointId) -> Vec<Step> {
    let mut ways = Ways::new(circuit, state);
    for (id, branch) in circuit.branches() {
        match branch.kind {
            BranchKind::Diode { .. } | BranchKind::Driver { .. } => ways.one_way(id, branch.a, branch.b, 1.0),
            _ if branch.kind.draws() => ways.one_way(id, branch.a, branch.b, THROUGH_A_LOAD),
            _ => {}
        }
    }
    let posts = circuit.branches.iter().filter(|b| matches!(b.kind, BranchKind::Source { .. })).map(|b| b.b);
    let goals = match circuit.negative {
        Some(post) => BTreeSet::from([post]),
        None => posts.collect(),
    };
    ways.find(point, goals)
}

/// Cost of passing a load on the way down: more than any copper, so that copper is taken where there is some.
const THROUGH_A_LOAD: f64 = 1e6;

fn node(point: PointId) -> NodeIndex {
    NodeIndex::new(point.index())
}

fn is_joined_copper(circuit: &Circuit, state: &State, branch: &Branch) -> bool {
    let ends = branch.a.index() < circuit.points.len() && branch.b.index() < circuit.points.len();
    let mated = match &branch.kind {
        BranchKind::Mated { connector, .. } => !state.unplugged.contains(connector),
        kind => kind.is_copper(),
    };
    ends && mated && !state.pulled.contains(&branch.part)
}

/// The branches that lead current in one state, each in its directions.
struct Ways<'c> {
    circuit: &'c Circuit,
    state: &'c State,
    solution: Option<Solution>,
    graph: DiGraph<(), (Vec<BranchId>, f64)>,
}

impl<'c> Ways<'c> {
    fn new(circuit: &'c Circuit, state: &'c State) -> Ways<'c> {
        let solution = Solver::new(circuit).solve(state, &[]).ok();
        let mut graph = DiGraph::default();
        for _ in &circuit.points {
            graph.add_node(());
        }
        let mut ways = Ways { circuit, state, solution, graph };
        for (id, branch) in circuit.branches() {
            if let Some(ohms) = ways.passes(branch) {
                ways.one_way(id, branch.a, branch.b, ohms);
                ways.one_way(id, branch.b, branch.a, ohms);
            }
        }
        ways
    }

    /// Resistance of a branch that leads both ways in this state.
    fn passes(&self, branch: &Branch) -> Option<f64> {
        if self.state.pulled.contains(&branch.part) {
            return None;
        }
        match &branch.kind {
            BranchKind::Wire { ohms, .. } => Some(ohms.unwrap_or(crate::UNKNOWN_WIRE)),
            BranchKind::Mated { ohms, .. } => {
                is_joined_copper(self.circuit, self.state, branch).then_some(*ohms)
            }
            BranchKind::Joint { ohms } | BranchKind::Fuse { ohms, .. } => Some(*ohms),
            BranchKind::Switch { ohms, closed } => {
                self.circuit.holds(closed, branch.part, self.state).then_some(*ohms)
            }
            BranchKind::RelayContact { ohms, coil, closed_at_rest } => {
                let pulled = self.solution.as_ref().is_some_and(|s| s.pulled_in(*coil));
                (pulled != *closed_at_rest).then_some(*ohms)
            }
            _ => None,
        }
    }

    fn one_way(&mut self, id: BranchId, from: PointId, to: PointId, cost: f64) {
        let branch = self.circuit.branch(id);
        let acts = match &branch.kind {
            BranchKind::Driver { on, .. } => {
                self.circuit.commanded(id, on, self.state)
                    && self.solution.as_ref().is_some_and(|s| s.awake(branch.part))
            }
            _ => true,
        };
        let points = self.circuit.points.len();
        if acts && from.index() < points && to.index() < points && !self.state.pulled.contains(&branch.part) {
            // A path is never free, so that fewer steps win between ways of no resistance.
            self.graph.add_edge(node(from), node(to), (vec![id], cost.max(0.0) + 1e-9));
        }
    }

    /// From a reference output to the feeds of its module, those that wake it first.
    fn reference(&mut self, id: BranchId, branch: &Branch) {
        let points = self.circuit.points.len();
        if branch.a.index() >= points {
            return;
        }
        for (feed, other) in self.circuit.branches_of(branch.part).filter(|(_, b)| b.a.index() < points) {
            if let BranchKind::Feed { wakes, .. } = &other.kind {
                let cost = if wakes.is_some() { 1.0 } else { 1000.0 };
                self.graph.add_edge(node(branch.a), node(other.a), (vec![id, feed], cost));
            }
        }
    }

    fn find(&self, from: PointId, goals: BTreeSet<PointId>) -> Vec<Step> {
        if from.index() >= self.circuit.points.len() {
            return Vec::new();
        }
        let is_goal = |place: NodeIndex| goals.contains(&PointId(place.index() as u32));
        let found = astar(&self.graph, node(from), is_goal, |edge| edge.weight().1, |_| 0.0);
        let Some((_, nodes)) = found else {
            return Vec::new();
        };
        let mut steps = Vec::new();
        for pair in nodes.windows(2) {
            let between = self.graph.edges_directed(pair[0], Direction::Outgoing);
            let best = between
                .filter(|edge| edge.target() == pair[1])
                .min_by(|one, two| one.weight().1.total_cmp(&two.weight().1));
            let Some(edge) = best else { continue };
            let here = PointId(pair[0].index() as u32);
            let there = PointId(pair[1].index() as u32);
            let branches = &edge.weight().0;
            for (i, &branch) in branches.iter().enumerate() {
                let last = i + 1 == branches.len();
                steps.push(Step { branch, point: if last { there } else { here } });
            }
        }
        steps
    }
}
