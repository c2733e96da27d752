//! The isolation of a fault as a search problem: set-ups, moves, minutes.

mod broad;
mod costs;
mod readings;
mod taken;

use std::collections::{BTreeSet, HashMap, HashSet};

use halfsplit_circuit::{
    BranchId, ConnectorId, Fault, Key, Load, Minutes, PartId, PointId, Solver, idle, touched,
};

pub(crate) use broad::MANY;
use broad::Plain;
use readings::Page;
pub(crate) use readings::{View, may_show, parted};
pub(crate) use taken::Taken;

use crate::bench::Bench;
use crate::legal;
use crate::looks::Look;
use crate::plan::Dropped;
use crate::request::{Begin, Costs};
use crate::search::{Move, Outcome, Problem, Set, Setup};
use crate::suspects::Shape;

/// Minutes charged where a walk ends with suspects that another order would have parted:
/// everything mated again and begun anew (own estimate).
const START_AGAIN: Minutes = 30.0;

/// A suspect as the hunt sees it.
#[derive(Clone, Debug)]
pub(crate) struct Quarry {
    /// What has to be told: the repair unit and, on a wire that is lifted, what it touches.
    pub told: (usize, Option<PointId>),
    pub weight: f64,
    /// What is wrong, at each resistance it may have; a prediction spans them all.
    pub variants: Vec<Vec<Fault>>,
    pub shape: Shape,
    /// The output that its module commands on, where that is the suspicion.
    pub commanded: Option<BranchId>,
}

/// A place that is reached once.
#[derive(Clone, Debug)]
pub(crate) struct Place {
    /// The connector or part; empty for where the technician stands.
    pub name: String,
    pub reach: Minutes,
    /// Shared way in; empty for none.
    pub access: String,
}

/// A connector that may be parted.
#[derive(Clone, Debug)]
pub(crate) struct Tap {
    pub connector: ConnectorId,
    pub place: usize,
    pub inline: bool,
}

/// A reading away from the meter place.
#[derive(Clone, Debug)]
pub(crate) struct Probe {
    pub red: PointId,
    pub black: PointId,
    pub load: Load,
    pub place: usize,
    /// Minutes on top of the reach.
    pub extra: Minutes,
    /// Whether it is read to learn by which way the current comes back.
    pub returns: bool,
}

/// What a step does.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(crate) enum Action {
    /// Part a connector and read at the meter place; `remate` mates the inlines that are out first.
    Part { tap: usize, remate: bool },
    /// Hang the reference load on the leads.
    Load,
    /// Source connector out, outside source through a resistor into the wire.
    Inject,
    /// Wire dead, source connector out, ohms to a black place.
    Ohms { black: u8 },
    /// The same with one more connector parted, where none may be parted live.
    Cut { tap: usize, black: u8 },
    /// Read at the meter place, everything as it is.
    Look,
    /// Pull a fuse, read at the meter place, put it back.
    Pull {
        /// Position in [`Ground::fuses`].
        at: usize,
    },
    /// Turn the key off, read at the meter place, turn it on again.
    KeyOff,
    /// Look or listen, or read in a state of its own, everything mated.
    Watch {
        /// Position in [`Ground::looks`].
        at: usize,
    },
    /// Read somewhere else.
    Probe {
        /// Position in [`Hunt::probes`].
        at: usize,
        /// Whether the inline connectors that are out are mated again first.
        remate: bool,
    },
}

impl Action {
    /// Whether inline connectors that are out are mated again first.
    fn mates(self) -> bool {
        matches!(self, Action::Part { remate: true, .. } | Action::Probe { remate: true, .. })
    }
}

/// Whether the wire is live, fed from outside, or dead.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(crate) enum Phase {
    Live,
    Injected,
    Dead,
}

/// The physical set-up.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(crate) struct Rig {
    /// Taps that are out.
    pub parted: Set,
    /// Places reached so far.
    pub reached: Set,
    pub phase: Phase,
    pub black: u8,
}

