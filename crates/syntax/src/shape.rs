//! The table: which statements exist, where they may stand and what they take.
//!
//! One [`Entry`] is one statement. Its pattern is read by the matcher, by the grammar file, by completion
//! and by the guide, so a new statement is one new entry under `shapes/` and nothing else.

mod ebnf;
mod page;
mod pattern;

use std::{collections::HashMap, sync::OnceLock};

pub(crate) use self::pattern::walk;
pub use self::{
    ebnf::ebnf,
    page::{INDEX, index, page, words},
    pattern::{Part, Piece, SlotKind, Times},
};
use crate::shapes;

/// The name of the place outside all blocks, for [`Entry::within`].
pub const TOP: &str = "file";

/// For which vehicles a line holds: the end of every statement that speaks of a thing on the vehicle.
const CONDITION: &str = "( when ( not ABSENT:NAME | serial ( >= SINCE:INTEGER | BUILT:RANGE ) | PRESENT:NAME ) ( and ( not ABSENT:NAME | serial ( >= SINCE:INTEGER | BUILT:RANGE ) | PRESENT:NAME ) )* )?";

/// What its slots mean.
const CONDITION_SLOTS: &[(&str, &str)] = &[
    ("present", "Only on vehicles with this option."),
    ("absent", "Only on vehicles without this option."),
    ("since", "Only on vehicles from this build serial on."),
    ("built", "Only on vehicles with a build serial in this range."),
];

/// What a part's `as` means.
const AS_ABOUT: &str =
    "The kind that it is of. What its kind says need not be said again, and is replaced by what is.";

/// What a kind says for the parts that are of it: these values and words may be left out behind `as`.
const SAID_BY_KIND: [&str; 7] = ["rating", "count", "cavities", "halves", "first", "second", "kind"];

/// Whether a piece may be left out of a part's line because the kind behind `as` says it.
pub fn is_said_by_kind(piece: &Piece) -> bool {
    match &piece.part {
        Part::Slot { name, .. } => SAID_BY_KIND.contains(&name.as_str()),
        Part::Word(word) => SAID_BY_KIND.contains(word),
        Part::Arrow | Part::Group(_) => false,
    }
}

/// Statements about files, options, knowledge and proof, which hold for every vehicle.
const UNCONDITIONAL: &[&str] = &[
    "halfsplit",
    "circuit",
    "library",
    "use",
    "kind",
    "parameter",
    "with",
    "vehicle",
    "system",
    "years",
    "option",
    "allow",
    "source",
    "traced",
    "expect",
    "case",
];

/// Blocks that speak of one vehicle in one state, so that no line in them holds for some vehicles only.
const SETTLED: &[&str] = &["expect", "plan", "case"];

/// One statement of the language, as the table writes it down.
///
/// Patterns are written so: `lower-case` words and `->` stand for themselves; `SLOT:TYPE` takes a value,
/// and a type alone names its slot in lower case; `SLOT:one|other` takes one of these words; `?`, `*` and `+`
/// behind a part make it optional, repeated, or repeated but at least once; `( … )` groups, and ` | ` in a group
/// parts alternatives.
#[derive(Debug)]
pub struct Entry {
    /// What the statement is called. The word it opens with, but for cavity and terminal lines, which open with a slot.
    pub keyword: &'static str,
    /// Keywords of the statements in whose blocks it may stand, in groups; [`TOP`] for outside all blocks.
    pub within: &'static [&'static [&'static str]],
    /// What the line looks like.
    pub pattern: &'static str,
    /// What it says, in a sentence.
    pub about: &'static str,
    /// What each slot means.
    pub slots: &'static [(&'static str, &'static str)],
    /// One correct line.
    pub example: &'static str,
}

impl Entry {
    fn takes_condition(&self) -> bool {
        let settled = self.within.iter().all(|group| group.iter().all(|place| SETTLED.contains(place)));
        !settled && !UNCONDITIONAL.contains(&self.keyword)
    }
}

/// One statement of the language, its pattern taken apart.
#[derive(Debug)]
pub struct Shape {
    /// What the statement is called: `wire`.
    pub keyword: &'static str,
    /// Its entry in the table.
    pub entry: &'static Entry,
    /// Its pattern, taken apart.
    pub pieces: Vec<Piece>,
    /// The words that its pattern spells out.
    pub literals: Vec<&'static str>,
    /// Its number in the table.
    number: usize,
    /// The statements of its block.
    block: Option<usize>,
}

impl Shape {
    /// Whether it may stand in the block of a statement, or, for [`TOP`], outside all blocks.
    pub fn allowed_in(&self, place: &str) -> bool {
        self.entry.within.iter().any(|group| group.contains(&place))
    }

