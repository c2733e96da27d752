//! What does not add up while a text is turned into a circuit.
//!
//! The check crate words these for people; here they are facts only.

use halfsplit_base::{Refused, library::Outside};

use crate::Place;

/// One thing that does not add up.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Problem {
    /// Where.
    pub place: Place,
    /// What.
    pub kind: ProblemKind,
}

/// What does not add up.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum ProblemKind {
    /// A name that nothing declares.
    UnknownName {
        /// As written.
        written: String,
        /// What stands in its place in the grammar: `pin`, `bar`, `item`.
        wanted: &'static str,
        /// The nearest declared name, if one is near.
        near: Option<String>,
    },
    /// A name that several things answer to.
    AmbiguousName {
        /// As written.
        written: String,
        /// The full names it could mean.
        candidates: Vec<String>,
    },
    /// A name declared twice, or one that differs from another only in case or O and 0.
    DuplicateName {
        /// The name.
        name: String,
        /// The other's name, which differs for look-alikes.
        other: String,
        /// Where the other is declared.
        first: Place,
    },
    /// A cavity that its connector does not have.
    NoSuchCavity {
        /// The connector's name.
        connector: String,
        /// The cavity as written.
        cavity: String,
        /// How many cavities it has.
        count: usize,
        /// Where the connector is declared.
        declared: Place,
    },
    /// A cavity with two lines of its own.
    CavityTwice {
        /// The connector's name.
        connector: String,
        /// The cavity.
        cavity: String,
        /// The first line.
        first: Place,
    },
    /// An inline pin written without saying which half.
    HalfMissing {
        /// As written.
        written: String,
        /// The two pins it could be.
        halves: [String; 2],
    },
    /// A connector with more cavities than any has, or a file with more than any car has.
    TooManyCavities {
        /// The connector's name.
        connector: String,
        /// How many cavities were asked for.
        count: u64,
        /// How many are kept.
        most: usize,
    },
    /// Two items of one name for the same build serials.
    SerialOverlap {
        /// The name.
        name: String,
        /// Where the other is declared.
        first: Place,
        /// First serial that both hold for.
        from: u64,
        /// Last serial that both hold for.
        to: u64,
    },
    /// Build serials between two items of one name, for which neither holds.
    SerialGap {
        /// The name.
        name: String,
        /// Where the earlier is declared.
        first: Place,
        /// First serial that is left out.
        from: u64,
        /// Last serial that is left out.
        to: u64,
    },
    /// A line of a case whose words do not fit the circuit.
    Unclear {
        /// What is wrong, and what can be written.
        words: String,
    },
    /// A file that is not a circuit's root.
    NoTitle,
    /// A used file that could not be had.
    UseNotFound {
        /// As written.
        written: String,
        /// The library's root, where its path starts.
        root: String,
        /// Why not.
        why: Refused,
    },
    /// A used file of the standard library that there is not.
    NoSuchStd {
        /// As written.
        written: String,
        /// Those that there are.
        known: Vec<&'static str>,
    },
    /// A used file that does not lie under the library's root.
    UseOutside {
        /// As written.
        written: String,
        /// What leads out.
        why: Outside,
    },
    /// Files that use each other in a ring.
    UseCycle {
        /// The files, the first one again at the end.
        chain: Vec<String>,
    },
    /// A used file that is a circuit of its own.
    UseOfCircuit {
        /// As written.
        written: String,
        /// Its `circuit` line.
        title: Place,
    },
    /// A part of a kind that is for parts of another sort.
    WrongKind {
        /// The kind.
        name: String,
        /// What it is for: `sensor`.
        sort: String,
        /// What the part is: `lamp`.
        part: &'static str,
        /// Where the kind is declared.
        declared: Place,
    },
    /// A part that sets what its kind has no parameter for.
    UnknownParameter {
        /// As written.
        name: String,
        /// The kind.
        kind: String,
        /// The parameters that it has.
        known: Vec<String>,
        /// Where the kind is declared.
        declared: Place,
    },
    /// A parameter that is set to what does not fit where it stands in the kind.
    WrongArgument {
        /// The parameter; empty where it cannot be told which one.
        name: String,
        /// The kind.
        kind: String,
        /// What the parser says.
        message: String,
        /// Where the kind is declared.
        declared: Place,
    },
    /// A parameter whose name means something already, or is not in capitals.
    ParameterName {
        /// As written.
        name: String,
        /// What it means.
        means: &'static str,
    },
    /// A parameter that its kind has already, or that a part sets twice.
    ParameterTwice {
        /// The parameter.
        name: String,
        /// Where it came first.
        first: Place,
    },
    /// Parameters set by a part that is of no kind.
    WithoutKind,
    /// A used file of which nothing is used.
    UnusedUse {
        /// As written.
        written: String,
    },
}
