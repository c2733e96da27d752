//! Expected readings.

use halfsplit_circuit::{BranchKind, Fault, Meter, PointId, Reading, State, meter};
use halfsplit_model::{
    Place,
    expect::{Band, Said, WantKind},
};

use super::{Bench, Unreadable};

/// Share by which a single value may differ (the worked scenarios' own allowance).
const SHARE: f64 = 0.05;

impl Bench<'_> {
    /// Nothing where the reading is as expected; else what the meter shows instead.
    pub(super) fn reading(
        &self,
        state: &State,
        faults: &[Fault],
        kind: &WantKind,
    ) -> Result<Option<String>, Unreadable> {
        let (meter, band, red) = match kind {
            WantKind::Volts { red, black, band, load } => {
                (Meter::loaded(self.point(red)?, self.black(red, black.as_ref())?, *load), *band, red)
            }
            WantKind::Ohms { red, black, band } => {
                (Meter::ohms(self.point(red)?, self.black(red, black.as_ref())?), *band, red)
            }
            _ => return Ok(None),
        };
        let reading = meter::read(&self.model.circuit, state, faults, &meter)
            .map_err(|error| (red.place, error.to_string()))?;
        let met = match band {
            Band::Open(_) => reading.nominal.is_infinite(),
            Band::Between([low, high], _) => (low..=high).contains(&reading.nominal),
            Band::About(value, place) => self.is_about(value, place, &reading),
        };
        Ok((!met).then(|| self.shown(&reading, band)))
    }

    fn black(&self, red: &Said, black: Option<&Said>) -> Result<PointId, Unreadable> {
        match black {
            Some(black) => self.point(black),
            None => self.model.circuit.negative.ok_or_else(|| {
                (red.place, "the circuit has no battery negative: write `to` and a pin".to_owned())
            }),
        }
    }

    fn is_about(&self, value: f64, place: Place, reading: &Reading) -> bool {
        let unit = Written::of(self.text(place), value);
        // A step more than the last digit, for what is lost in the arithmetic of a decimal number.
        let allowed = (value.abs() * SHARE).max(unit.step()) * (1.0 + 1e-6);
        let filament =
            || self.model.circuit.branches.iter().any(|b| matches!(b.kind, BranchKind::Lamp { .. }));
        (reading.nominal - value).abs() <= allowed
            || filament() && (reading.low..=reading.high).contains(&value)
    }

    /// The reading in the author's unit, a digit finer than he wrote.
    fn shown(&self, reading: &Reading, band: Band) -> String {
        let (value, place) = match band {
            Band::About(value, place) => (value, place),
            Band::Between([low, high], place) => (if low == 0.0 { high } else { low }, place),
            Band::Open(place) => (1.0, place),
        };
        let written = Written::of(self.text(place), value);
        let show = |value: f64| {
            if value.is_infinite() { "OL".to_owned() } else { written.show(value) }
        };
        let floats = if reading.floating { ", and nothing but the meter joins the leads" } else { "" };
        let [nominal, low, high] = [reading.nominal, reading.low, reading.high].map(show);
        format!("the circuit gives {nominal}, between {low} and {high} with all tolerances{floats}")
    }

    fn text(&self, place: Place) -> &str {
        self.files.get(place.file).text.get(place.span.range()).unwrap_or_default()
    }
}

/// How the author writes a value.
struct Written<'t> {
    decimals: usize,
    /// Base units in one of his.
    factor: f64,
    unit: &'t str,
}

impl<'t> Written<'t> {
    fn of(text: &'t str, value: f64) -> Written<'t> {
        let end = text.find(|c: char| c.is_alphabetic()).unwrap_or(text.len());
        let (number, unit) = (text[..end].trim(), text[end..].trim());
        let unit = unit.split_whitespace().next().unwrap_or_default();
        let decimals = number.split_once('.').map_or(0, |(_, behind)| behind.len());
        let parsed: f64 = number.parse().unwrap_or(0.0);
        let factor = if parsed != 0.0 && value != 0.0 { (value / parsed).abs() } else { 1.0 };
        Written { decimals, factor, unit }
    }

    /// One unit of the last written digit, in base units.
    fn step(&self) -> f64 {
        self.factor * 10_f64.powi(-(self.decimals as i32))
    }

    fn show(&self, value: f64) -> String {
        let unit = if self.unit == "OL" { "ohm" } else { self.unit };
        format!("{:.*} {unit}", self.decimals + 1, value / self.factor)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_written_digit_counts() {
        let millivolts = Written::of("1.8 mV", 0.001_8);
        assert!((millivolts.step() - 0.000_1).abs() < 1e-12);
        assert_eq!(millivolts.show(0.002_14), "2.14 mV");
        let volts = Written::of("12 V", 12.0);
        assert!((volts.step() - 1.0).abs() < 1e-12);
        assert_eq!(volts.show(10.82), "10.8 V");
    }
}