    /// All places where it may stand.
    pub fn places(&self) -> impl Iterator<Item = &'static str> + '_ {
        self.entry.within.iter().flat_map(|group| group.iter().copied())
    }

    /// Whether its line opens with its keyword.
    pub fn opens_with_keyword(&self) -> bool {
        matches!(self.pieces.first(), Some(Piece { part: Part::Word(word), .. }) if *word == self.keyword)
    }

    /// The statements that may stand in its block; none if it takes no block.
    pub fn inside(&self) -> Inside {
        Inside(self.block)
    }

    /// Whether its line may end in `when …`, for which vehicles it holds. That is its last piece then.
    pub fn takes_condition(&self) -> bool {
        self.entry.takes_condition()
    }

    /// What a slot means.
    pub fn slot_about(&self, slot: &str) -> Option<&'static str> {
        let own = self.entry.slots.iter().find(|(name, _)| *name == slot);
        let condition = || CONDITION_SLOTS.iter().find(|(name, _)| *name == slot);
        let kind = || (slot == "as").then_some(AS_ABOUT);
        own.or_else(condition).map(|(_, about)| *about).or_else(kind)
    }
}

impl PartialEq for Shape {
    fn eq(&self, other: &Self) -> bool {
        self.number == other.number
    }
}

/// All statements, in the order of the guide.
pub fn all() -> &'static [Shape] {
    &table().shapes
}

/// The statements that may stand outside all blocks.
pub fn top() -> Inside {
    Inside(table().numbers.get(TOP).copied())
}

/// The statements that may stand in the block of a keyword.
pub fn inside(keyword: &str) -> Inside {
    Inside(table().numbers.get(keyword).copied())
}

/// The statement that declares a part or a connector, by its word.
pub fn part(keyword: &str) -> Option<&'static Shape> {
    all().iter().find(|shape| {
        shape.keyword == keyword
            && (shape.allowed_in(TOP) || shapes::PARTS.iter().any(|part| shape.allowed_in(part)))
    })
}

/// All statements that a word opens, wherever they may stand.
pub(crate) fn anywhere(word: &str) -> impl Iterator<Item = &'static Shape> {
    all().iter().filter(move |shape| shape.keyword == word && shape.opens_with_keyword())
}

/// The statements that may stand in one place.
#[derive(Clone, Copy, Debug)]
pub struct Inside(Option<usize>);

impl Inside {
    fn place(self) -> Option<&'static Place> {
        table().places.get(self.0?)
    }

    /// Whether there are none: the statement takes no block.
    pub fn is_empty(self) -> bool {
        self.0.is_none()
    }

    /// All of them.
    pub fn shapes(self) -> impl Iterator<Item = &'static Shape> {
        let numbers = self.place().map_or(&[][..], |place| &place.shapes);
        numbers.iter().filter_map(|number| table().shapes.get(*number))
    }

    /// The one that a word opens.
    pub fn find(self, word: &str) -> Option<&'static Shape> {
        let words = &self.place()?.by_word;
        let at = words.binary_search_by(|(known, _)| (*known).cmp(word)).ok()?;
        table().shapes.get(words.get(at)?.1)
    }

    /// The one whose line opens with a slot instead of a word.
    pub fn wordless(self) -> Option<&'static Shape> {
        table().shapes.get(self.place()?.wordless?)
    }
}

struct Table {
    shapes: Vec<Shape>,
    places: Vec<Place>,
    numbers: HashMap<&'static str, usize>,
}

#[derive(Default)]
struct Place {
    shapes: Vec<usize>,
    /// By word, in its order.
    by_word: Vec<(&'static str, usize)>,
    wordless: Option<usize>,
}

fn table() -> &'static Table {
    static TABLE: OnceLock<Table> = OnceLock::new();
    TABLE.get_or_init(build)
}

