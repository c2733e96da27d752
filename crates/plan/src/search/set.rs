//! A set of suspects as bits.

use std::fmt;

/// Words that hold a set.
const WORDS: usize = 8;

/// A set of suspects, connectors or places, by their position in the problem's list; at most [`Set::MOST`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Set([u64; WORDS]);

impl Set {
    /// How many members a set can tell apart.
    pub const MOST: usize = WORDS * 64;

    /// The set without members.
    pub const EMPTY: Set = Set([0; WORDS]);

    /// The first `count` members; [`Set::MOST`] where there are more.
    pub fn first(count: usize) -> Set {
        (0..count.min(Self::MOST)).collect()
    }

    /// The set of one member.
    pub fn only(member: usize) -> Set {
        let mut set = Set::EMPTY;
        set.insert(member);
        set
    }

    /// Puts a member in.
    pub fn insert(&mut self, member: usize) {
        self.0[member / 64] |= 1 << (member % 64);
    }

    /// Whether it is a member.
    pub fn contains(self, member: usize) -> bool {
        self.0[member / 64] >> (member % 64) & 1 == 1
    }

    /// Number of members.
    pub fn len(self) -> usize {
        self.0.iter().map(|word| word.count_ones() as usize).sum()
    }

    /// Whether nobody is left.
    pub fn is_empty(self) -> bool {
        self.0 == [0; WORDS]
    }

    /// Members of both sets.
    pub fn and(self, other: Set) -> Set {
        self.with(other, |one, two| one & two)
    }

    /// Members of either set.
    pub fn or(self, other: Set) -> Set {
        self.with(other, |one, two| one | two)
    }

    /// Members that the other set lacks.
    pub fn without(self, other: Set) -> Set {
        self.with(other, |one, two| one & !two)
    }

    /// Whether every member is also in the other set.
    pub fn is_within(self, other: Set) -> bool {
        self.0.iter().zip(other.0).all(|(one, two)| one & !two == 0)
    }

    /// Members in ascending order.
    pub fn iter(self) -> impl Iterator<Item = usize> {
        self.0.into_iter().enumerate().flat_map(|(at, mut rest)| {
            std::iter::from_fn(move || {
                if rest == 0 {
                    return None;
                }
                let next = rest.trailing_zeros() as usize;
                rest &= rest - 1;
                Some(at * 64 + next)
            })
        })
    }

    fn with(self, other: Set, join: impl Fn(u64, u64) -> u64) -> Set {
        Set(std::array::from_fn(|at| join(self.0[at], other.0[at])))
    }
}

impl FromIterator<usize> for Set {
    fn from_iter<I: IntoIterator<Item = usize>>(members: I) -> Set {
        let mut set = Set::EMPTY;
        for member in members {
            set.insert(member);
        }
        set
    }
}

impl fmt::Debug for Set {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_set().entries(self.iter()).finish()
    }
}
