//! The direct-current solve.
//!
//! Modified nodal analysis with every source as its Norton equivalent, which is
//! exact because every source has an inner resistance. The matrix is then the Laplacian
//! of the conductances (`sparse`); which piece every non-linear part works on
//! is found by `settle`.

pub(crate) mod assemble;
pub(crate) mod islands;
pub(crate) mod network;
pub(crate) mod power;
mod regulate;
pub(crate) mod settle;
pub(crate) mod sparse;
pub(crate) mod supply;

use std::cell::{Ref, RefCell};
use std::collections::HashMap;
use std::sync::{Arc, Mutex};

use crate::error::Culprits;
use crate::{Amps, BranchId, BranchKind, Circuit, Fault, PartId, PointId, ReadError, State, Volts};

use network::{Corner, Extra, Network, Piece};
use settle::{Afresh, Settled};
use sparse::Pattern;
use supply::Supply;

/// No module: the index of a branch whose part is none.
pub(crate) const NOT_A_MODULE: u32 = u32::MAX;

/// Layouts by the edges added to the circuit's own.
type Layouts = HashMap<Vec<(u32, u32)>, Arc<Pattern>>;

/// Solves one circuit in many states and with many faults.
///
/// The order of elimination is found once; each set of added paths (faults, the
/// meter's leads) is laid out once; each solve only fills in numbers.
pub struct Solver<'a> {
    pub(crate) circuit: &'a Circuit,
    pub(crate) modules: Arc<[ModuleShape]>,
    /// Module index of each branch.
    pub(crate) module_of: Arc<[u32]>,
    /// Every coil.
    pub(crate) coils: Arc<[BranchId]>,
    /// Place in `coils` of each coil branch.
    pub(crate) coil_of: Arc<[u32]>,
    pub(crate) problem: Option<Problem>,
    pub(crate) base: Arc<Pattern>,
    pub(crate) edges: Arc<[(u32, u32)]>,
    /// Branches that carry nothing and are left out; empty for none.
    pub(crate) idle: Arc<[bool]>,
    cache: RefCell<Layouts>,
    work: RefCell<Work>,
    /// What stands behind the measured supply of every state that was asked about, by whichever thread.
    supplies: Arc<Mutex<HashMap<State, Supply>>>,
}

/// What is known of a module before any state.
#[derive(Clone)]
pub(crate) struct ModuleShape {
    pub(crate) part: PartId,
    pub(crate) has_waking_feed: bool,
    has_feed: bool,
    feeds: Vec<BranchId>,
}

/// Where relays, modules and outputs stand before they settle.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Start {
    /// Relays at rest, modules awake, outputs within their bounds.
    Rest,
    /// As the last run from rest left them: the same state and faults a little off nominal.
    Kept,
}

/// Buffers that are kept from solve to solve.
#[derive(Default)]
pub(crate) struct Work {
    pub(crate) network: Network,
    pub(crate) settled: Settled,
    pub(crate) pattern: Option<Arc<Pattern>>,
    extra: Vec<(u32, u32)>,
}

/// What stopped a solve, before names are put to it.
#[derive(Clone, PartialEq, Debug)]
pub(crate) enum Problem {
    Resistance(PartId),
    Fault,
    NoNegative,
    Unknown,
    Dangling(PartId),
    ChafedTwice(PartId),
    NoStable(Vec<PartId>),
    TwoStable(Vec<PartId>),
    Live(PartId),
}

/// What an output is doing in a solution.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Output {
    /// Holds its volts.
    Regulating,
    /// At its current limit.
    Limiting,
    /// Lifted by something else, which it cannot pull down.
    Lifted,
    /// Tripped by a short until the key is cycled.
    Tripped,
    /// Its module is asleep, or the output is dead.
    Unpowered,
}

/// Volts and currents of one solved state.
#[derive(Clone, Debug)]
pub struct Solution {
    volts: Vec<Volts>,
    island: Vec<u32>,
    currents: Vec<Amps>,
    awake: Vec<PartId>,
    pulled_in: Vec<BranchId>,
    outputs: Vec<(BranchId, Output)>,
}

