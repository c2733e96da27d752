//! Finding which piece of its characteristic every part works on.
//!
//! Three loops, one inside the other.
//!
//! 1. **Outputs, diodes and drivers**: each is a monotone piecewise-linear
//!    two-terminal part in a network of positive resistances, so the volts are unique
//!    (a linear complementarity problem with a symmetric positive definite matrix). All parts on
//!    the wrong piece are moved at once; should that not end within a few
//!    rounds, only the first of them is moved by one piece at a time (Murty's
//!    least-index rule), which cannot cycle on such a matrix.
//! 2. **Relays** follow the volts on their coils, from rest, between pull-in and
//!    drop-out keeping what they are. A relay that breaks its own coil's feed has no end.
//! 3. **Modules** start awake, those that starve fall asleep, and may wake once more when
//!    another module's fall lets the volts back up. Falling twice has no end.
//!
//! Modules that only stay awake through relays are tried from asleep too; if
//! that ends elsewhere there are two stable states and no reading.

use crate::{Amps, BranchKind, Circuit, PartId, Volts};

use super::islands::Islands;
use super::network::{Coil, Device, FeedEdge, JOINED, LEAK, Network, Piece, filament_ohms};
use super::power::{fed, hold_down};
use super::regulate::regulate;
use super::sparse::{Pattern, Values};
use super::{NOT_A_MODULE, Problem, Solver};

/// Volts and factor of a settled network.
#[derive(Clone, Debug, Default)]
pub(crate) struct Settled {
    pub(crate) values: Values,
    /// Volts by position in the factor.
    pub(crate) volts: Vec<f64>,
    /// Ends of every edge as positions in the factor.
    pub(crate) ends: Vec<(u32, u32)>,
    /// Linear solves since the last assembly.
    pub(crate) solves: u32,
}

impl Settled {
    /// Volts across an edge, from its `a` to its `b`.
    pub(crate) fn across(&self, edge: u32) -> Volts {
        let (a, b) = self.ends[edge as usize];
        self.volts[a as usize] - self.volts[b as usize]
    }
}

/// How the volts of a stamped network are found: by a factor of its own, or by updating a known one.
pub(crate) trait Linear {
    /// Solves the network as it is stamped into [`Settled::volts`].
    fn solve(&mut self, network: &Network, settled: &mut Settled);

    /// Solves with more digits where sources stand on wires that hardly anything holds.
    fn solve_finely(&mut self, network: &Network, settled: &mut Settled);

    /// Volts across each of `asked` for one ampere into the first of `ends` and out of the second, in the network
    /// as it was last solved; `None` if nothing joins the two.
    fn unit_volts(
        &mut self,
        network: &Network,
        settled: &Settled,
        ends: (u32, u32),
        asked: &[(u32, u32)],
    ) -> Option<Vec<f64>>;

    /// All outputs have settled; relays and modules are about to be looked at.
    fn outputs_settled(&mut self, _network: &Network, _settled: &Settled) {}

    /// The network has reached the state that is reported; what follows only looks for a second one.
    fn reached(&mut self) {}
}

/// A fresh factor for every solve.
pub(crate) struct Afresh<'p>(pub(crate) &'p Pattern);

impl Linear for Afresh<'_> {
    fn solve(&mut self, network: &Network, settled: &mut Settled) {
        let pattern = self.0;
        settled.solves += 1;
        pattern.factor(&network.conductance, &mut settled.values);
        settled.volts.clear();
        settled.volts.resize(pattern.points(), 0.0);
        for (&current, &(a, b)) in network.current.iter().zip(&settled.ends) {
            if current != 0.0 {
                settled.volts[a as usize] += current;
                settled.volts[b as usize] -= current;
            }
        }
        pattern.solve(&settled.values, &mut settled.volts);
    }

    /// The rounding of a source's Norton current lifts whatever only a shut output's leak ties down. So
    /// once more for what Kirchhoff's sums still lack, branch by branch: there it cancels.
    fn solve_finely(&mut self, network: &Network, settled: &mut Settled) {
        self.solve(network, settled);
        let mut lacking = vec![0.0; self.0.points()];
        let edges = network.conductance.iter().zip(&network.current).zip(&settled.ends);
        for ((&conductance, &current), &(a, b)) in edges {
            let across = settled.volts[a as usize] - settled.volts[b as usize];
            let through = current - conductance * across;
            lacking[a as usize] += through;
            lacking[b as usize] -= through;
        }
        self.0.solve(&settled.values, &mut lacking);
        for (volts, more) in settled.volts.iter_mut().zip(lacking) {
            *volts += more;
        }
    }

    fn unit_volts(
        &mut self,
        _network: &Network,
        settled: &Settled,
        ends: (u32, u32),
        asked: &[(u32, u32)],
    ) -> Option<Vec<f64>> {
        let (a, b) = (ends.0 as usize, ends.1 as usize);
        if a == b || !settled.values.joined(a, b) {
            return None;
        }
        let mut volts = vec![0.0; self.0.points()];
        (volts[a], volts[b]) = (1.0, -1.0);
        self.0.solve(&settled.values, &mut volts);
        Some(asked.iter().map(|&(a, b)| volts[a as usize] - volts[b as usize]).collect())
    }
}

