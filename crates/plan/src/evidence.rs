//! A line of evidence, and how likely each way to fail makes it.
//!
//! A reading is an interval: the digits as typed. What a hypothesis predicts is a distribution: flat over its
//! stretch of resistance, blurred by tolerances and by the meter. The likelihood is the one's share of the other.

use halfsplit_circuit::{
    BranchId, Circuit, Fault, Meter, Quantity, ReadError, Solution, State, meter::OVERLOAD,
};

use crate::complaint::{Complaint, draw, shows};
use crate::facts::Fact;
use crate::hunt::Taken;
use crate::judge::{self, Drive};
use crate::plan::Sense;
use crate::predict::{Predicted, Predictor, is_jump};

/// What one line says.
#[derive(Clone, Debug)]
pub(crate) enum Said {
    /// The meter showed this, least and most; infinite ohms is OL.
    Reads { leads: Meter, reads: [f64; 2] },
    /// The meter showed something that is not sound: outside this interval.
    Wrong { leads: Meter, sound: [f64; 2] },
    /// The meter wandered: no volts of its own hold the pin.
    Floats { leads: Meter },
    /// Something is known.
    Fact(Fact),
    /// Something is complained of.
    Complaint(Complaint),
}

/// A line of evidence, in its own state.
#[derive(Clone, Debug)]
pub(crate) struct Line {
    pub state: State,
    pub said: Said,
}

/// Least density of a reading that a hypothesis predicts elsewhere, as a share of the whole scale: a meter's
/// accuracy has tails.
const TAIL: f64 = 1e-5;
/// Amperes that a clamp may be off beside its share (own estimate).
const CLAMP: f64 = 0.003;
/// Share of a hypothesis without a steady reading that shows a steady one all the same (own estimate).
const UNSTEADY: f64 = 0.3;

/// Share of what switches on and off without end that is told as on, or as off (own estimate).
const CHATTERS: f64 = 0.1;

/// Share of a stretch with a jump in it that reads between its ends (own estimate).
const BETWEEN: f64 = 0.05;

/// Volts that a meter picks up, either way, where nothing else holds it (own estimate).
const GHOSTS: f64 = 0.3;

/// How likely a line is made.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Weight {
    /// As it stands.
    pub fits: f64,
    /// By a slip: another digit place, another key position, a plug thought parted, the cavity beside.
    pub slip: f64,
}

/// Share of slips that put a reading into the digit place above or below (own estimate).
const DIGIT: f64 = 0.2;

impl Line {
    /// Whether it is something known, and no reading.
    pub fn is_fact(&self) -> bool {
        matches!(self.said, Said::Fact(_))
    }

    /// Whether it was seen or heard, so that it holds or does not hold.
    pub fn is_seen(&self) -> bool {
        match self.said {
            Said::Fact(_) => true,
            Said::Complaint(Complaint::Draws(_)) => false,
            Said::Complaint(_) => true,
            _ => false,
        }
    }

    /// The meters that tell this line, and the loads that it is about; `None` where that is the whole circuit.
    pub fn looks_at(&self, circuit: &Circuit) -> Option<(Vec<Meter>, Vec<BranchId>)> {
        let loads = match &self.said {
            Said::Reads { leads, .. } | Said::Wrong { leads, .. } | Said::Floats { leads } => {
                return Some((vec![*leads], Vec::new()));
            }
            Said::Fact(fact) => fact.loads(circuit)?,
            Said::Complaint(Complaint::Dead(part) | Complaint::Weak(part) | Complaint::StaysOn(part)) => {
                judge::loads(circuit, *part).collect()
            }
            Said::Complaint(_) => return None,
        };
        let over = |&id: &BranchId| Meter::volts(circuit.branch(id).a, circuit.branch(id).b);
        Some((loads.iter().map(over).collect(), loads))
    }

    /// The reading or looks that this line is, not to be taken again.
    pub fn taken(&self, circuit: &Circuit) -> Vec<Taken> {
        let taken = |leads, sense| Taken { state: self.state.clone(), leads, sense };
        match &self.said {
            Said::Reads { leads, .. } | Said::Wrong { leads, .. } | Said::Floats { leads } => {
                vec![taken(Some(*leads), Sense::Meter)]
            }
            Said::Fact(fact) => fact.senses(circuit).into_iter().map(|sense| taken(None, sense)).collect(),
            Said::Complaint(Complaint::Dead(part)) => vec![taken(None, Sense::Works(Drive::Part(*part)))],
            Said::Complaint(_) => Vec::new(),
        }
    }

    /// How likely the line is where nothing particular is predicted.
    pub fn anywhere(&self) -> f64 {
        match &self.said {
            Said::Reads { leads, reads } => {
                let quantity = leads.quantity();
                anywhere(quantity, *reads, self.scale(quantity, *reads))
            }
            _ => 0.5,
        }
    }

