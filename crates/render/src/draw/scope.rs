//! What of a circuit a drawing of one pin shows.

use std::{
    cmp::Reverse,
    collections::{BTreeMap, BTreeSet, BinaryHeap},
};

use halfsplit_circuit::{
    Branch, BranchId, BranchKind, Circuit, PointId, PointKind, State, feed_path, net, return_path,
};

/// Most branches that a drawing follows beyond the pin's own net, and most of a net itself.
const FOLLOWED: usize = 45;
const MOST: usize = 90;

/// Points and branches that are drawn.
#[derive(Default, Debug)]
pub(super) struct Scope {
    /// Every point.
    pub points: BTreeSet<PointId>,
    /// Every branch, each with both ends among the points.
    pub branches: BTreeSet<BranchId>,
    /// References that hang on a feed of their module: the reference and the feed.
    pub links: BTreeSet<(BranchId, BranchId)>,
    /// Points from which the circuit goes on, not drawn.
    pub open_ends: BTreeSet<PointId>,
    /// Branches of the net that are not drawn, for want of room.
    pub left_out: usize,
    /// Whether the pin is fed in the state asked about.
    pub fed: bool,
    /// Whether it would be fed were every contact on some way to it closed.
    pub leads_up: bool,
}

/// Collects what belongs to a pin: what shares its wire with everything mated, what hangs on that, the way up to
/// the supply and the ways down to battery negative. Where no way leads in this state the way that a switch, a
/// relay or a driver would make is drawn.
pub(super) fn of(circuit: &Circuit, state: &State, pin: PointId) -> Scope {
    let mut mated = state.clone();
    mated.unplugged.clear();
    mated.pulled.clear();
    let mut gather = Gather::new(circuit, state, &mated);
    gather.feed(pin);
    gather.copper(pin, MOST);
    let total = gather.own_total(pin);
    let own: Vec<PointId> = gather.reached.clone();
    gather.scope.left_out = total.saturating_sub(gather.scope.branches.len());
    let on_ground = gather.is_ground(pin);
    let on_battery = circuit.positive.is_some_and(|post| net(circuit, &mated, post).contains(pin));
    gather.attach(&own, !on_ground && !on_battery);
    gather.down(pin);
    gather.scope
}

struct Gather<'c> {
    circuit: &'c Circuit,
    state: &'c State,
    mated: &'c State,
    at: Vec<Vec<BranchId>>,
    ground: Vec<PointId>,
    up: BTreeMap<PointId, Hop>,
    down: BTreeMap<PointId, Hop>,
    reached: Vec<PointId>,
    scope: Scope,
}

/// The next step towards a post.
#[derive(Clone, Copy)]
struct Hop {
    branch: BranchId,
    feed: Option<BranchId>,
    to: PointId,
}

