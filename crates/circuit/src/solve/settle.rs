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

use crate::{BranchKind, Circuit, PartId, Volts};

use super::islands::Islands;
use super::network::{Device, JOINED, LEAK, Network, Piece, filament_ohms};
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

/// Settles a freshly assembled network. `warm` starts from where an almost equal network stood;
/// the answer is false if from there a relay hangs on that would not have pulled in from rest.
pub(crate) fn settle(
    solver: &Solver<'_>,
    pattern: &Pattern,
    network: &mut Network,
    settled: &mut Settled,
    filament: bool,
    warm: bool,
) -> Result<bool, Problem> {
    settled.solves = 0;
    modules(solver, pattern, network, settled)?;
    if warm && !pulled_in_from_rest(network, settled) {
        return Ok(false);
    }
    if !warm && network.modules.iter().any(|m| m.awake) && network.coils.iter().any(|c| c.pulled) {
        from_asleep(solver, pattern, network, settled)?;
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
            modules(solver, pattern, network, settled)?;
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

fn modules(
    solver: &Solver<'_>,
    pattern: &Pattern,
    network: &mut Network,
    settled: &mut Settled,
) -> Result<(), Problem> {
    for module in &mut network.modules {
        module.falls = 0;
    }
    loop {
        relays(solver, pattern, network, settled)?;
        let mut moved = false;
        for index in 0..network.modules.len() {
            if network.modules[index].awake && !fed(solver, network, settled, index) {
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
                if !module.awake && module.wants && fed(solver, network, settled, index) {
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

/// Whether enough volts stand across one of a module's waking feeds.
fn fed(solver: &Solver<'_>, network: &Network, settled: &Settled, module: usize) -> bool {
    if !solver.modules[module].has_waking_feed {
        return true;
    }
    network.feeds.iter().filter(|f| f.module as usize == module).any(|feed| {
        let conductance = if network.modules[module].awake { feed.awake } else { feed.standby };
        let share = if feed.added.is_infinite() { 0.0 } else { 1.0 - feed.added * conductance };
        feed.wakes.is_some_and(|wakes| settled.across(feed.edge) * share >= wakes)
    })
}

fn relays(
    solver: &Solver<'_>,
    pattern: &Pattern,
    network: &mut Network,
    settled: &mut Settled,
) -> Result<(), Problem> {
    let rounds = 2 * network.coils.len() + 4;
    let mut moving = Vec::new();
    for _ in 0..rounds {
        outputs(solver, pattern, network, settled)?;
        moving.clear();
        for (index, coil) in network.coils.iter_mut().enumerate() {
            let volts = settled.across(coil.edge).abs() * coil.share;
            let pulled = if coil.pulled { volts >= coil.drop_out } else { volts >= coil.pull_in };
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

fn outputs(
    solver: &Solver<'_>,
    pattern: &Pattern,
    network: &mut Network,
    settled: &mut Settled,
) -> Result<(), Problem> {
    stamp_contacts_and_feeds(network);
    let all_at_once = 8 + 2 * network.devices.len();
    let one_by_one = 64 + 16 * network.devices.len() * network.devices.len();
    for round in 0..all_at_once + one_by_one {
        stamp_devices(network);
        linear(pattern, network, settled);
        let mut moved = false;
        for index in 0..network.devices.len() {
            let device = network.devices[index];
            if !awake(network, device.module) {
                continue;
            }
            let wanted = wanted_piece(&device, settled.across(device.edge));
            if wanted != device.piece {
                let slow = round >= all_at_once;
                network.devices[index].piece = if slow { step(device.piece, wanted) } else { wanted };
                moved = true;
                if slow {
                    break;
                }
            }
        }
        if !moved {
            return Ok(());
        }
    }
    let parts = network.devices.iter().map(|d| solver.circuit.branches[d.edge as usize].part);
    Err(Problem::NoStable(parts.collect()))
}

fn awake(network: &Network, module: u32) -> bool {
    module == NOT_A_MODULE || network.modules.get(module as usize).is_some_and(|m| m.awake)
}

/// The piece on which the present volts lie; a hair of slack keeps a part that
/// stands exactly on a corner where it is.
fn wanted_piece(device: &Device, across: Volts) -> Piece {
    let amps = (device.volts - across) * device.conductance;
    let slack = 1e-12 + 1e-10 * device.conductance;
    match device.piece {
        Piece::Latched => Piece::Latched,
        _ if amps < device.least - slack => Piece::Least,
        _ if amps > device.most + slack && device.latches => Piece::Latched,
        _ if amps > device.most + slack => Piece::Most,
        // Come back only once clearly inside the bound that is held.
        Piece::Least if amps <= device.least + slack => Piece::Least,
        Piece::Most if amps >= device.most - slack => Piece::Most,
        _ => Piece::Linear,
    }
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

/// Factors and solves the network as it is stamped.
fn linear(pattern: &Pattern, network: &Network, settled: &mut Settled) {
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

/// Tries modules that stay awake only through relays from asleep as well.
fn from_asleep(
    solver: &Solver<'_>,
    pattern: &Pattern,
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
    modules(solver, pattern, &mut other, &mut elsewhere)?;
    let mut parts: Vec<PartId> = (0..network.modules.len())
        .filter(|&m| network.modules[m].awake != other.modules[m].awake)
        .map(|m| solver.modules[m].part)
        .collect();
    if parts.is_empty() {
        return Ok(());
    }
    let coils = network.coils.iter().zip(&other.coils).zip(&solver.coils);
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
