//! Why a text was not laid out.

use std::fmt;

/// Why a text was not laid out. The text is to be left as it is.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum FormatError {
    /// More faults than are kept, so it is not known which lines are sound.
    TooManyFaults,
    /// The laid-out text says something else than the original.
    Differs {
        /// Line of the original, from 1.
        line: usize,
        /// What stands there.
        before: String,
        /// What stands in its place; empty where nothing does.
        after: String,
    },
    /// The laid-out text has the same words, but they are read as other facts.
    OtherFacts,
}

impl fmt::Display for FormatError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooManyFaults => f.write_str("too many faults to lay it out; mend the first ones"),
            Self::Differs { line, before, after } if after.is_empty() => {
                write!(f, "left as it is: `{before}` in line {line} would have been lost")
            }
            Self::Differs { line, before, after } => {
                write!(f, "left as it is: `{before}` in line {line} would have become `{after}`")
            }
            Self::OtherFacts => f.write_str("left as it is: its blocks would have been read in another way"),
        }
    }
}

impl std::error::Error for FormatError {}
