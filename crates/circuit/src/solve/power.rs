//! What keeps a module alive: volts across a feed, a ground that carries its current, and outputs
//! that stand no higher than what feeds them.
//!
//! A reference is a source between its pin and its return, so that the matrix stays symmetric: what it gives
//! goes round through the module's ground instead of coming from the feed. In a sound car the two differ by
//! nothing that a meter shows. With a lost ground they do not: such a source would pull its own ground
//! below zero and keep its module awake. So a module counts as fed by what would stand across its feed if its
//! references' current came through that feed, found from the settled network by one more solve.

use crate::{Amps, Volts};

use super::Solver;
use super::network::{Device, FeedEdge, Network, Piece};
use super::settle::{Linear, Settled, awake, share_of_feed, slack};

/// Least that a module draws while it works, where nobody knows what it draws: a feed or a ground through a
/// meter or a trace of water wakes nothing. Own estimate.
const LEAST_DRAW: Amps = 1e-3;

/// Near enough for an output held down by its feed.
const CLOSE: Volts = 1e-9;

/// Whether one of a module's waking feeds brings enough, its outputs' current counted.
pub(crate) fn fed<L: Linear>(
    solver: &Solver<'_>,
    linear: &mut L,
    network: &Network,
    settled: &Settled,
    module: usize,
) -> bool {
    if !solver.modules[module].has_waking_feed {
        return true;
    }
    network.feeds.iter().filter(|feed| feed.module as usize == module).any(|feed| {
        let Some(wakes) = feed.wakes else { return false };
        let volts = settled.across(feed.edge) * share_of_feed(network, feed);
        volts >= wakes && volts - lacking(linear, network, settled, feed, wakes) >= wakes
    })
}

/// Volts that a feed which brings enough would lose to its module's outputs, or to the least that a module
/// draws; endless where nothing leads back.
pub(crate) fn lacking<L: Linear>(
    linear: &mut L,
    network: &Network,
    settled: &Settled,
    feed: &FeedEdge,
    wakes: Volts,
) -> Volts {
    let least = LEAST_DRAW / wakes;
    let would = if feed.awake > 0.0 { feed.awake.min(least) } else { least };
    let more = (would - network.conductance[feed.edge as usize]).max(0.0);
    let gives = |device: &&Device| device.module == feed.module && gives(device, settled);
    let giving: Vec<&Device> = match awake(network, feed.module) {
        true => network.devices.iter().filter(gives).collect(),
        false => Vec::new(),
    };
    if giving.is_empty() && more == 0.0 {
        return 0.0;
    }
    let ends = settled.ends[feed.edge as usize];
    let mut asked = vec![ends];
    asked.extend(giving.iter().map(|device| settled.ends[device.edge as usize]));
    let Some(unit) = linear.unit_volts(network, settled, ends, &asked) else { return f64::INFINITY };
    let given: Amps = giving.iter().map(|device| current(device, settled)).sum();
    let follows: f64 = (giving.iter().zip(&unit[1..]))
        .filter(|(device, _)| device.piece == Piece::Linear)
        .map(|(device, volts)| device.conductance * volts)
        .sum();
    let own = 1.0 - follows + more * unit[0];
    if own < 1e-6 {
        return f64::INFINITY;
    }
    (given + more * settled.across(feed.edge)) / own * unit[0]
}

/// Whether a device drives current out of its `a`, or would as soon as its feed lost a little: one that stands at
/// nothing to the last digits follows what is drawn, whichever side of zero those digits are.
fn gives(device: &Device, settled: &Settled) -> bool {
    let slack = match device.piece {
        Piece::Linear => 4.0 * slack(device),
        _ => 0.0,
    };
    current(device, settled) + slack > 0.0
}

/// What a device drives out of its `a`.
fn current(device: &Device, settled: &Settled) -> Amps {
    match device.piece {
        Piece::Linear => (device.volts - settled.across(device.edge)) * device.conductance,
        Piece::Most => device.most,
        Piece::Least | Piece::Latched => 0.0,
    }
}

/// The feed of a module that brings most, with its volts.
pub(crate) fn best_feed<'n>(
    network: &'n Network,
    settled: &Settled,
    module: u32,
) -> Option<(&'n FeedEdge, Volts)> {
    let feeds = network.feeds.iter().filter(|feed| feed.module == module);
    let brings = feeds.map(|feed| (feed, settled.across(feed.edge) * share_of_feed(network, feed)));
    brings.max_by(|one, two| one.1.total_cmp(&two.1))
}

/// Holds every reference down to what feeds its module; false if all stand as they should.
pub(super) fn hold_down(network: &mut Network, settled: &Settled) -> bool {
    let mut moved = false;
    for index in 0..network.references.len() {
        let mut it = network.references[index];
        let device = network.devices[it.device];
        if !awake(network, device.module) {
            continue;
        }
        let Some((_, brings)) = best_feed(network, settled, device.module) else { continue };
        let lacked = it.wanted.min(brings.max(0.0)) - device.volts;
        if lacked.abs() <= CLOSE {
            continue;
        }
        // What the output gives moves its own feed a little: the secant of two steps meets it.
        let slope = it.before.map(|(at, before)| (before - lacked) / (device.volts - at));
        let slope = slope.filter(|slope| slope.is_finite()).unwrap_or(1.0).clamp(0.02, 1.0);
        it.before = Some((device.volts, lacked));
        network.devices[it.device].volts = (device.volts + lacked / slope).min(it.wanted);
        network.references[index] = it;
        moved = true;
    }
    moved
}