    /// How likely each stretch makes this line, as it stands and by a slip.
    pub fn weights(
        &self,
        predictor: &Predictor<'_>,
        stretches: &[Vec<Vec<Fault>>],
    ) -> Result<Vec<Weight>, ReadError> {
        let any = self.anywhere();
        let (Said::Reads { leads, reads: [low, high] }, Some(reads)) = (&self.said, self.finite()) else {
            let fits = self.likelihoods(predictor, stretches)?;
            return Ok(fits.into_iter().map(|fits| Weight { fits, slip: any }).collect());
        };
        let places = [[*low, *high], reads.map(|read| read * 10.0), reads.map(|read| read * 0.1)];
        let found = self.of_readings(predictor, stretches, *leads, &places);
        let weight = |own: Vec<f64>| {
            // A digit place shifts the bin with it.
            let slip = (1.0 - 2.0 * DIGIT) * any + DIGIT * (own[1] / 10.0 + own[2] * 10.0).min(1.0);
            Weight { fits: own[0], slip }
        };
        Ok(found.into_iter().map(weight).collect())
    }

    /// What was read, where it is a number.
    fn finite(&self) -> Option<[f64; 2]> {
        match self.said {
            Said::Reads { reads, .. } if reads.iter().all(|read| read.is_finite()) => Some(reads),
            _ => None,
        }
    }

    /// How likely each row of ends makes each of several readings at the same place.
    fn of_readings(
        &self,
        predictor: &Predictor<'_>,
        stretches: &[Vec<Vec<Fault>>],
        leads: Meter,
        readings: &[[f64; 2]],
    ) -> Vec<Vec<f64>> {
        let (rows, places) = once_each(stretches);
        let quantity = leads.quantity();
        let found = self.read_near(predictor, &rows, &places, leads, readings);
        let one = |own: &Vec<usize>| {
            let ends: Vec<Option<Predicted>> = own.iter().map(|&row| found[row]).collect();
            let each = readings.iter();
            each.map(|reads| likelihood(&ends, quantity, *reads, self.scale(quantity, *reads))).collect()
        };
        places.iter().map(one).collect()
    }

    /// How likely each row of ends makes this line; one or two sets of faults stand for a stretch.
    pub fn likelihoods(
        &self,
        predictor: &Predictor<'_>,
        stretches: &[Vec<Vec<Fault>>],
    ) -> Result<Vec<f64>, ReadError> {
        let (rows, places) = once_each(stretches);
        match &self.said {
            Said::Reads { leads, reads } => {
                let found = self.of_readings(predictor, stretches, *leads, &[*reads]);
                Ok(found.into_iter().flatten().collect())
            }
            Said::Wrong { leads, sound } => {
                let found = predictor.nominal(&self.state, &rows, &[*leads]);
                let is_sound = |row: usize| {
                    found[row].is_some_and(|cell| sound[0] <= cell.nominal && cell.nominal <= sound[1])
                };
                Ok(shares(&places, |row| if is_sound(row) { 0.0 } else { 1.0 }))
            }
            Said::Floats { leads } => {
                let found = predictor.nominal(&self.state, &rows, &[*leads]);
                let floats = |row: usize| found[row].is_some_and(|cell| cell.floating);
                Ok(shares(&places, |row| if floats(row) { 1.0 } else { 0.0 }))
            }
            Said::Complaint(Complaint::Draws(amps)) => {
                let solver = predictor.solver();
                let mut found = Vec::with_capacity(rows.len());
                for faults in &rows {
                    found.push(match solver.solve(&self.state, faults) {
                        Ok(solution) => {
                            let nominal = draw(solver.circuit(), &solution);
                            Some(Predicted {
                                nominal,
                                spread: 0.05 * nominal.abs(),
                                jump: None,
                                floating: false,
                            })
                        }
                        Err(ReadError::NoStableState { .. } | ReadError::TwoStableStates { .. }) => None,
                        Err(error) => return Err(error),
                    });
                }
                let reads = [0.97 * amps - CLAMP, 1.03 * amps + CLAMP];
                let one = |own: &Vec<usize>| {
                    let ends: Vec<Option<Predicted>> = own.iter().map(|&row| found[row]).collect();
                    likelihood(&ends, Quantity::Volts, reads, 10.0)
                };
                Ok(places.iter().map(one).collect())
            }
            Said::Fact(_) | Said::Complaint(_) => {
                let solver = predictor.solver();
                let sound = solver.solve(&self.state, &[])?;
                let mut agrees = Vec::with_capacity(rows.len());
                for faults in &rows {
                    agrees.push(match solver.solve(&self.state, faults) {
                        Ok(solution) => {
                            let holds = self.holds(predictor, faults, &solution, &sound)?;
                            if holds { 1.0 } else { 0.0 }
                        }
                        // Now on, now off: either may have been seen, but who saw it would say so.
                        Err(ReadError::NoStableState { .. } | ReadError::TwoStableStates { .. }) => CHATTERS,
                        Err(error) => return Err(error),
                    });
                }
                Ok(shares(&places, |row| agrees[row]))
            }
        }
    }

