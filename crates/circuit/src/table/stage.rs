//! A settled standing under a fault, and what a meter across it does.
//!
//! A meter that draws the current i changes the volts across any branch by at most i times what
//! the network shows at that branch. Every output, relay and module has a margin to where it
//! would move. So a standing has a current that no decision can feel, and a meter that draws less in
//! every standing on the way leaves all of them as they are.

use std::sync::Arc;

use crate::solve::network::Network;
use crate::solve::power;
use crate::solve::settle::{self, Settled};
use crate::solve::sparse::{Pattern, Values};
use crate::{Amps, Ohms, Volts};

use super::base::{Columns, unit_current};
use super::update::{Update, Updated};

/// A standing of relays and modules with all outputs settled.
pub(super) struct Stage {
    pub(super) kind: Kind,
    pub(super) volts: Vec<Volts>,
    watched: Vec<Watched>,
    /// What a meter may draw anywhere without moving anything.
    slack: Amps,
    /// Whether an output or diode carries nothing and may as well be shut: then the way there decides.
    undecided: bool,
}

/// How its volts were found.
pub(super) enum Kind {
    /// From a base.
    Updated(Updated),
    /// By a factor of its own.
    Fresh(Arc<Pattern>, Values),
}

/// A branch whose volts decide something, and between which volts that stays decided.
struct Watched {
    ends: (u32, u32),
    across: Volts,
    low: Volts,
    high: Volts,
    conductance: f64,
    /// How near a limit is too near to tell. Below nothing for an output: on its corner both
    /// pieces give the same volts.
    hair: Volts,
}

/// What hangs across the leads: conductance, and current into the red one.
#[derive(Clone, Copy)]
pub(super) struct Leads {
    pub(super) ends: (u32, u32),
    pub(super) conductance: f64,
    pub(super) current: Amps,
}

/// What the network shows at the leads.
pub(super) struct Shown {
    pub(super) ohms: Ohms,
    /// How much of it may be rounding.
    pub(super) noise: Ohms,
    /// How far rounding may have lifted both leads together against the rest.
    lift: Ohms,
    /// Volts everywhere for one ampere through the leads, on a factor of its own.
    unit: Option<Vec<Volts>>,
}

impl Stage {
    pub(super) fn new(
        update: &mut Update<'_, '_>,
        kind: Kind,
        network: &Network,
        settled: &Settled,
    ) -> Stage {
        let volts = settled.volts.clone();
        // An output that carries nothing may be on or off, and a meter decides it. A regulator answers every meter.
        let undecided = !network.regulators.is_empty()
            || network.devices.iter().any(|device| {
                let across = settled.across(device.edge);
                settle::awake(network, device.module) && settle::carries_nothing(device, across)
            });
        let mut watched = watched(network, settled);
        let undecided = watch_power(update, network, settled, &mut watched) || undecided;
        let mut stage = Stage { kind, volts, watched, slack: 0.0, undecided };
        let mut slack = f64::INFINITY;
        for watched in &stage.watched {
            let margin = (watched.across - watched.low).min(watched.high - watched.across).max(0.0);
            if margin == f64::INFINITY {
                continue;
            }
            if !stage.joined(update, watched.ends) {
                slack = 0.0;
                continue;
            }
            // A branch never shows more than its own resistance.
            let ohms = if watched.conductance >= 1e-3 {
                1.0 / watched.conductance
            } else {
                let shown = stage.shown(update, watched.ends);
                shown.ohms.max(0.0) + shown.noise
            };
            slack = slack.min(0.5 * margin / ohms);
        }
        stage.slack = slack;
        stage
    }

    /// Whether anything joins two positions.
    pub(super) fn joined(&self, update: &Update<'_, '_>, (a, b): (u32, u32)) -> bool {
        let values = match &self.kind {
            // An update never parts an island and never joins two.
            Kind::Updated(updated) => &update.bases[updated.base].values,
            Kind::Fresh(_, values) => values,
        };
        values.joined(a as usize, b as usize)
    }

    /// Volts between two positions.
    pub(super) fn across(&self, (a, b): (u32, u32)) -> Volts {
        self.volts[a as usize] - self.volts[b as usize]
    }

