//! Kinds of danger, as they are printed before a step.

use halfsplit_circuit::Hazard;

/// What can hurt, in one or two words.
pub(super) fn word(hazard: Hazard) -> &'static str {
    match hazard {
        Hazard::Airbag => "airbag",
        Hazard::HighVoltage => "high voltage",
        Hazard::Fuel => "fuel",
        Hazard::Hot => "hot",
        Hazard::Fan => "fan",
        Hazard::Moving => "moving",
    }
}
