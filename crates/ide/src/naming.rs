//! Every place of a file that names a thing, taken apart: `A10.X2:14` names a module, a connector and a cavity.

use halfsplit_base::{FileId, Files};
use halfsplit_circuit::{Circuit, PointKind};
use halfsplit_model::{Entity, Model};
use halfsplit_syntax::{Fact, Kind, Span, Tokens, Value};

/// What a name can stand for.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(crate) enum Thing {
    /// A part, connector, point or output. A splice, bar or ground point is the part.
    Entity(Entity),
    /// A kind, by its number in the model.
    Kind(usize),
    /// An option of the vehicle.
    Option(String),
}

/// One naming.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Naming {
    /// What is named.
    pub(crate) thing: Thing,
    /// The stretch of text that names it, and nothing else.
    pub(crate) span: Span,
    /// Whether this declares it.
    pub(crate) declares: bool,
}

/// Every naming in one file of a circuit, in text order.
pub(crate) fn namings(files: &Files, model: &Model, file: FileId) -> Vec<Naming> {
    let tree = &files.get(file).parse().tree;
    let mut found = Vec::new();
    for mention in model.all_mentions().filter(|mention| mention.place.file == file) {
        apart(
            model,
            tree.slice(mention.place.span),
            mention.place.span,
            mention.entity,
            &mut |entity, span, last| {
                found.push(Naming { thing: Thing::Entity(entity), span, declares: last && mention.declares });
            },
        );
    }
    for (number, kind) in model.kinds.iter().enumerate().filter(|(_, kind)| kind.place.file == file) {
        found.push(Naming { thing: Thing::Kind(number), span: kind.place.span, declares: true });
    }
    for used in model.kind_uses.iter().filter(|used| used.place.file == file) {
        found.push(Naming { thing: Thing::Kind(used.kind), span: used.place.span, declares: false });
    }
    for fact in &files.get(file).parse().facts {
        said(model, fact, false, &mut found);
    }
    found.sort_by_key(|naming| (naming.span, !naming.declares));
    found.dedup_by(|later, earlier| later.span == earlier.span);
    found
}

/// What the words of proofs and cases name, which the circuit keeps as words, and the options in conditions.
fn said(model: &Model, fact: &Fact, in_proof: bool, found: &mut Vec<Naming>) {
    let keyword = fact.keyword();
    let in_proof = in_proof || matches!(keyword, "expect" | "case");
    for slot in &fact.slots {
        match &slot.value {
            Value::Word(word) if names_option(keyword, slot.name) => {
                let declares = keyword == "option";
                let thing = Thing::Option(word.as_str().to_owned());
                found.push(Naming { thing, span: slot.span, declares });
            }
            Value::Word(word) if in_proof => of_word(model, word.as_str(), slot.span, found),
            Value::Text(text) if matches!(keyword, "fault" | "fact") => {
                let inside = slot.span.start + 1;
                for (at, word) in words(text.as_str()) {
                    let start = inside + at as u32;
                    of_word(model, word, Span::new(start, start + word.len() as u32), found);
                }
            }
            _ => {}
        }
    }
    for inner in &fact.facts {
        said(model, inner, in_proof, found);
    }
}

fn names_option(keyword: &str, slot: &str) -> bool {
    matches!(slot, "present" | "absent")
        || matches!((keyword, slot), ("option", "name") | ("fitted" | "not-fitted", "options"))
}

fn of_word(model: &Model, word: &str, span: Span, found: &mut Vec<Naming>) {
    if let Some(entity) = model.names.find_any(word) {
        apart(model, word, span, entity, &mut |entity, span, _| {
            found.push(Naming { thing: Thing::Entity(entity), span, declares: false });
        });
    }
}

/// The words of a text between spaces, with their places in it.
fn words(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let start = text.as_ptr() as usize;
    text.split_whitespace().map(move |word| (word.as_ptr() as usize - start, word))
}

/// The one thing that a splice, bar or ground point is, of which the circuit has a part and a point.
pub(crate) fn canonical(model: &Model, entity: Entity) -> Entity {
    match entity {
        Entity::Point(point) => {
            let name = &model.circuit.point(point).name;
            model.names.find_part(name).map_or(entity, Entity::Part)
        }
        other => other,
    }
}

/// The last piece of a dotted name.
pub(crate) fn short(name: &str) -> &str {
    name.rsplit('.').next().unwrap_or(name)
}

/// Takes a written name apart. The visitor is given each thing named, where, and whether it is the last.
fn apart(model: &Model, text: &str, span: Span, entity: Entity, visit: &mut dyn FnMut(Entity, Span, bool)) {
    let circuit = &model.circuit;
    let entity = canonical(model, entity);
    let piece = |from: usize, to: usize| Span::new(span.start + from as u32, span.start + to as u32);
    let (owners, last) = match (entity, text.rfind([':', '.'])) {
        (Entity::Part(_), _) | (_, None) => return visit(entity, span, true),
        (_, Some(at)) => (&text[..at], piece(at + 1, text.len())),
    };
    let mut from = 0;
    for word in owners.split(['.', ':']) {
        if let Some(owner) = owner_called(model, circuit, entity, word) {
            visit(owner, piece(from, from + word.len()), false);
        }
        from += word.len() + 1;
    }
    // `X21.body` ends in one of its halves, which has no name of its own.
    if !matches!(entity, Entity::Connector(id) if short(&circuit.connector(id).name) != &text[text.len() - last.range().len()..])
    {
        visit(entity, last, true);
    }
}

/// The owner of a thing that a word in front of its name stands for.
fn owner_called(model: &Model, circuit: &Circuit, entity: Entity, word: &str) -> Option<Entity> {
    let connector = match entity {
        Entity::Point(point) => match circuit.point(point).kind {
            PointKind::Cavity { connector, .. } => Some(connector),
            _ => None,
        },
        Entity::Connector(id) => Some(id),
        _ => None,
    };
    if let Some(id) = connector {
        let known = circuit.connector(id);
        if short(&known.name) == word {
            return Some(Entity::Connector(id));
        }
        let owner = known.owner.filter(|owner| circuit.part(*owner).name == word);
        return owner.map(Entity::Part);
    }
    model.names.find_part(word).map(Entity::Part)
}

/// What is named at an offset, and where.
pub(crate) fn naming_at(files: &Files, model: &Model, file: FileId, offset: u32) -> Option<Naming> {
    let all = namings(files, model, file);
    let touching = || all.iter().filter(|naming| naming.span.touches(offset));
    // Between two pieces the one that begins here is meant, as the cursor of most editors lies on it.
    touching().find(|naming| naming.span.start == offset).or_else(|| touching().next()).cloned()
}

/// Why a word cannot be a name, if it cannot.
pub(crate) fn unfit(name: &str) -> Option<String> {
    let tokens = Tokens::of(name);
    let one_word = tokens.kinds() == [Kind::Word] && !name.contains(['.', ':', '/']);
    if !one_word {
        return Some(format!("`{name}` is no name: letters and digits in one word, beginning with a letter"));
    }
    let spoken = halfsplit_syntax::shape::all().iter().any(|shape| shape.literals.contains(&name));
    if spoken || matches!(name, "unknown" | "stub" | "std") {
        return Some(format!("`{name}` is a word of the language"));
    }
    if halfsplit_syntax::colour::is_colour(name) {
        return Some(format!("`{name}` is a colour"));
    }
    None
}
