//! One car's job: which car, what is known, and the log of what was read in which state.

use halfsplit_base::FileId;
use halfsplit_circuit::{Meter, Minutes, State, Volts};

use crate::{Car, Entity, Place, expect::Said};

/// Below this at rest a 12 V battery is charged before any diagnosis. Common practice, MEMORY, and so never an
/// error; battery makers' tables put 12.24 V at half charge (SAW). The planner's gate holds the same limit.
pub const CHARGE_BELOW: Volts = 12.2;

/// A case, its log worked through on the car's own circuit.
#[derive(Clone, PartialEq, Debug)]
pub struct Case {
    /// The job, in its author's words.
    pub title: String,
    /// The `case` line.
    pub place: Place,
    /// The circuit's file as written.
    pub on: Said,
    /// The circuit's file, where it could be had.
    pub circuit: Option<FileId>,
    /// Overlays of this car.
    pub added: Vec<FileId>,
    /// The car.
    pub car: Car,
    /// Battery at rest, as last read.
    pub rested: Option<(Volts, Place)>,
    /// Each battery at rest, as last read, by the name that its line gives.
    pub rests: Vec<(String, Volts)>,
    /// Whether a battery was low when it was first read.
    pub was_low: bool,
    /// How many readings at the head of the log were taken on a battery that was low.
    pub void: usize,
    /// What is known to work or to be silent.
    pub facts: Vec<Said>,
    /// The state of the car at each fact's own line.
    pub fact_states: Vec<State>,
    /// What was read, in order.
    pub log: Vec<Observation>,
    /// What was proved in another way.
    pub checked: Vec<Proved>,
    /// Dangers that were cleared.
    pub cleared: Vec<Cleared>,
    /// The cause.
    pub confirmed: Option<Confirmed>,
    /// Stored codes.
    pub codes: Vec<String>,
    /// Remarks.
    pub notes: Vec<String>,
    /// The state in which the log leaves the car.
    pub now: State,
}

/// One reading.
#[derive(Clone, PartialEq, Debug)]
pub struct Observation {
    /// The line.
    pub place: Place,
    /// The line as written, its spaces single.
    pub words: String,
    /// Key, battery, switches, what was out.
    pub state: State,
    /// Where the leads were, and what the meter was set to.
    pub leads: Meter,
    /// What it showed: volts, or ohms; infinite is OL. The middle, where it wandered.
    pub reads: f64,
    /// Least and most that it showed.
    pub spread: [f64; 2],
}

/// Something that was proved without the meter.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Proved {
    /// `network`, `configuration`, `latch` or `software`.
    pub what: String,
    /// How, and what came.
    pub words: String,
    /// The line.
    pub place: Place,
}

/// A danger that was cleared.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Cleared {
    /// `airbag`, `fuel`, …
    pub hazard: String,
    /// The connector or part.
    pub item: Said,
    /// Which that is.
    pub entity: Entity,
    /// Who did what.
    pub words: String,
}

/// The cause, once it is proved.
#[derive(Clone, PartialEq, Debug)]
pub struct Confirmed {
    /// The part or connector.
    pub item: Said,
    /// Which that is.
    pub entity: Entity,
    /// What was wrong with it.
    pub mode: String,
    /// Minutes that it took.
    pub minutes: Option<Minutes>,
}