/// A look with its place on the ground.
#[derive(Clone, Debug)]
pub(crate) struct Seen {
    pub look: Look,
    /// Position in [`Ground::places`].
    pub place: usize,
}

/// Which kinds of step are allowed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Allowed {
    /// Connectors may be parted on the dead wire.
    pub unplug: bool,
    /// And on the live one.
    pub unplug_live: bool,
    /// The meter place was not read yet.
    pub look: bool,
    pub load: bool,
    pub inject: bool,
    pub ohms: bool,
}

/// The search problem.
pub(crate) struct Hunt<'h, 'c> {
    pub bench: &'h Bench<'c>,
    pub quarry: Vec<Quarry>,
    /// Suspects that are all but excluded: no step is taken for their sake, they stay until one excludes them.
    pub riders: Vec<Quarry>,
    pub weights: Vec<f64>,
    pub ground: Ground,
    /// Whether there are too many suspects to weigh every step in every set-up.
    pub broad: bool,
    /// For each suspect those that need no parting from it: same unit, or alike in every reading.
    pub alike: Vec<Set>,
    pub actions: Vec<Action>,
    /// What the job has read and seen so far: none of it is asked for again.
    pub log: Vec<Taken>,
    taken: HashMap<View, bool>,
    rigs: Vec<Rig>,
    rig_ids: HashMap<Rig, u64>,
    /// Solvers that read side by side.
    crew: Vec<Solver<'c>>,
    pages: Vec<Page>,
    page_ids: HashMap<View, usize>,
    /// Solves so far, about.
    work: u64,
    joins: HashMap<Set, bool>,
    /// Taps that alone part the meter from the source.
    cuts: Set,
    /// For a broad hunt: what each view reads in the plainest set-up.
    plain: HashMap<View, Plain>,
    /// For a broad hunt: the suspects at each tap's own plug.
    plugs: HashMap<usize, Set>,
    /// Moves that promised something and part nothing when read with all tolerances.
    vain: HashSet<(Set, Setup, u32)>,
}

/// The parts of a [`Hunt`] that are chosen before it starts.
pub(crate) struct Ground {
    pub home: PointId,
    pub home_place: usize,
    pub places: Vec<Place>,
    pub taps: Vec<Tap>,
    /// The source's own connector.
    pub source_tap: Option<usize>,
    pub blacks: Vec<PointId>,
    pub probes: Vec<Probe>,
    /// What is seen, heard or read with everything mated.
    pub looks: Vec<Seen>,
    /// Fuses that are pulled to find what feeds a wire from outside, with their places.
    pub fuses: Vec<(PartId, usize)>,
    pub allowed: Allowed,
    pub costs: Costs,
    /// What one plan does not weigh, because there is more than it can hold.
    pub left_out: Vec<Dropped>,
}

impl Ground {
    /// Everything mated, the leads at the meter place.
    fn untouched(&self) -> Rig {
        Rig { parted: Set::EMPTY, reached: Set::only(self.home_place), phase: Phase::Live, black: 0 }
    }

    /// What was done already is done. Without power only where the source's own connector is out
    /// too: elsewhere the next ohms reading parts it.
    fn after(&self, begin: &Begin) -> Rig {
        let mut rig = self.untouched();
        for (at, tap) in self.taps.iter().enumerate() {
            if begin.out.contains(&tap.connector) {
                rig.parted.insert(at);
            }
            if begin.reached.contains(&tap.connector) {
                rig.reached.insert(tap.place);
            }
        }
        let source_out = self.source_tap.is_none_or(|tap| rig.parted.contains(tap));
        if begin.dead && source_out {
            rig.phase = Phase::Dead;
        }
        rig
    }
}

