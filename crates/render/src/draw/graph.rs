//! What a drawing shows as a graph: places and what joins them, from the supply at the top down to the returns.

use std::collections::{BTreeMap, BTreeSet};

use halfsplit_circuit::{BranchId, BranchKind, Circuit, PartId, PartKind, PointId, PointKind};

use super::{scope::Scope, symbol::Shape};

/// What stands at one place of a drawing.
#[derive(Clone, Debug)]
pub(super) struct Node {
    /// What it is.
    pub thing: Thing,
    /// Its symbol.
    pub shape: Shape,
}

/// What of the circuit a node stands for.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Thing {
    /// One electrical place: a pin with both its sides, a splice, a bar with the terminals on it.
    Site(Vec<PointId>),
    /// What joins two places.
    Branch(BranchId),
    /// A reference, fed from its module's feed.
    Link(BranchId),
    /// A battery or generator, above its post.
    Source(BranchId),
}

/// Nodes and the lines between them, each from the upper to the lower one.
#[derive(Debug)]
pub(super) struct Graph {
    /// In order of the text, sites first.
    pub nodes: Vec<Node>,
    /// Upper node, lower node.
    pub edges: Vec<(usize, usize)>,
    /// Nodes under which everything else hangs.
    pub roots: BTreeSet<usize>,
}

/// Lays out what is above what. `apart` are branches that are to be shown by themselves although they are
/// no more than a contact or a joint; `is_open` tells contacts and drivers that do not lead in the state drawn.
pub(super) fn of(
    circuit: &Circuit,
    scope: &Scope,
    pin: PointId,
    apart: &BTreeSet<BranchId>,
    is_open: &dyn Fn(BranchId) -> bool,
) -> Graph {
    let sites = sites(circuit, scope, pin, apart);
    let height = heights(circuit, scope, pin, is_open);
    let mut graph = Graph { nodes: Vec::new(), edges: Vec::new(), roots: BTreeSet::new() };
    let mut site_of: BTreeMap<PointId, usize> = BTreeMap::new();
    for points in sites {
        for point in &points {
            site_of.insert(*point, graph.nodes.len());
        }
        let shape = site_shape(circuit, scope, &points);
        graph.nodes.push(Node { thing: Thing::Site(points), shape });
    }
    // The first point of a site stands for all of them: one order for every site, so that no ring can arise.
    let level = |site: usize| match &graph.nodes[site].thing {
        Thing::Site(points) => (points.iter().map(|p| height[p]).min().unwrap_or(0), site),
        _ => (0, site),
    };
    let mut joins: Vec<(Node, usize, usize)> = Vec::new();
    for &id in &scope.branches {
        let branch = circuit.branch(id);
        let (a, b) = (site_of[&branch.a], site_of[&branch.b]);
        if a != b {
            let shape = Shape::of_branch(circuit, id);
            let (upper, lower) = if level(a) <= level(b) { (a, b) } else { (b, a) };
            joins.push((Node { thing: Thing::Branch(id), shape }, upper, lower));
        }
    }
    for &(reference, feed) in &scope.links {
        let (a, b) = (site_of[&circuit.branch(feed).a], site_of[&circuit.branch(reference).a]);
        if a != b {
            let (upper, lower) = if level(a) <= level(b) { (a, b) } else { (b, a) };
            joins.push((Node { thing: Thing::Link(reference), shape: Shape::Module }, upper, lower));
        }
    }
    for (id, branch) in circuit.branches() {
        let shape = match branch.kind {
            BranchKind::Source { .. } => Shape::Battery,
            BranchKind::Generator { .. } => Shape::Generator,
            _ => continue,
        };
        if let Some(&site) = site_of.get(&branch.a) {
            let node = graph.nodes.len();
            graph.nodes.push(Node { thing: Thing::Source(id), shape });
            graph.edges.push((node, site));
            graph.roots.insert(node);
        }
    }
    for (node, upper, lower) in joins {
        let here = graph.nodes.len();
        graph.nodes.push(node);
        graph.edges.extend([(upper, here), (here, lower)]);
    }
    graph
}

fn site_shape(circuit: &Circuit, scope: &Scope, points: &[PointId]) -> Shape {
    let kinds = || points.iter().map(|p| circuit.point(*p).kind);
    let inline = |connector| circuit.connector(connector).owner.is_none();
    if kinds().any(|kind| kind == PointKind::Bar) {
        return Shape::Bar;
    }
    let cavity = kinds().find_map(|kind| match kind {
        PointKind::Cavity { connector, .. } => Some(connector),
        _ => None,
    });
    match (cavity, circuit.point(points[0]).kind) {
        (Some(connector), _) if inline(connector) => Shape::Inline,
        (Some(_), _) => Shape::Pin,
        (None, PointKind::Splice) => Shape::Splice,
        (None, PointKind::Ground) if is_body(circuit, points) => Shape::Bar,
        (None, PointKind::Inside) if inner_ground(circuit, points).is_some() => Shape::Module,
        (None, PointKind::Inside) => {
            let joined = scope.branches.iter().filter(|id| {
                let branch = circuit.branch(**id);
                points.contains(&branch.a) || points.contains(&branch.b)
            });
            if joined.count() > 2 { Shape::Splice } else { Shape::Through }
        }
        (None, _) => Shape::Terminal,
    }
}

/// The module whose grounds meet in a place that no probe reaches.
pub(super) fn inner_ground(circuit: &Circuit, points: &[PointId]) -> Option<PartId> {
    let is_inside = points.iter().all(|point| circuit.point(*point).kind == PointKind::Inside);
    let joint = circuit.branches.iter().find(|branch| {
        let meets = points.contains(&branch.a) || points.contains(&branch.b);
        meets && matches!(branch.kind, BranchKind::Joint { .. })
    })?;
    (is_inside && circuit.part(joint.part).kind == PartKind::Module).then_some(joint.part)
}

