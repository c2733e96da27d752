//! What stands for the parameters of a kind: their defaults, or what a part sets them to.

use crate::{
    colour::is_colour,
    fact::Value,
    lexer::{Kind, Tokens},
    span::Span,
    tree::Tree,
    units::unit,
};

/// What the name of a parameter means already, so that it can be none; its word is left as it is then.
pub fn taken(name: &str) -> Option<&'static str> {
    match name {
        word if unit(word).is_some() => Some("a unit"),
        word if is_colour(word) => Some("a colour"),
        word if word.chars().any(char::is_lowercase) => Some("a word of the language, or may become one"),
        word if word.contains([':', '.']) => Some("a part of something else"),
        _ => None,
    }
}

/// What a part gives for a parameter of its kind.
#[derive(Clone, Debug)]
pub struct Argument {
    /// The parameter's name.
    pub name: String,
    /// Where the value stands in the part's own text.
    pub span: Span,
    tokens: Vec<Token>,
}

impl Argument {
    /// A value as a `with` line gives it, and where it stands.
    pub fn new(name: &str, value: &Value, span: Span) -> Argument {
        let text = match value {
            Value::Text(text) => format!("\"{}\"", text.as_str()),
            Value::Word(word) => word.as_str().to_owned(),
            _ => String::new(),
        };
        let all = Tokens::of(&text);
        // A value that came out of another kind is not written where it stands; then all of it is one place.
        let written = text.len() as u32 == span.end - span.start;
        let place = |token| match written {
            true => moved(all.span(token), span.start),
            false => span,
        };
        let said = (0..all.len() as u32).filter(|token| !all.kind(*token).is_trivia());
        let tokens = said.map(|token| Token {
            kind: all.kind(token),
            text: text.get(all.span(token).range()).unwrap_or("").to_owned(),
            span: place(token),
        });
        Argument { name: name.to_owned(), span, tokens: tokens.collect() }
    }
}

#[derive(Clone, Debug)]
struct Token {
    kind: Kind,
    text: String,
    span: Span,
}

/// The tokens of a stretch that say something.
fn tokens(tree: &Tree, span: Span) -> Vec<Token> {
    let all = tree.tokens();
    let Some(statement) = tree.statement_at(span.start) else { return Vec::new() };
    let inside = |span: &Span, other: Span| span.start <= other.start && other.end <= span.end;
    tree.items(statement)
        .filter(|token| inside(&span, all.span(*token)))
        .map(|token| Token {
            kind: all.kind(token),
            text: tree.token_text(token).to_owned(),
            span: all.span(token),
        })
        .collect()
}

/// One token that stands for a parameter, or for a part of it.
#[derive(Debug)]
pub(super) struct Given {
    pub(super) kind: Kind,
    pub(super) text: String,
    /// Where a mistake in it is.
    pub(super) span: Span,
    /// Where the parameter stands in the kind's line; where it is a whole value that a part gives, there.
    pub(super) place: Span,
}

/// The parameters of the kind at hand, and the tokens of the line at hand that come from them.
#[derive(Debug, Default)]
pub(super) struct Givens {
    values: Vec<Parameter>,
    /// The number of the first of `tokens`.
    first: u32,
    tokens: Vec<Given>,
    /// Spans from here on are in the text that `text` repeats: a part's, which gives arguments.
    beyond: u32,
    arguments: Vec<(Span, String)>,
}

#[derive(Debug)]
struct Parameter {
    name: String,
    tokens: Vec<Token>,
    /// Whether a part gives it.
    given: bool,
}

