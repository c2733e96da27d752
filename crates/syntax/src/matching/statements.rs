//! Walks the tree, finds each statement's shape, and gathers the facts.

use super::{
    Matcher,
    given::{Argument, Givens},
    words::list,
};
use crate::{
    error::{Errors, SyntaxError},
    fact::{Fact, Slot, Value},
    lexer::Kind,
    nearest::nearest,
    shape::{self, Inside, Part, Shape},
    span::Span,
    tree::{StatementId, Tree},
};

/// The version of the language that is read.
const VERSION: u64 = 1;

/// All facts of a file.
pub(crate) fn facts(tree: &Tree, errors: &mut Errors) -> Vec<Fact> {
    let mut walk = Walk::new(tree, errors);
    let mut facts = Vec::new();
    for id in tree.top() {
        if let Some(fact) = walk.statement(id, shape::top(), shape::TOP) {
            facts.push(fact);
        }
        facts.append(&mut walk.lifted);
    }
    walk.header(&facts);
    facts
}

/// The block of a kind once more, with what a part gives for its parameters: its facts, without the
/// parameters themselves, and the span from which on places are in the part's own text.
pub(crate) fn instance(
    tree: &Tree,
    kind: &Fact,
    arguments: &[Argument],
    errors: &mut Errors,
) -> (Vec<Fact>, u32) {
    let mut walk = Walk::new(tree, errors);
    let parameters: Vec<Fact> = kind.all("parameter").cloned().collect();
    let Some((sort, inside)) = sort(&kind.slots) else { return (Vec::new(), u32::MAX) };
    walk.givens = Givens::of(tree, &spans(&parameters), arguments);
    let children = tree.children(kind.statement).filter(|child| tree.keyword(*child) != "parameter");
    let facts = children.filter_map(|child| walk.statement(child, inside, sort)).collect();
    (facts, walk.givens.beyond())
}

/// The statement that parts of a kind are written with, and what may stand in its block.
fn sort(slots: &[Slot]) -> Option<(&'static str, Inside)> {
    let sort = slots.iter().find(|slot| slot.name == "sort").map(|slot| &slot.value);
    let Some(Value::Word(sort)) = sort else { return None };
    let shape = shape::part(sort.as_str())?;
    Some((shape.keyword, shape.inside()))
}

/// The names of parameters and where their defaults stand.
fn spans(parameters: &[Fact]) -> Vec<(&str, Span)> {
    let span = |fact: &Fact| fact.slot("default").map_or(Span::default(), |slot| slot.span);
    parameters.iter().filter_map(|fact| Some((fact.name("name")?.value, span(fact)))).collect()
}

struct Walk<'t> {
    tree: &'t Tree,
    errors: &'t mut Errors,
    /// Statements found in a block that belong outside all blocks.
    lifted: Vec<Fact>,
    /// The items of the statement at hand, kept to spare allocations.
    items: Vec<u32>,
    /// And its values.
    slots: Vec<Slot>,
    /// The parameters of the kind whose block this is.
    givens: Givens,
}

impl<'t> Walk<'t> {
    fn new(tree: &'t Tree, errors: &'t mut Errors) -> Self {
        let (lifted, items, slots) = (Vec::new(), Vec::new(), Vec::new());
        Walk { tree, errors, lifted, items, slots, givens: Givens::default() }
    }

