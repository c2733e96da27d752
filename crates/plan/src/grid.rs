//! How bad a fault is: a distribution on a log grid over what its kind can have, never a point.
//!
//! Between its ends a kind's resistance is as likely in one decade as in the next; what stands beside that (a
//! clean break, a dead short) is a share of its own. All shares are own estimates: published failure tables count
//! modes, not ohms.

use halfsplit_circuit::Ohms;

/// Edges to a decade.
const STEPS: usize = 4;

/// A stretch of resistance and its share of the kind.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Cell {
    /// Least resistance; as the most where it is one value.
    pub low: Ohms,
    /// Most resistance; infinite is a clean break.
    pub high: Ohms,
    /// Share of all faults of this kind.
    pub share: f64,
}

impl Cell {
    /// The resistances that stand for the stretch.
    pub fn ends(self) -> impl Iterator<Item = Ohms> {
        [self.low, self.high].into_iter().take(if self.low == self.high { 1 } else { 2 })
    }

    /// The stretch in so many parts.
    pub fn split(self, parts: usize) -> Vec<Cell> {
        if self.low == self.high {
            return vec![self];
        }
        let ratio = (self.high / self.low).powf(1.0 / parts as f64);
        let share = self.share / parts as f64;
        (0..parts)
            .map(|at| {
                let low = self.low * ratio.powi(at as i32);
                Cell { low, high: low * ratio, share }
            })
            .collect()
    }
}

/// What sort of resistance a kind of fault has.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(crate) enum Range {
    /// Nothing to vary.
    Fixed,
    /// Added in a contact, wire or fuse: half of them clean breaks, the rest 20 mΩ to 2 MΩ.
    Added,
    /// Added in a heavy cable, its joints and contacts, or inside a battery: a third breaks, the rest from 2 mΩ.
    AddedHeavy,
    /// Inside a load: most are clean breaks, the rest stiff.
    Inside,
    /// A short or a leak: 5 mΩ to 100 kΩ, most of it below 20 Ω.
    Short,
    /// A contact or transistor that stays closed: 10 mΩ to 1 Ω, three in ten of them worse, to 30 Ω.
    Stuck,
    /// What unlisted equipment pulls through: 0.5 Ω to 20 kΩ.
    Sink,
}

impl Range {
    /// The grid; shares add up to one.
    pub fn cells(self) -> Vec<Cell> {
        let broken = |share| Cell { low: Ohms::INFINITY, high: Ohms::INFINITY, share };
        match self {
            Range::Fixed => vec![Cell { low: 1.0, high: 1.0, share: 1.0 }],
            Range::Added => [decades(0.02, 2e6, 0.5), vec![broken(0.5)]].concat(),
            Range::AddedHeavy => [decades(0.002, 2e6, 0.67), vec![broken(0.33)]].concat(),
            Range::Inside => [decades(0.1, 2e6, 0.25), vec![broken(0.75)]].concat(),
            Range::Short => [decades(0.005, 20.0, 0.65), decades(20.0, 1e5, 0.35)].concat(),
            Range::Stuck => [decades(0.01, 1.0, 0.7), decades(1.0, 30.0, 0.3)].concat(),
            Range::Sink => decades(0.5, 2e4, 1.0),
        }
    }
}

fn decades(low: Ohms, high: Ohms, share: f64) -> Vec<Cell> {
    let parts = ((high / low).log10() * STEPS as f64).round().max(1.0) as usize;
    Cell { low, high, share }.split(parts)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_add_up_and_stretches_meet() {
        let all = [
            Range::Fixed,
            Range::Added,
            Range::AddedHeavy,
            Range::Inside,
            Range::Short,
            Range::Stuck,
            Range::Sink,
        ];
        for range in all {
            let cells = range.cells();
            let whole: f64 = cells.iter().map(|c| c.share).sum();
            assert!((whole - 1.0).abs() < 1e-9, "{range:?}: {whole}");
            for pair in cells.windows(2).filter(|pair| pair[1].low.is_finite()) {
                assert!((pair[0].high / pair[1].low - 1.0).abs() < 1e-9, "{range:?}");
            }
        }
    }
}
