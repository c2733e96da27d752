//! A hand-held meter: what it shows of a value, in its own digits, with its own error.

use crate::outside::random::Random;

/// Share of a reading by which a meter may be off.
pub const SHARE: f64 = 0.01;
/// Units of the last digit by which it may be off besides.
pub const DIGITS: f64 = 2.0;

/// A meter with its own gain; the digits are drawn anew at each reading.
#[derive(Clone, Copy, Debug)]
pub struct Hand {
    /// Counts of a range: 2,000 is 3½ digits, 6,000 goes as 4.
    counts: f64,
    gain: f64,
}

/// What a meter shows.
#[derive(Clone, PartialEq, Debug)]
pub struct Shown {
    /// As it is written down: `0.235 V`, `47.1 kohm`, `OL`.
    pub text: String,
    /// The same as a number, in volts or ohms; infinite for OL.
    pub value: f64,
    /// Least and most that the value may be.
    pub within: (f64, f64),
    /// Least and most that were seen, where it wanders.
    pub wanders: Option<(f64, f64)>,
}

impl Hand {
    /// A meter out of the drawer.
    pub fn draw(random: &mut Random) -> Hand {
        let counts = if random.unit() < 0.5 { 2_000.0 } else { 6_000.0 };
        Hand { counts, gain: random.between(-SHARE, SHARE) }
    }

    /// Volts.
    pub fn volts(&self, random: &mut Random, value: f64) -> Shown {
        let first = if self.counts < 5_000.0 { 0.2 } else { 0.6 };
        let (read, digit) = self.read(random, value, first, 1e3 * first);
        let text = match digit {
            d if d < 0.000_5 => format!("{:.1} mV", read * 1e3),
            d if d < 0.005 => format!("{read:.3} V"),
            d if d < 0.05 => format!("{read:.2} V"),
            _ => format!("{read:.1} V"),
        };
        Shown { text, value: read, within: off(read, digit), wanders: None }
    }

    /// Volts where nothing holds the leads: hum and what the hand brings with it, some tens of millivolts.
    pub fn wander(&self, random: &mut Random) -> Shown {
        let low = random.between(-0.02, 0.02);
        let high = low + random.log(0.03, 0.3);
        let text = format!("between {low:.3} V and {high:.3} V");
        Shown { text, value: 0.5 * (low + high), within: (low, high), wanders: Some((low, high)) }
    }

    /// Ohms.
    pub fn ohms(&self, random: &mut Random, value: f64) -> Shown {
        let (first, most) = if self.counts < 5_000.0 { (200.0, 20e6) } else { (600.0, 60e6) };
        if value >= most {
            let within = (most, f64::INFINITY);
            return Shown { text: "OL".to_owned(), value: f64::INFINITY, within, wanders: None };
        }
        let (read, digit) = self.read(random, value, first, most);
        let read = read.max(0.0);
        let text = match digit {
            d if d < 0.5 => format!("{read:.1} ohm"),
            d if d < 5.0 => format!("{:.3} kohm", read / 1e3),
            d if d < 50.0 => format!("{:.2} kohm", read / 1e3),
            d if d < 500.0 => format!("{:.1} kohm", read / 1e3),
            d if d < 5_000.0 => format!("{:.3} Mohm", read / 1e6),
            _ => format!("{:.2} Mohm", read / 1e6),
        };
        Shown { text, value: read, within: off(read, digit), wanders: None }
    }

    /// The value with the meter's error, rounded to the digit of its range; ranges go by tens.
    fn read(&self, random: &mut Random, value: f64, first: f64, most: f64) -> (f64, f64) {
        let mut range = first;
        while value.abs() >= range && range < most {
            range *= 10.0;
        }
        let digit = range / self.counts;
        let wrong = value * (1.0 + self.gain) + random.between(-DIGITS, DIGITS) * digit;
        // Rounded by the decimals shown, so that the text and the number are one.
        let read = (wrong / digit).round() * digit;
        (read, digit)
    }
}

/// What a shown value may stand for.
fn off(read: f64, digit: f64) -> (f64, f64) {
    let wide = SHARE * read.abs() / (1.0 - SHARE) + (DIGITS + 0.5) * digit;
    (read - wide, read + wide)
}

/// The same number with its point in another place, as it is written down wrongly.
pub fn misplaced(random: &mut Random, shown: &Shown) -> Shown {
    let factor = if random.unit() < 0.5 { 10.0 } else { 0.1 };
    let Some((number, unit)) = shown.text.split_once(' ') else { return shown.clone() };
    let (Ok(number), None) = (number.parse::<f64>(), shown.wanders) else { return shown.clone() };
    let text = format!("{} {unit}", (number * factor * 1e4).round() / 1e4);
    let value = shown.value * factor;
    Shown { text, value, within: (shown.within.0 * factor, shown.within.1 * factor), wanders: None }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_lies_within_what_it_may_stand_for() {
        let mut random = Random::new(5);
        for _ in 0..2_000 {
            let hand = Hand::draw(&mut random);
            let volts = random.log(1e-3, 30.0);
            let shown = hand.volts(&mut random, volts);
            assert!(shown.within.0 <= volts && volts <= shown.within.1, "{volts} shown as {shown:?}");
            let ohms = random.log(0.1, 1e7);
            let shown = hand.ohms(&mut random, ohms);
            assert!(shown.within.0 <= ohms && ohms <= shown.within.1, "{ohms} shown as {shown:?}");
        }
    }

    #[test]
    fn a_meter_shows_its_own_digits() {
        let hand = Hand { counts: 2_000.0, gain: 0.0 };
        let mut random = Random::new(1);
        assert!(hand.volts(&mut random, 0.1).text.ends_with(" mV"));
        assert_eq!(hand.volts(&mut random, 12.4).text.split('.').nth(1).map(str::len), Some("40 V".len()));
        assert_eq!(hand.ohms(&mut random, 1e9).text, "OL");
    }
}
