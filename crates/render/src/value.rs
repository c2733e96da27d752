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

/// Ohms as a meter shows them: `OL`, `1.8 ohm`, `47 kohm`, `63 mohm`.
pub fn ohms(ohms: f64) -> String {
    match ohms {
        _ if ohms.is_infinite() || ohms >= 60e6 => "OL".into(),
        _ if ohms >= 1e6 => format!("{} Mohm", digits(ohms / 1e6, 3)),
        _ if ohms >= 1e3 => format!("{} kohm", digits(ohms / 1e3, 3)),
        _ if ohms >= 1.0 => format!("{} ohm", digits(ohms, 3)),
        _ => format!("{} mohm", digits(ohms * 1e3, 2)),
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

/// Two ends of an interval, the unit once where both have it: `0.203 to 0.270 V`, `1.8 ohm to OL`.
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
            ["OL", "1.2 Mohm", "47 kohm", "470 ohm", "1.83 ohm", "63 mohm"]
        );
        assert_eq!([9.37, -184.2, 0.52, 0.006, 0.0].map(amps), ["9.37 A", "-184 A", "0.52 A", "6 mA", "0 A"]);
    }
}