    fn holds(
        &self,
        predictor: &Predictor<'_>,
        faults: &[Fault],
        found: &Solution,
        sound: &Solution,
    ) -> Result<bool, ReadError> {
        match &self.said {
            Said::Fact(fact) => fact.agrees(predictor.solver(), &self.state, faults, found, sound),
            Said::Complaint(complaint) => {
                shows(predictor.solver(), &self.state, *complaint, found, sound, faults)
            }
            _ => Ok(true),
        }
    }

    /// Readings of all rows; with tolerances for the stretches that come near what was read.
    fn read_near(
        &self,
        predictor: &Predictor<'_>,
        rows: &[Vec<Fault>],
        places: &[Vec<usize>],
        leads: Meter,
        readings: &[[f64; 2]],
    ) -> Vec<Option<Predicted>> {
        let mut found = predictor.nominal(&self.state, rows, &[leads]);
        let mut near: Vec<usize> = Vec::new();
        for own in places {
            let (low, high) = hull(own.iter().filter_map(|&row| found[row]).map(|cell| cell.nominal));
            let room = |value: f64| 0.3 + 0.2 * value.abs();
            let near_by = |reads: &[f64; 2]| low - room(low) <= reads[1] && reads[0] <= high + room(high);
            if readings.iter().any(near_by) {
                near.extend(own);
            }
        }
        near.sort_unstable();
        near.dedup();
        let close: Vec<Vec<Fault>> = near.iter().map(|&row| rows[row].clone()).collect();
        for (&row, cell) in near.iter().zip(predictor.spread(&self.state, &close, &[leads])) {
            found[row] = cell;
        }
        found
    }

    /// The whole scale on which a reading could have come.
    pub fn scale(&self, quantity: Quantity, reads: [f64; 2]) -> f64 {
        match quantity {
            Quantity::Ohms => {
                // As likely in one decade as in the next, twelve of them.
                let middle = (reads[0] * reads[1]).abs().sqrt().max(0.1);
                if middle.is_finite() { middle * 12.0 * std::f64::consts::LN_10 } else { 1.0 }
            }
            // As likely in one decade as in the next, five of them.
            Quantity::Amps => (0.5 * (reads[0] + reads[1]).abs()).max(0.1) * 5.0 * std::f64::consts::LN_10,
            Quantity::Volts => self.state.supply().unwrap_or(12.0).abs().max(6.0) * 1.2,
        }
    }
}

/// Every set of faults once where stretches follow each other, and for each stretch the places of its ends.
fn once_each(stretches: &[Vec<Vec<Fault>>]) -> (Vec<Vec<Fault>>, Vec<Vec<usize>>) {
    let mut rows: Vec<Vec<Fault>> = Vec::new();
    let mut places = Vec::with_capacity(stretches.len());
    for ends in stretches {
        let mut own = Vec::with_capacity(ends.len());
        for faults in ends {
            if rows.last() != Some(faults) {
                rows.push(faults.clone());
            }
            own.push(rows.len() - 1);
        }
        places.push(own);
    }
    (rows, places)
}

/// For each stretch the mean over its ends.
fn shares(places: &[Vec<usize>], of: impl Fn(usize) -> f64) -> Vec<f64> {
    let mean = |own: &Vec<usize>| own.iter().map(|&row| of(row)).sum::<f64>() / own.len() as f64;
    places.iter().map(mean).collect()
}

/// How likely a reading is where nothing particular is predicted.
pub(crate) fn anywhere(quantity: Quantity, reads: [f64; 2], scale: f64) -> f64 {
    if !reads[0].is_finite() || !reads[1].is_finite() {
        return 0.2;
    }
    (bin(quantity, reads) / scale).min(1.0)
}

/// What a typed reading leaves open: its digits, or the whole of what was seen.
fn bin(quantity: Quantity, reads: [f64; 2]) -> f64 {
    (reads[1] - reads[0]).max(1e-3 * judge::meter_off(quantity, reads[0]))
}

fn hull(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)))
}