    fn statement(&mut self, id: StatementId, inside: Inside, place: &str) -> Option<Fact> {
        let tree = self.tree;
        let statement = tree.statement(id)?;
        let mut items = std::mem::take(&mut self.items);
        items.clear();
        items.extend(tree.items(id).filter(|token| tree.tokens().kind(*token) != Kind::Unknown));
        let found = self.shape_of(&items, inside, place);
        self.givens.put(tree, &mut items);
        let fact = found.map(|(shape, at_home)| {
            let keyword_span = items.first().map_or(statement.span, |first| tree.tokens().span(*first));
            let whole = Matcher::new(tree, &items, &self.givens, shape, &mut self.slots, self.errors).run();
            let slots = self.slots.drain(..).collect();
            let (span, facts) = (statement.span, Vec::new());
            (Fact { shape, statement: id, span, keyword_span, slots, facts, whole }, at_home)
        });
        self.items = items;
        let Some((mut fact, at_home)) = fact else {
            self.rescue(id);
            return None;
        };
        let shape = fact.shape;
        if let Some(block) = statement.block.filter(|_| shape.inside().is_empty()) {
            let brace = block.open.map_or(fact.keyword_span, |token| tree.tokens().span(token));
            self.errors.push_with(|| no_block(shape, brace));
        } else if shape.keyword == "kind" && statement.block.is_some() {
            self.kind(id, &mut fact);
        } else if statement.block.is_some() {
            fact.facts.reserve_exact(tree.children(id).count());
            for child in tree.children(id) {
                if let Some(inner) = self.statement(child, shape.inside(), shape.keyword) {
                    fact.facts.push(inner);
                }
            }
        }
        if at_home {
            return Some(fact);
        }
        if shape.allowed_in(shape::TOP) {
            self.lifted.push(fact);
        }
        None
    }

    /// The block of a kind: its parameters, and what may stand in the block of its sort of part.
    fn kind(&mut self, id: StatementId, fact: &mut Fact) {
        let tree = self.tree;
        let (parameters, others): (Vec<_>, Vec<_>) =
            tree.children(id).partition(|child| tree.keyword(*child) == "parameter");
        let own = fact.shape.inside();
        let read = |walk: &mut Self, child, inside, place| walk.statement(child, inside, place);
        fact.facts.extend(parameters.into_iter().filter_map(|child| read(self, child, own, "kind")));
        // A sort that is not understood has been reported; its block cannot be.
        let Some((sort, inside)) = sort(&fact.slots) else { return };
        let outer = std::mem::replace(&mut self.givens, Givens::of(tree, &spans(&fact.facts), &[]));
        fact.facts.extend(others.into_iter().filter_map(|child| read(self, child, inside, sort)));
        self.givens = outer;
        fact.facts.sort_by_key(|fact| fact.statement);
    }

    /// In the block of something unknown, keeps what belongs outside all blocks and cannot have been meant to stand there.
    fn rescue(&mut self, id: StatementId) {
        for child in self.tree.children(id) {
            let word = self.tree.keyword(child);
            if shape::top().find(word).is_some_and(|shape| shape.places().all(|place| place == shape::TOP)) {
                let fact = self.statement(child, shape::top(), shape::TOP);
                self.lifted.extend(fact);
            } else {
                self.rescue(child);
            }
        }
    }

    /// The shape that a statement follows, and whether it may stand here.
    fn shape_of(&mut self, items: &[u32], inside: Inside, place: &str) -> Option<(&'static Shape, bool)> {
        let tree = self.tree;
        let first = *items.first()?;
        let word = tree.token_text(first);
        if let Some(shape) = inside.find(word) {
            return Some((shape, true));
        }
        if let Some(shape) = inside.wordless().filter(|shape| opens(tree, items, shape)) {
            return Some((shape, true));
        }
        let at = tree.tokens().span(first);
        if tree.tokens().kind(first) != Kind::Word {
            self.errors.push_with(|| no_word(word, at, inside));
            return None;
        }
        let elsewhere: Vec<&'static Shape> = shape::anywhere(word).collect();
        if let Some(shape) = elsewhere.first() {
            self.errors.push_with(|| wrong_place(word, at, place, &elsewhere));
            return Some((shape, false));
        }
        let shapes = inside.shapes().filter(|shape| shape.opens_with_keyword());
        let words: Vec<&str> = shapes.map(|shape| shape.keyword).collect();
        let near = nearest(word, words.iter().copied());
        self.errors.push_with(|| {
            let error = SyntaxError::new("unknown-word", at, format!("`{word}` opens no statement"));
            match near {
                Some(near) => {
                    error.help(format!("did you mean `{near}`?")).fix(at, near, format!("write {near}"))
                }
                None if word.bytes().any(|byte| byte.is_ascii_digit()) => error.help(format!(
                    "`{word}` looks like a name; the word that says what it is comes first: `{}`",
                    shapes_example(inside)
                )),
                None if words.is_empty() => error,
                None if words.len() > 12 => error.help(format!(
                    "a line opens with the word that says what it is: `{}`",
                    shapes_example(inside)
                )),
                None => error.help(format!("{} may stand {}", list(&words), place_name(place))),
            }
        });
        near.and_then(|near| inside.find(near)).map(|shape| (shape, true))
    }

