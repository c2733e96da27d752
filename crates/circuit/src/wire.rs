//! Resistance of copper, fuses and contacts.
//!
//! Every value stands with its source and a mark for how well it is known:
//! SAW (read at the source), SAW-2nd (read in a second-hand place), MEMORY
//! (known in the trade, source not at hand), COMPUTED.

use crate::{Amps, Ohms};

/// Maximum resistance of thin-wall road-vehicle copper cable, milliohms per
/// metre at 20 °C, by section in mm², in the style of ISO 6722-1 / ISO 19642.
///
/// MEMORY, but for 0.5 mm² (37.1), which is SAW-2nd (a public parts catalogue).
/// Each lies between ρ/A of pure copper and the IEC 60228 class 5 limit, COMPUTED.
#[allow(clippy::approx_constant)] // 3.14 mΩ/m is a table row.
pub const ROAD_VEHICLE_COPPER: [(f64, f64); 28] = [
    (0.13, 136.0),
    (0.22, 84.8),
    (0.35, 54.4),
    (0.5, 37.1),
    (0.75, 24.7),
    (1.0, 18.5),
    (1.25, 14.9),
    (1.5, 12.7),
    (2.0, 9.42),
    (2.5, 7.60),
    (3.0, 6.15),
    (4.0, 4.71),
    (5.0, 3.94),
    (6.0, 3.14),
    (8.0, 2.38),
    (10.0, 1.82),
    (12.0, 1.52),
    (16.0, 1.16),
    (20.0, 0.955),
    (25.0, 0.743),
    (30.0, 0.647),
    (35.0, 0.527),
    (40.0, 0.473),
    (50.0, 0.368),
    (60.0, 0.315),
    (70.0, 0.259),
    (95.0, 0.196),
    (120.0, 0.153),
];

/// Temperature coefficient of copper at 20 °C, per kelvin.
///
/// The trade's 0.39 % per °C; IEC 60028:1925 gives 0.00393 (MEMORY), and the
/// inferred-zero law of AC 43.13-1B CHG 1, (234.5 + T)/254.5, gives 0.003929 (SAW).
pub const COPPER_PER_KELVIN: f64 = 0.0039;

/// Resistivity of annealed copper at 20 °C, Ω·mm²/m: 1/58 (IEC 60028:1925, MEMORY).
pub const COPPER_RESISTIVITY: f64 = 1.0 / 58.0;

/// Contact resistance of a mated cavity or a relay contact that declares none.
/// A convention of the worked scenarios, no published source.
pub const CONTACT: Ohms = 0.005;

/// Cold resistance of a fuse or link that declares none, ohms by rating.
///
/// Convention of the worked scenarios. Published typical values (a fuse maker's
/// data sheet, SAW-2nd): ATO 20 A 3.38 mΩ, mini 15 A 4.58 mΩ, MAXI 40 A 1.4 mΩ.
pub const FUSE_COLD: [(Amps, Ohms); 10] = [
    (5.0, 17e-3),
    (7.5, 10.5e-3),
    (10.0, 7.2e-3),
    (15.0, 4.6e-3),
    (20.0, 3.3e-3),
    (25.0, 2.4e-3),
    (30.0, 1.8e-3),
    (40.0, 1.3e-3),
    (125.0, 0.5e-3),
    (150.0, 0.5e-3),
];

/// Cold resistance of a 60 A link with its studs (convention of the worked scenarios).
pub const LINK_60_WITH_STUDS: Ohms = 1.5e-3;

/// Milliohms per metre at 20 °C of road-vehicle copper of a section in mm².
///
/// Sections between table rows are interpolated in conductance per metre,
/// which is what grows with the copper; outside the table the conductance of the
/// nearest row is scaled by section. `None` for a section that is not positive.
pub fn milliohms_per_metre(section: f64) -> Option<f64> {
    by_conductance(&ROAD_VEHICLE_COPPER, section)
}

/// Resistance at 20 °C of a road-vehicle wire, section in mm², length in metres.
pub fn wire_ohms(section: f64, metres: f64) -> Option<Ohms> {
    if !metres.is_finite() || metres <= 0.0 {
        return None;
    }
    milliohms_per_metre(section).map(|row| row * metres / 1000.0)
}

/// Section in mm² of a solid wire of an American wire gauge; 1/0 is 0, 2/0 is −1.
///
/// d = 0.005 in × 92^((36 − n)/39), ASTM B258: formula MEMORY, and it agrees
/// with the table in Lessons In Electric Circuits, "Wire table for solid, round
/// copper conductors" (SAW) within 0.05 %. SAE gauges are smaller: not these.
pub fn awg_section(gauge: i32) -> f64 {
    let millimetres = 0.127 * 92f64.powf((36.0 - f64::from(gauge)) / 39.0);
    std::f64::consts::FRAC_PI_4 * millimetres * millimetres
}

