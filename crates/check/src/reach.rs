//! Where current can come from and go to, key by key, without solving anything.
//!
//! Contacts of switches count as closed in every key position in which some switch
//! position closes them, and contacts of relays as closed always: what is out of reach
//! even so is out of reach on the car.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use halfsplit_circuit::{Branch, BranchId, BranchKind, Key, PartId, PartKind, PointId};
use halfsplit_model::SupplyKind;

use crate::{
    short::other,
    survey::{Survey, is_source},
};

/// What is fed and what is returned in each key position.
#[derive(Default)]
pub(crate) struct Reach {
    fed: Vec<Vec<bool>>,
    returned: Vec<Vec<bool>>,
    /// Points that a supply reaches without passing a load, in some state.
    hard_fed: Vec<bool>,
    /// Points from which ground is reached without passing a load, in some state.
    hard_ground: Vec<bool>,
    /// Points at a battery's or generator's own volts: reached from one without passing a load, module or driver.
    pub(crate) at_system_volts: Vec<bool>,
    /// Points that what is not drawn here, or is doubted, may feed.
    supposed: Vec<bool>,
    /// Points that copper joins to a battery's negative post or the body.
    pub(crate) ground: Vec<bool>,
    /// Points that copper joins to a supply's positive post.
    pub(crate) positive: Vec<bool>,
    /// Fuses whose feed side nothing feeds, upstream ones only.
    pub(crate) unfed_fuses: Vec<BranchId>,
    /// Fuses that are fed at their load side.
    pub(crate) reversed: BTreeSet<BranchId>,
    /// Whether ground points exist and no supply's negative post is joined to them.
    pub(crate) body_hangs: bool,
    /// Whether the file draws any supply.
    pub(crate) has_supply: bool,
}

impl Reach {
    pub(crate) fn of(survey: &Survey) -> Reach {
        let circuit = survey.circuit();
        let sources: Vec<(BranchId, &Branch)> =
            circuit.branches().filter(|(_, b)| is_source(&b.kind)).collect();
        let left_out: BTreeSet<BranchId> = survey.shorts.iter().filter_map(|short| short.wire).collect();
        let walk = Walk { survey, left_out: &left_out };
        let copper = |branch: &Branch, _: PointId| branch.kind.is_copper();
        let joined = walk.spread(sources.iter().map(|(_, b)| b.a), &[], copper);
        // The lower post of the upper one of two batteries in series is no ground.
        let posts: Vec<PointId> = sources.iter().map(|(_, b)| b.b).filter(|b| !joined[b.index()]).collect();
        let body_hangs = circuit.body.is_some_and(|body| {
            let batteries = sources
                .iter()
                .filter(|(_, b)| survey.model.supplies.get(&b.part) != Some(&SupplyKind::Generator));
            let mut nets = batteries.map(|(_, b)| survey.net_of(b.b)).peekable();
            nets.peek().is_some() && nets.all(|net| net != survey.net_of(body))
        });
        let ground = walk.spread(posts.iter().copied().chain(circuit.body), &[], copper);
        let positive = walk.spread(sources.iter().map(|(_, b)| b.a), &ground, copper);

        let (fed_outside, back_outside) = outside(survey);
        let real = || sources.iter().map(|(_, b)| b.a);
        let one_way = |b: &Branch, from: PointId| match b.kind {
            BranchKind::Fuse { .. } => b.a == from,
            _ => walk.feeds(b, from, None),
        };
        let surely = walk.spread(real(), &ground, |b, from| walk.feeds(b, from, None));
        let supposed = walk.spread(fed_outside.iter().copied(), &ground, one_way);
        let unfed: Vec<BranchId> = circuit
            .branches()
            .filter(|(_, b)| matches!(b.kind, BranchKind::Fuse { .. }))
            .filter(|(_, b)| !surely[b.a.index()] && !surely[b.b.index()] && !supposed[b.a.index()])
            .map(|(id, _)| id)
            .collect();
        let behind = |fuse: &BranchId| circuit.branch(*fuse).b;
        let downstream = walk.spread(unfed.iter().map(behind), &ground, one_way);
        let unfed_fuses =
            unfed.iter().copied().filter(|&f| !downstream[circuit.branch(f).a.index()]).collect();

        // What a reported fuse should feed is not reported once more, unless nothing feeds anything.
        let presumed = unfed.iter().map(behind).filter(|_| !sources.is_empty());
        let starts: Vec<PointId> = real().chain(fed_outside).chain(presumed).collect();
        let ends: Vec<PointId> = posts.into_iter().chain(circuit.body).chain(back_outside).collect();
        let each = |key: Key| {
            let fed = walk.spread(starts.iter().copied(), &ground, |b, from| walk.feeds(b, from, Some(key)));
            let back = walk.spread(ends.iter().copied(), &positive, |b, to| walk.returns(b, to, key));
            (fed, back)
        };
        let (fed, returned) = Key::ALL.into_iter().map(each).unzip();
        // The clamp diode of a coil leads nowhere that the coil does not.
        let hard = |b: &Branch| !is_load(b) && !is_clamp(survey, b);
        let hard_fed =
            walk.spread(starts.iter().copied(), &ground, |b, from| hard(b) && walk.feeds(b, from, None));
        let hard_ground = walk.spread(ends.iter().copied(), &positive, |b, to| {
            hard(b) && Key::ALL.iter().any(|&key| walk.returns(b, to, key))
        });
        let at_system_volts = walk.spread(real(), &ground, |b, from| {
            // What a driver gives may be pulsed: its mean is not the battery's.
            let within = is_load(b) || matches!(b.kind, BranchKind::Feed { .. } | BranchKind::Driver { .. });
            !within && walk.feeds(b, from, None)
        });
        let reversed = reversed(survey, &ground);
        Reach {
            fed,
            returned,
            hard_fed,
            hard_ground,
            at_system_volts,
            supposed,
            ground,
            positive,
            unfed_fuses,
            reversed,
            body_hangs,
            has_supply: !sources.is_empty(),
        }
    }

