//! Facts: statements whose words have found their places in the table.

use crate::{
    shape::Shape,
    span::{Span, Spanned},
    tree::StatementId,
    units::Dimension,
    written::Written,
};

/// A statement that was understood, in whole or in its good part.
#[derive(Clone, Debug)]
pub struct Fact {
    /// The table's entry for it.
    pub shape: &'static Shape,
    /// The statement in the tree.
    pub statement: StatementId,
    /// The whole statement, block included.
    pub span: Span,
    /// The word it opens with.
    pub keyword_span: Span,
    /// What was read, in the order of writing. Repeated slots appear repeatedly.
    pub slots: Vec<Slot>,
    /// The facts of its block.
    pub facts: Vec<Fact>,
    /// Whether every word of its line was understood.
    pub whole: bool,
}

/// One value of a fact.
#[derive(Clone, PartialEq, Debug)]
pub struct Slot {
    /// The slot's name in the table's pattern, in lower case: `from`.
    pub name: &'static str,
    /// What was written there.
    pub value: Value,
    /// Where.
    pub span: Span,
}

/// What a slot can hold.
#[derive(Clone, PartialEq, Debug)]
pub enum Value {
    /// A name, pin, part, terminal, letter or one word of a set.
    Word(Written),
    /// Text between quotation marks, without them.
    Text(Written),
    /// A colour as base/tracer, in capitals: `GY/RD`, `GNYE`.
    Colour(Written),
    /// A number without unit.
    Number(f64),
    /// A whole number.
    Integer(u64),
    /// A number or a range of numbers.
    Range(Range),
    /// A number with its unit.
    Quantity(Quantity),
    /// A wire's cross-section.
    Section(Section),
    /// The word `unknown`, where no [`Value::Quantity`] says so.
    Unknown,
}

/// Whole numbers from first to last, both included.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Range {
    /// Lowest.
    pub first: u32,
    /// Highest; the same for a single number.
    pub last: u32,
}

/// A number with its unit, in the dimension's base unit.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Quantity {
    /// In the base unit of its dimension; `None` for the word `unknown`, which is never zero.
    pub value: Option<f64>,
    /// What it measures.
    pub dimension: Dimension,
}

/// A wire's cross-section as written.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Section {
    /// Square millimetres.
    Area(f64),
    /// American wire gauge. 0 is `0`, -1 is `00`, and so on.
    Awg(i32),
    /// SAE size, which is thinner than AWG of the same number.
    Sae(i32),
    /// The word `unknown`.
    Unknown,
}