/// Whether a site is the vehicle's body.
pub(super) fn is_body(circuit: &Circuit, points: &[PointId]) -> bool {
    circuit.body.is_some_and(|body| points.contains(&body))
}

/// Points that are one place to whoever looks at the drawing: both sides of a contact, and a bar with its terminals.
fn sites(circuit: &Circuit, scope: &Scope, pin: PointId, apart: &BTreeSet<BranchId>) -> Vec<Vec<PointId>> {
    let mut site: BTreeMap<PointId, PointId> = scope.points.iter().map(|p| (*p, *p)).collect();
    for &id in &scope.branches {
        let branch = circuit.branch(id);
        let on_bar = |end: PointId| circuit.point(end).kind == PointKind::Bar;
        let joins = match branch.kind {
            BranchKind::Mated { .. } => true,
            BranchKind::Joint { .. } => on_bar(branch.a) || on_bar(branch.b),
            _ => false,
        };
        let asked = matches!(branch.kind, BranchKind::Joint { .. }) && (branch.a == pin || branch.b == pin);
        if joins && !asked && !apart.contains(&id) {
            let (one, two) = (site[&branch.a], site[&branch.b]);
            let first = one.min(two);
            for at in site.values_mut() {
                if *at == one || *at == two {
                    *at = first;
                }
            }
        }
    }
    let mut sites: BTreeMap<PointId, Vec<PointId>> = BTreeMap::new();
    for (point, first) in site {
        sites.entry(first).or_default().push(point);
    }
    sites.into_values().collect()
}

/// What a load and an open contact count on the way from a post, against two for everything else.
const LOAD: u32 = 100_000;
const OPEN: u32 = 300;

/// How far down each point belongs: what is fed by distance from the supply, what returns by distance from battery
/// negative, and what is between two loads between them.
fn heights(
    circuit: &Circuit,
    scope: &Scope,
    pin: PointId,
    is_open: &dyn Fn(BranchId) -> bool,
) -> BTreeMap<PointId, u32> {
    let sources = circuit.branches.iter().filter(|b| {
        matches!(b.kind, BranchKind::Source { .. } | BranchKind::Generator { .. })
            && scope.points.contains(&b.a)
    });
    let from_supply = distances(circuit, scope, sources.map(|b| b.a).collect(), is_open);
    let grounds = match circuit.negative.filter(|post| scope.points.contains(post)) {
        Some(post) => vec![post],
        None => (scope.points.iter().copied())
            .filter(|point| circuit.point(*point).kind == PointKind::Ground)
            .collect(),
    };
    let from_ground = distances(circuit, scope, grounds, is_open);
    let from_pin = distances(circuit, scope, vec![pin], is_open);
    let far = 5_000 * LOAD;
    (scope.points.iter())
        .map(|point| {
            let fed = from_supply.get(point).copied();
            let returned = from_ground.get(point).copied().filter(|distance| *distance < LOAD);
            let height = match (fed, returned) {
                // Between two open contacts, as in a bridge at rest, it belongs to the feed.
                (Some(fed), Some(returned)) if fed < returned + OPEN / 2 => fed,
                (_, Some(returned)) => 2 * far - returned,
                (Some(fed), None) => fed,
                (None, None) => far / 2 + from_pin.get(point).copied().unwrap_or(0),
            };
            (*point, height)
        })
        .collect()
}

/// Distance of every drawn point from the nearest of `from`.
fn distances(
    circuit: &Circuit,
    scope: &Scope,
    from: Vec<PointId>,
    is_open: &dyn Fn(BranchId) -> bool,
) -> BTreeMap<PointId, u32> {
    let mut at: BTreeMap<PointId, Vec<(PointId, u32)>> = BTreeMap::new();
    let mut join = |a: PointId, b: PointId, cost: u32| {
        at.entry(a).or_default().push((b, cost));
        at.entry(b).or_default().push((a, cost));
    };
    for &id in &scope.branches {
        let branch = circuit.branch(id);
        let cost = match () {
            () if is_load(&branch.kind) => LOAD,
            () if is_open(id) => OPEN,
            () => 2,
        };
        join(branch.a, branch.b, cost);
    }
    for &(reference, feed) in &scope.links {
        join(circuit.branch(feed).a, circuit.branch(reference).a, 2);
    }
    let mut best: BTreeMap<PointId, u32> = from.iter().map(|p| (*p, 0)).collect();
    let mut queue: BTreeSet<(u32, PointId)> = from.into_iter().map(|p| (0, p)).collect();
    while let Some((cost, here)) = queue.pop_first() {
        for &(to, step) in at.get(&here).into_iter().flatten() {
            if best.get(&to).is_none_or(|known| cost + step < *known) {
                best.insert(to, cost + step);
                queue.insert((cost + step, to));
            }
        }
    }
    best
}

/// Whether volts fall over it by design.
fn is_load(kind: &BranchKind) -> bool {
    let gives = matches!(
        kind,
        BranchKind::Reference { .. } | BranchKind::Generator { .. } | BranchKind::Source { .. }
    );
    kind.draws() || gives
}

/// Whether a branch is a joint at a ground point.
pub(super) fn is_ground_joint(circuit: &Circuit, id: BranchId) -> bool {
    let branch = circuit.branch(id);
    matches!(branch.kind, BranchKind::Joint { .. }) && circuit.part(branch.part).kind == PartKind::GroundPoint
}
