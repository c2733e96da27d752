//! What a plan is asked for, and why it can be refused.

use std::collections::BTreeSet;
use std::fmt;
use std::time::Duration;

use halfsplit_circuit::{Amps, ConnectorId, Hazard, Minutes, PointId, ReadError, State, Volts};

use crate::case::Observation;
use crate::complaint::Complaint;
use crate::learned::Seen;
use crate::search::SearchError;

/// What a plan is asked for.
#[derive(Clone, Debug)]
pub struct Request {
    /// The pin that reads wrong.
    pub pin: PointId,
    /// Where the black lead was; battery negative if `None`.
    pub black: Option<PointId>,
    /// Volts read at the pin in [`Request::state`]; `None` if nothing was read yet.
    pub reads: Option<Volts>,
    /// How far the digits of [`Request::reads`] leave it open, either way; half the last digit that a hand meter
    /// shows there if `None`.
    pub reads_off: Option<Volts>,
    /// Whether the meter wanders there and shows nothing: no volts of its own hold the pin.
    pub floats: bool,
    /// What is complained of, where the plan is for a function; the pin is battery negative then.
    pub complaint: Option<Complaint>,
    /// What was read besides, each in its own state.
    pub readings: Vec<Observation>,
    /// What is known besides, each in the state in which it was seen.
    pub stated: Vec<(State, String)>,
    /// What was read at the battery's posts, where no sound circuit shows it; then no state holds a measured supply.
    pub posts: Option<Observation>,
    /// Key, switches, supply as measured, what was already out.
    pub state: State,
    /// What is known to work or to be silent, in the words of [`crate::facts::WORDS`].
    pub facts: Vec<String>,
    /// Which suspects to keep.
    pub suspects: Suspects,
    /// Where the meter shall rest; the cheapest legal place if `None`.
    pub meter: Option<PointId>,
    /// Whether inline connectors may be parted to clear a whole group at once.
    pub splits: bool,
    /// What the small moves cost.
    pub costs: Costs,
    /// Dangers that trained people have dealt with: what, and the connector or part.
    pub cleared: Vec<(Hazard, String)>,
    /// Where the walk begins, if something was done already; with everything mated as in the state if `None`.
    pub begin: Option<Begin>,
    /// Confirmed causes of other cars with this circuit; they move the weights.
    pub seen: Vec<Seen>,
    /// States the exact search may open before it gives way to a rollout.
    pub effort: usize,
    /// After this long the best plan so far is given; `None` takes the effort that it takes, and
    /// always gives the same plan.
    pub within: Option<Duration>,
}

impl Request {
    /// A plan for this pin in this state, with every suspect and the default costs.
    pub fn new(pin: PointId, state: State) -> Request {
        Request {
            pin,
            black: None,
            reads: None,
            reads_off: None,
            floats: false,
            complaint: None,
            readings: Vec::new(),
            stated: Vec::new(),
            posts: None,
            state,
            facts: Vec::new(),
            suspects: Suspects::All,
            meter: None,
            splits: true,
            costs: Costs::default(),
            cleared: Vec::new(),
            begin: None,
            seen: Vec::new(),
            effort: 20_000,
            within: None,
        }
    }

    /// Keeps only the suspects the file weighs, one short or open each, unlisted equipment left
    /// out, remating free: the terms on which a list on paper can be compared.
    pub fn file_only(mut self) -> Request {
        self.suspects = Suspects::FileOnly;
        self.costs = Costs::of_the_list();
        self
    }
}

/// What was done on the car since the reading that the plan is for.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Begin {
    /// Connectors that are out.
    pub out: BTreeSet<ConnectorId>,
    /// Connectors that were reached.
    pub reached: BTreeSet<ConnectorId>,
    /// Whether the battery is off.
    pub dead: bool,
}

/// Which suspects to keep.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Suspects {
    /// Everything the circuit gives, unlisted equipment included.
    #[default]
    All,
    /// Only units that the file gives a `suspicion`, each in its likeliest mode.
    FileOnly,
}

/// Minutes for the small moves that no file states.
///
/// Own estimates for a bay with the bonnet open, no published source.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Costs {
    /// To part a connector again, or one whose place is already reached, where the file does not say.
    pub repart: Minutes,
    /// To mate an inline connector again; `None` is what parting it again costs.
    pub remate: Option<Minutes>,
    /// To take the battery off and prove the wire dead.
    pub battery_off: Minutes,
    /// To hang a load or a bench source on the leads at the meter place.
    pub load: Minutes,
    /// To go back to a place that was reached before.
    pub again: Minutes,
    /// To move only the black lead, or turn the leads round.
    pub black: Minutes,
    /// To turn the key off and on again.
    pub key: Minutes,
    /// To get to a place whose minutes the file does not give.
    pub unknown_reach: Minutes,
}