fn likelihood(ends: &[Option<Predicted>], quantity: Quantity, reads: [f64; 2], scale: f64) -> f64 {
    let anywhere = anywhere(quantity, reads, scale);
    let steady: Vec<Predicted> = ends.iter().copied().flatten().collect();
    if steady.is_empty() {
        return UNSTEADY * anywhere;
    }
    let over = |value: f64| quantity == Quantity::Ohms && value >= OVERLOAD;
    if reads[0].is_infinite() || reads[1].is_infinite() {
        let share = steady.iter().filter(|cell| over(cell.nominal)).count() as f64 / steady.len() as f64;
        return share.max(TAIL);
    }
    let (low, high) = hull(steady.iter().map(|cell| cell.nominal));
    if !low.is_finite() {
        return TAIL * anywhere;
    }
    let (high, open) = if high.is_finite() { (high, 1.0) } else { (low, 0.5) };
    let spread = steady.iter().map(|cell| cell.spread).fold(0.0, f64::max);
    let floats = steady.iter().all(|cell| cell.floating) && quantity == Quantity::Volts;
    // Limits are taken as twice the deviation that is usual.
    let middle = 0.5 * (reads[0] + reads[1]);
    let deviation = 0.5 * (spread.powi(2) + judge::meter_off(quantity, middle).powi(2)).sqrt();
    let half = 0.5 * bin(quantity, reads);
    let read = [middle - half, middle + half];
    let near = |low: f64, high: f64| open * flat_blurred(read, low, high, deviation.max(1e-9));
    let fits = match quantity == Quantity::Volts && is_jump(low, high) {
        // Somewhere along it a relay or a module goes on or off: what lies between is hardly ever read.
        true => BETWEEN * near(low, high) + 0.5 * (1.0 - BETWEEN) * (near(low, low) + near(high, high)),
        false => near(low, high),
    };
    // Where a relay may stand either way the one is as likely as the other.
    let jumps: Vec<f64> = steady.iter().filter_map(|cell| cell.jump).collect();
    let fits = match jumps.is_empty() {
        true => fits,
        false => {
            let (least, most) = hull(jumps.into_iter());
            0.5 * fits + 0.5 * near(least, most)
        }
    };
    let fits = match floats {
        // The hand and the neighbours hold such a pin as much as the circuit does.
        true => 0.5 * near(low - GHOSTS, high + GHOSTS) + 0.4 * fits + 0.1 * anywhere,
        false => fits,
    };
    (1.0 - TAIL) * fits + TAIL * anywhere
}

/// Share of a flat stretch from `low` to `high`, blurred by a normal deviation, that falls between two values.
fn flat_blurred(between: [f64; 2], low: f64, high: f64, deviation: f64) -> f64 {
    let z = |value: f64, edge: f64| (value - edge) / deviation;
    let share = if high - low < 1e-3 * deviation {
        let middle = 0.5 * (low + high);
        below(z(between[1], middle)) - below(z(between[0], middle))
    } else {
        // The integral of a normal share is z Φ(z) + φ(z).
        let sum = |z: f64| z * below(z) + (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt();
        let up_to = |value: f64| sum(z(value, low)) - sum(z(value, high));
        (up_to(between[1]) - up_to(between[0])) * deviation / (high - low)
    };
    share.clamp(0.0, 1.0)
}

/// Share of a normal distribution below a deviation (Abramowitz and Stegun 7.1.26, error under 2e-7).
fn below(z: f64) -> f64 {
    let x = z.abs() / std::f64::consts::SQRT_2;
    let t = 1.0 / (1.0 + 0.327_591_1 * x);
    let poly = t
        * (0.254_829_592
            + t * (-0.284_496_736 + t * (1.421_413_741 + t * (-1.453_152_027 + t * 1.061_405_429))));
    let tail = 0.5 * poly * (-x * x).exp();
    if z >= 0.0 { 1.0 - tail } else { tail }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(nominal: f64, spread: f64) -> Option<Predicted> {
        Some(Predicted { nominal, spread, jump: None, floating: false })
    }

    /// Over all readings that a meter can show a stretch's likelihoods add up to one.
    #[test]
    fn likelihoods_add_up() {
        for ends in [vec![at(4.9, 0.05)], vec![at(1.0, 0.02), at(3.0, 0.1)]] {
            let step = 0.01;
            let whole: f64 = (-200..1400)
                .map(|n| {
                    let low = f64::from(n) * step;
                    likelihood(&ends, Quantity::Volts, [low, low + step], 14.0)
                })
                .sum();
            assert!((whole - 1.0).abs() < 0.01, "{whole}");
        }
    }

    #[test]
    fn a_coarse_reading_excludes_less() {
        let ends = [at(0.025, 0.001)];
        let fits = |reads| likelihood(&ends, Quantity::Volts, reads, 14.0);
        assert!(fits([-0.05, 0.05]) > 0.9);
        assert!(fits([-0.0005, 0.0005]) < 1e-6);
    }

    #[test]
    fn the_normal_share() {
        assert!((below(0.0) - 0.5).abs() < 1e-6);
        assert!((below(1.96) - 0.975).abs() < 1e-4);
        assert!((below(-1.0) - 0.158_655).abs() < 1e-5);
    }
}