/// Settles a freshly assembled network. `warm` starts from where an almost equal network stood;
/// the answer is false if from there a relay hangs on that would not have pulled in from rest.
pub(crate) fn settle<L: Linear>(
    solver: &Solver<'_>,
    linear: &mut L,
    network: &mut Network,
    settled: &mut Settled,
    filament: bool,
    warm: bool,
) -> Result<bool, Problem> {
    settled.solves = 0;
    regulated(solver, linear, network, settled)?;
    linear.reached();
    if warm && !pulled_in_from_rest(network, settled) {
        return Ok(false);
    }
    if !warm && network.modules.iter().any(|m| m.awake) && network.coils.iter().any(|c| c.pulled) {
        from_asleep(solver, linear, network, settled)?;
    }
    if filament && !network.lamps.is_empty() {
        // Each round brings the lamps to less than half their distance from the
        // answer: the law's exponent is 0.45 and a lamp's own volts grow at most as its resistance.
        for _ in 0..200 {
            let mut furthest: f64 = 0.0;
            for i in 0..network.lamps.len() {
                let lamp = network.lamps[i];
                let own = settled.across(lamp.edge) * lamp.ohms / (lamp.ohms + lamp.added);
                let ohms = filament_ohms(lamp.hot, lamp.rated, own);
                furthest = furthest.max((ohms / lamp.ohms - 1.0).abs());
                network.lamps[i].ohms = ohms;
                network.conductance[lamp.edge as usize] = 1.0 / (ohms + lamp.added);
            }
            if furthest < 1e-9 {
                break;
            }
            regulated(solver, linear, network, settled)?;
        }
    }
    Ok(true)
}

/// Whether every relay that is pulled in has the volts to do so from rest.
fn pulled_in_from_rest(network: &Network, settled: &Settled) -> bool {
    let pulled = network.coils.iter().filter(|coil| coil.pulled);
    pulled
        .map(|coil| (settled.across(coil.edge).abs() * coil.share, coil.pull_in))
        .all(|(volts, least)| volts >= least)
}

/// Settles modules and all below them again for every step of the generators' regulators.
fn regulated<L: Linear>(
    solver: &Solver<'_>,
    linear: &mut L,
    network: &mut Network,
    settled: &mut Settled,
) -> Result<(), Problem> {
    for round in 0..200 {
        modules(solver, linear, network, settled)?;
        let held = hold_down(network, settled);
        if !regulate(network, settled, round) && !held {
            return Ok(());
        }
    }
    let regulators = network.regulators.iter().map(|r| r.device);
    let held = network.references.iter().filter(|r| r.before.is_some()).map(|r| r.device);
    let edges = regulators.chain(held).map(|device| network.devices[device].edge as usize);
    Err(Problem::NoStable(edges.map(|edge| solver.circuit.branches[edge].part).collect()))
}

fn modules<L: Linear>(
    solver: &Solver<'_>,
    linear: &mut L,
    network: &mut Network,
    settled: &mut Settled,
) -> Result<(), Problem> {
    for module in &mut network.modules {
        module.falls = 0;
    }
    loop {
        relays(solver, linear, network, settled)?;
        let mut moved = false;
        for index in 0..network.modules.len() {
            if network.modules[index].awake && !fed(solver, linear, network, settled, index) {
                let module = &mut network.modules[index];
                module.awake = false;
                module.falls += 1;
                moved = true;
                if module.falls > 1 {
                    return Err(Problem::NoStable(vec![solver.modules[index].part]));
                }
            }
        }
        if !moved {
            for index in 0..network.modules.len() {
                let module = network.modules[index];
                if !module.awake && module.wants && fed(solver, linear, network, settled, index) {
                    network.modules[index].awake = true;
                    moved = true;
                }
            }
        }
        if !moved {
            return Ok(());
        }
    }
}

