//! What a reading amounts to, in the words of the trade.

use std::fmt;

use crate::{Amps, Quantity, Reading, Volts, current::CLAMP_COUNTS};

/// What a reading amounts to.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Class {
    /// Under a tenth of the nominal volts.
    NearZero,
    /// Clearly under what it should be.
    Low,
    /// As it should be.
    Good,
    /// Clearly over what it should be.
    High,
    /// Nothing holds the point: the reading wanders.
    Floating,
    /// Ohms of a short or of sound copper.
    Short,
    /// Ohms of something between a short and an open.
    Value,
    /// Ohms out of range.
    Overload,
}

/// Ohms under which two points count as joined. A convention of this crate.
pub const SHORT: f64 = 10.0;

impl Class {
    /// Class of volts. For a 5 V reference the bands are those of the trade
    /// (near zero under 0.5 V, good 4.75 to 5.25 V); other nominal volts in proportion.
    /// Where the healthy reading itself is far from nominal (a ground pin, a point behind a
    /// load) "good" is within 5 % of nominal about the healthy reading instead.
    pub fn of_volts(volts: Volts, healthy: Volts, nominal: Volts) -> Class {
        let slack = 0.05 * nominal;
        let centre = if (healthy - nominal).abs() <= slack { nominal } else { healthy };
        // A reading on the edge of a band belongs to the better class.
        let hair = 1e-9 * nominal;
        if (volts - centre).abs() <= slack + hair {
            Class::Good
        } else if volts > centre {
            Class::High
        } else if volts < 0.1 * nominal {
            Class::NearZero
        } else {
            Class::Low
        }
    }

    /// Class of an amount of current that is not sound, beside what a sound circuit carries there.
    pub fn of_amps(amps: Amps, sound: Amps) -> Class {
        if amps > sound {
            Class::High
        } else if amps <= CLAMP_COUNTS {
            Class::NearZero
        } else {
            Class::Low
        }
    }

    /// Class of ohms.
    pub fn of_ohms(ohms: f64) -> Class {
        if ohms.is_infinite() {
            Class::Overload
        } else if ohms < SHORT {
            Class::Short
        } else {
            Class::Value
        }
    }

    /// Class of a reading at its nominal value, against what a healthy car reads.
    pub fn of(reading: &Reading, healthy: Volts, nominal: Volts) -> Class {
        match reading.quantity {
            Quantity::Ohms => Class::of_ohms(reading.nominal),
            // A current is sound where it lies within its own interval: [`Class::of_amps`] for whoever has both.
            Quantity::Amps => Class::Value,
            Quantity::Volts if reading.floating => Class::Floating,
            Quantity::Volts => Class::of_volts(reading.nominal, healthy, nominal),
        }
    }
}

impl fmt::Display for Class {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Class::NearZero => "near zero",
            Class::Low => "low",
            Class::Good => "good",
            Class::High => "high",
            Class::Floating => "floating",
            Class::Short => "short",
            Class::Value => "value",
            Class::Overload => "OL",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn five_volt_bands() {
        let class = |volts| Class::of_volts(volts, 4.99, 5.0);
        assert_eq!(class(0.49), Class::NearZero);
        assert_eq!(class(0.5), Class::Low);
        assert_eq!(class(4.74), Class::Low);
        assert_eq!(class(4.75), Class::Good);
        assert_eq!(class(5.25), Class::Good);
        assert_eq!(class(5.26), Class::High);
    }

    #[test]
    fn a_ground_pin_is_good_at_zero() {
        assert_eq!(Class::of_volts(0.002, 0.001, 5.0), Class::Good);
        assert_eq!(Class::of_volts(0.4, 0.001, 5.0), Class::High);
    }

    #[test]
    fn ohms() {
        assert_eq!(Class::of_ohms(1.8), Class::Short);
        assert_eq!(Class::of_ohms(47e3), Class::Value);
        assert_eq!(Class::of_ohms(f64::INFINITY), Class::Overload);
    }
}