impl<'c> Gather<'c> {
    fn new(circuit: &'c Circuit, state: &'c State, mated: &'c State) -> Gather<'c> {
        let mut at = vec![Vec::new(); circuit.points.len()];
        for (id, branch) in circuit.branches() {
            for end in BTreeSet::from([branch.a, branch.b]) {
                if let Some(list) = at.get_mut(end.index()) {
                    list.push(id);
                }
            }
        }
        let ground = circuit.negative.map(|post| net(circuit, mated, post).points).unwrap_or_default();
        let sources = circuit.branches.iter().filter(|b| matches!(b.kind, BranchKind::Source { .. }));
        let posts: Vec<PointId> = sources.map(|b| b.a).collect();
        let mut gather = Gather {
            circuit,
            state,
            mated,
            at,
            ground,
            up: BTreeMap::new(),
            down: BTreeMap::new(),
            reached: Vec::new(),
            scope: Scope::default(),
        };
        gather.up = gather.hops(&posts, true);
        gather.down = gather.hops(&circuit.negative.into_iter().collect::<Vec<_>>(), false);
        gather
    }

    fn is_ground(&self, point: PointId) -> bool {
        self.ground.binary_search(&point).is_ok()
    }

    /// The ways to the posts whatever the state, least contacts first.
    fn hops(&self, posts: &[PointId], up: bool) -> BTreeMap<PointId, Hop> {
        let mut best: BTreeMap<PointId, (u32, Option<Hop>)> =
            posts.iter().map(|post| (*post, (0, None))).collect();
        let mut queue: BinaryHeap<Reverse<(u32, PointId)>> =
            posts.iter().map(|post| Reverse((0, *post))).collect();
        while let Some(Reverse((cost, here))) = queue.pop() {
            if best.get(&here).is_some_and(|known| known.0 < cost) {
                continue;
            }
            let mut offer = |to: PointId, cost: u32, hop: Hop| {
                if best.get(&to).is_none_or(|known| cost < known.0) {
                    best.insert(to, (cost, Some(hop)));
                    queue.push(Reverse((cost, to)));
                }
            };
            for &id in &self.at[here.index()] {
                let branch = self.circuit.branch(id);
                let far = other(branch, here);
                let hop = Hop { branch: id, feed: None, to: here };
                match &branch.kind {
                    kind if kind.is_copper() => offer(far, cost + 1, hop),
                    BranchKind::Fuse { .. } => offer(far, cost + 1, hop),
                    BranchKind::Switch { .. } | BranchKind::RelayContact { .. } => {
                        offer(far, cost + 20, hop);
                    }
                    BranchKind::Diode { .. } | BranchKind::Driver { .. } if (branch.a == here) == up => {
                        offer(far, cost + 20, hop);
                    }
                    BranchKind::Feed { wakes, .. } if up && branch.a == here => {
                        for (reference, output) in self.circuit.branches_of(branch.part) {
                            if matches!(output.kind, BranchKind::Reference { .. }) {
                                let extra = if wakes.is_some() { 20 } else { 500 };
                                let hop = Hop { branch: reference, feed: Some(id), to: here };
                                offer(output.a, cost + extra, hop);
                            }
                        }
                    }
                    _ => {}
                }
            }
        }
        best.into_iter().filter_map(|(point, (_, hop))| Some((point, hop?))).collect()
    }

    fn take(&mut self, id: BranchId) {
        let branch = self.circuit.branch(id);
        self.scope.branches.insert(id);
        self.scope.points.extend([branch.a, branch.b]);
    }

    /// The way up from a point.
    fn feed(&mut self, pin: PointId) {
        self.scope.points.insert(pin);
        let steps = feed_path(self.circuit, self.state, pin);
        self.scope.leads_up |= self.leads_up(pin);
        self.scope.fed |= !steps.is_empty() || self.is_post(pin);
        let mut before: Option<BranchId> = None;
        for step in &steps {
            let branch = self.circuit.branch(step.branch);
            match branch.kind {
                BranchKind::Reference { .. } => before = Some(step.branch),
                BranchKind::Feed { .. } => {
                    if let Some(reference) = before.take() {
                        self.link(reference, step.branch);
                    }
                }
                _ => self.take(step.branch),
            }
        }
        if steps.is_empty() {
            let mut here = pin;
            while let Some(hop) = self.up.get(&here).copied() {
                match hop.feed {
                    Some(feed) => self.link(hop.branch, feed),
                    None => self.take(hop.branch),
                }
                here = hop.to;
            }
        }
    }

    fn link(&mut self, reference: BranchId, feed: BranchId) {
        let ends = [self.circuit.branch(reference).a, self.circuit.branch(feed).a];
        self.scope.links.insert((reference, feed));
        self.scope.points.extend(ends);
    }

    /// Whether a way without a load leads from a point up to the supply, were every contact on it closed.
    fn leads_up(&self, point: PointId) -> bool {
        self.up.contains_key(&point) || self.is_post(point)
    }

    fn is_post(&self, pin: PointId) -> bool {
        let mut sources =
            self.circuit.branches.iter().filter(|b| matches!(b.kind, BranchKind::Source { .. }));
        sources.any(|b| b.a == pin)
    }

    /// The way down from a point: as current goes in this state, else as it would.
    fn down(&mut self, point: PointId) {
        if !self.is_ground(point) {
            let steps = return_path(self.circuit, self.state, point);
            if !steps.is_empty() {
                for step in steps {
                    self.take(step.branch);
                }
                return;
            }
        }
        let mut here = point;
        while let Some(hop) = self.down.get(&here).copied() {
            self.take(hop.branch);
            here = hop.to;
        }
    }

    /// What copper joins to a point, up to the ground points: the body joins everything.
    fn copper(&mut self, start: PointId, most: usize) -> bool {
        self.reached = vec![start];
        let mut next = 0;
        let mut seen = BTreeSet::from([start]);
        while let Some(&here) = self.reached.get(next) {
            next += 1;
            self.scope.points.insert(here);
            if here != start && self.circuit.point(here).kind == PointKind::Ground {
                continue;
            }
            for id in self.at[here.index()].clone() {
                let branch = self.circuit.branch(id);
                if !branch.kind.is_copper()
                    || self.scope.branches.contains(&id)
                        && seen.contains(&branch.a)
                        && seen.contains(&branch.b)
                {
                    continue;
                }
                if self.scope.branches.len() >= most && !self.scope.branches.contains(&id) {
                    return false;
                }
                let far = other(branch, here);
                self.take(id);
                if seen.insert(far) {
                    self.reached.push(far);
                }
            }
        }
        true
    }

    /// How many branches the drawing would have if all of the pin's net were on it.
    fn own_total(&self, pin: PointId) -> usize {
        if self.scope.branches.len() < MOST {
            return 0;
        }
        let all = net(self.circuit, self.mated, pin).branches;
        all.iter().filter(|id| !self.scope.branches.contains(id)).count() + self.scope.branches.len()
    }

    /// What hangs on points, and what hangs on that where there is room.
    fn attach(&mut self, own: &[PointId], follow: bool) {
        let mut queue: std::collections::VecDeque<PointId> = own.iter().copied().collect();
        let mut below = Vec::new();
        while let Some(here) = queue.pop_front() {
            for id in self.at[here.index()].clone() {
                let branch = self.circuit.branch(id);
                let far = other(branch, here);
                let known = self.scope.branches.contains(&id);
                if branch.kind.is_copper() || known || far == here {
                    continue;
                }
                if self.scope.branches.len() >= MOST {
                    self.scope.left_out += 1;
                    continue;
                }
                match &branch.kind {
                    BranchKind::Source { .. } | BranchKind::Generator { .. } => {}
                    BranchKind::Reference { .. } => {
                        if branch.a == here && !self.scope.links.iter().any(|(r, _)| *r == id) {
                            self.take(id);
                        }
                    }
                    kind if kind.draws() => {
                        let drawn = self.scope.points.contains(&far);
                        self.take(id);
                        // Behind a load and before its switch to ground the load is what is above.
                        let is_above = !self.leads_up(here) && self.leads_up(far);
                        if self.is_ground(here) {
                            if !drawn {
                                self.scope.open_ends.insert(far);
                            }
                        } else if is_above {
                            self.feed(far);
                        } else {
                            below.push(far);
                        }
                    }
                    _ => {
                        let drawn = self.scope.points.contains(&far);
                        self.take(id);
                        if drawn {
                            continue;
                        }
                        if self.is_ground(far) {
                            below.push(far);
                        } else if follow && self.further(far) {
                            queue.extend(self.reached.iter().copied());
                        } else {
                            self.scope.open_ends.insert(far);
                        }
                    }
                }
            }
        }
        for point in below {
            self.down(point);
        }
    }

    /// Draws the net behind a contact if there is room for all of it.
    fn further(&mut self, start: PointId) -> bool {
        let kept = (self.scope.points.clone(), self.scope.branches.clone());
        let whole = self.copper(start, FOLLOWED);
        if !whole {
            (self.scope.points, self.scope.branches) = kept;
            self.scope.points.insert(start);
        }
        whole
    }
}

/// The other end of a branch.
pub(super) fn other(branch: &Branch, end: PointId) -> PointId {
    if branch.a == end { branch.b } else { branch.a }
}