/// Share of the volts across a feed that is left behind the resistance a fault adds to it.
pub(crate) fn share_of_feed(network: &Network, feed: &FeedEdge) -> f64 {
    let awake = network.modules.get(feed.module as usize).is_some_and(|m| m.awake);
    let conductance = if awake { feed.awake } else { feed.standby };
    if feed.added.is_infinite() { 0.0 } else { 1.0 - feed.added * conductance }
}

/// Whether a coil is pulled in after seeing these volts.
fn holds(coil: &Coil, across: Volts) -> bool {
    let volts = across.abs() * coil.share;
    if coil.pulled { volts >= coil.drop_out } else { volts >= coil.pull_in }
}

fn relays<L: Linear>(
    solver: &Solver<'_>,
    linear: &mut L,
    network: &mut Network,
    settled: &mut Settled,
) -> Result<(), Problem> {
    let rounds = 2 * network.coils.len() + 4;
    let mut moving = Vec::new();
    for _ in 0..rounds {
        outputs(solver, linear, network, settled)?;
        moving.clear();
        for (index, coil) in network.coils.iter_mut().enumerate() {
            let pulled = holds(coil, settled.across(coil.edge));
            if pulled != coil.pulled {
                coil.pulled = pulled;
                moving.push(index);
            }
        }
        if moving.is_empty() {
            return Ok(());
        }
    }
    let part = |&index: &usize| solver.circuit.branch(solver.coils[index]).part;
    Err(Problem::NoStable(moving.iter().map(part).collect()))
}

fn outputs<L: Linear>(
    solver: &Solver<'_>,
    linear: &mut L,
    network: &mut Network,
    settled: &mut Settled,
) -> Result<(), Problem> {
    stamp_contacts_and_feeds(network);
    let all_at_once = 8 + 2 * network.devices.len();
    let one_by_one = 64 + 16 * network.devices.len() * network.devices.len();
    for round in 0..all_at_once + one_by_one {
        stamp_devices(network);
        let slow = round >= all_at_once;
        if slow {
            linear.solve_finely(network, settled);
        } else {
            linear.solve(network, settled);
        }
        let mut moved = false;
        for index in 0..network.devices.len() {
            let device = network.devices[index];
            if !awake(network, device.module) {
                continue;
            }
            let wanted = wanted_piece(&device, settled.across(device.edge));
            if wanted != device.piece {
                network.devices[index].piece = if slow { step(device.piece, wanted) } else { wanted };
                moved = true;
                if slow {
                    break;
                }
            }
        }
        if !moved {
            linear.outputs_settled(network, settled);
            if !trip(network) {
                return Ok(());
            }
        }
    }
    let parts = network.devices.iter().map(|d| solver.circuit.branches[d.edge as usize].part);
    Err(Problem::NoStable(parts.collect()))
}

pub(crate) fn awake(network: &Network, module: u32) -> bool {
    module == NOT_A_MODULE || network.modules.get(module as usize).is_some_and(|m| m.awake)
}

/// Amperes within which a part stands exactly on a corner.
pub(super) fn slack(device: &Device) -> Amps {
    1e-12 + 1e-10 * device.conductance
}

/// The piece on which the present volts lie; a hair of slack keeps a part that
/// stands exactly on a corner where it is.
fn wanted_piece(device: &Device, across: Volts) -> Piece {
    let amps = (device.volts - across) * device.conductance;
    let slack = slack(device);
    match device.piece {
        Piece::Latched => Piece::Latched,
        _ if amps < device.least - slack => Piece::Least,
        _ if amps > device.most + slack => Piece::Most,
        // Come back only once clearly inside the bound that is held.
        Piece::Least if amps <= device.least + slack => Piece::Least,
        Piece::Most if amps >= device.most - slack => Piece::Most,
        _ => Piece::Linear,
    }
}

/// The volts across a device between which [`wanted_piece`] leaves it where it is.
pub(crate) fn stays_between(device: &Device) -> (Volts, Volts) {
    if device.conductance <= 0.0 {
        return (f64::NEG_INFINITY, f64::INFINITY);
    }
    let slack = slack(device);
    let at = |amps: f64| device.volts - amps / device.conductance;
    match device.piece {
        Piece::Latched => (f64::NEG_INFINITY, f64::INFINITY),
        Piece::Linear => (at(device.most + slack), at(device.least - slack)),
        Piece::Least => (at(device.least + slack), f64::INFINITY),
        Piece::Most => (f64::NEG_INFINITY, at(device.most - slack)),
    }
}

/// Whether an output or diode conducts, but nothing worth the name.
pub(crate) fn carries_nothing(device: &Device, across: Volts) -> bool {
    let slack = slack(device);
    let amps = (device.volts - across) * device.conductance;
    device.piece == Piece::Linear && (amps < device.least + 4.0 * slack || amps > device.most - 4.0 * slack)
}

