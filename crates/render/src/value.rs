//! Values with their units, as a meter and a watch would show them.

use halfsplit_circuit::{Quantity, Reading};

/// Volts as a meter shows them: `4.99 V`, `0.235 V`, `1.8 mV`.
pub fn volts(volts: f64) -> String {
    let size = volts.abs();
    match size {
        _ if size < 0.000_05 => "0 V".into(),
        _ if size < 0.02 => format!("{:.1} mV", volts * 1000.0),
        _ if size < 1.0 => format!("{volts:.3} V"),
        _ => format!("{volts:.2} V"),
    }
}

/// Ohms as a meter shows them: `OL`, `1.8 Ω`, `47 kΩ`, `63 mΩ`.
pub fn ohms(ohms: f64) -> String {
    match ohms {
        _ if is_open(ohms) => "OL".into(),
        _ if ohms >= 1e6 => format!("{} MΩ", digits(ohms / 1e6, 3)),
        _ if ohms >= 1e3 => format!("{} kΩ", digits(ohms / 1e3, 3)),
        _ if ohms >= 1.0 => format!("{} Ω", digits(ohms, 3)),
        _ => format!("{} mΩ", digits(ohms * 1e3, 2)),
    }
}

/// Amperes as a clamp shows them: `9.4 A`, `0.52 A`, `6 mA`.
pub fn amps(amps: f64) -> String {
    match amps.abs() {
        size if size < 0.000_5 => "0 A".into(),
        size if size < 0.1 => format!("{} mA", digits(amps * 1000.0, 3)),
        _ => format!("{} A", digits(amps, 3)),
    }
}

/// Minutes to a tenth: `9.7 min`.
pub fn minutes(minutes: f64) -> String {
    format!("{minutes:.1} min")
}

/// A reading with its interval: `0.235 V (0.205 to 0.269 V)`.
pub fn reading(reading: &Reading) -> String {
    let show = match reading.quantity {
        Quantity::Volts => volts,
        Quantity::Ohms => ohms,
        Quantity::Amps => amps,
    };
    let (nominal, interval) = (show(reading.nominal), interval(reading.low, reading.high, show));
    if nominal == interval { nominal } else { format!("{nominal} ({interval})") }
}

/// Two ends of an interval, the unit once where both have it: `0.203 to 0.270 V`, `1.8 Ω to OL`.
pub fn interval(low: f64, high: f64, show: fn(f64) -> String) -> String {
    let (low, high) = (show(low), show(high));
    if low == high {
        return low;
    }
    match (low.split_once(' '), high.split_once(' ')) {
        (Some((number, unit)), Some((_, same))) if unit == same => format!("{number} to {high}"),
        _ => format!("{low} to {high}"),
    }
}

/// An interval of a step's row as a meter shows it, in one unit: `0.102 to 0.667 V`, `-20 to 20 mV`.
pub fn span_of_volts(low: f64, high: f64) -> String {
    spans_of_volts(&[[low, high]], false)
}

/// As [`span_of_volts`] for ohms: `1.3 to 2.8 Ω`; OL has no unit.
pub fn span_of_ohms(low: f64, high: f64) -> String {
    spans_of_ohms(&[[low, high]], false)
}

/// Several intervals in one unit, ascending. Where the first is the lowest that can come, its low end says nothing and
/// is left out beside the others: `up to 0.76 or 6.7 to 22.4 Ω`.
pub fn spans_of_volts(spans: &[[f64; 2]], lowest: bool) -> String {
    let most = spans.iter().flatten().fold(0.0_f64, |most, volts| most.max(volts.abs()));
    let (scale, unit) = if most < 0.0995 { (1e3, "mV") } else { (1.0, "V") };
    let show = |volts: f64| {
        let value = volts * scale;
        let size = value.abs();
        // A meter that stands on its millivolt range has a tenth there, one that stands on volts three digits under one.
        let decimals = match unit {
            "mV" if size < 9.95 => 1,
            "mV" => 0,
            _ if size < 0.9995 => 3,
            _ => 2,
        };
        unsigned_zero(format!("{value:.decimals$}"))
    };
    joined(spans, lowest, &show, unit)
}

