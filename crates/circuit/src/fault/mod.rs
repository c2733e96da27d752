//! Faults as changes of a circuit.

mod list;

use crate::{BranchId, Ohms, PointId, Volts};

pub use list::{
    ALONG, BAD_CONTACT, BAD_JOINT, INNER_SHORT, LEAK, NamedFault, TOUCH, UNLISTED, adjacent, faults_of,
    pairs_of,
};

/// One physical fault.
#[derive(Clone, PartialEq, Debug)]
pub struct Fault {
    /// What is wrong.
    pub kind: FaultKind,
}

impl From<FaultKind> for Fault {
    fn from(kind: FaultKind) -> Fault {
        Fault { kind }
    }
}

/// What is wrong.
#[derive(Clone, PartialEq, Debug)]
pub enum FaultKind {
    /// A conducting path that should not be there: a short or a leak inside a
    /// part, between neighbours, to body or to power.
    Bridge {
        /// One end.
        a: PointId,
        /// Other end.
        b: PointId,
        /// Its resistance; never zero.
        ohms: Ohms,
    },
    /// A wire chafed through part of the way along: a path from that spot to `to`.
    Chafe {
        /// The wire.
        branch: BranchId,
        /// Where along the wire, 0 at end `a`, 1 at end `b`.
        along: f64,
        /// What it touches.
        to: PointId,
        /// Resistance of the touch; never zero.
        ohms: Ohms,
    },
    /// Two wires rubbed through to each other, each part of the way along.
    Touch {
        /// One wire, and where along it: 0 at its end `a`, 1 at its end `b`.
        one: (BranchId, f64),
        /// The other wire, and where along it.
        other: (BranchId, f64),
        /// Resistance of the touch; never zero.
        ohms: Ohms,
    },
    /// Resistance added in series with a branch; an infinite value is a clean break.
    Series {
        /// The branch.
        branch: BranchId,
        /// Added resistance.
        ohms: Ohms,
    },
    /// A reference or driver that never acts.
    Dead {
        /// The branch.
        branch: BranchId,
    },
    /// A contact or driver that is closed whatever its command, with this resistance.
    StuckClosed {
        /// The branch.
        branch: BranchId,
        /// Resistance while stuck; never zero.
        ohms: Ohms,
    },
    /// Equipment the file does not know: volts behind ohms to battery negative
    /// while key and battery are on, `unpowered` ohms otherwise.
    Sink {
        /// Where it is tapped on.
        point: PointId,
        /// Volts it pulls towards.
        volts: Volts,
        /// Resistance in series.
        ohms: Ohms,
        /// Resistance to negative when not powered; infinite for none.
        unpowered: Ohms,
    },
}
