//! What a healthy car reads at the same place, and which class that makes a reading.

use crate::{
    BranchKind, Circuit, Class, Load, Measure, Meter, PointId, Quantity, ReadError, Reading, State, Volts,
    feed_path, read,
};

/// What the meter would read with everything mated and nothing wrong, key and
/// switches as in `state`, the meter alone across the leads.
///
/// # Errors
/// As [`ReadError`] says.
pub fn healthy(circuit: &Circuit, state: &State, red: PointId, black: PointId) -> Result<Reading, ReadError> {
    let meter = Meter { red, black, measure: Measure::Volts(Load::None) };
    read(circuit, &mated(state), &[], &meter)
}

/// The volts that a point is meant to carry: those of the reference that feeds
/// it, else those of the battery behind its feed path, else of any battery.
pub fn nominal_volts(circuit: &Circuit, state: &State, point: PointId) -> Volts {
    let battery = |own: Volts| state.supply().unwrap_or(own);
    for step in feed_path(circuit, &mated(state), point) {
        match circuit.branch(step.branch).kind {
            BranchKind::Reference { volts, .. } => return volts,
            BranchKind::Source { volts, .. } => return battery(volts),
            _ => {}
        }
    }
    let any = circuit.branches.iter().find_map(|branch| match branch.kind {
        BranchKind::Source { volts, .. } => Some(battery(volts)),
        _ => None,
    });
    any.unwrap_or(12.0)
}

/// The class of a reading against what a healthy car reads there.
///
/// # Errors
/// As [`ReadError`] says.
pub fn class(circuit: &Circuit, state: &State, meter: &Meter, reading: &Reading) -> Result<Class, ReadError> {
    match reading.quantity {
        Quantity::Ohms => Ok(Class::of_ohms(reading.nominal)),
        Quantity::Volts => {
            let healthy = healthy(circuit, state, meter.red, meter.black)?;
            Ok(Class::of(reading, healthy.nominal, nominal_volts(circuit, state, meter.red)))
        }
    }
}

fn mated(state: &State) -> State {
    let mut state = state.clone();
    state.unplugged.clear();
    state.pulled.clear();
    state.battery = true;
    state
}