impl<'a> Solver<'a> {
    /// Prepares a circuit. A circuit that is not whole is told by the first solve.
    pub fn new(circuit: &'a Circuit) -> Solver<'a> {
        Solver::without(circuit, Vec::new())
    }

    /// As [`Solver::new`], leaving out branches that carry nothing: dead ends far from every lead and fault. What
    /// [`idle`](crate::idle()) finds may be left out without any reading changing; nothing may be asked
    /// about the points in between.
    pub fn without(circuit: &'a Circuit, idle: Vec<bool>) -> Solver<'a> {
        let points = circuit.points.len() as u32;
        let mut problem = None;
        let mut edges = Vec::with_capacity(circuit.branches.len());
        let mut modules: Vec<ModuleShape> = Vec::new();
        let mut module_of = vec![NOT_A_MODULE; circuit.branches.len()];
        let mut coils = Vec::new();
        let mut coil_of = vec![u32::MAX; circuit.branches.len()];
        let mut by_part = HashMap::new();
        for (id, branch) in circuit.branches() {
            if branch.a.0 < points && branch.b.0 < points && branch.part.index() < circuit.parts.len() {
                let left_out = idle.get(id.index()).is_some_and(|idle| *idle);
                edges.push((branch.a.0, if left_out { branch.a.0 } else { branch.b.0 }));
            } else {
                problem.get_or_insert(Problem::Dangling(branch.part));
                edges.push((0, 0));
            }
            match &branch.kind {
                BranchKind::Feed { .. } | BranchKind::Reference { .. } | BranchKind::Driver { .. } => {
                    let index = *by_part.entry(branch.part).or_insert(modules.len());
                    if index == modules.len() {
                        modules.push(ModuleShape {
                            part: branch.part,
                            has_waking_feed: false,
                            has_feed: false,
                            feeds: Vec::new(),
                        });
                    }
                    module_of[id.index()] = index as u32;
                    if let BranchKind::Feed { wakes, .. } = &branch.kind {
                        modules[index].has_feed = true;
                        modules[index].has_waking_feed |= wakes.is_some();
                        modules[index].feeds.push(id);
                    }
                }
                BranchKind::Coil { .. } => {
                    coil_of[id.index()] = coils.len() as u32;
                    coils.push(id);
                }
                BranchKind::RelayContact { coil, .. } if coil.index() >= circuit.branches.len() => {
                    problem.get_or_insert(Problem::Dangling(branch.part));
                }
                BranchKind::Generator { sense, .. } if sense.0 >= points => {
                    problem.get_or_insert(Problem::Dangling(branch.part));
                }
                _ => {}
            }
        }
        let source = circuit.branches.iter().find(|b| matches!(b.kind, BranchKind::Source { .. }));
        let zero = circuit.negative.or(source.map(|b| b.b)).map(|point| point.0);
        let base = match problem {
            None => Pattern::new(points as usize, &edges, zero),
            Some(_) => Pattern::new(0, &[], None),
        };
        Solver {
            circuit,
            modules: modules.into(),
            module_of: module_of.into(),
            coils: coils.into(),
            coil_of: coil_of.into(),
            problem,
            base: Arc::new(base),
            edges: edges.into(),
            idle: idle.into(),
            cache: RefCell::default(),
            work: RefCell::default(),
            supplies: Arc::default(),
        }
    }

    /// The same circuit prepared again, with buffers of its own, for another thread.
    pub fn fork(&self) -> Solver<'a> {
        Solver {
            circuit: self.circuit,
            modules: Arc::clone(&self.modules),
            module_of: Arc::clone(&self.module_of),
            coils: Arc::clone(&self.coils),
            coil_of: Arc::clone(&self.coil_of),
            problem: self.problem.clone(),
            base: Arc::clone(&self.base),
            edges: Arc::clone(&self.edges),
            idle: Arc::clone(&self.idle),
            cache: RefCell::default(),
            work: RefCell::default(),
            supplies: Arc::clone(&self.supplies),
        }
    }

    /// The circuit that is solved.
    pub fn circuit(&self) -> &'a Circuit {
        self.circuit
    }