impl<'h, 'c> Hunt<'h, 'c> {
    pub fn new(
        bench: &'h Bench<'c>,
        quarry: Vec<Quarry>,
        riders: Vec<Quarry>,
        ground: Ground,
        log: Vec<Taken>,
        begin: Option<&Begin>,
    ) -> Hunt<'h, 'c> {
        let weights = quarry.iter().map(|q| q.weight).collect();
        let start = begin.map_or_else(|| ground.untouched(), |begin| ground.after(begin));
        let mut hunt = Hunt {
            broad: quarry.len() > MANY,
            bench,
            quarry,
            riders,
            weights,
            ground,
            alike: Vec::new(),
            actions: Vec::new(),
            log,
            taken: HashMap::new(),
            rigs: Vec::new(),
            rig_ids: HashMap::new(),
            crew: Vec::new(),
            pages: Vec::new(),
            page_ids: HashMap::new(),
            work: 0,
            joins: HashMap::new(),
            cuts: Set::EMPTY,
            plain: HashMap::new(),
            plugs: HashMap::new(),
            vain: HashSet::new(),
        };
        hunt.crew = hunt.hire();
        hunt.actions = hunt.all_actions();
        hunt.setup(start);
        if hunt.broad {
            hunt.cuts = hunt.cutting();
        }
        hunt.alike = hunt.find_alike();
        hunt
    }

