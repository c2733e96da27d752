//! Takes a statement's line apart into cells, by the table's pattern for it.

use halfsplit_syntax::{
    Fact, Kind, Slot, Tree, Value,
    shape::{Part, Piece, Shape, SlotKind, TOP, Times},
};

use crate::spelling::{canonical_unit, plain_text};

/// Words that open a cell though the pattern asks for them.
const OPEN: [&str; 2] = ["draws", "halves"];

/// Words that stay in the cell before them though they open an optional part.
const STAY: [&str; 8] = ["as", "at", "because", "by", "of", "on", "per", "type"];

/// How often a slot that comes again gets a column of its own.
const MOST_TIMES: usize = 8;

/// A line taken apart.
pub(crate) struct Line {
    /// What it opens with: its keyword, or a cavity's number.
    pub(crate) first: String,
    /// The rest, in order.
    pub(crate) cells: Vec<Cell>,
    /// Its pattern's slots, for columns that lines of two kinds share.
    pub(crate) slots: Vec<&'static str>,
    /// Whether it only names a thing, and has neither pins nor quantities.
    pub(crate) names: bool,
}

/// A value with the words that belong to it.
pub(crate) struct Cell {
    /// The slot it is for; for a slot that comes again, which time.
    pub(crate) column: (&'static str, usize),
    /// Spaces before it, at least.
    pub(crate) gap: usize,
    pub(crate) text: String,
}

/// What a line is made of.
enum Element<'f> {
    Arrow,
    Word(&'f str),
    Value(Field, String),
}

/// A slot as the pattern describes it.
#[derive(Clone, Copy)]
struct Field {
    name: &'static str,
    kind: &'static SlotKind,
    needed: bool,
}

/// Takes the line of a fact apart.
pub(crate) fn line(tree: &Tree, fact: &Fact) -> Line {
    let pattern = Pattern::of(fact.shape);
    let elements = elements(tree, fact, &pattern);
    let mut elements = elements.into_iter();
    let first = match elements.next() {
        Some(Element::Word(word)) => word.to_owned(),
        Some(Element::Value(_, text)) => text,
        Some(Element::Arrow) | None => String::new(),
    };
    let rest: Vec<Element<'_>> = elements.collect();
    let slots = pattern.fields.iter().map(|field| field.name).collect();
    Line { first, cells: cells(&pattern, &rest), slots, names: pattern.names }
}

fn cells(pattern: &Pattern, elements: &[Element<'_>]) -> Vec<Cell> {
    let mut cells: Vec<Cell> = Vec::new();
    let mut text = String::new();
    let mut gap = 2;
    // The slot that the cell is for is the first one in it.
    let mut column = None;
    let close = |cells: &mut Vec<Cell>, text: &mut String, gap: usize, column: Option<&'static str>| {
        if !text.is_empty() {
            let name = column.unwrap_or("");
            // A slot may come again without end; beyond a few times it needs no column of its own.
            let time = cells.iter().rev().take(MOST_TIMES).filter(|cell| cell.column.0 == name).count();
            cells.push(Cell { column: (name, time), gap, text: std::mem::take(text) });
        }
    };
    for (at, element) in elements.iter().enumerate() {
        let before = at.checked_sub(1).and_then(|at| elements.get(at));
        if let Some(wanted) = before.and_then(|before| pattern.gap(before, element, elements.get(at + 1))) {
            close(&mut cells, &mut text, gap, column);
            (gap, column) = (wanted, None);
        } else if !text.is_empty() {
            text.push(' ');
        }
        match element {
            Element::Arrow => text.push_str("->"),
            Element::Word(word) => text.push_str(word),
            Element::Value(field, value) => {
                column = column.or(Some(pattern.column(field)));
                text.push_str(value);
            }
        }
    }
    close(&mut cells, &mut text, gap, column);
    cells
}

/// The line's tokens, those of one value together.
fn elements<'f>(tree: &'f Tree, fact: &'f Fact, pattern: &Pattern) -> Vec<Element<'f>> {
    let mut slots = fact.slots.iter().peekable();
    let mut out = Vec::new();
    let mut items = tree.items(fact.statement).peekable();
    while let Some(item) = items.next() {
        let span = tree.tokens().span(item);
        while slots.next_if(|slot| slot.span.end <= span.start).is_some() {}
        let slot = slots.peek().filter(|slot| slot.span.start <= span.start);
        let known =
            slot.and_then(|slot| Some((slot, pattern.fields.iter().find(|field| field.name == slot.name)?)));
        let Some((slot, field)) = known else {
            out.push(match tree.tokens().kind(item) {
                Kind::Arrow => Element::Arrow,
                _ => Element::Word(tree.token_text(item)),
            });
            continue;
        };
        let mut tokens = vec![item];
        while let Some(more) = items.next_if(|item| tree.tokens().span(*item).start < slot.span.end) {
            tokens.push(more);
        }
        out.push(Element::Value(*field, value(tree, slot, &tokens)));
    }
    out
}

/// A value as it is written in tidy files.
fn value(tree: &Tree, slot: &Slot, tokens: &[u32]) -> String {
    let mut out = String::new();
    let mut before: Option<u32> = None;
    let is = |token: Option<u32>, kind| token.is_some_and(|token| tree.tokens().kind(token) == kind);
    for token in tokens {
        let text = tree.token_text(*token);
        let kind = tree.tokens().kind(*token);
        let name = matches!(slot.value, Value::Word(_) | Value::Text(_) | Value::Colour(_));
        let unit = canonical_unit(text).filter(|_| !name && is(before, Kind::Number));
        if let Some(before) = before {
            let apart = tree.tokens().span(before).end < tree.tokens().start(*token);
            let range = kind == Kind::Range || is(Some(before), Kind::Range);
            if unit.is_some() || apart && !range {
                out.push(' ');
            }
        }
        match (&slot.value, kind) {
            (_, Kind::SmartText) => out.push_str(plain_text(text).as_deref().unwrap_or(text)),
            (Value::Colour(_), Kind::Word) => out.push_str(&text.to_uppercase()),
            _ => out.push_str(unit.as_deref().unwrap_or(text)),
        }
        before = Some(*token);
    }
    out
}

/// What a pattern says about cells.
struct Pattern {
    /// Its slots, in its order, each once.
    fields: Vec<Field>,
    /// Words that open an optional part.
    openers: Vec<&'static str>,
    names: bool,
}

impl Pattern {
    fn of(shape: &'static Shape) -> Self {
        let mut pattern = Self { fields: Vec::new(), openers: Vec::new(), names: false };
        pattern.gather(&shape.pieces, true);
        let measured =
            pattern.fields.iter().any(|field| matches!(field.kind, SlotKind::Pin | SlotKind::Quantity(_)));
        pattern.names = !measured && (shape.allowed_in(TOP) || is_thing(shape));
        pattern
    }

