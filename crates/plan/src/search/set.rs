//! A set of suspects as bits.

use std::fmt;

/// A set of suspects, by their position in the problem's list; at most [`Set::MOST`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Set(u128);

impl Set {
    /// How many suspects a set can tell apart.
    pub const MOST: usize = 128;

    /// The set without members.
    pub const EMPTY: Set = Set(0);

    /// The first `count` suspects; [`Set::MOST`] where there are more.
    pub fn first(count: usize) -> Set {
        if count >= Self::MOST { Set(u128::MAX) } else { Set((1 << count) - 1) }
    }

    /// The set of one suspect.
    pub fn only(suspect: usize) -> Set {
        Set(1 << suspect)
    }

    /// Puts a suspect in.
    pub fn insert(&mut self, suspect: usize) {
        self.0 |= 1 << suspect;
    }

    /// Whether the suspect is a member.
    pub fn contains(self, suspect: usize) -> bool {
        self.0 >> suspect & 1 == 1
    }

    /// Number of members.
    pub fn len(self) -> usize {
        self.0.count_ones() as usize
    }

    /// Whether nobody is left.
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Members of both sets.
    pub fn and(self, other: Set) -> Set {
        Set(self.0 & other.0)
    }

    /// Members of either set.
    pub fn or(self, other: Set) -> Set {
        Set(self.0 | other.0)
    }

    /// Members that the other set lacks.
    pub fn without(self, other: Set) -> Set {
        Set(self.0 & !other.0)
    }

    /// Whether every member is also in the other set.
    pub fn is_within(self, other: Set) -> bool {
        self.0 & !other.0 == 0
    }

    /// Members in ascending order.
    pub fn iter(self) -> impl Iterator<Item = usize> {
        let mut rest = self.0;
        std::iter::from_fn(move || {
            if rest == 0 {
                return None;
            }
            let next = rest.trailing_zeros() as usize;
            rest &= rest - 1;
            Some(next)
        })
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
