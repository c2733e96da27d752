//! What may be written at a place.

mod names;
mod values;

use halfsplit_base::Span;
use halfsplit_syntax::shape::{Part, Piece, Shape, SlotKind, Times};

use crate::Analysis;
use crate::line::{Line, Next, line, next};
use crate::scene::Scene;

/// Offers before the rest is left out until more is typed.
pub(crate) const MOST: usize = 300;

/// Something that may be written.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Completion {
    /// What the menu shows, and what is written where nothing else is said.
    pub label: String,
    /// What sort of thing it is.
    pub kind: CompletionKind,
    /// A few words beside it.
    pub detail: String,
    /// What is written, where that is more than the label; `$0`, `${1:…}` mark places.
    pub snippet: Option<String>,
    /// Lower ones come first.
    pub order: u32,
}

/// What sort of thing an offer is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum CompletionKind {
    /// A word that opens a statement.
    Statement,
    /// Another word of the language.
    Word,
    /// A part.
    Part,
    /// A connector.
    Connector,
    /// A pin, splice or terminal.
    Pin,
    /// A kind.
    Kind,
    /// A parameter of a kind.
    Parameter,
    /// A colour.
    Colour,
    /// A unit.
    Unit,
    /// A value that others in the file have.
    Value,
    /// A state, position or option.
    State,
    /// A rule.
    Rule,
    /// A file.
    File,
    /// A new name that is still free.
    NewName,
}

/// Every offer at a place.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Completions {
    /// What is replaced by the one that is chosen.
    pub replaces: Span,
    /// The offers, best first.
    pub offers: Vec<Completion>,
    /// Whether there are more, which show as more is typed.
    pub cut: bool,
}

impl Completion {
    fn new(
        label: impl Into<String>,
        kind: CompletionKind,
        detail: impl Into<String>,
        order: u32,
    ) -> Completion {
        Completion { label: label.into(), kind, detail: detail.into(), snippet: None, order }
    }
}

/// Collects the offers of one place.
pub(crate) struct Offers<'a> {
    pub(crate) analysis: &'a Analysis,
    pub(crate) scene: Scene<'a>,
    pub(crate) line: &'a Line<'a>,
    /// What is typed of the word so far.
    pub(crate) typed: &'a str,
    list: Vec<Completion>,
}

impl Offers<'_> {
    fn add(&mut self, offer: Completion) {
        if !self.list.iter().any(|known| known.label == offer.label) {
            self.list.push(offer);
        }
    }

    /// Whether what is typed so far can become this.
    fn fits(&self, label: &str) -> bool {
        crate::index::rank(label, self.typed).is_some()
    }
}

/// The offers at an offset.
pub(crate) fn completions(analysis: &Analysis, scene: Scene, offset: u32) -> Option<Completions> {
    let line = line(scene, offset)?;
    let start = if line.quoted.is_some() { line.word.start + 1 } else { line.word.start };
    let typed = scene.text().get(start as usize..offset as usize).unwrap_or("");
    let mut offers = Offers { analysis, scene, line: &line, typed, list: Vec::new() };
    let mut replaces = line.word;
    if let Some(quoted) = line.quoted {
        replaces = values::quoted(&mut offers, quoted, offset)?;
    } else if line.before.is_empty() {
        statements(&mut offers);
    } else if let Some(shape) = line.shape {
        for next in next(scene.tree(), &line, shape) {
            match next {
                Next::Unit(dimension) => values::units(&mut offers, dimension),
                Next::Piece(piece) => self::piece(&mut offers, shape, piece),
            }
        }
    }
    let mut list = offers.list;
    list.sort_by_key(|a| a.order);
    let cut = list.len() > MOST;
    list.truncate(MOST);
    Some(Completions { replaces, offers: list, cut })
}

fn statements(offers: &mut Offers) {
    for (order, shape) in offers.line.inside.shapes().enumerate() {
        if shape.opens_with_keyword() && offers.fits(shape.keyword) {
            let mut offer =
                Completion::new(shape.keyword, CompletionKind::Statement, shape.entry.about, order as u32);
            offer.snippet = Some(skeleton(shape));
            offers.add(offer);
        }
    }
    let keyword = offers.line.holder.map(halfsplit_syntax::Fact::keyword);
    if offers.line.inside.wordless().is_some_and(|shape| shape.keyword == "cavity") {
        names::missing_cavities(offers);
    } else if matches!(keyword, Some("relay" | "switch" | "motor")) {
        values::terminals(offers);
    }
}

