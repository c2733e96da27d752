//! Minutes of each move from the present set-up.

use halfsplit_circuit::Minutes;

use super::Hunt;
use crate::search::Set;

impl Hunt<'_, '_> {
    /// Whether a place, or one that shares its way in, was reached.
    fn is_open(&self, reached: Set, place: usize) -> bool {
        let access = &self.ground.places[place].access;
        reached.contains(place)
            || !access.is_empty() && reached.iter().any(|p| &self.ground.places[p].access == access)
    }

    /// Minutes to get to a place.
    pub(super) fn reaching(&self, reached: Set, place: usize) -> Minutes {
        if place == self.ground.home_place {
            0.0
        } else if reached.contains(place) {
            self.ground.costs.again
        } else if self.is_open(reached, place) {
            0.0
        } else {
            self.ground.places[place].reach
        }
    }

    /// Minutes to get to a connector and part it.
    pub(super) fn parting(&self, reached: Set, tap: usize) -> Minutes {
        let tap = &self.ground.taps[tap];
        let connector = self.bench.circuit.connector(tap.connector);
        if !self.is_open(reached, tap.place) {
            return self.ground.places[tap.place].reach + connector.parting.unwrap_or(0.0);
        }
        let again = connector.repart.unwrap_or(self.ground.costs.repart);
        if tap.inline { again } else { connector.parting.unwrap_or(again) }
    }

    /// Minutes to mate a connector again.
    pub(super) fn remating(&self, tap: usize) -> Minutes {
        let again = self.bench.circuit.connector(self.ground.taps[tap].connector).repart;
        self.ground.costs.remate.unwrap_or(again.unwrap_or(self.ground.costs.repart))
    }

    /// The least that any move can cost.
    pub(super) fn cheapest(&self) -> Minutes {
        let everywhere = Set::first(self.ground.places.len());
        let parting = (0..self.ground.taps.len()).map(|t| self.parting(everywhere, t));
        let probes = self.ground.probes.iter().map(|p| p.extra);
        let looks = self.ground.looks.iter().map(|seen| seen.look.extra);
        let mut small = Vec::new();
        if self.ground.allowed.load {
            small.push(self.ground.costs.load);
        }
        if !self.ground.fuses.is_empty() {
            small.extend([self.ground.costs.key, self.ground.costs.repart]);
        }
        if self.ground.allowed.ohms && self.ground.blacks.len() > 1 {
            small.push(self.ground.costs.black);
        }
        let least = parting.chain(probes).chain(looks).chain(small).fold(f64::INFINITY, f64::min);
        if least.is_finite() { least } else { 0.0 }
    }
}
