//! What confirmed causes of other cars do to the weights.
//!
//! Dirichlet smoothing with α = ½ for every unit, spread as the weights of the file are: a unit that was never
//! at fault keeps a chance, and only confirmed repairs count (rule and worked figures: COMPUTED).

use halfsplit_circuit::PartId;

/// Pseudo-counts for each unit.
pub const ALPHA: f64 = 0.5;

/// A confirmed cause.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Seen {
    /// The part that was at fault.
    pub part: PartId,
    /// How, in the words of whoever confirmed it.
    pub mode: String,
}

/// What the confirmed causes did to a plan's weights.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Learned {
    /// Confirmed causes among the suspects.
    pub cases: usize,
    /// Share of all weights that came from them.
    pub share: f64,
}

/// New shares from old ones and counts: `(½ K p + n) / (½ K + N)` for K units. With equal old shares
/// that is `(n + ½) / (N + K/2)`. Shares add up to the same as before.
pub fn moved(shares: &[f64], counts: &[f64]) -> Vec<f64> {
    let whole: f64 = shares.iter().sum();
    let strength = ALPHA * shares.len() as f64;
    let seen: f64 = counts.iter().sum();
    if whole <= 0.0 || seen <= 0.0 {
        return shares.to_vec();
    }
    let one = |(share, count): (&f64, &f64)| (strength * share / whole + count) / (strength + seen) * whole;
    shares.iter().zip(counts).map(one).collect()
}

/// Words that say which way a thing fails.
const WAYS: [&[&str]; 2] = [
    &["short", "rubbed", "touching", "bridged", "chafed", "leak"],
    &["open", "resistive", "broken", "spread", "weak"],
];

/// Whether two descriptions are of the same way to fail.
pub(crate) fn alike(one: &str, other: &str) -> bool {
    let way = |mode: &str| WAYS.iter().position(|words| words.iter().any(|w| mode.contains(w)));
    one == other || way(one).is_some() && way(one) == way(other)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked figures, COMPUTED: counts 7, 2, 1, 0 with α = ½ each.
    #[test]
    fn counts_over_equal_shares() {
        let shares = moved(&[0.25; 4], &[7.0, 2.0, 1.0, 0.0]);
        for (share, wanted) in shares.iter().zip([0.6250, 0.2083, 0.1250, 0.0417]) {
            assert!((share - wanted).abs() < 5e-5, "{share} for {wanted}");
        }
    }

    /// The same counts over shares .4 .3 .2 .1: of their weight of two cases each keeps its part.
    #[test]
    fn counts_over_unequal_shares_keep_the_sum() {
        let shares = moved(&[4.0, 3.0, 2.0, 1.0], &[7.0, 2.0, 1.0, 0.0]);
        assert!((shares.iter().sum::<f64>() - 10.0).abs() < 1e-12);
        assert!((shares[0] - 10.0 * (0.8 + 7.0) / 12.0).abs() < 1e-12);
        assert!(shares[3] > 0.0);
    }

    #[test]
    fn ways_to_fail_are_compared_by_their_words() {
        assert!(alike("shorted inside", "shorted inside, X34:2 to X34:1"));
        assert!(alike("rubbed through to body", "touching W8"));
        assert!(!alike("open inside", "shorted inside"));
        assert!(!alike("worn", "shorted inside"));
    }
}
