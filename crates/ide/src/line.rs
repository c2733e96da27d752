//! What may come at a place of a line: the line so far laid beside the table's pattern.

use std::collections::BTreeSet;

use halfsplit_base::Span;
use halfsplit_syntax::shape::{self, Inside, Part, Piece, Shape, SlotKind, Times, is_said_by_kind};
use halfsplit_syntax::{Fact, Kind, StatementId, Tree, colour::is_colour, units};

use crate::scene::{Scene, first_after};

/// A place in a line.
pub(crate) struct Line<'a> {
    /// The statement whose block holds the line.
    pub(crate) holder: Option<&'a Fact>,
    /// The statements that may stand there.
    pub(crate) inside: Inside,
    /// The line's own statement, as far as its first words tell.
    pub(crate) shape: Option<&'static Shape>,
    /// The tokens of the line before the word under the cursor.
    pub(crate) before: Vec<u32>,
    /// The word under the cursor, up to its end.
    pub(crate) word: Span,
    /// Text between quotation marks that holds the cursor, without the marks.
    pub(crate) quoted: Option<Span>,
}

/// Looks at a place; `None` inside a comment.
pub(crate) fn line<'a>(scene: Scene<'a>, offset: u32) -> Option<Line<'a>> {
    let (tree, text) = (scene.tree(), scene.text());
    let tokens = tree.tokens();
    let after = first_after(tree, offset);
    let mut quoted = None;
    if let Some(token) = after.checked_sub(1) {
        let span = tokens.span(token);
        match tokens.kind(token) {
            Kind::Comment | Kind::CommentSlip if span.start < offset => return None,
            Kind::Text if span.start < offset && offset < span.end => {
                quoted = Some(Span::new(span.start + 1, span.end - 1));
            }
            // A mark without its partner takes the rest of the line.
            Kind::OpenText if span.start < offset => quoted = Some(Span::new(span.start + 1, span.end)),
            _ => {}
        }
    }
    let word = match quoted {
        Some(quoted) => Span::new(quoted.start.saturating_sub(1), quoted.end),
        None => word_at(text, offset),
    };
    let mut before = Vec::new();
    let mut opening = None;
    for token in (0..first_after(tree, word.start)).rev() {
        let (kind, span) = (tokens.kind(token), tokens.span(token));
        if span.end > word.start {
            continue;
        }
        match kind {
            Kind::Newline | Kind::RBrace => break,
            Kind::LBrace => {
                opening = Some(token);
                break;
            }
            kind if kind.is_trivia() => {}
            _ => before.push(token),
        }
    }
    before.reverse();
    let holder = holder(tree, word.start, opening).and_then(|id| scene.fact_of(id));
    let inside = holder.map_or_else(shape::top, inside_of);
    let shape = before.first().and_then(|&first| {
        let wordless = matches!(tokens.kind(first), Kind::Number).then(|| inside.wordless()).flatten();
        wordless.or_else(|| inside.find(tree.token_text(first))).or_else(|| inside.wordless())
    });
    Some(Line { holder, inside, shape, before, word, quoted })
}

/// The statements that may stand in the block of a fact; a kind takes what its parts take.
fn inside_of(fact: &Fact) -> Inside {
    let sort = fact.word("sort").filter(|_| fact.keyword() == "kind");
    sort.and_then(|sort| shape::part(sort.value)).map_or_else(|| fact.shape.inside(), Shape::inside)
}

/// The word around an offset: what stands there between spaces, braces and quotation marks.
fn word_at(text: &str, offset: u32) -> Span {
    let offset = (offset as usize).min(text.len());
    let parts = |c: char| c.is_whitespace() || matches!(c, '{' | '}' | '"' | '#');
    let start =
        text[..offset].rfind(parts).map_or(0, |at| at + text[at..].chars().next().map_or(1, char::len_utf8));
    let end = text[offset..].find(parts).map_or(text.len(), |at| offset + at);
    Span::new(start as u32, end as u32)
}

/// The statement whose block holds an offset.
fn holder(tree: &Tree, offset: u32, opening: Option<u32>) -> Option<StatementId> {
    let statements = tree.statements();
    let after = statements.partition_point(|statement| statement.span.start <= offset);
    let mut at = after.checked_sub(1).map(|last| StatementId(last as u32));
    while let Some(id) = at {
        let statement = tree.statement(id)?;
        if let Some(block) = statement.block {
            let opened = block
                .open
                .is_some_and(|open| Some(open) == opening || tree.tokens().span(open).end <= offset);
            let closed = block.close.is_some_and(|close| tree.tokens().span(close).start < offset);
            if opened && !closed {
                return Some(id);
            }
        }
        at = statement.parent;
    }
    None
}

