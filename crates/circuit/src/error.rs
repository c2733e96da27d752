//! Why a reading could not be computed.

use std::fmt;

use crate::{Circuit, PartId};

/// Parts that an error speaks of, with their names for printing.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Culprits {
    /// The parts, in order of their ids.
    pub parts: Vec<PartId>,
    /// Their names, in the same order.
    pub names: Vec<String>,
}

impl Culprits {
    /// These parts of a circuit, sorted and each once.
    pub fn of(circuit: &Circuit, parts: impl IntoIterator<Item = PartId>) -> Culprits {
        let mut parts: Vec<PartId> = parts.into_iter().collect();
        parts.sort_unstable();
        parts.dedup();
        let names = parts
            .iter()
            .map(|id| circuit.parts.get(id.index()).map_or_else(String::new, |p| p.name.clone()))
            .collect();
        Culprits { parts, names }
    }
}

impl fmt::Display for Culprits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.names.join(", "))
    }
}

/// Why a reading could not be computed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum ReadError {
    /// Ohms were asked for where a source could drive the leads.
    LiveCircuit {
        /// One source that could.
        source: PartId,
        /// Its name.
        name: String,
    },
    /// Relays or modules that switch each other on and off without end.
    NoStableState {
        /// The parts that keep switching.
        parts: Culprits,
    },
    /// A loop that stays as it is whether on or off, such as a relay held by a
    /// module that only this relay feeds.
    TwoStableStates {
        /// The parts in the loop.
        parts: Culprits,
    },
    /// Parts with a resistance that is zero, negative or not a number, or with volts that no vehicle has.
    Singular {
        /// The parts.
        parts: Culprits,
    },
    /// A part, point or connector is named that the circuit does not have.
    Malformed {
        /// What names it.
        what: String,
    },
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::LiveCircuit { name, .. } => {
                write!(f, "no ohms on a live circuit: {name} can drive these leads; disconnect it first")
            }
            Self::NoStableState { parts } => {
                write!(f, "no steady reading: {parts} would switch on and off without end")
            }
            Self::TwoStableStates { parts } => write!(
                f,
                "two steady states: {parts} stay on once on and off once off, each holding the other"
            ),
            Self::Singular { parts } => {
                write!(f, "{parts}: a value here is zero, negative, endless or not a number")
            }
            Self::Malformed { what } => write!(f, "the circuit is not whole: {what}"),
        }
    }
}

impl std::error::Error for ReadError {}
