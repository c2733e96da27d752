//! What every word of a text is, for its colours on the screen.

use std::collections::HashMap;

use halfsplit_base::Span;
use halfsplit_circuit::PartKind;
use halfsplit_model::Entity;
use halfsplit_syntax::{Fact, Kind, Slot, Value, units};

use crate::scene::Scene;

/// What a word is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[repr(u8)]
pub enum TokenKind {
    /// A word that opens a statement, or that its pattern spells out.
    Keyword,
    /// Module, sensor, lamp and whatever else draws or switches.
    Part,
    /// Wire, splice, bar, ground point.
    Copper,
    /// A connector.
    Connector,
    /// A cavity or terminal.
    Pin,
    /// A kind.
    Kind,
    /// A parameter or option.
    Parameter,
    /// A colour.
    Colour,
    /// One of a few words: a state, a danger, a face.
    State,
    /// A number.
    Number,
    /// A unit.
    Unit,
    /// Words in quotation marks.
    Text,
    /// A remark.
    Comment,
    /// An arrow, a range's dots.
    Operator,
    /// A rule.
    Rule,
}

/// One word.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Token {
    /// Where.
    pub span: Span,
    /// What.
    pub kind: TokenKind,
    /// Whether it declares a name.
    pub declares: bool,
}

/// The words that touch a range, in text order.
pub(crate) fn tokens(scene: Scene, range: Span) -> Vec<Token> {
    let tree = scene.tree();
    let all = tree.tokens();
    let mentions = scene.model.all_mentions().filter(|mention| mention.place.file == scene.file);
    let mentions: HashMap<u32, (Entity, bool)> = mentions
        .filter(|mention| range.touches(mention.place.span.start))
        .map(|mention| (mention.place.span.start, (mention.entity, mention.declares)))
        .collect();
    let mut slots: HashMap<u32, (&Fact, &Slot)> = HashMap::new();
    let mut keywords: HashMap<u32, ()> = HashMap::new();
    in_range(&scene.parse().facts, range, &mut |fact| {
        keywords.insert(fact.keyword_span.start, ());
        slots.extend(fact.slots.iter().map(|slot| (slot.span.start, (fact, slot))));
    });
    let mut found = Vec::new();
    let mut literals: &[&str] = &[];
    let first = crate::scene::first_after(tree, range.start).saturating_sub(1);
    for token in first..all.len() as u32 {
        let (kind, span) = (all.kind(token), all.span(token));
        if span.start > range.end {
            break;
        }
        if span.end < range.start {
            continue;
        }
        let text = tree.token_text(token);
        let mut declares = false;
        let kind = match kind {
            Kind::Comment | Kind::CommentSlip => TokenKind::Comment,
            Kind::Text | Kind::OpenText | Kind::SmartText => TokenKind::Text,
            Kind::Arrow | Kind::ArrowSlip | Kind::Range | Kind::RangeSlip | Kind::AtLeast => {
                TokenKind::Operator
            }
            Kind::Number | Kind::CommaNumber => {
                if mentions.contains_key(&span.start) {
                    TokenKind::Pin
                } else {
                    TokenKind::Number
                }
            }
            Kind::Word => {
                let mention = mentions.get(&span.start);
                let slot = slots.get(&span.start);
                if let Some((fact, _)) = slot {
                    literals = &fact.shape.literals;
                }
                if let Some((entity, declaring)) = mention {
                    declares = *declaring;
                    of_entity(scene, *entity)
                } else if let Some((fact, slot)) = slot {
                    declares = slot.name == "name";
                    of_slot(fact, slot)
                } else if keywords.contains_key(&span.start) {
                    let fact = crate::scene::fact_at(&scene.parse().facts, span.start);
                    literals = fact.map_or(&[], |fact| &fact.shape.literals);
                    TokenKind::Keyword
                } else if literals.contains(&text) {
                    TokenKind::Keyword
                } else if units::unit(text).is_some() {
                    TokenKind::Unit
                } else {
                    continue;
                }
            }
            _ => continue,
        };
        found.push(Token { span, kind, declares });
    }
    found
}

