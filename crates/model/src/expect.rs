//! Proof in the file: what its author expects a meter, a net or a plan to say.
//!
//! Names stay as written, since a block may be about a car in which they stand for other points.

use halfsplit_circuit::{Load, Volts};

use crate::{Car, Place};

/// One block: a state, and what has to come out in it.
#[derive(Clone, PartialEq, Debug)]
pub struct Expect {
    /// The author's words.
    pub title: String,
    /// The statement.
    pub place: Place,
    /// The car it is about.
    pub car: Car,
    /// Key position, where the block says one.
    pub key: Option<Said>,
    /// Volts measured at the battery's posts.
    pub supply: Option<Volts>,
    /// Whether the battery is disconnected.
    pub battery_off: bool,
    /// Switches and commands, `S7=pressed`.
    pub settings: Vec<Said>,
    /// What is parted or pulled.
    pub out: Vec<Said>,
    /// What is wrong.
    pub faults: Vec<Said>,
    /// What has to come out.
    pub wants: Vec<Want>,
}

/// Words and where they stand.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Said {
    /// As written, without quotation marks.
    pub words: String,
    /// Where.
    pub place: Place,
}

/// One thing that has to come out.
#[derive(Clone, PartialEq, Debug)]
pub struct Want {
    /// The statement.
    pub place: Place,
    /// What.
    pub kind: WantKind,
}

/// What has to come out.
#[derive(Clone, PartialEq, Debug)]
pub enum WantKind {
    /// A reading in volts.
    Volts {
        /// Red lead.
        red: Said,
        /// Black lead; battery negative if `None`.
        black: Option<Said>,
        /// What the meter may show.
        band: Band,
        /// What hangs on the leads besides.
        load: Load,
    },
    /// A reading in ohms.
    Ohms {
        /// Red lead.
        red: Said,
        /// Black lead; battery negative if `None`.
        black: Option<Said>,
        /// What the meter may show.
        band: Band,
    },
    /// What copper joins to a pin.
    Net {
        /// The pin.
        pin: Said,
        /// Whether the others are to be joined to it, or not.
        holds: bool,
        /// The others.
        others: Vec<Said>,
    },
    /// Nothing that could be held against anything: why, in words.
    Nothing(&'static str),
    /// How a plan begins and ends.
    Plan {
        /// The pin that reads wrong.
        pin: Said,
        /// What it reads.
        reads: Option<Volts>,
        /// What is known besides.
        facts: Vec<Said>,
        /// What the first step is about.
        first: Option<Said>,
        /// The repair units at the end.
        conclusion: Vec<Said>,
    },
}

/// What a meter may show.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Band {
    /// About one value; its place has the digits that were written.
    About(f64, Place),
    /// From one value to another.
    Between([f64; 2], Place),
    /// Over range.
    Open(Place),
}
