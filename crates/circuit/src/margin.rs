//! How far fuses and wires are from their limits, by a named published table and its conditions.

use crate::wire::awg_section;
use crate::{Amps, BranchId, BranchKind, Fault, PartId, ReadError, Solver, State};

/// Allowable amperage of insulated copper by AWG size, 105 °C insulation, 30 °C ambient: 33 CFR 183.425 Table 5
/// (SAW, 105 °C column, in reprints by a cable maker). 1/0 is 0, 2/0 is −1.
pub const ALLOWABLE_105: [(i32, Amps); 15] = [
    (18, 20.0),
    (16, 25.0),
    (14, 35.0),
    (12, 45.0),
    (10, 60.0),
    (8, 80.0),
    (6, 120.0),
    (4, 160.0),
    (3, 180.0),
    (2, 210.0),
    (1, 245.0),
    (0, 285.0),
    (-1, 330.0),
    (-2, 385.0),
    (-3, 445.0),
];

/// Factor on [`ALLOWABLE_105`] inside an engine space (33 CFR 183.425, SAW).
pub const ENGINE_SPACE_105: f64 = 0.85;

/// Greatest fuse for a wire under 50 V, as a factor on Table 5 (33 CFR 183.455 (c)(1), SAW).
pub const FUSE_OVER_WIRE: f64 = 1.5;

/// Greatest fuse by AN gauge of copper wire: AC 43.13-1B CHG 1 Table 11-3, DC wire and circuit protector chart (SAW,
/// columns aligned by count).
pub const PROTECTOR_CHART: [(i32, Amps); 13] = [
    (22, 5.0),
    (20, 5.0),
    (18, 10.0),
    (16, 10.0),
    (14, 15.0),
    (12, 20.0),
    (10, 30.0),
    (8, 50.0),
    (6, 70.0),
    (4, 70.0),
    (2, 100.0),
    (1, 150.0),
    (0, 150.0),
];

/// Share of its rating up to which a blade fuse holds for 100 hours (ISO 8820-3 gates, SAW-2nd).
pub const HOLDS: f64 = 1.10;

/// Share of its rating from which a blade fuse opens within 600 s (ISO 8820-3 gates, SAW-2nd).
pub const OPENS: f64 = 1.35;

/// A published table to judge a wire by.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum WireTable {
    /// 33 CFR 183.425 Table 5, 105 °C insulation, 30 °C ambient, outside engine spaces.
    SmallCraft105,
    /// The same inside an engine space, where [`ENGINE_SPACE_105`] applies.
    SmallCraft105EngineSpace,
    /// AC 43.13-1B CHG 1 Table 11-3: the greatest fuse for the wire, taken as what it may carry.
    AircraftProtector,
}

impl WireTable {
    /// Name and conditions, to print with every figure.
    pub fn conditions(self) -> &'static str {
        match self {
            Self::SmallCraft105 => "33 CFR 183.425 Table 5, 105 °C insulation, 30 °C ambient",
            Self::SmallCraft105EngineSpace => {
                "33 CFR 183.425 Table 5, 105 °C insulation, engine space (× 0.85)"
            }
            Self::AircraftProtector => "AC 43.13-1B Table 11-3, greatest fuse for the wire",
        }
    }

    /// What the table allows a wire of a section in mm²: the row of the greatest AWG size that is not
    /// thicker. `None` under the thinnest row; a table says nothing there. The rows are of AWG sizes, whose sections
    /// [`awg_section`] gives.
    pub fn allows(self, section: f64) -> Option<(i32, Amps)> {
        let (table, factor): (&[(i32, Amps)], f64) = match self {
            Self::SmallCraft105 => (&ALLOWABLE_105, 1.0),
            Self::SmallCraft105EngineSpace => (&ALLOWABLE_105, ENGINE_SPACE_105),
            Self::AircraftProtector => (&PROTECTOR_CHART, 1.0),
        };
        // Sections are printed to three digits: 0.823 mm² is 18 AWG.
        let fits = |&&(gauge, _): &&(i32, Amps)| awg_section(gauge) <= section * 1.001;
        table.iter().rfind(fits).map(|&(gauge, amps)| (gauge, amps * factor))
    }

    /// The greatest fuse that the table's own rule allows before a wire of a section in mm².
    pub fn greatest_fuse(self, section: f64) -> Option<Amps> {
        let factor = match self {
            Self::AircraftProtector => 1.0,
            // The fuse rule goes by the table's value at 30 °C, wherever the wire lies.
            Self::SmallCraft105 | Self::SmallCraft105EngineSpace => FUSE_OVER_WIRE,
        };
        let table = if self == Self::SmallCraft105EngineSpace { Self::SmallCraft105 } else { self };
        table.allows(section).map(|(_, amps)| amps * factor)
    }
}

