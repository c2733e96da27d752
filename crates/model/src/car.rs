//! Which car: its options and build serial, and the conditions that lines set on them.

use std::collections::BTreeMap;

use halfsplit_syntax::{Fact, Value};

use crate::Place;

/// What is known of a car.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Car {
    /// Options known to be there (`true`) or not (`false`). One that is not listed is taken to be there.
    pub options: BTreeMap<String, bool>,
    /// Build serial. While it is unknown every serial is possible; of items that follow each
    /// other under one name the last stands.
    pub serial: Option<u64>,
}

/// What one line demands of the car.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Term {
    /// An option that is there, or is not.
    Option {
        /// Its name.
        name: String,
        /// Whether it has to be there.
        present: bool,
    },
    /// A build serial from `first` to `last`, both included.
    Serial {
        /// Lowest.
        first: u64,
        /// Highest; `None` where it is open.
        last: Option<u64>,
    },
}

/// A line's `when …`: all its terms have to hold.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Condition {
    /// What it demands.
    pub terms: Vec<Term>,
    /// The line.
    pub place: Place,
}

/// A question to the person at the car whose answer changes what is found.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Question {
    /// Does it have this option?
    Option {
        /// Its name.
        name: String,
        /// What it is, in the author's words.
        label: String,
    },
    /// Is its build serial this one or a later one?
    Serial {
        /// The first serial of the later cars.
        from: u64,
    },
}

impl Car {
    /// Whether a car is such that a line holds for it, as far as is known.
    pub fn meets(&self, terms: &[Term]) -> bool {
        terms.iter().all(|term| match term {
            Term::Option { name, present } => self.options.get(name).copied().unwrap_or(true) == *present,
            Term::Serial { first, last } => {
                self.serial.is_none_or(|serial| serial >= *first && last.is_none_or(|last| serial <= last))
            }
        })
    }
}

/// What the `when …` of a line demands; nothing where there is none.
pub(crate) fn terms(fact: &Fact) -> Vec<Term> {
    let term = |slot: &halfsplit_syntax::Slot| match (slot.name, &slot.value) {
        ("present" | "absent", Value::Word(name)) => {
            Some(Term::Option { name: name.as_str().to_owned(), present: slot.name == "present" })
        }
        ("since", Value::Integer(first)) => Some(Term::Serial { first: *first, last: None }),
        ("built", Value::Range(range)) => {
            Some(Term::Serial { first: range.first.into(), last: Some(range.last.into()) })
        }
        _ => None,
    };
    fact.slots.iter().filter_map(term).collect()
}

/// The serials for which all terms hold: first and last.
pub(crate) fn serials(terms: &[Term]) -> Option<(u64, u64)> {
    let mut range = None;
    for term in terms {
        if let Term::Serial { first, last } = term {
            let (low, high) = range.unwrap_or((0, u64::MAX));
            range = Some((low.max(*first), high.min(last.unwrap_or(u64::MAX))));
        }
    }
    range
}

/// Whether no car can meet both: one wants an option that the other wants absent.
pub(crate) fn exclude(a: &[Term], b: &[Term]) -> bool {
    a.iter().any(|term| match term {
        Term::Option { name, present } => b
            .iter()
            .any(|other| matches!(other, Term::Option { name: n, present: p } if n == name && p != present)),
        Term::Serial { .. } => false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_unknown_is_taken_to_be_there() {
        let with = |present| vec![Term::Option { name: "AC".into(), present }];
        let mut car = Car::default();
        assert!(car.meets(&with(true)) && !car.meets(&with(false)));
        car.options.insert("AC".into(), false);
        assert!(!car.meets(&with(true)) && car.meets(&with(false)));
        let since = [Term::Serial { first: 40_218, last: None }];
        assert!(car.meets(&since));
        car.serial = Some(40_217);
        assert!(!car.meets(&since));
        car.serial = Some(40_218);
        assert!(car.meets(&since));
    }
}