    /// Whether a load is sound the other way round: fed at its ground pin and grounded at its feed
    /// pin, without another load between.
    pub(crate) fn is_turned(&self, feed: PointId, back: PointId) -> bool {
        self.hard_fed[back.index()] && self.hard_ground[feed.index()]
    }

    /// Whether something that this file does not draw may feed a point.
    pub(crate) fn may_be_fed(&self, point: PointId) -> bool {
        self.supposed[point.index()]
    }

    /// Whether a supply reaches a point with the key in a position.
    pub(crate) fn is_fed_in(&self, key: Key, point: PointId) -> bool {
        self.at(&self.fed, key, point)
    }

    /// Whether current leaving at a point gets back to a supply with the key in a position.
    pub(crate) fn is_returned_in(&self, key: Key, point: PointId) -> bool {
        self.at(&self.returned, key, point)
    }

    /// Whether a supply reaches a point in any key position.
    pub(crate) fn is_fed(&self, point: PointId) -> bool {
        Key::ALL.into_iter().any(|key| self.is_fed_in(key, point))
    }

    /// Whether current leaving at a point gets back to a supply in any key position.
    pub(crate) fn is_returned(&self, point: PointId) -> bool {
        Key::ALL.into_iter().any(|key| self.is_returned_in(key, point))
    }

    fn at(&self, what: &[Vec<bool>], key: Key, point: PointId) -> bool {
        let index = Key::ALL.iter().position(|&k| k == key).unwrap_or(0);
        what.get(index).is_some_and(|points| points[point.index()])
    }
}

struct Walk<'w, 'm> {
    survey: &'w Survey<'m>,
    left_out: &'w BTreeSet<BranchId>,
}