/// What the fuse standards promise at a load.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Protection {
    /// Up to 110 % of the rating: holds for 100 hours at least.
    Holds,
    /// Between 110 and 135 %: nothing is promised either way.
    NotPromised,
    /// From 135 % on: opens within 600 s.
    Opens,
}

/// A fuse or link under its load.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct FuseMargin {
    /// The branch.
    pub branch: BranchId,
    /// The fuse or link.
    pub part: PartId,
    /// Current through it, without sign.
    pub amps: Amps,
    /// Its rating.
    pub rating: Amps,
    /// What a blade fuse of that rating is promised to do. Links and strip fuses have gates of their own.
    pub protection: Protection,
}

/// A wire under its load.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct WireMargin {
    /// The branch.
    pub branch: BranchId,
    /// The wire.
    pub part: PartId,
    /// Current through it, without sign.
    pub amps: Amps,
    /// Its section in mm²; `None` where it is not known, and then nothing is allowed or refused.
    pub section: Option<f64>,
    /// AWG size of the table's row and the current it allows; `None` where the table says nothing.
    pub allowed: Option<(i32, Amps)>,
    /// The table.
    pub table: WireTable,
}

impl FuseMargin {
    /// Amperes left to its rating; negative beyond it.
    pub fn left(&self) -> Amps {
        self.rating - self.amps
    }
}

impl WireMargin {
    /// Amperes left to what the table allows; negative beyond it.
    pub fn left(&self) -> Option<Amps> {
        self.allowed.map(|(_, allowed)| allowed - self.amps)
    }
}

impl Protection {
    /// What is promised at a load.
    pub fn at(amps: Amps, rating: Amps) -> Protection {
        let share = amps.abs() / rating;
        if share <= HOLDS {
            Protection::Holds
        } else if share < OPENS {
            Protection::NotPromised
        } else {
            Protection::Opens
        }
    }
}

impl Solver<'_> {
    /// Every fuse and link under its load in a state.
    ///
    /// # Errors
    /// As [`ReadError`] says.
    pub fn fuse_margins(&self, state: &State, faults: &[Fault]) -> Result<Vec<FuseMargin>, ReadError> {
        let solution = self.solve(state, faults)?;
        let margin = |(branch, it): (BranchId, &crate::Branch)| match it.kind {
            BranchKind::Fuse { rating, .. } => {
                let amps = solution.current(branch).abs();
                let protection = Protection::at(amps, rating);
                Some(FuseMargin { branch, part: it.part, amps, rating, protection })
            }
            _ => None,
        };
        Ok(self.circuit().branches().filter_map(margin).collect())
    }

    /// Every wire under its load in a state, judged by a table.
    ///
    /// # Errors
    /// As [`ReadError`] says.
    pub fn wire_margins(
        &self,
        state: &State,
        faults: &[Fault],
        table: WireTable,
    ) -> Result<Vec<WireMargin>, ReadError> {
        let solution = self.solve(state, faults)?;
        let margin = |(branch, it): (BranchId, &crate::Branch)| match it.kind {
            BranchKind::Wire { section, .. } => {
                let amps = solution.current(branch).abs();
                let allowed = section.and_then(|section| table.allows(section));
                Some(WireMargin { branch, part: it.part, amps, section, allowed, table })
            }
            _ => None,
        };
        Ok(self.circuit().branches().filter_map(margin).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wire_is_judged_by_the_row_that_is_not_thicker() {
        let allows = |section| WireTable::SmallCraft105.allows(section);
        assert_eq!(allows(0.5), None);
        assert_eq!(allows(0.823), Some((18, 20.0)));
        assert_eq!(allows(2.5), Some((14, 35.0)));
        assert_eq!(allows(35.0), Some((2, 210.0)));
        assert_eq!(allows(500.0), Some((-3, 445.0)));
        let hot = WireTable::SmallCraft105EngineSpace.allows(2.5).unwrap();
        assert!((hot.1 - 29.75).abs() < 1e-12);
        assert_eq!(WireTable::AircraftProtector.allows(0.5), Some((22, 5.0)));
    }

    /// 33 CFR 183.455 on Table 5, COMPUTED: 16 AWG 25 A to 37.5 A, 14 AWG 35 A to 52.5 A.
    #[test]
    fn the_greatest_fuse() {
        let greatest = |gauge| WireTable::SmallCraft105.greatest_fuse(awg_section(gauge));
        assert_eq!(greatest(16), Some(37.5));
        assert_eq!(greatest(14), Some(52.5));
        assert_eq!(WireTable::AircraftProtector.greatest_fuse(awg_section(14)), Some(15.0));
    }

    #[test]
    fn between_the_gates_nothing_is_promised() {
        assert_eq!(Protection::at(11.0, 10.0), Protection::Holds);
        assert_eq!(Protection::at(12.0, 10.0), Protection::NotPromised);
        assert_eq!(Protection::at(-13.5, 10.0), Protection::Opens);
    }
}