fn piece(offers: &mut Offers, shape: &'static Shape, piece: &Piece) {
    match &piece.part {
        Part::Word(word) if offers.fits(word) => {
            let detail = if *word == "as" { "of a kind" } else { "" };
            offers.add(Completion::new(*word, CompletionKind::Word, detail, 20));
        }
        Part::Arrow => offers.add(Completion::new("->", CompletionKind::Word, "where the current flows", 10)),
        Part::Slot { name, kind } => match kind {
            SlotKind::Pin => names::pins(offers, shape, name),
            SlotKind::Item => names::items(offers, shape, name),
            SlotKind::Name => names::name(offers, shape, name),
            SlotKind::Terminal => values::terminals(offers),
            SlotKind::Colour => values::colours(offers),
            SlotKind::Quantity(dimension) => values::quantities(offers, shape, name, *dimension),
            SlotKind::OneOf(words) => {
                for (order, word) in words.iter().enumerate().filter(|(_, word)| !word.is_empty()) {
                    if offers.fits(word) {
                        let about = shape.slot_about(name).unwrap_or_default();
                        offers.add(Completion::new(*word, CompletionKind::State, about, order as u32));
                    }
                }
            }
            SlotKind::Word if shape.keyword == "allow" => values::rules(offers),
            SlotKind::Word if shape.keyword == "set" => names::positions(offers),
            SlotKind::Text => {
                let mut offer =
                    Completion::new("\"…\"", CompletionKind::Value, shape.slot_about(name).unwrap_or(""), 60);
                offer.snippet = Some("\"$0\"".into());
                if offers.typed.is_empty() {
                    offers.add(offer);
                }
            }
            _ => {}
        },
        _ => {}
    }
}

/// A statement with a place for each of its values, and its block where it has one mostly.
pub(crate) fn skeleton(shape: &Shape) -> String {
    let mut out = String::new();
    let mut number = 0;
    skeleton_of(&shape.pieces, &mut out, &mut number);
    let plain = [
        "wire",
        "fuse",
        "link",
        "splice",
        "bar",
        "ground-point",
        "feed",
        "driver",
        "bridge",
        "use",
        "cavity",
    ];
    if !shape.inside().is_empty() && !plain.contains(&shape.keyword) {
        out.push_str(" {\n\t$0\n}");
    }
    out
}

fn skeleton_of(pieces: &[Piece], out: &mut String, number: &mut usize) {
    for piece in pieces {
        let slot = matches!(piece.part, Part::Slot { .. });
        let wanted = match piece.times {
            Times::Once | Times::Some => true,
            Times::Maybe => {
                slot && matches!(
                    &piece.part,
                    Part::Slot { kind: SlotKind::Colour | SlotKind::Quantity(_), .. }
                )
            }
            Times::Many => false,
        };
        if !wanted {
            continue;
        }
        if let Part::Group(ways) = &piece.part {
            if let Some(way) = ways.first() {
                skeleton_of(way, out, number);
            }
            continue;
        }
        if !out.is_empty() {
            out.push(' ');
        }
        match &piece.part {
            Part::Word(word) => out.push_str(word),
            Part::Arrow => out.push_str("->"),
            Part::Slot { name, kind } => {
                *number += 1;
                out.push_str(&match kind {
                    SlotKind::OneOf(words) if words.len() > 1 => {
                        format!("${{{number}|{}|}}", words.join(","))
                    }
                    SlotKind::OneOf(words) => words.join(""),
                    SlotKind::Text => format!("\"${{{number}:{name}}}\""),
                    SlotKind::Quantity(dimension) => format!("${{{number}:{name} {}}}", dimension.usual()),
                    _ => format!("${{{number}:{name}}}"),
                });
            }
            Part::Group(_) => {}
        }
    }
}

#[cfg(test)]
mod tests;