impl Walk<'_, '_> {
    /// Every point that can be reached, blocked ones left out unless they are starts.
    fn spread(
        &self,
        starts: impl Iterator<Item = PointId>,
        blocked: &[bool],
        passes: impl Fn(&Branch, PointId) -> bool,
    ) -> Vec<bool> {
        let circuit = self.survey.circuit();
        let mut seen = vec![false; circuit.points.len()];
        let mut queue: VecDeque<PointId> = VecDeque::new();
        for start in starts {
            if !std::mem::replace(&mut seen[start.index()], true) {
                queue.push_back(start);
            }
        }
        let mut modules: BTreeSet<PartId> = BTreeSet::new();
        let outputs = references(self.survey);
        while let Some(here) = queue.pop_front() {
            for (id, branch) in self.survey.branches_at(here) {
                if self.left_out.contains(&id) || !passes(branch, here) {
                    continue;
                }
                let fed_module = matches!(branch.kind, BranchKind::Feed { .. }) && branch.a == here;
                let beyond: &[PointId] = match fed_module && modules.insert(branch.part) {
                    true => outputs.get(&branch.part).map_or(&[], Vec::as_slice),
                    false => &[],
                };
                let across = (!matches!(branch.kind, BranchKind::Feed { .. })).then(|| other(branch, here));
                for there in beyond.iter().copied().chain(across) {
                    let shut = blocked.get(there.index()).copied().unwrap_or(false);
                    if !shut && !std::mem::replace(&mut seen[there.index()], true) {
                        queue.push_back(there);
                    }
                }
            }
        }
        seen
    }

    /// Whether current from a supply can pass a branch away from a point, in one key position or any.
    fn feeds(&self, branch: &Branch, from: PointId, key: Option<Key>) -> bool {
        match &branch.kind {
            BranchKind::Wire { .. }
            | BranchKind::Mated { .. }
            | BranchKind::Joint { .. }
            | BranchKind::Fuse { .. }
            | BranchKind::RelayContact { .. } => true,
            BranchKind::Switch { closed, .. } => in_key(&closed.keys, key),
            BranchKind::Driver { on, .. } => branch.a == from && in_key(&on.keys, key),
            BranchKind::Load { .. }
            | BranchKind::Lamp { .. }
            | BranchKind::Coil { .. }
            | BranchKind::Diode { .. }
            | BranchKind::Feed { .. } => branch.a == from,
            BranchKind::Source { .. } | BranchKind::Generator { .. } | BranchKind::Reference { .. } => false,
        }
    }

    /// Whether current can pass a branch towards a point from which it gets back to a supply.
    fn returns(&self, branch: &Branch, to: PointId, key: Key) -> bool {
        match &branch.kind {
            BranchKind::Load { .. }
            | BranchKind::Lamp { .. }
            | BranchKind::Coil { .. }
            | BranchKind::Diode { .. } => branch.b == to,
            BranchKind::Driver { on, .. } => branch.b == to && in_key(&on.keys, Some(key)),
            BranchKind::Feed { .. } => false,
            _ => self.feeds(branch, to, Some(key)),
        }
    }
}

fn is_load(branch: &Branch) -> bool {
    matches!(branch.kind, BranchKind::Load { .. } | BranchKind::Lamp { .. } | BranchKind::Coil { .. })
}

fn is_clamp(survey: &Survey, branch: &Branch) -> bool {
    matches!(branch.kind, BranchKind::Diode { .. })
        && survey.circuit().part(branch.part).kind == PartKind::Relay
}