/// Circular mils by SAE size, down to 1/0 as 0, 2/0 as -1. Marine cable maker's
/// appendix, "AWG CM area / SAE CM area" (SAW). SAE wire is thinner than AWG of the same number.
pub const SAE_CIRCULAR_MILS: [(i32, f64); 14] = [
    (18, 1_537.0),
    (16, 2_336.0),
    (14, 3_702.0),
    (12, 5_833.0),
    (10, 9_343.0),
    (8, 14_810.0),
    (6, 24_538.0),
    (4, 37_360.0),
    (2, 62_450.0),
    (1, 77_790.0),
    (0, 98_980.0),
    (-1, 125_100.0),
    (-2, 158_600.0),
    (-3, 205_500.0),
];

/// Section in mm² of a wire of an SAE size; `None` for a size the table does not have.
pub fn sae_section(size: i32) -> Option<f64> {
    /// One circular mil, the area of a circle of 0.0254 mm, in mm².
    const CIRCULAR_MIL: f64 = std::f64::consts::FRAC_PI_4 * 0.0254 * 0.0254;
    let row = SAE_CIRCULAR_MILS.iter().find(|(known, _)| *known == size);
    row.map(|(_, mils)| mils * CIRCULAR_MIL)
}

/// Milliohms per metre at 20 °C of a solid copper wire of an American wire gauge (COMPUTED).
pub fn awg_milliohms_per_metre(gauge: i32) -> f64 {
    COPPER_RESISTIVITY / awg_section(gauge) * 1000.0
}

/// What a resistance at 20 °C is multiplied by at another temperature in °C.
pub fn at_temperature(celsius: f64) -> f64 {
    1.0 + COPPER_PER_KELVIN * (celsius - 20.0)
}

/// Cold resistance of a fuse or link by its rating.
///
/// Ratings between rows are interpolated in conductance, outside the table
/// the conductance of the nearest row is scaled by rating.
pub fn fuse_ohms(rating: Amps) -> Option<Ohms> {
    if rating == 60.0 { Some(LINK_60_WITH_STUDS) } else { by_conductance(&FUSE_COLD, rating) }
}

/// Reads a table of size and resistance, linear in conductance between rows.
fn by_conductance(table: &[(f64, f64)], size: f64) -> Option<f64> {
    if !size.is_finite() || size <= 0.0 {
        return None;
    }
    let above = table.partition_point(|&(row, _)| row < size);
    let below = above.checked_sub(1).and_then(|i| table.get(i));
    let conductance = match (below, table.get(above)) {
        (_, Some(&(row, ohms))) if row == size => return Some(ohms),
        (Some(&(low, low_ohms)), Some(&(high, high_ohms))) => {
            let share = (size - low) / (high - low);
            (1.0 - share) / low_ohms + share / high_ohms
        }
        (Some(&(row, ohms)), None) | (None, Some(&(row, ohms))) => size / row / ohms,
        (None, None) => return None,
    };
    Some(1.0 / conductance)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn table_rows_are_read_back_exactly() {
        for (section, row) in ROAD_VEHICLE_COPPER {
            assert_eq!(milliohms_per_metre(section), Some(row));
        }
        assert_eq!(fuse_ohms(7.5), Some(10.5e-3));
        assert_eq!(fuse_ohms(60.0), Some(1.5e-3));
    }

    #[test]
    fn between_rows_more_copper_is_less_resistance() {
        let mut last = f64::INFINITY;
        for hundredths in 5..15_000 {
            let row = milliohms_per_metre(f64::from(hundredths) / 100.0).unwrap();
            assert!(row < last, "{hundredths}");
            last = row;
        }
    }

    #[test]
    fn nonsense_has_no_resistance() {
        for section in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(milliohms_per_metre(section), None);
            assert_eq!(wire_ohms(0.5, section), None);
            assert_eq!(fuse_ohms(section), None);
        }
    }

    /// mm² and mΩ/m of solid IACS copper (COMPUTED).
    #[test]
    fn american_gauges() {
        for (gauge, section, row) in
            [(24, 0.2047, 84.21), (18, 0.8230, 20.95), (10, 5.2612, 3.277), (0, 53.4751, 0.3224)]
        {
            assert!((awg_section(gauge) / section - 1.0).abs() < 5e-4, "{gauge}");
            assert!((awg_milliohms_per_metre(gauge) / row - 1.0).abs() < 5e-4, "{gauge}");
        }
    }

    /// Lessons In Electric Circuits prints 15 Ω at 20 °C as 15.909 Ω at 35 °C
    /// with its own coefficient 0.004041 (SAW); the trade's 0.0039 differs by 0.2 %.
    #[test]
    fn copper_grows_with_heat() {
        assert!((15.0 * at_temperature(35.0) / 15.909 - 1.0).abs() < 3e-3);
        assert_eq!(at_temperature(20.0), 1.0);
    }
}