impl Givens {
    /// Takes the parameters of a kind: name and where the default stands. `arguments` come before defaults.
    pub(super) fn of(tree: &Tree, parameters: &[(&str, Span)], arguments: &[Argument]) -> Givens {
        let beyond = u32::try_from(tree.text().len()).unwrap_or(u32::MAX).saturating_add(1);
        let mut givens = Givens { first: tree.tokens().len() as u32, beyond, ..Givens::default() };
        for (name, default) in parameters.iter().filter(|(name, _)| taken(name).is_none()) {
            let argument = arguments.iter().find(|argument| argument.name == *name);
            let tokens = match argument {
                Some(argument) => {
                    let mut tokens = argument.tokens.clone();
                    tokens.iter_mut().for_each(|token| token.span = moved(token.span, beyond));
                    let span = moved(argument.span, beyond);
                    let written = tokens.iter().map(|token| token.text.as_str()).collect::<Vec<_>>();
                    givens.arguments.push((span, written.join(" ")));
                    tokens
                }
                None => tokens(tree, *default),
            };
            let name = (*name).to_owned();
            givens.values.push(Parameter { name, tokens, given: argument.is_some() });
        }
        givens
    }

    /// Puts what is given in the place of the parameters that a line names. The word that the line opens
    /// with is none.
    pub(super) fn put(&mut self, tree: &Tree, items: &mut Vec<u32>) {
        self.tokens.clear();
        if self.values.iter().all(|value| value.name.is_empty()) {
            return;
        }
        let mut out = Vec::with_capacity(items.len());
        for (at, &item) in items.iter().enumerate() {
            let word = at > 0 && tree.tokens().kind(item) == Kind::Word;
            let before = self.tokens.len();
            if word {
                self.put_word(tree.token_text(item), tree.tokens().span(item));
            }
            match self.tokens.len() == before {
                true => out.push(item),
                false => out.extend((before..self.tokens.len()).map(|given| self.first + given as u32)),
            }
        }
        *items = out;
    }

    fn put_word(&mut self, word: &str, place: Span) {
        if let Some(value) = self.values.iter().find(|value| value.name == word) {
            let whole = value.tokens.first().zip(value.tokens.last()).map(|(a, z)| a.span.to(z.span));
            for token in &value.tokens {
                let place = if value.given { whole.unwrap_or(token.span) } else { place };
                let (kind, text, span) = (token.kind, token.text.clone(), token.span);
                self.tokens.push(Given { kind, text, span, place });
            }
            return;
        }
        // A part of a pin: `PLUG:2`, `X1:PIN`.
        let mut text = String::new();
        let mut given = None;
        for piece in word.split_inclusive([':', '.']) {
            let (name, mark) = match piece.strip_suffix([':', '.']) {
                Some(name) => piece.split_at(name.len()),
                None => (piece, ""),
            };
            match self.values.iter().find(|value| value.name == name && !value.tokens.is_empty()) {
                Some(value) => {
                    value.tokens.iter().for_each(|token| text.push_str(&token.text));
                    let own = value.tokens.first().map_or(place, |token| token.span);
                    given = given.or(Some(if value.given { own } else { place }));
                }
                None => text.push_str(name),
            }
            text.push_str(mark);
        }
        if let Some(span) = given {
            self.tokens.push(Given { kind: Kind::Word, text, span, place });
        }
    }

    /// The token of a number, if it stands for a parameter.
    pub(super) fn get(&self, token: u32) -> Option<&Given> {
        self.tokens.get(token.checked_sub(self.first)? as usize)
    }

    /// The words of a part that gives arguments, where a span lies in its text.
    pub(super) fn slice(&self, span: Span) -> Option<&str> {
        if self.beyond == 0 || span.start < self.beyond {
            return None;
        }
        let argument =
            self.arguments.iter().find(|(whole, _)| whole.start <= span.start && span.end <= whole.end);
        Some(argument.map_or("", |(_, words)| words.as_str()))
    }

    /// Where a span of the part's own text begins to count.
    pub(super) fn beyond(&self) -> u32 {
        self.beyond
    }
}

fn moved(span: Span, by: u32) -> Span {
    Span::new(span.start.saturating_add(by), span.end.saturating_add(by))
}