    /// The solvers: one, or for a broad hunt one a processor, with all dead ends left out.
    fn hire(&self) -> Vec<Solver<'c>> {
        let bench = self.bench;
        if !self.broad {
            return vec![bench.solver.fork()];
        }
        let ground = &self.ground;
        let mut kept = BTreeSet::from([bench.pin, bench.black, bench.source.point, ground.home]);
        kept.extend(&ground.blacks);
        kept.extend(ground.probes.iter().flat_map(|probe| [probe.red, probe.black]));
        kept.extend(ground.looks.iter().flat_map(|seen| [seen.look.leads.red, seen.look.leads.black]));
        let faults = self.quarry.iter().flat_map(|quarry| quarry.variants.iter().flatten());
        kept.extend(faults.flat_map(|fault| touched(bench.circuit, fault)));
        let solver = Solver::without(bench.circuit, idle(bench.circuit, &kept));
        (0..halfsplit_circuit::table::processors()).map(|_| solver.fork()).collect()
    }

    /// Taps that alone part the meter from the source.
    fn cutting(&self) -> Set {
        let alone = |tap: &usize| !legal::joined(self.bench, self.ground.home, &self.out(Set::only(*tap)));
        (0..self.ground.taps.len()).filter(alone).collect()
    }

    /// The set-up behind a number.
    pub fn rig(&self, setup: Setup) -> Rig {
        self.rigs[setup.0 as usize]
    }

    fn setup(&mut self, rig: Rig) -> Setup {
        if let Some(&id) = self.rig_ids.get(&rig) {
            return Setup(id);
        }
        let id = self.rigs.len() as u64;
        self.rigs.push(rig);
        self.rig_ids.insert(rig, id);
        Setup(id)
    }

    fn all_actions(&self) -> Vec<Action> {
        let mut actions = Vec::new();
        if self.ground.allowed.unplug {
            for tap in 0..self.ground.taps.len() {
                actions.push(Action::Part { tap, remate: false });
                actions.push(Action::Part { tap, remate: true });
            }
        }
        if self.ground.allowed.look {
            actions.push(Action::Look);
        }
        if self.ground.allowed.load {
            actions.push(Action::Load);
        }
        if self.ground.allowed.inject && self.ground.source_tap.is_some() {
            actions.push(Action::Inject);
        }
        if self.ground.allowed.ohms {
            actions.extend((0..self.ground.blacks.len()).map(|b| Action::Ohms { black: b as u8 }));
        }
        if self.ground.allowed.ohms && self.ground.allowed.unplug && !self.ground.allowed.unplug_live {
            for tap in 0..self.ground.taps.len() {
                actions.extend((0..self.ground.blacks.len()).map(|b| Action::Cut { tap, black: b as u8 }));
            }
        }
        if !self.ground.fuses.is_empty() {
            actions.push(Action::KeyOff);
            actions.extend((0..self.ground.fuses.len()).map(|at| Action::Pull { at }));
        }
        actions.extend((0..self.ground.looks.len()).map(|at| Action::Watch { at }));
        let again = self.ground.allowed.unplug && self.ground.taps.iter().any(|tap| tap.inline);
        for at in 0..self.ground.probes.len() {
            actions.push(Action::Probe { at, remate: false });
            if again && self.ground.probes[at].load == Load::None {
                actions.push(Action::Probe { at, remate: true });
            }
        }
        actions
    }

    /// Connectors that are out.
    pub fn out(&self, parted: Set) -> BTreeSet<ConnectorId> {
        parted.iter().map(|tap| self.ground.taps[tap].connector).collect()
    }

    /// Taps of inline connectors that are out.
    pub fn inlines(&self, parted: Set) -> Set {
        parted.iter().filter(|&tap| self.ground.taps[tap].inline).collect()
    }

    /// Whether the meter still hangs on the source.
    fn joined(&mut self, parted: Set) -> bool {
        if let Some(&known) = self.joins.get(&parted) {
            return known;
        }
        let joined = legal::joined(self.bench, self.ground.home, &self.out(parted));
        self.joins.insert(parted, joined);
        joined
    }

    /// Where an action leads from a rig and what it costs; `None` where it is not allowed, does nothing or was done.
    pub fn apply(&mut self, rig: Rig, action: Action) -> Option<(Rig, View, Minutes)> {
        let done = self.step(rig, action)?;
        if self.is_taken(done.1) {
            return None;
        }
        let parts_live = matches!(action, Action::Part { .. }) && rig.phase == Phase::Live;
        (!parts_live || self.joined(done.0.parted)).then_some(done)
    }

    /// As [`Hunt::apply`], whether the meter stays joined to the source or not.
    fn step(&self, rig: Rig, action: Action) -> Option<(Rig, View, Minutes)> {
        let mut next = rig;
        let mut minutes = 0.0;
        match action {
            Action::Part { tap, remate } => {
                let inlines = self.inlines(rig.parted);
                let barred = match rig.phase {
                    Phase::Live => !self.ground.allowed.unplug_live,
                    Phase::Injected => true,
                    Phase::Dead => false,
                };
                if barred || (remate && inlines.is_empty()) {
                    return None;
                }
                if remate {
                    minutes += inlines.iter().map(|t| self.remating(t)).sum::<Minutes>();
                    next.parted = next.parted.without(inlines);
                }
                if next.parted.contains(tap) || (remate && inlines.contains(tap)) {
                    return None;
                }
                minutes += self.parting(next.reached, tap);
                if rig.phase == Phase::Live && self.bench.latches() {
                    minutes += self.ground.costs.key;
                }
                next.parted.insert(tap);
                next.reached.insert(self.ground.taps[tap].place);
            }
            Action::Look => {
                if rig.phase != Phase::Live || !rig.parted.is_empty() {
                    return None;
                }
            }
            Action::Pull { at } => {
                if rig.phase != Phase::Live {
                    return None;
                }
                let place = self.ground.fuses[at].1;
                minutes += self.reaching(rig.reached, place) + self.ground.costs.repart;
                next.reached.insert(place);
                let look = readings::Look::Pulled(at);
                return Some((
                    next,
                    View { parted: rig.parted, phase: Phase::Live, black: 0, look },
                    minutes,
                ));
            }
            Action::KeyOff => {
                if rig.phase != Phase::Live || self.bench.state.key == Key::Off {
                    return None;
                }
                let look = readings::Look::KeyOff;
                let view = View { parted: rig.parted, phase: Phase::Live, black: 0, look };
                return Some((rig, view, self.ground.costs.key));
            }
            Action::Load => {
                if rig.phase != Phase::Live {
                    return None;
                }
                let view =
                    View { parted: rig.parted, phase: Phase::Live, black: 0, look: readings::Look::Loaded };
                return Some((rig, view, self.ground.costs.load));
            }
            Action::Inject | Action::Ohms { .. } => {
                let black = if let Action::Ohms { black } = action { Some(black) } else { None };
                let phase = if black.is_some() { Phase::Dead } else { Phase::Injected };
                if phase == Phase::Injected && rig.phase != Phase::Live
                    || rig.phase == Phase::Dead && black == Some(rig.black)
                {
                    return None;
                }
                if let Some(tap) = self.ground.source_tap.filter(|&t| !rig.parted.contains(t)) {
                    minutes += self.parting(rig.reached, tap);
                    next.parted.insert(tap);
                    next.reached.insert(self.ground.taps[tap].place);
                }
                minutes += match (phase, rig.phase) {
                    (Phase::Dead, Phase::Dead) => self.ground.costs.black,
                    (Phase::Dead, _) => self.ground.costs.battery_off,
                    _ => self.ground.costs.load,
                };
                next.phase = phase;
                next.black = black.unwrap_or(0);
            }
            Action::Watch { at } => {
                if rig.phase != Phase::Live {
                    return None;
                }
                let look = &self.ground.looks[at];
                minutes += rig.parted.iter().map(|tap| self.remating(tap)).sum::<Minutes>();
                minutes += self.reaching(rig.reached, look.place) + look.look.extra;
                next.parted = Set::EMPTY;
                next.reached.insert(look.place);
                let look = readings::Look::Watch(at);
                return Some((
                    next,
                    View { parted: Set::EMPTY, phase: Phase::Live, black: 0, look },
                    minutes,
                ));
            }
            Action::Cut { tap, black } => {
                if rig.phase == Phase::Dead || Some(tap) == self.ground.source_tap {
                    return None;
                }
                let (dead, _, first) = self.step(rig, Action::Ohms { black })?;
                let (cut, view, second) = self.step(dead, Action::Part { tap, remate: false })?;
                return Some((cut, view, first + second));
            }
            Action::Probe { at, remate } => {
                let inlines = self.inlines(rig.parted);
                if rig.phase != Phase::Live || (remate && inlines.is_empty()) {
                    return None;
                }
                if remate {
                    minutes += inlines.iter().map(|t| self.remating(t)).sum::<Minutes>();
                    next.parted = next.parted.without(inlines);
                }
                let probe = &self.ground.probes[at];
                minutes += self.reaching(rig.reached, probe.place) + probe.extra;
                next.reached.insert(probe.place);
                let look = readings::Look::Probe(at);
                let view = View { parted: next.parted, phase: Phase::Live, black: 0, look };
                return Some((next, view, minutes));
            }
        }
        let look = readings::Look::Home;
        let view = View { parted: next.parted, phase: next.phase, black: next.black, look };
        Some((next, view, minutes))
    }

    /// An action as a move on a set, read with all tolerances; `None` where it is not allowed or parts nothing.
    fn read_move(&mut self, set: Set, rig: Rig, at: usize) -> Option<Move> {
        let (next, view, minutes) = self.apply(rig, self.actions[at])?;
        if self.surely_one(set, view) {
            return None;
        }
        self.parting_move(set, at, next, view, minutes)
    }

    /// The move that leads to a view; `None` where it parts nothing.
    fn parting_move(&mut self, set: Set, at: usize, next: Rig, view: View, minutes: Minutes) -> Option<Move> {
        let bins = self.bins(set, view);
        if bins.len() < 2 {
            return None;
        }
        let setup = self.setup(next);
        let outcomes = bins.into_iter().map(|(set, _)| Outcome { set, setup, minutes: 0.0 }).collect();
        Some(Move { action: at as u32, minutes, outcomes })
    }

    /// An inline is mated again only once the reading has recovered with it out: while nothing has
    /// changed it stays out, or a second fault behind it would hide the first.
    fn may_mate(&mut self, set: Set, rig: Rig) -> bool {
        !self.inlines(rig.parted).is_empty() && self.has_recovered(set, rig)
    }

    /// Whether an action mates inline connectors that are out.
    fn mates(&self, rig: Rig, action: Action) -> bool {
        action.mates() || matches!(action, Action::Watch { .. }) && !self.inlines(rig.parted).is_empty()
    }

    /// Whether every suspect of a set needs no parting from any other.
    pub fn is_one(&self, set: Set) -> bool {
        set.iter().all(|i| set.is_within(self.alike[i]))
    }
}