/// As [`spans_of_volts`] for ohms.
pub fn spans_of_ohms(spans: &[[f64; 2]], lowest: bool) -> String {
    let ends = || spans.iter().flatten().copied().filter(|ohms| !is_open(*ohms));
    let most = ends().fold(0.0, f64::max);
    let least = ends().fold(f64::INFINITY, f64::min);
    let (scale, unit) = match most {
        // From ohms to megohms: in the smaller unit the low end keeps its digits.
        _ if most >= 1e6 && least >= 1e4 => (1e6, "MΩ"),
        _ if most >= 1e3 => (1e3, "kΩ"),
        _ => (1.0, "Ω"),
    };
    let show = |ohms: f64| {
        let value = ohms / scale;
        match unit {
            _ if is_open(ohms) => "OL".into(),
            "Ω" if most < 1.0 || value < 0.995 => unsigned_zero(format!("{value:.2}")),
            "Ω" if value < 99.95 => unsigned_zero(format!("{value:.1}")),
            "Ω" => format!("{value:.0}"),
            _ if value >= 100.0 => format!("{value:.0}"),
            _ => digits(value, 3),
        }
    };
    joined(spans, lowest, &show, unit)
}

fn is_open(ohms: f64) -> bool {
    ohms.is_infinite() || ohms >= 60e6
}

/// Intervals with their unit behind the last number that has one.
fn joined(spans: &[[f64; 2]], lowest: bool, show: &dyn Fn(f64) -> String, unit: &str) -> String {
    let mut words = String::new();
    for (at, &[low, high]) in spans.iter().enumerate() {
        let (low, high) = (show(low), show(high));
        let span = match at {
            _ if low == high => low,
            0 if lowest && spans.len() > 1 => format!("up to {high}"),
            _ if high == "OL" => format!("{low} {unit} to OL"),
            _ => format!("{low} to {high}"),
        };
        let or = if at > 0 { " or " } else { "" };
        words.push_str(&format!("{or}{span}"));
    }
    if words.ends_with("OL") { words } else { format!("{words} {unit}") }
}

/// A meter may show a minus before nothing; paper does not.
fn unsigned_zero(shown: String) -> String {
    let nothing = shown.chars().all(|c| matches!(c, '-' | '0' | '.'));
    if nothing { "0".into() } else { shown }
}

/// A number with so many significant digits, without trailing zeros behind the point.
fn digits(value: f64, digits: usize) -> String {
    if value == 0.0 {
        return "0".into();
    }
    let before = value.abs().log10().floor() as i32 + 1;
    let decimals = (digits as i32 - before).max(0) as usize;
    let text = format!("{value:.decimals$}");
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_read_like_a_meter() {
        assert_eq!(
            [4.992, 0.235_4, 0.00179, 0.0, 12.4].map(volts),
            ["4.99 V", "0.235 V", "1.8 mV", "0 V", "12.40 V"]
        );
        assert_eq!(
            [f64::INFINITY, 1.2e6, 47e3, 470.0, 1.83, 0.063].map(ohms),
            ["OL", "1.2 MΩ", "47 kΩ", "470 Ω", "1.83 Ω", "63 mΩ"]
        );
        assert_eq!([9.37, -184.2, 0.52, 0.006, 0.0].map(amps), ["9.37 A", "-184 A", "0.52 A", "6 mA", "0 A"]);
    }

    #[test]
    fn a_row_has_one_unit() {
        let volts = [(0.102, 0.667), (-0.02, 0.02), (0.0166, 0.032), (-0.0023, -0.0005), (0.0031, 12.96)];
        assert_eq!(
            volts.map(|(low, high)| span_of_volts(low, high)),
            ["0.102 to 0.667 V", "-20 to 20 mV", "17 to 32 mV", "-2.3 to -0.5 mV", "0.003 to 12.96 V"]
        );
        let open = f64::INFINITY;
        let ohms = [(1.32, 2.78), (0.0, 0.255), (864.0, 2.04e6), (40.6, open), (open, open), (107.0, 134.2)];
        assert_eq!(
            ohms.map(|(low, high)| span_of_ohms(low, high)),
            ["1.3 to 2.8 Ω", "0 to 0.26 Ω", "0.864 to 2040 kΩ", "40.6 Ω to OL", "OL", "107 to 134 Ω"]
        );
        assert_eq!(spans_of_ohms(&[[0.25, 0.76], [6.7, 22.4]], true), "up to 0.76 or 6.7 to 22.4 Ω");
        assert_eq!(spans_of_volts(&[[-0.01, 0.02], [3.0, 9.0]], false), "-0.010 to 0.020 or 3.00 to 9.00 V");
    }
}
