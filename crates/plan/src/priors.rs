//! How often things fail, where the file does not say.
//!
//! Weights are on the scale of the files' `suspicion`: a three-wire sensor is 1.
//! They are own estimates, ordered as the ranking "Likely failures in proven
//! systems" of Lessons In Electric Circuits, Vol. V (SAW): connections, then
//! supplies and fuses, then active parts, then passive ones. Shares of the modes
//! follow the public failure-mode table whose class names are MEMORY of
//! MIL-HDBK-338B / FMD-91: connector open .61, poor contact .23, short .16.
//! No number here decides what is possible, only what is tried first.

use halfsplit_circuit::PartKind;

/// Weight of a unit without a `suspicion`.
pub fn weight(kind: PartKind) -> f64 {
    match kind {
        PartKind::Sensor | PartKind::Lamp | PartKind::Motor => 1.0,
        PartKind::Load => 0.5,
        PartKind::Wire | PartKind::Splice => 0.3,
        PartKind::Connector => 0.2,
        PartKind::Fuse => 0.4,
        // A link or a battery cable takes the whole car with it, and the report at the door would say so.
        PartKind::Link => 0.1,
        PartKind::Relay | PartKind::Switch => 0.4,
        PartKind::GroundPoint => 0.3,
        PartKind::Module => 0.3,
        PartKind::Bar | PartKind::Supply => 0.05,
    }
}

/// Weight of a connector with so many wired cavities: as [`weight`] says for four, more with more of them.
pub fn contacts(cavities: usize) -> f64 {
    weight(PartKind::Connector) * (cavities.max(2) as f64 / 4.0)
}

/// Weight of a piece of harness whose every wire is a battery cable.
pub const BATTERY_CABLE: f64 = 0.05;
/// Section in mm² from which a wire counts as one.
pub const BATTERY_CABLE_SECTION: f64 = 6.0;

/// Weight of unlisted equipment on a net, all its pieces together; never zero (worked reference circuit: 0.3).
pub const UNLISTED: f64 = 0.3;
/// Chance of two faults at once before any step (own estimate).
pub const TWO_FAULTS: f64 = 0.03;
/// Chance that a car has two faults that both show (own estimate).
pub const BOTH: f64 = 0.1;
/// Chance that what is wrong is not drawn, or that the leads are on another wire (own estimate).
pub const NOT_DRAWN: f64 = 0.02;
/// Chance that a line of a job is a slip: a digit place, the key, a plug thought parted, the cavity beside (own estimate).
pub const SLIP: f64 = 0.04;
/// Weight of a fault that comes and goes against one that stays (own estimate).
pub const COMES_AND_GOES: f64 = 0.05;

/// Share of a connector's faults that are a bridge between cavities.
pub const CONNECTOR_SHORT: f64 = 0.16;
/// Share of a connector's faults that are an open or poor contact.
pub const CONNECTOR_OPEN: f64 = 0.84;
/// Share of a wire's faults that are a break; opens are commoner than shorts (Lessons In Electric Circuits, SAW).
pub const WIRE_OPEN: f64 = 0.5;
/// Share of a wire's faults that are a rub to body.
pub const WIRE_TO_BODY: f64 = 0.35;
/// Share of a wire's faults that are a touch to another wire.
pub const WIRE_TO_WIRE: f64 = 0.15;