impl Problem for Hunt<'_, '_> {
    fn weights(&self) -> &[f64] {
        &self.weights
    }

    fn start(&self) -> Setup {
        Setup(0)
    }

    fn settled(&self, set: Set, _: Setup) -> Option<Minutes> {
        self.is_one(set).then_some(0.0)
    }

    fn stuck(&self, _: Set, _: Setup) -> Minutes {
        START_AGAIN
    }

    fn moves(&mut self, set: Set, setup: Setup) -> Vec<Move> {
        if self.broad {
            return self.promising(set, setup);
        }
        let rig = self.rig(setup);
        let mates = self.may_mate(set, rig);
        let mut open = Vec::new();
        for at in 0..self.actions.len() {
            if (mates || !self.mates(rig, self.actions[at]))
                && let Some((next, view, minutes)) = self.apply(rig, self.actions[at])
            {
                open.push((at, next, view, minutes));
            }
        }
        // One factor of a state serves all that is looked at in it.
        self.look_up(&open.iter().map(|open| open.2).collect::<Vec<_>>(), set);
        open.retain(|open| !self.surely_one(set, open.2));
        self.read_all(&open.iter().map(|open| open.2).collect::<Vec<_>>(), set);
        open.into_iter()
            .filter_map(|(at, next, view, minutes)| self.parting_move(set, at, next, view, minutes))
            .collect()
    }

