//! Which points hang together.

use super::network::{JOINED, Network};
use super::settle::Settled;

/// Which positions are joined to which.
pub(crate) struct Islands(Vec<u32>);

impl Islands {
    /// Positions that nothing joins yet.
    pub(crate) fn apart(positions: usize) -> Islands {
        Islands((0..positions as u32).collect())
    }

    /// Islands of a settled network by anything better than 1 GΩ, its last `meter` edges left out.
    pub(crate) fn of(network: &Network, settled: &Settled, meter: usize) -> Islands {
        let mut islands = Islands::apart(settled.volts.len());
        let edges = settled.ends.len() - meter;
        for (&ends, &conductance) in settled.ends[..edges].iter().zip(&network.conductance) {
            if conductance >= JOINED {
                islands.join(ends);
            }
        }
        islands.flatten();
        islands
    }

    /// Joins two positions.
    pub(crate) fn join(&mut self, (a, b): (u32, u32)) {
        let (a, b) = (self.root(a), self.root(b));
        self.0[a as usize] = b;
    }

    /// Makes [`Islands::same`] right; to be called once everything is joined.
    pub(crate) fn flatten(&mut self) {
        for place in 0..self.0.len() as u32 {
            self.0[place as usize] = self.root(place);
        }
    }

    fn root(&mut self, mut place: u32) -> u32 {
        while self.0[place as usize] != place {
            let next = self.0[self.0[place as usize] as usize];
            self.0[place as usize] = next;
            place = next;
        }
        place
    }

    /// Whether two positions are joined.
    pub(crate) fn same(&self, a: usize, b: usize) -> bool {
        self.0[a] == self.0[b]
    }
}