    fn gather(&mut self, pieces: &'static [Piece], needed: bool) {
        for piece in pieces {
            let needed = needed && matches!(piece.times, Times::Once | Times::Some);
            match &piece.part {
                Part::Word(_) | Part::Arrow => {}
                Part::Slot { name, kind } => {
                    if self.fields.iter().all(|field| field.name != name) {
                        self.fields.push(Field { name, kind, needed });
                    }
                }
                Part::Group(alternatives) => {
                    for alternative in alternatives {
                        if let Some(Piece { part: Part::Word(word), .. }) = alternative.first() {
                            self.openers.push(word);
                        }
                        self.gather(alternative, needed);
                    }
                }
            }
        }
    }
}

impl Pattern {
    /// The column of a cell that opens with a value: its slot's. What is said instead of a colour, or in front of
    /// it, stands in the colour's.
    fn column(&self, field: &Field) -> &'static str {
        let next = self.fields.iter().skip_while(|other| other.name != field.name).nth(1);
        match next {
            Some(next) if matches!(field.kind, SlotKind::OneOf(_)) && *next.kind == SlotKind::Colour => {
                next.name
            }
            _ => field.name,
        }
    }

    /// The gap before a cell that opens here; `None` if the element belongs to the cell before it.
    fn gap(&self, before: &Element<'_>, this: &Element<'_>, after: Option<&Element<'_>>) -> Option<usize> {
        match (before, this) {
            (_, Element::Arrow) | (Element::Arrow | Element::Word(_), Element::Value(..)) => None,
            // The other end of a wire, but not the other colour of a cavity.
            (_, Element::Word("to")) => {
                matches!(after, Some(Element::Value(field, _)) if *field.kind != SlotKind::Colour)
                    .then_some(2)
            }
            (_, Element::Word(word)) if OPEN.contains(word) => Some(2),
            (Element::Word(_), Element::Word(_)) => None,
            (_, Element::Word(word)) => {
                let opens = self.openers.contains(word) && !STAY.contains(word);
                opens.then_some(2)
            }
            (Element::Value(before, _), Element::Value(this, _)) => match (before.kind, this.kind) {
                _ if before.name == this.name || ["parameter", "sort"].contains(&before.name) => None,
                _ if this.name == "sort" => Some(1),
                (SlotKind::Name, SlotKind::Name | SlotKind::Integer) => None,
                (SlotKind::OneOf(_), SlotKind::Text) if before.needed => None,
                (SlotKind::OneOf(_), SlotKind::Colour) => None,
                (SlotKind::Name, SlotKind::Text) => Some(1),
                _ if self.names => Some(1),
                _ => Some(2),
            },
        }
    }
}

/// Whether a statement declares something that can be pointed at.
pub(crate) fn is_thing(shape: &Shape) -> bool {
    // `supply` in a block that proves something is what was measured, and no thing.
    shape.inside().find("place").is_some() && !shape.allowed_in("expect")
}