/// Points at which current may come in, and go out, in ways that this file does not draw: what other
/// findings speak of, what is drawn elsewhere, pins of which a module says nothing, and modules of
/// which no feed or ground is drawn.
fn outside(survey: &Survey) -> (Vec<PointId>, Vec<PointId>) {
    let circuit = survey.circuit();
    let either = (0..circuit.points.len() as u32)
        .map(PointId)
        .filter(|&point| survey.doubts(point) || survey.is_elsewhere(point));
    let mut fed: Vec<PointId> = either.chain(unexplained_module_pins(survey)).collect();
    let mut back = fed.clone();
    let of_kind = |is: fn(&BranchKind) -> bool| -> BTreeSet<PartId> {
        circuit.branches().filter(|(_, b)| is(&b.kind)).map(|(_, b)| b.part).collect()
    };
    let with_feed = of_kind(|kind| matches!(kind, BranchKind::Feed { .. }));
    for (_, branch) in circuit.branches() {
        if with_feed.contains(&branch.part) {
            continue;
        }
        match branch.kind {
            BranchKind::Reference { .. } => {
                fed.push(branch.a);
                back.push(branch.b);
            }
            BranchKind::Driver { .. } => {
                fed.push(branch.a);
                back.push(branch.b);
            }
            _ => {}
        }
    }
    (fed, back)
}

/// Wired module pins of which the module says nothing: inputs, outputs, buses; they may do anything.
fn unexplained_module_pins<'s>(survey: &'s Survey) -> impl Iterator<Item = PointId> + 's {
    let circuit = survey.circuit();
    let of_modules = circuit.connectors.iter().filter(|connector| {
        connector.owner.is_some_and(|owner| circuit.part(owner).kind == PartKind::Module)
    });
    of_modules
        .flat_map(|connector| &connector.cavities)
        .filter_map(|cavity| cavity.points[0])
        .filter(|&point| survey.wire_count(point) > 0 && !survey.model.roles.contains_key(&point))
}

/// Fuses whose feed side a supply reaches only through the fuse itself.
fn reversed(survey: &Survey, ground: &[bool]) -> BTreeSet<BranchId> {
    let circuit = survey.circuit();
    let sources = circuit.branches().filter(|(_, b)| is_source(&b.kind));
    let mut came: BTreeMap<PointId, Option<BranchId>> = sources.map(|(_, b)| (b.a, None)).collect();
    let mut queue: VecDeque<PointId> = came.keys().copied().collect();
    // Fuses wait until everything before them is walked, so that a side that is fed
    // without the fuse is known to be.
    let mut fuses: VecDeque<(PointId, BranchId)> = VecDeque::new();
    loop {
        while let Some(here) = queue.pop_front() {
            for (id, branch) in survey.branches_at(here) {
                let on = match branch.kind {
                    BranchKind::Switch { .. } | BranchKind::RelayContact { .. } => true,
                    BranchKind::Diode { .. } => branch.a == here,
                    BranchKind::Fuse { .. } => {
                        fuses.push_back((other(branch, here), id));
                        false
                    }
                    _ => branch.kind.is_copper(),
                };
                let there = other(branch, here);
                if on && !ground[there.index()] && !came.contains_key(&there) {
                    came.insert(there, Some(id));
                    queue.push_back(there);
                }
            }
        }
        let Some((beyond, id)) = fuses.pop_front() else { break };
        if !ground[beyond.index()] && !came.contains_key(&beyond) {
            came.insert(beyond, Some(id));
            queue.push_back(beyond);
        }
    }
    let fuses = circuit.branches().filter(|(_, b)| matches!(b.kind, BranchKind::Fuse { .. }));
    fuses.filter(|(id, b)| came.get(&b.a) == Some(&Some(*id))).map(|(id, _)| id).collect()
}

fn in_key(keys: &BTreeSet<Key>, key: Option<Key>) -> bool {
    keys.is_empty() || key.is_none_or(|key| keys.contains(&key))
}

/// The reference outputs of each module.
fn references(survey: &Survey) -> BTreeMap<PartId, Vec<PointId>> {
    let mut outputs: BTreeMap<PartId, Vec<PointId>> = BTreeMap::new();
    for (_, branch) in survey.circuit().branches() {
        if matches!(branch.kind, BranchKind::Reference { .. }) {
            outputs.entry(branch.part).or_default().push(branch.a);
        }
    }
    outputs
}