impl Fact {
    /// The keyword of its shape: `wire`. Cavity and terminal lines have `cavity` and `terminal`.
    pub fn keyword(&self) -> &'static str {
        self.shape.keyword
    }

    /// Facts of its block with this keyword.
    pub fn all<'f>(&'f self, keyword: &'f str) -> impl Iterator<Item = &'f Fact> + 'f {
        self.facts.iter().filter(move |fact| fact.shape.keyword == keyword)
    }

    /// The first fact of its block with this keyword.
    pub fn first(&self, keyword: &str) -> Option<&Fact> {
        self.facts.iter().find(|fact| fact.shape.keyword == keyword)
    }

    /// The first value of a slot.
    pub fn slot(&self, name: &str) -> Option<&Slot> {
        self.slots.iter().find(|slot| slot.name == name)
    }

    /// Whether a slot was written, be it as `unknown`.
    pub fn has(&self, name: &str) -> bool {
        self.slot(name).is_some()
    }

    /// Whether a slot was written as `unknown`.
    pub fn is_unknown(&self, name: &str) -> bool {
        self.slot(name).is_some_and(|slot| match &slot.value {
            Value::Unknown | Value::Section(Section::Unknown) => true,
            Value::Quantity(quantity) => quantity.value.is_none(),
            _ => false,
        })
    }

    fn read<'f, T>(&'f self, name: &str, read: impl Fn(&'f Value) -> Option<T>) -> Option<Spanned<T>> {
        let slot = self.slot(name)?;
        Some(Spanned::new(read(&slot.value)?, slot.span))
    }

    /// A word: a name that is declared, a part, a terminal, one of a set.
    pub fn word(&self, slot: &str) -> Option<Spanned<&str>> {
        self.read(slot, |value| match value {
            Value::Word(word) => Some(word.as_str()),
            _ => None,
        })
    }

    /// The name that is declared.
    pub fn name(&self, slot: &str) -> Option<Spanned<&str>> {
        self.word(slot)
    }

    /// A pin as written: `X34:2`, `SP10`, `stub`.
    pub fn pin(&self, slot: &str) -> Option<Spanned<&str>> {
        self.word(slot)
    }

    /// All words of a repeated slot.
    pub fn words<'f>(&'f self, name: &'f str) -> impl Iterator<Item = Spanned<&'f str>> + 'f {
        self.slots.iter().filter(move |slot| slot.name == name).filter_map(|slot| match &slot.value {
            Value::Word(word) => Some(Spanned::new(word.as_str(), slot.span)),
            _ => None,
        })
    }

    /// Text between quotation marks.
    pub fn text(&self, slot: &str) -> Option<Spanned<&str>> {
        self.read(slot, |value| match value {
            Value::Text(text) => Some(text.as_str()),
            _ => None,
        })
    }

    /// A colour as base/tracer; `None` also where it is `unknown`.
    pub fn colour(&self, slot: &str) -> Option<Spanned<&str>> {
        self.read(slot, |value| match value {
            Value::Colour(colour) => Some(colour.as_str()),
            _ => None,
        })
    }

    /// A number without unit.
    pub fn number(&self, slot: &str) -> Option<Spanned<f64>> {
        self.read(slot, |value| match value {
            Value::Number(number) => Some(*number),
            _ => None,
        })
    }

    /// A whole number; `None` also where it is `unknown`.
    pub fn integer(&self, slot: &str) -> Option<Spanned<u64>> {
        self.read(slot, |value| match value {
            Value::Integer(integer) => Some(*integer),
            _ => None,
        })
    }

    /// A number or range of numbers.
    pub fn range(&self, slot: &str) -> Option<Spanned<Range>> {
        self.read(slot, |value| match value {
            Value::Range(range) => Some(*range),
            _ => None,
        })
    }

    /// A quantity in its base unit (V, A, ohm, W, m, min, °C).
    pub fn quantity(&self, slot: &str) -> Option<Spanned<Quantity>> {
        self.read(slot, |value| match value {
            Value::Quantity(quantity) => Some(*quantity),
            _ => None,
        })
    }

    /// A wire's cross-section.
    pub fn section(&self, slot: &str) -> Option<Spanned<Section>> {
        self.read(slot, |value| match value {
            Value::Section(section) => Some(*section),
            _ => None,
        })
    }

    /// The quantity of the first fact in its block with this keyword: `quantity_in("reach")`.
    pub fn quantity_in(&self, keyword: &str) -> Option<Spanned<Quantity>> {
        self.value_in(keyword, |value| match value {
            Value::Quantity(quantity) => Some(*quantity),
            _ => None,
        })
    }

    /// The text of the first fact in its block with this keyword: `text_in("place")`.
    pub fn text_in(&self, keyword: &str) -> Option<Spanned<&str>> {
        self.value_in(keyword, |value| match value {
            Value::Text(text) => Some(text.as_str()),
            _ => None,
        })
    }

    /// The number of the first fact in its block with this keyword: `number_in("suspicion")`.
    pub fn number_in(&self, keyword: &str) -> Option<Spanned<f64>> {
        self.value_in(keyword, |value| match value {
            Value::Number(number) => Some(*number),
            Value::Integer(number) => Some(*number as f64),
            _ => None,
        })
    }

    /// The word of the first fact in its block with this keyword: `word_in("view")`.
    pub fn word_in(&self, keyword: &str) -> Option<Spanned<&str>> {
        self.value_in(keyword, |value| match value {
            Value::Word(word) => Some(word.as_str()),
            _ => None,
        })
    }

    fn value_in<'f, T>(&'f self, keyword: &str, read: impl Fn(&'f Value) -> Option<T>) -> Option<Spanned<T>> {
        self.first(keyword)?.slots.iter().find_map(|slot| Some(Spanned::new(read(&slot.value)?, slot.span)))
    }
}