fn build() -> Table {
    let entries = shapes::ALL.iter().flat_map(|group| group.iter());
    let mut shapes: Vec<Shape> = entries
        .enumerate()
        .map(|(number, entry)| {
            let mut pieces = pattern::pieces(entry.pattern);
            if entry.takes_condition() {
                pieces.append(&mut pattern::pieces(CONDITION));
            }
            let mut literals = Vec::new();
            walk(&pieces, &mut |piece| {
                if let Part::Word(word) = &piece.part {
                    literals.push(*word);
                }
            });
            Shape { keyword: entry.keyword, entry, pieces, literals, number, block: None }
        })
        .collect();
    let mut places: Vec<Place> = Vec::new();
    let mut numbers = HashMap::new();
    for shape in &shapes {
        for keyword in shape.places() {
            let at = *numbers.entry(keyword).or_insert(places.len());
            if at == places.len() {
                places.push(Place::default());
            }
            let Some(place) = places.get_mut(at) else {
                continue;
            };
            place.shapes.push(shape.number);
            if let Some(Piece { part: Part::Word(word), .. }) = shape.pieces.first() {
                place.by_word.push((word, shape.number));
            } else {
                place.wordless = Some(shape.number);
            }
        }
    }
    for place in &mut places {
        place.by_word.sort_unstable();
    }
    for shape in &mut shapes {
        shape.block = numbers.get(shape.keyword).copied();
    }
    Table { shapes, places, numbers }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_entry_is_complete() {
        let keywords: Vec<&str> = all().iter().map(|shape| shape.keyword).chain([TOP]).collect();
        for shape in all() {
            let keyword = shape.keyword;
            assert!(!shape.entry.about.is_empty() && shape.entry.about.ends_with('.'), "{keyword}: about");
            assert!(shape.places().next().is_some(), "{keyword} may stand nowhere");
            for place in shape.places() {
                assert!(keywords.contains(&place), "{keyword} is within {place}, which does not exist");
            }
            let mut named = Vec::new();
            pattern::walk(&shape.pieces, &mut |piece| {
                if let Part::Slot { name, .. } = &piece.part {
                    named.push(name.as_str());
                }
            });
            for (slot, about) in shape.entry.slots {
                assert!(named.contains(slot), "{keyword} describes {slot}, which its pattern lacks");
                assert!(!about.is_empty(), "{keyword}: {slot}");
            }
            for name in named {
                assert!(shape.slot_about(name).is_some(), "{keyword} does not describe {name}");
            }
        }
    }

    #[test]
    fn every_pattern_is_spelt_in_known_types() {
        for shape in all() {
            pattern::walk(&shape.pieces, &mut |piece| {
                assert!(
                    !matches!(&piece.part, Part::Word(word) if *word != ">=" && word.chars().any(|c| !c.is_ascii_lowercase() && c != '-')),
                    "{}: {piece:?}",
                    shape.entry.pattern,
                );
            });
        }
    }

    #[test]
    fn every_example_reads_as_its_own_statement() {
        for shape in all() {
            for place in shape.places() {
                let text = match place {
                    TOP if shape.keyword == "halfsplit" => format!("{}\n", shape.entry.example),
                    TOP => format!("halfsplit 1\n{}\n", shape.entry.example),
                    _ => inside_example(place, shape.entry.example),
                };
                let parse = crate::parse(text.as_str());
                assert_eq!(parse.errors, [], "{text}");
                let found = find(&parse.facts, shape);
                assert!(found, "{text}");
            }
        }
    }

    /// An example line in a block, and that block in the blocks it needs.
    fn inside_example(place: &str, line: &str) -> String {
        let Some(holder) = all().iter().find(|shape| shape.keyword == place) else {
            return String::new();
        };
        let block = format!("{} {{\n{line}\n}}", holder.entry.example);
        if holder.allowed_in(TOP) {
            return format!("halfsplit 1\n{block}\n");
        }
        let outer = holder.places().next().unwrap_or(TOP);
        inside_example(outer, &block)
    }

    fn find(facts: &[crate::Fact], shape: &Shape) -> bool {
        facts.iter().any(|fact| fact.shape == shape || find(&fact.facts, shape))
    }
}