/// Trips the outputs that are at their limit and latch, once the volts are those that they would see: a
/// step of the search on the way there trips nothing.
fn trip(network: &mut Network) -> bool {
    let mut tripped = false;
    for index in 0..network.devices.len() {
        let device = network.devices[index];
        if device.latches && device.piece == Piece::Most && awake(network, device.module) {
            network.devices[index].piece = Piece::Latched;
            tripped = true;
        }
    }
    tripped
}

/// One piece towards another.
fn step(from: Piece, to: Piece) -> Piece {
    match (from, to) {
        (Piece::Least, Piece::Most) | (Piece::Most, Piece::Least) => Piece::Linear,
        _ => to,
    }
}

fn stamp_contacts_and_feeds(network: &mut Network) {
    for contact in &network.contacts {
        let pulled = network.coils.get(contact.coil as usize).is_some_and(|c| c.pulled);
        let closed = pulled != contact.closed_at_rest;
        network.conductance[contact.edge as usize] = if closed { contact.conductance } else { 0.0 };
    }
    for feed in &network.feeds {
        let awake = network.modules.get(feed.module as usize).is_some_and(|m| m.awake);
        network.conductance[feed.edge as usize] = if awake { feed.awake } else { feed.standby };
    }
}

fn stamp_devices(network: &mut Network) {
    for index in 0..network.devices.len() {
        let device = network.devices[index];
        let (conductance, current) = if !awake(network, device.module) {
            (device.asleep, 0.0)
        } else {
            match device.piece {
                Piece::Linear => (device.conductance, device.volts * device.conductance),
                Piece::Least => (LEAK, device.least),
                Piece::Most => (LEAK, device.most),
                Piece::Latched => (device.asleep, 0.0),
            }
        };
        network.conductance[device.edge as usize] = conductance;
        network.current[device.edge as usize] = current;
    }
}

/// Tries modules that stay awake only through relays from asleep as well.
fn from_asleep<L: Linear>(
    solver: &Solver<'_>,
    linear: &mut L,
    network: &mut Network,
    settled: &mut Settled,
) -> Result<(), Problem> {
    let reached = reached_without_relays(solver.circuit, network, settled);
    let held: Vec<usize> = (0..network.modules.len())
        .filter(|&m| network.modules[m].awake && solver.modules[m].has_waking_feed)
        .filter(|&m| {
            let mut feeds = network.feeds.iter().filter(|f| f.module as usize == m && f.wakes.is_some());
            !feeds.any(|f| reached[settled.ends[f.edge as usize].0 as usize])
        })
        .collect();
    if held.is_empty() {
        return Ok(());
    }
    let mut other = network.clone();
    for &module in &held {
        other.modules[module].awake = false;
    }
    for coil in &mut other.coils {
        coil.pulled = false;
    }
    let mut elsewhere = settled.clone();
    regulated(solver, linear, &mut other, &mut elsewhere)?;
    let mut parts: Vec<PartId> = (0..network.modules.len())
        .filter(|&m| network.modules[m].awake != other.modules[m].awake)
        .map(|m| solver.modules[m].part)
        .collect();
    if parts.is_empty() {
        return Ok(());
    }
    let coils = network.coils.iter().zip(&other.coils).zip(solver.coils.iter());
    parts.extend(
        coils
            .filter(|((one, two), _)| one.pulled != two.pulled)
            .map(|(_, &branch)| solver.circuit.branch(branch).part),
    );
    Err(Problem::TwoStable(parts))
}

/// Which positions good conductors join to a supply's positive post, no relay or output among them.
fn reached_without_relays(circuit: &Circuit, network: &Network, settled: &Settled) -> Vec<bool> {
    let mut islands = Islands::apart(settled.volts.len());
    for (index, branch) in circuit.branches.iter().enumerate() {
        let passes = matches!(
            branch.kind,
            BranchKind::Wire { .. }
                | BranchKind::Mated { .. }
                | BranchKind::Joint { .. }
                | BranchKind::Fuse { .. }
                | BranchKind::Switch { .. }
        );
        if passes && network.conductance[index] > JOINED {
            islands.join(settled.ends[index]);
        }
    }
    islands.flatten();
    let posts: Vec<usize> = network
        .sources
        .iter()
        .filter_map(|&(edge, _)| settled.ends.get(edge as usize))
        .map(|&(a, _)| a as usize)
        .collect();
    (0..settled.volts.len()).map(|place| posts.iter().any(|&post| islands.same(post, place))).collect()
}