    /// Solves a state with its faults, no meter attached, at nominal values.
    ///
    /// # Errors
    /// As [`ReadError`] says; never a reading that is not a number.
    pub fn solve(&self, state: &State, faults: &[Fault]) -> Result<Solution, ReadError> {
        self.run(state, faults, &[], Corner::NOMINAL, Start::Rest).map_err(|p| self.name(p))?;
        Ok(self.solution())
    }

    /// Assembles and settles one state; the results stay in the work buffers.
    pub(crate) fn run(
        &self,
        state: &State,
        faults: &[Fault],
        meter: &[Extra],
        corner: Corner,
        start: Start,
    ) -> Result<(), Problem> {
        self.run_with(state, faults, meter, corner, start, self.supply(state))
    }

    /// As [`Solver::run`], with this behind the measured supply.
    fn run_with(
        &self,
        state: &State,
        faults: &[Fault],
        meter: &[Extra],
        corner: Corner,
        start: Start,
        supply: Option<Supply>,
    ) -> Result<(), Problem> {
        if let Some(problem) = &self.problem {
            return Err(problem.clone());
        }
        let mut work = self.work.borrow_mut();
        let Work { network, settled, pattern, extra } = &mut *work;
        extra.clear();
        assemble::extra_edges(self, faults, extra)?;
        extra.extend(meter.iter().map(|path| (path.a.0, path.b.0)));
        let points = self.circuit.points.len() as u32;
        if extra.iter().any(|&(a, b)| a >= points || b >= points) {
            return Err(Problem::Unknown);
        }
        let now = self.pattern(extra);
        settled.ends.clear();
        let place = |&(a, b): &(u32, u32)| (now.position(a) as u32, now.position(b) as u32);
        settled.ends.extend(self.edges.iter().chain(extra.iter()).map(place));
        network.assemble(self, state, faults, meter, &corner, supply)?;
        let warm = start == Start::Kept && network.take_up();
        if !settle::settle(self, &mut Afresh(&now), network, settled, corner.filament, warm)? {
            network.assemble(self, state, faults, meter, &corner, supply)?;
            settle::settle(self, &mut Afresh(&now), network, settled, corner.filament, false)?;
        }
        if start == Start::Rest {
            network.keep();
        }
        *pattern = Some(now);
        Ok(())
    }