impl Default for Costs {
    fn default() -> Costs {
        Costs {
            repart: 0.3,
            remate: None,
            battery_off: 1.0,
            load: 0.3,
            again: 0.5,
            black: 0.1,
            key: 0.2,
            unknown_reach: 5.0,
        }
    }
}

impl Costs {
    /// The terms of a list on paper: remating free, and ohms within the minutes of the module's connector.
    pub fn of_the_list() -> Costs {
        Costs { remate: Some(0.0), battery_off: 0.0, black: 0.0, ..Costs::default() }
    }
}

/// Why there is no plan.
#[derive(Clone, PartialEq, Debug)]
pub enum PlanError {
    /// The pin has no path to a supply in this state, so nothing can be expected there.
    NoSource {
        /// The pin.
        pin: String,
    },
    /// No black lead: the circuit has no battery negative and none was named.
    NoNegative,
    /// A fact that the circuit cannot use.
    UnknownFact {
        /// As it was given.
        fact: String,
        /// What can be said about this circuit.
        known: Vec<String>,
    },
    /// The meter cannot rest there.
    MeterPlace {
        /// The place.
        point: String,
        /// Why not.
        reason: String,
    },
    /// Nothing that the circuit can do wrong gives this reading together with the facts.
    Unexplained {
        /// The pin.
        pin: String,
        /// Volts read there.
        reads: Volts,
        /// Volts expected there when sound.
        healthy: Volts,
    },
    /// Nothing that the circuit can do wrong lets the pin float.
    Held {
        /// The pin.
        pin: String,
    },
    /// The reading is what a sound circuit shows.
    Sound {
        /// The pin.
        pin: String,
        /// Volts read there.
        reads: Volts,
        /// Volts expected there when sound.
        healthy: Volts,
    },
    /// A danger that must be cleared by trained people before any step.
    Gate {
        /// Where.
        at: String,
        /// The author's words, or ours where the file has none.
        words: String,
    },
    /// A sound circuit shows what is complained of.
    SoundComplaint {
        /// In words.
        complaint: String,
    },
    /// The current is what a sound circuit shows there.
    SoundCurrent {
        /// Where the clamp was.
        pin: String,
        /// What it showed.
        reads: Amps,
        /// What a sound circuit shows, least and most.
        sound: [Amps; 2],
    },
    /// Nothing that the circuit can do wrong shows what is complained of together with the facts.
    UnexplainedComplaint {
        /// In words.
        complaint: String,
    },
    /// The circuit cannot be computed in this state.
    Read(ReadError),
    /// The search gave nothing.
    Search(SearchError),
}

impl fmt::Display for PlanError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoSource { pin } => {
                write!(f, "{pin}: no path to a supply in this state, so no reading can be expected there")
            }
            Self::NoNegative => {
                f.write_str("no battery negative in the circuit: say where the black lead is")
            }
            Self::UnknownFact { fact, known } => {
                write!(f, "\"{fact}\" says nothing that this circuit can use; try: {}", known.join(", "))
            }
            Self::MeterPlace { point, reason } => write!(f, "the meter cannot rest at {point}: {reason}"),
            Self::Unexplained { pin, reads, healthy } => write!(
                f,
                "{reads} V at {pin} (sound: {healthy:.2} V) fits no single fault of this circuit together with \
                 the facts: wrong wire, wrong variant, unlisted equipment, two faults, or the meter's range"
            ),
            Self::Held { pin } => write!(
                f,
                "no single fault of this circuit lets {pin} float together with the facts: something holds it \
                 still; read it again with the other lead on battery negative, or say what it reads"
            ),
            Self::Sound { pin, reads, healthy } => {
                write!(
                    f,
                    "{reads} V at {pin} is what a sound circuit shows ({healthy:.2} V): nothing to isolate"
                )
            }
            Self::Gate { at, words } => {
                write!(f, "{at}: {words}; no plan goes there before trained people have cleared it")
            }
            Self::SoundCurrent { pin, reads, sound: [low, high] } => {
                write!(
                    f,
                    "{reads:.2} A at {pin} is sound: it takes {low:.2} to {high:.2} A there in this state"
                )
            }
            Self::SoundComplaint { complaint } => {
                write!(
                    f,
                    "{complaint}: a sound circuit does so in this state; is it the state of the complaint?"
                )
            }
            Self::UnexplainedComplaint { complaint } => write!(
                f,
                "{complaint}: no single fault of this circuit shows that in this state together with the facts: \
                 another state, wrong variant, unlisted equipment, or two faults"
            ),
            Self::Read(error) => error.fmt(f),
            Self::Search(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for PlanError {}

impl From<ReadError> for PlanError {
    fn from(error: ReadError) -> Self {
        Self::Read(error)
    }
}

impl From<SearchError> for PlanError {
    fn from(error: SearchError) -> Self {
        Self::Search(error)
    }
}