    fn exactly(&mut self, set: Set, setup: Setup, step: &Move) -> Option<Move> {
        if !self.broad {
            return Some(step.clone());
        }
        let (rig, at) = (self.rig(setup), step.action as usize);
        let may = !self.mates(rig, self.actions[at]) || self.may_mate(set, rig);
        let exact = if may { self.read_move(set, rig, at) } else { None };
        if exact.is_none() {
            self.vain.insert((set, setup, step.action));
        }
        exact
    }

    fn finest(&mut self, set: Set, setup: Setup, below: Minutes) -> Vec<Move> {
        let rig = self.rig(setup);
        let mut cheap = Vec::new();
        for at in 0..self.actions.len() {
            if let Some((next, view, minutes)) = self.step(rig, self.actions[at])
                && minutes < below
                && self.apply(rig, self.actions[at]).is_some()
            {
                cheap.push((at, next, view, minutes));
            }
        }
        let views: Vec<View> = cheap.iter().map(|c| c.2).collect();
        self.look_up(&views, set);
        let mut moves = Vec::new();
        for (at, next, view, minutes) in cheap {
            let parted = self.rough(set, view);
            if parted.len() < 2 {
                continue;
            }
            let setup = self.setup(next);
            let outcomes = parted.into_iter().map(|set| Outcome { set, setup, minutes: 0.0 }).collect();
            moves.push(Move { action: at as u32, minutes, outcomes });
        }
        moves
    }

    fn estimate(&mut self) {
        self.broad = true;
        self.cuts = self.cutting();
        self.crew = self.hire();
    }

    fn work(&self) -> u64 {
        self.work
    }

    fn weighs_every_move(&self) -> bool {
        !self.broad
    }

    fn classes(&self) -> Vec<usize> {
        // Components of "needs no parting": coarser than any set that settles, so the bound holds.
        let mut classes: Vec<usize> = (0..self.quarry.len()).collect();
        for i in 0..classes.len() {
            for j in self.alike[i].iter() {
                let (keep, drop) = (classes[i].min(classes[j]), classes[i].max(classes[j]));
                classes.iter_mut().filter(|c| **c == drop).for_each(|c| *c = keep);
            }
        }
        classes
    }

    fn floors(&self) -> Vec<Minutes> {
        let cheapest = self.cheapest();
        vec![cheapest; if cheapest > 0.0 { self.quarry.len() } else { 0 }]
    }

    fn arity(&self) -> usize {
        // Every suspect could read differently; a smaller number would not be a bound.
        self.quarry.len().max(2)
    }
}