    /// Lends the buffers of the last run.
    pub(crate) fn work(&self) -> Ref<'_, Work> {
        self.work.borrow()
    }

    pub(crate) fn pattern(&self, extra: &[(u32, u32)]) -> Arc<Pattern> {
        if extra.is_empty() {
            return Arc::clone(&self.base);
        }
        let mut cache = self.cache.borrow_mut();
        if let Some(known) = cache.get(extra) {
            return Arc::clone(known);
        }
        // A planner tries thousands of faults; a forgotten layout costs only the time to make it again.
        if cache.len() >= 4096 {
            cache.clear();
        }
        let edges: Vec<(u32, u32)> = self.edges.iter().chain(extra).copied().collect();
        let made = Arc::new(self.base.with_edges(&edges));
        cache.insert(extra.to_vec(), Arc::clone(&made));
        made
    }

    fn solution(&self) -> Solution {
        let work = self.work.borrow();
        let (network, settled) = (&work.network, &work.settled);
        let base = work.pattern.as_ref().unwrap_or(&self.base);
        let points = self.circuit.points.len() as u32;
        let currents = (0..self.circuit.branches.len())
            .map(|i| network.conductance[i] * settled.across(i as u32) - network.current[i])
            .collect();
        let mut outputs = Vec::new();
        for (id, branch) in self.circuit.branches() {
            if matches!(branch.kind, BranchKind::Reference { .. }) {
                let device = network.devices.iter().find(|d| d.edge as usize == id.index());
                let output = match device {
                    Some(d) if network.modules.get(d.module as usize).is_some_and(|m| m.awake) => {
                        match d.piece {
                            Piece::Linear => Output::Regulating,
                            Piece::Most => Output::Limiting,
                            Piece::Least => Output::Lifted,
                            Piece::Latched => Output::Tripped,
                        }
                    }
                    _ => Output::Unpowered,
                };
                outputs.push((id, output));
            }
        }
        Solution {
            volts: (0..points).map(|p| settled.volts[base.position(p)]).collect(),
            island: (0..points).map(|p| settled.values.island(base.position(p))).collect(),
            currents,
            awake: network
                .modules
                .iter()
                .zip(self.modules.iter())
                .filter(|(state, _)| state.awake)
                .map(|(_, shape)| shape.part)
                .collect(),
            pulled_in: network
                .coils
                .iter()
                .zip(self.coils.iter())
                .filter(|(coil, _)| coil.pulled)
                .map(|(_, &id)| id)
                .collect(),
            outputs,
        }
    }

    /// Puts names to a problem.
    pub(crate) fn name(&self, problem: Problem) -> ReadError {
        let parts = |parts: Vec<PartId>| Culprits::of(self.circuit, parts);
        let name = |part: PartId| Culprits::of(self.circuit, [part]).to_string();
        match problem {
            Problem::Resistance(part) => ReadError::Singular { parts: parts(vec![part]) },
            Problem::NoStable(list) => ReadError::NoStableState { parts: parts(list) },
            Problem::TwoStable(list) => ReadError::TwoStableStates { parts: parts(list) },
            Problem::Live(source) => {
                let name = if source.index() < self.circuit.parts.len() {
                    name(source)
                } else {
                    "equipment that the file does not know".to_owned()
                };
                ReadError::LiveCircuit { source, name }
            }
            Problem::Fault => ReadError::Malformed { what: "a fault whose resistance is zero, negative or not a number, or that does not fit its branch".to_owned() },
            Problem::NoNegative => ReadError::Malformed { what: "no battery negative post is declared".to_owned() },
            Problem::Unknown => ReadError::Malformed { what: "a fault or a lead names a point or branch that is not there".to_owned() },
            Problem::Dangling(part) => {
                ReadError::Malformed { what: format!("{} has an end on a point that is not there", name(part)) }
            }
            Problem::ChafedTwice(part) => {
                ReadError::Malformed { what: format!("{} is chafed in two places at once", name(part)) }
            }
        }
    }
}

impl ModuleShape {
    /// Whether the module wants to be awake in a state.
    fn wants(&self, circuit: &Circuit, state: &State) -> bool {
        if !self.has_feed {
            return state.battery;
        }
        let held = self.feeds.iter().any(|&id| match &circuit.branch(id).kind {
            BranchKind::Feed { wakes, when, .. } => {
                (wakes.is_some() || !self.has_waking_feed) && circuit.holds(when, self.part, state)
            }
            _ => false,
        });
        held && (self.has_waking_feed || state.battery)
    }
}

impl Solution {
    /// Volts at `red` against `black`, as a meter that draws nothing would see
    /// them; zero where nothing joins the two.
    pub fn volts(&self, red: PointId, black: PointId) -> Volts {
        if self.joined(red, black) { self.volts[red.index()] - self.volts[black.index()] } else { 0.0 }
    }

    /// Whether anything joins two points.
    pub fn joined(&self, a: PointId, b: PointId) -> bool {
        self.island.get(a.index()).is_some_and(|one| self.island.get(b.index()) == Some(one))
    }

    /// Current through a branch from its `a` to its `b`, in amperes; a source that delivers has a negative one.
    pub fn current(&self, branch: BranchId) -> Amps {
        self.currents.get(branch.index()).copied().unwrap_or(0.0)
    }

    /// Whether a module is awake.
    pub fn awake(&self, module: PartId) -> bool {
        self.awake.contains(&module)
    }

    /// Whether a coil has pulled in.
    pub fn pulled_in(&self, coil: BranchId) -> bool {
        self.pulled_in.contains(&coil)
    }

    /// What a reference output is doing; `None` for any other branch.
    pub fn output(&self, reference: BranchId) -> Option<Output> {
        self.outputs.iter().find(|(id, _)| *id == reference).map(|&(_, output)| output)
    }
}
