//! Generators hold the volts at their sense point.
//!
//! The volts there grow with the excitation, piece by piece in a straight line, so that the
//! secant of the last two steps soon meets the wanted figure.

use super::network::{Network, Piece};
use super::settle::Settled;
use crate::Volts;

/// Near enough.
const CLOSE: Volts = 1e-9;

/// Near enough where the sense point is held by so little that rounding moves it.
const LOOSE: Volts = 1e-3;

/// Turns every regulator one step; false if all are where they want to be.
pub(super) fn regulate(network: &mut Network, settled: &Settled, round: usize) -> bool {
    let close = if round < 60 { CLOSE } else { LOOSE };
    let mut moved = false;
    for index in 0..network.regulators.len() {
        let mut it = network.regulators[index];
        let device = network.devices[it.device];
        let (a, b) = settled.ends[device.edge as usize];
        let at = |place: u32| settled.volts[place as usize] - settled.volts[b as usize];
        let (own, sensed) = (at(a), at(it.sense));
        let mut excitation = device.volts;
        if it.sensing && sensed < it.lost {
            (it.sensing, it.before) = (false, None);
            excitation = it.fallback;
        } else {
            let shortfall = if it.sensing { it.wanted - sensed } else { it.fallback - own };
            let shortfall = shortfall.min(it.ceiling - own);
            // More excitation than this moves nothing: it gives all it has, or the battery holds it off.
            let done = match device.piece {
                Piece::Most => shortfall >= 0.0,
                Piece::Least => shortfall <= 0.0,
                _ => shortfall.abs() <= close,
            };
            if !done {
                let slope = it.before.map(|(at, lacked)| (lacked - shortfall) / (excitation - at));
                let slope = slope.filter(|slope| slope.is_finite()).unwrap_or(1.0).clamp(0.02, 1.0);
                it.before = Some((excitation, shortfall));
                excitation += shortfall / slope;
            }
        }
        if excitation != device.volts {
            network.devices[it.device].volts = excitation;
            moved = true;
        }
        network.regulators[index] = it;
    }
    moved
}