    /// What the network shows between two positions, which have to be joined.
    pub(super) fn shown(&self, update: &mut Update<'_, '_>, ends: (u32, u32)) -> Shown {
        match &self.kind {
            Kind::Updated(updated) => {
                let base = updated.base;
                let column = update.columns[base].of(&update.solver.base, &update.bases[base], ends);
                let columns = &update.columns[base];
                let healthy = columns.across(column, ends);
                let ohms = healthy - updated.less(columns, ends, ends);
                let noise = 1e-15 * healthy.abs().max(ohms.abs()) / updated.least_pivot;
                Shown { ohms, noise, lift: columns.noise(column), unit: None }
            }
            Kind::Fresh(pattern, values) => {
                let unit = unit_current(pattern, values, ends);
                let ohms = unit[ends.0 as usize] - unit[ends.1 as usize];
                Shown { ohms, noise: 1e-15 * ohms, lift: 0.0, unit: Some(unit) }
            }
        }
    }

    /// Volts by position for one ampere into the first of two joined positions and out of the other.
    pub(super) fn unit(&self, update: &mut Update<'_, '_>, ends: (u32, u32)) -> Vec<Volts> {
        match &self.kind {
            Kind::Fresh(pattern, values) => unit_current(pattern, values, ends),
            Kind::Updated(updated) => {
                let base = updated.base;
                let column = update.columns[base].of(&update.solver.base, &update.bases[base], ends);
                updated.unit(&update.columns[base], column, ends)
            }
        }
    }

    /// Whether everything stays decided as it is with these leads on.
    pub(super) fn bears(&self, update: &mut Update<'_, '_>, leads: Leads) -> bool {
        if leads.ends.0 == leads.ends.1 || (leads.conductance == 0.0 && leads.current == 0.0) {
            return true;
        }
        if self.undecided {
            return false;
        }
        if !self.joined(update, leads.ends) {
            // No current flows, but whatever spans the two islands now stands between them.
            return self.watched.iter().all(|w| self.joined(update, w.ends));
        }
        let most = (leads.current - leads.conductance * self.across(leads.ends)).abs();
        if most <= self.slack {
            return true;
        }
        let shown = self.shown(update, leads.ends);
        let amps = leads.amps(self.across(leads.ends), shown.ohms);
        let noise = amps.abs() * (shown.noise + shown.lift);
        self.watched.iter().all(|watched| {
            let across = watched.across + amps * self.transfer(update, &shown, leads.ends, watched.ends);
            let hair = watched.hair + noise;
            across - hair > watched.low && across + hair < watched.high
        })
    }

    /// Volts between two positions for one ampere through the leads.
    fn transfer(&self, update: &Update<'_, '_>, shown: &Shown, leads: (u32, u32), ends: (u32, u32)) -> f64 {
        match (&self.kind, &shown.unit) {
            (Kind::Updated(updated), _) => {
                let columns = &update.columns[updated.base];
                let healthy = columns.known(leads).map_or(0.0, |column| columns.across(column, ends));
                healthy - updated.less(columns, ends, leads)
            }
            (_, Some(unit)) => unit[ends.0 as usize] - unit[ends.1 as usize],
            _ => 0.0,
        }
    }
}

impl Leads {
    /// Current into the red lead's point, where the network shows volts behind ohms.
    pub(super) fn amps(&self, volts: Volts, ohms: Ohms) -> Amps {
        (self.current - self.conductance * volts) / (1.0 + ohms * self.conductance)
    }

    /// Volts across the leads.
    pub(super) fn volts(&self, volts: Volts, ohms: Ohms) -> Volts {
        (volts + ohms * self.current) / (1.0 + ohms * self.conductance)
    }

    /// How far the volts may be off for so much noise in the ohms.
    pub(super) fn noise(&self, volts: Volts, shown: &Shown) -> Volts {
        let loaded = 1.0 + shown.ohms.max(0.0) * self.conductance;
        shown.noise * (self.current - self.conductance * volts).abs() / (loaded * loaded)
    }
}