    /// The first line must say which version of the language the file is written in.
    fn header(&mut self, facts: &[Fact]) {
        let tree = self.tree;
        let mut headers = facts.iter().filter(|fact| fact.shape.keyword == "halfsplit");
        let first = tree.top().next();
        let Some(header) = headers.next() else {
            let start = tree.text().find(|letter| letter != '\u{FEFF}').unwrap_or(tree.text().len());
            let word = first.and_then(|id| tree.items(id).next());
            let at = word.map_or(Span::empty(start as u32), |token| tree.tokens().span(token));
            self.errors.push_with(|| {
                SyntaxError::new(
                    "missing-header",
                    at,
                    format!("the file does not open with `halfsplit {VERSION}`"),
                )
                .help("the first line says which version of the language the file is written in")
                .fix(
                    Span::empty(start as u32),
                    format!("halfsplit {VERSION}\n"),
                    "put the line in",
                )
            });
            return;
        };
        for late in headers.chain(Some(header).filter(|header| Some(header.statement) != first)) {
            self.errors.push_with(|| {
                SyntaxError::new(
                    "wrong-place",
                    late.keyword_span,
                    "`halfsplit` stands below the file's first line",
                )
                .help("it is the first line of a file, once")
            });
        }
        if let Some(version) = header.integer("version").filter(|version| version.value != VERSION) {
            self.errors.push_with(|| {
                let message = format!(
                    "the file is written in version {} of the language, and version {VERSION} is read here",
                    version.value
                );
                SyntaxError::new("wrong-version", version.span, message)
                    .help("use a newer program for it, or correct the number if it is a slip")
            });
        }
    }
}

fn no_block(shape: &Shape, brace: Span) -> SyntaxError {
    SyntaxError::new("wrong-place", brace, format!("`{}` takes no block", shape.keyword))
        .help(format!("all it says stands on its line: `{}`", shape.entry.example))
}

fn no_word(text: &str, at: Span, inside: Inside) -> SyntaxError {
    let error = SyntaxError::new("unexpected-text", at, format!("`{text}` opens no statement"));
    if text.parse::<f64>().is_ok() {
        return error.help("lines that open with a number stand in the block of a `connector`, `inline`, `relay` or `switch`");
    }
    error.help(format!("a line opens with the word that says what it is: `{}`", shapes_example(inside)))
}

/// One correct line for a place: a wire where one may stand.
fn shapes_example(inside: Inside) -> &'static str {
    let shape = inside.find("wire").or_else(|| inside.shapes().next());
    shape.map_or("", |shape| shape.entry.example)
}

fn wrong_place(word: &str, at: Span, place: &str, shapes: &[&'static Shape]) -> SyntaxError {
    let mut homes: Vec<&str> = shapes.iter().flat_map(|shape| shape.places()).collect();
    homes.dedup();
    let message = format!("`{word}` cannot stand {}", place_name(place));
    let help = if homes.contains(&shape::TOP) {
        format!("`{word}` stands outside all blocks")
    } else if homes.len() > 10 {
        format!("`{word}` stands in the block of what it describes")
    } else {
        format!("`{word}` stands in the block of {}", list(&homes))
    };
    SyntaxError::new("wrong-place", at, message).help(help)
}

fn place_name(place: &str) -> String {
    if place == shape::TOP { "outside all blocks".to_owned() } else { format!("in the block of `{place}`") }
}

/// Whether a line can be one that opens with a slot: with a number, or with a word that is followed by what the
/// pattern wants next.
fn opens(tree: &Tree, items: &[u32], shape: &Shape) -> bool {
    let first = items.first().map(|token| tree.tokens().kind(*token));
    if matches!(first, Some(Kind::Number | Kind::CommaNumber)) {
        return true;
    }
    match shape.pieces.get(1).map(|piece| &piece.part) {
        Some(Part::Word(word)) => items.get(1).is_some_and(|token| tree.token_text(*token) == *word),
        _ => false,
    }
}
