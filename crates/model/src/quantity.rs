//! Quantities as people write them on a command line: `0.235 V`, `12V`, `40 kohm`.

use halfsplit_syntax::units::{Dimension, Unit, unit};

/// Reads a number with its unit, in base units of the dimension.
///
/// # Errors
/// A sentence that shows how to write it.
pub fn quantity(written: &str, dimension: Dimension) -> Result<f64, String> {
    let written = written.trim();
    let split = written.find(|c: char| c.is_alphabetic() || matches!(c, '°' | '%')).unwrap_or(written.len());
    let (number, word) = (written[..split].trim(), written[split..].trim());
    let example = format!("for instance `1.5 {}`", dimension.usual());
    let value: f64 = match number.parse() {
        Ok(value) => value,
        Err(_) if number.contains(',') => {
            return Err(format!("`{written}`: write the decimal with a point, {example}"));
        }
        Err(_) => {
            return Err(format!(
                "`{written}` is not {}: write a number and a unit, {example}",
                dimension.noun()
            ));
        }
    };
    if word.is_empty() {
        return Err(format!(
            "`{written}` has no unit; {} is written in {}, {example}",
            dimension.noun(),
            dimension.spellings()
        ));
    }
    match unit(word) {
        Some(Unit::Plain(found, factor)) if found == dimension => Ok(value * factor),
        Some(other) => {
            Err(format!("`{written}` is {}, but {} is wanted", other.dimension().noun(), dimension.noun()))
        }
        None => Err(format!(
            "`{word}` is not a unit; {} is written in {}",
            dimension.noun(),
            dimension.spellings()
        )),
    }
}

/// A reading as typed: least and most that its digits leave open, in the base unit. `0.0 V` is anything up to
/// 0.05 V either way, `0.235 V` half a millivolt.
///
/// # Errors
/// As [`quantity`].
pub fn reading(written: &str, dimension: Dimension) -> Result<[f64; 2], String> {
    let value = quantity(written, dimension)?;
    let half = half_digit(written, dimension);
    Ok([value - half, value + half])
}

/// Half of the last digit that is written, in the base unit; zero where no number with a unit is written.
pub(crate) fn half_digit(written: &str, dimension: Dimension) -> f64 {
    let written = written.trim();
    let split = written.find(|c: char| c.is_alphabetic()).unwrap_or(written.len());
    let (number, word) = (written[..split].trim(), written[split..].trim());
    let decimals = number.split_once('.').map_or(0, |(_, places)| places.len() as i32);
    match unit(word) {
        Some(Unit::Plain(found, factor)) if found == dimension => 0.5 * factor * 10f64.powi(-decimals),
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_say_how_well_a_reading_is_known() {
        let off = |text| {
            let [low, high] = reading(text, Dimension::Volts).unwrap();
            (1e6 * (high - low)).round() / 1e6
        };
        assert_eq!(off("0.0 V"), 0.1);
        assert_eq!(off("0.235 V"), 0.001);
        assert_eq!(off("235 mV"), 0.001);
        assert_eq!(off("12 V"), 1.0);
    }

    #[test]
    fn a_number_needs_its_unit() {
        assert_eq!(quantity("0.235 V", Dimension::Volts), Ok(0.235));
        assert_eq!(quantity("250mV", Dimension::Volts), Ok(0.25));
        assert_eq!(quantity("1.2 Mohm", Dimension::Ohms), Ok(1.2e6));
        let refused = |text| quantity(text, Dimension::Volts).unwrap_err();
        assert_eq!(
            refused("12"),
            "`12` has no unit; a voltage is written in V, mV, kV, for instance `1.5 V`"
        );
        assert_eq!(refused("0,5 V"), "`0,5 V`: write the decimal with a point, for instance `1.5 V`");
        assert_eq!(refused("5 ohm"), "`5 ohm` is a resistance, but a voltage is wanted");
        assert_eq!(refused("5 Volt"), "`Volt` is not a unit; a voltage is written in V, mV, kV");
    }
}