impl Updated {
    /// The volts of a base's column as the changes leave them.
    fn unit(&self, columns: &Columns, column: usize, ends: (u32, u32)) -> Vec<Volts> {
        let count = self.edges.len();
        let mut unit = columns.volts(column).to_vec();
        for (row, &(own, _)) in self.edges.iter().enumerate() {
            let terms = self.matrix[row * count..(row + 1) * count].iter().zip(&self.edges);
            let through: f64 = terms.map(|(value, &(column, _))| value * columns.across(column, ends)).sum();
            if through != 0.0 {
                for (volts, more) in unit.iter_mut().zip(columns.volts(own)) {
                    *volts -= through * more;
                }
            }
        }
        unit
    }

    /// By how much the changes lessen the base's transfer resistance between two pairs.
    pub(super) fn less(&self, columns: &Columns, one: (u32, u32), other: (u32, u32)) -> f64 {
        let count = self.edges.len();
        let mut sum = 0.0;
        for (row, &(column, _)) in self.edges.iter().enumerate() {
            let mut through = 0.0;
            for (value, &(column, _)) in self.matrix[row * count..(row + 1) * count].iter().zip(&self.edges) {
                through += value * columns.across(column, other);
            }
            sum += columns.across(column, one) * through;
        }
        sum
    }
}

/// How near to its limit a relay or module is too near to tell.
const A_HAIR: Volts = 1e-9;

/// The same for an output or a diode.
const ON_A_CORNER: Volts = -1e-10;

/// Every branch that decides something.
fn watched(network: &Network, settled: &Settled) -> Vec<Watched> {
    let mut all = Vec::new();
    let mut watch = |edge: u32, low: Volts, high: Volts, hair: Volts| {
        let conductance = network.conductance[edge as usize];
        let (ends, across) = (settled.ends[edge as usize], settled.across(edge));
        all.push(Watched { ends, across, low, high, conductance, hair });
    };
    for device in network.devices.iter().filter(|device| settle::awake(network, device.module)) {
        let (low, high) = settle::stays_between(device);
        watch(device.edge, low, high, ON_A_CORNER);
    }
    for coil in network.coils.iter().filter(|coil| coil.share > 0.0) {
        let limit = (if coil.pulled { coil.drop_out } else { coil.pull_in }) / coil.share;
        let across = settled.across(coil.edge);
        if limit > 0.0 && limit.is_finite() {
            match across {
                _ if across >= limit => watch(coil.edge, limit, f64::INFINITY, A_HAIR),
                _ if across <= -limit => watch(coil.edge, f64::NEG_INFINITY, -limit, A_HAIR),
                _ => watch(coil.edge, -limit, limit, A_HAIR),
            }
        }
    }
    all
}

/// Adds what wakes modules and holds their references down to what is watched. The answer is whether a meter may
/// move some of it in ways that the watch does not see.
fn watch_power(
    update: &mut Update<'_, '_>,
    network: &Network,
    settled: &Settled,
    all: &mut Vec<Watched>,
) -> bool {
    let mut undecided = false;
    let mut watch = |edge: u32, low: Volts, high: Volts| {
        let conductance = network.conductance[edge as usize];
        let (ends, across) = (settled.ends[edge as usize], settled.across(edge));
        all.push(Watched { ends, across, low, high, conductance, hair: A_HAIR });
    };
    for feed in &network.feeds {
        let module = network.modules.get(feed.module as usize);
        let (awake, wants) = module.map_or((false, false), |m| (m.awake, m.wants));
        let share = settle::share_of_feed(network, feed);
        let Some(wakes) = feed.wakes.filter(|_| (awake || wants) && share > 0.0) else { continue };
        let limit = wakes / share;
        if settled.across(feed.edge) < limit {
            watch(feed.edge, f64::NEG_INFINITY, limit);
            continue;
        }
        // What the outputs cost the feed moves with the meter too: twice that keeps it on the safe side.
        let low = limit + 2.0 * power::lacking(update, network, settled, feed, wakes).max(0.0) / share;
        undecided |= !awake || low.is_infinite();
        watch(feed.edge, low, f64::INFINITY);
    }
    for reference in &network.references {
        let device = &network.devices[reference.device];
        let best = power::best_feed(network, settled, device.module);
        if let Some((feed, _)) = best.filter(|_| settle::awake(network, device.module)) {
            let share = settle::share_of_feed(network, feed);
            undecided |= device.volts != reference.wanted || share <= 0.0;
            watch(feed.edge, reference.wanted / share, f64::INFINITY);
        }
    }
    undecided
}
