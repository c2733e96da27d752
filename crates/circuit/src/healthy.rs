//! What a healthy car reads at the same place, and which class that makes a reading.

use crate::{
    Branch, BranchKind, Circuit, Class, Load, Measure, Meter, PointId, Quantity, ReadError, Reading, State,
    Volts, feed_path,
    net::{share_of_supply, stack},
    read,
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
    let battery = |source: &Branch| {
        let volts = |(branch, own): &(&Branch, Volts)| match state.supply() {
            Some(read) => share_of_supply(circuit, branch, *own, read),
            None => *own,
        };
        stack(circuit, source).iter().map(volts).sum()
    };
    for step in feed_path(circuit, &mated(state), point) {
        let branch = circuit.branch(step.branch);
        match branch.kind {
            BranchKind::Reference { volts, .. } => return volts,
            BranchKind::Source { .. } => return battery(branch),
            _ => {}
        }
    }
    let any = circuit.branches.iter().find_map(|branch| match branch.kind {
        BranchKind::Source { .. } => Some(battery(branch)),
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
        Quantity::Amps => {
            let sound = read(circuit, &mated(state), &[], meter)?;
            let within = reading.nominal >= sound.low && reading.nominal <= sound.high;
            Ok(match within {
                true => Class::Good,
                false => Class::of_amps(reading.nominal.abs(), sound.nominal.abs()),
            })
        }
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