/// The facts whose statements touch a range.
fn in_range<'f>(facts: &'f [Fact], range: Span, visit: &mut dyn FnMut(&'f Fact)) {
    let from = facts.partition_point(|fact| fact.span.end < range.start);
    for fact in facts.get(from..).unwrap_or_default() {
        if fact.span.start > range.end {
            return;
        }
        visit(fact);
        in_range(&fact.facts, range, visit);
    }
}

fn of_entity(scene: Scene, entity: Entity) -> TokenKind {
    match entity {
        Entity::Part(part) => match scene.circuit().part(part).kind {
            PartKind::Wire | PartKind::Splice | PartKind::Bar | PartKind::GroundPoint => TokenKind::Copper,
            PartKind::Connector => TokenKind::Connector,
            _ => TokenKind::Part,
        },
        Entity::Connector(_) => TokenKind::Connector,
        Entity::Point(point) => {
            let named = scene.model.names.find_part(&scene.circuit().point(point).name);
            named.map_or(TokenKind::Pin, |_| TokenKind::Copper)
        }
        Entity::Output(_) => TokenKind::Part,
    }
}

fn of_slot(fact: &Fact, slot: &Slot) -> TokenKind {
    match (fact.keyword(), slot.name, &slot.value) {
        (.., Value::Colour(_)) => TokenKind::Colour,
        (
            ..,
            Value::Quantity(_) | Value::Section(_) | Value::Unknown | Value::Number(_) | Value::Integer(_),
        ) => TokenKind::State,
        ("allow", "rule", _) => TokenKind::Rule,
        ("kind", "name", _) | (_, "as", _) => TokenKind::Kind,
        ("kind", "sort", _) | ("use", "from", _) => TokenKind::Keyword,
        ("parameter" | "option", "name", _) | (_, "present" | "absent" | "parameter" | "options", _) => {
            TokenKind::Parameter
        }
        (_, "name", _) => TokenKind::Part,
        (_, "red" | "black" | "pin" | "pins" | "others" | "from" | "to" | "return" | "feed", _) => {
            TokenKind::Pin
        }
        (_, "item" | "items" | "wires" | "first" | "second", _) => TokenKind::Part,
        _ => TokenKind::State,
    }
}

#[cfg(test)]
mod tests {
    use halfsplit_base::Span;

    use crate::testing::open;

    fn shown(text: &str, range: Option<Span>) -> Vec<String> {
        let (analysis, file) = open(text);
        let range = range.unwrap_or(Span::new(0, text.len() as u32));
        let found = analysis.tokens(file, range).into_iter();
        found
            .map(|token| {
                let mark = if token.declares { "!" } else { "" };
                format!("{}{mark} {:?}", &text[token.span.range()], token.kind)
            })
            .collect()
    }

    const TEXT: &str =
        "halfsplit 1 # 20 °C 🔧\nsplice SP1 \"中 🔧\"\nwire W1 SP1 to stub GY/RD 0.5 mm2 1 m\n";

    #[test]
    fn every_word_is_told_apart() {
        let expected = [
            "halfsplit Keyword",
            "1 Number",
            "# 20 °C 🔧 Comment",
            "splice Keyword",
            "SP1! Copper",
            "\"中 🔧\" Text",
            "wire Keyword",
            "W1! Copper",
            "SP1 Copper",
            "to Keyword",
            "stub Pin",
            "GY/RD Colour",
            "0.5 Number",
            "mm2 Unit",
            "1 Number",
            "m Unit",
        ];
        assert_eq!(shown(TEXT, None), expected);
    }

    #[test]
    fn a_range_has_what_the_whole_has_there() {
        let at = TEXT.find("SP1 to").unwrap() as u32;
        let part = shown(TEXT, Some(Span::new(at, at + 12)));
        let whole = shown(TEXT, None);
        assert!(whole.windows(part.len()).any(|window| window == part), "{part:?}");
        assert_eq!(part.len(), 4, "{part:?}");
    }
}
