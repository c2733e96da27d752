//! Circuit text to tokens to tree to facts.
//!
//! Parsing never fails: whatever the bytes, there is a lossless tree, the facts that could be read, and a list of
//! faults with place, likely slip and fix. The crate never reads a file, never knows what a name refers to, and never
//! judges a circuit.
//!
//! ```
//! let parse = halfsplit_syntax::parse("halfsplit 1\nwire W7 SP10 to X34:2 GY/RD 0.5 mm2 2.2\n");
//! let wire = &parse.facts[1];
//! assert_eq!(wire.pin("to").map(|pin| pin.value), Some("X34:2"));
//! assert_eq!(parse.errors[0].rule, "missing-unit");
//! assert_eq!(parse.tree.text().len(), 52);
//! ```

mod braces;
pub mod colour;
mod error;
mod fact;
mod lexer;
mod lexical;
mod matching;
mod nearest;
mod parser;
pub mod shape;
mod shapes;
mod span;
#[cfg(test)]
mod testing;
mod tree;
pub mod units;
mod written;

use std::sync::Arc;

pub use self::{
    braces::DEEPEST,
    error::{MOST_ERRORS, Related, SyntaxError, TextEdit},
    fact::{Fact, Quantity, Range, Section, Slot, Value},
    lexer::{Kind, Tokens},
    matching::{Argument, taken},
    nearest::nearest,
    span::{Span, Spanned},
    tree::{Block, Statement, StatementId, Tree},
    written::Written,
};

/// Everything that one text says.
#[derive(Clone, Debug)]
pub struct Parse {
    /// The text, its tokens and statements, byte for byte.
    pub tree: Tree,
    /// The facts outside all blocks; those in blocks are inside them.
    pub facts: Vec<Fact>,
    /// What is wrong with the text, by place.
    pub errors: Vec<SyntaxError>,
}

/// The block of a kind with the values of one part in the place of its parameters.
#[derive(Clone, Debug)]
pub struct Instance {
    /// The facts of the block, without its parameters.
    pub facts: Vec<Fact>,
    /// What does not fit.
    pub errors: Vec<SyntaxError>,
    /// A place from here on lies in the part's own text, so many bytes earlier; a place before it lies in the kind's.
    pub beyond: u32,
}

impl Parse {
    /// The block of a kind of this text once more, with a part's values in the place of its parameters.
    pub fn instance(&self, kind: &Fact, arguments: &[Argument]) -> Instance {
        let mut errors = error::Errors::default();
        let (facts, beyond) = matching::instance(&self.tree, kind, arguments, &mut errors);
        Instance { facts, errors: errors.finish(), beyond }
    }
}

/// Reads a text. Never fails and never panics; takes time in proportion to the text.
pub fn parse(text: impl Into<Arc<str>>) -> Parse {
    let text = text.into();
    let mut errors = error::Errors::default();
    let tokens = Tokens::of(&text);
    if tokens.is_empty() && !text.is_empty() {
        errors.push(
            SyntaxError::new("too-large", Span::default(), "this file is larger than 4 GiB and is not read")
                .help("split the circuit into several files"),
        );
    }
    lexical::report(&text, &tokens, &mut errors);
    let balanced = braces::balance(&text, &tokens, &mut errors);
    let mut tree = Tree::new(text, tokens);
    parser::statements(&mut tree, &balanced, &mut errors);
    let facts = matching::facts(&tree, &mut errors);
    Parse { tree, facts, errors: errors.finish() }
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_reference_circuit_reads_clean() {
        let text = include_str!("../../../examples/tern/reference-a.circuit");
        let parse = crate::parse(text);
        assert_eq!(parse.errors, []);
        assert_eq!(parse.tree.text(), text);
        assert_eq!(parse.facts.len(), parse.tree.top().count());
        let wires: Vec<_> = parse.facts.iter().filter(|fact| fact.keyword() == "wire").collect();
        assert_eq!(wires.len(), text.lines().filter(|line| line.starts_with("wire ")).count());
        assert!(
            wires.iter().all(|wire| wire.section("section").is_some() && wire.quantity("length").is_some())
        );
    }
}