/// What may come next.
#[derive(Clone, Debug)]
pub(crate) enum Next<'p> {
    /// A word, an arrow or a value.
    Piece(&'p Piece),
    /// The unit of a number that has been written.
    Unit(units::Dimension),
}

/// What may come behind the words of a line. Words that fit nowhere end the search: nothing is guessed then.
pub(crate) fn next<'p>(tree: &Tree, line: &Line, shape: &'p Shape) -> Vec<Next<'p>> {
    let said = line.before.iter().any(|&token| tree.token_text(token) == "as");
    let mut walk = Walk { tree, before: &line.before, shape, said, next: Vec::new() };
    walk.sequence(&shape.pieces, BTreeSet::from([0]));
    walk.next
}

struct Walk<'t, 'p> {
    tree: &'t Tree,
    before: &'t [u32],
    shape: &'p Shape,
    /// Whether a kind says what may be left out.
    said: bool,
    next: Vec<Next<'p>>,
}

type Places = BTreeSet<usize>;

impl<'p> Walk<'_, 'p> {
    fn sequence(&mut self, pieces: &'p [Piece], mut at: Places) -> Places {
        for piece in pieces {
            let once = self.piece(piece, &at);
            let left_out = self.said && is_said_by_kind(piece);
            at = match piece.times {
                Times::Once if left_out => at.union(&once).copied().collect(),
                Times::Once => once,
                Times::Maybe => at.union(&once).copied().collect(),
                Times::Many | Times::Some => {
                    let mut all = once.clone();
                    let mut fresh = once;
                    while !fresh.is_empty() {
                        let more = self.piece(piece, &fresh);
                        fresh = more.difference(&all).copied().collect();
                        all.extend(&fresh);
                    }
                    if piece.times == Times::Many {
                        all.extend(&at);
                    }
                    all
                }
            };
        }
        at
    }

    fn piece(&mut self, piece: &'p Piece, at: &Places) -> Places {
        let mut reached = Places::new();
        for &place in at {
            if let Part::Group(ways) = &piece.part {
                for way in ways {
                    reached.extend(self.sequence(way, Places::from([place])));
                }
                continue;
            }
            if place == self.before.len() {
                let known = self
                    .next
                    .iter()
                    .any(|next| matches!(next, Next::Piece(other) if std::ptr::eq(*other, piece)));
                if !known {
                    self.next.push(Next::Piece(piece));
                }
                continue;
            }
            match &piece.part {
                Part::Word(word) if self.text(place) == *word => {
                    reached.insert(place + 1);
                }
                Part::Arrow if self.kind(place) == Some(Kind::Arrow) => {
                    reached.insert(place + 1);
                }
                Part::Slot { kind, .. } => {
                    reached.extend(self.slot(kind, place));
                }
                _ => {}
            }
        }
        reached
    }

    fn kind(&self, place: usize) -> Option<Kind> {
        self.before.get(place).map(|&token| self.tree.tokens().kind(token))
    }

    fn text(&self, place: usize) -> &str {
        self.before.get(place).map_or("", |&token| self.tree.token_text(token))
    }

    /// Where a value that starts at a place may end.
    fn slot(&mut self, kind: &SlotKind, place: usize) -> Option<usize> {
        let (token, text) = (self.kind(place)?, self.text(place));
        let one = Some(place + 1);
        let word = token == Kind::Word && !(place > 0 && self.shape.literals.contains(&text));
        match kind {
            SlotKind::Name | SlotKind::Item | SlotKind::Word if word => one,
            SlotKind::Pin | SlotKind::Terminal if word || token == Kind::Number => one,
            SlotKind::Text if token == Kind::Text => one,
            SlotKind::Colour if text == "unknown" || (word && is_colour(text)) => one,
            SlotKind::Number | SlotKind::Integer if token == Kind::Number || text == "unknown" => one,
            SlotKind::Range if token == Kind::Number => match self.kind(place + 1) {
                Some(Kind::Range) => Some(place + 3),
                _ => one,
            },
            SlotKind::OneOf(words) if words.contains(&text) => one,
            SlotKind::Quantity(_) if text == "unknown" => one,
            SlotKind::Quantity(dimension) if token == Kind::Number => {
                if place + 1 == self.before.len() {
                    self.next.push(Next::Unit(*dimension));
                    return None;
                }
                let fits =
                    units::unit(self.text(place + 1)).is_some_and(|unit| unit.dimension() == *dimension);
                fits.then_some(place + 2)
            }
            SlotKind::Value => match token {
                Kind::Number if units::unit(self.text(place + 1)).is_some() => Some(place + 2),
                Kind::Word | Kind::Number | Kind::Text => one,
                _ => None,
            },
            _ => None,
        }
        .filter(|end| *end <= self.before.len())
    }
}
