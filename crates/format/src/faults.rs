//! Which lines are at fault, and so are left as they are.

use std::collections::HashSet;

use halfsplit_syntax::{Kind, Parse, SyntaxError, Tree};

use crate::spelling::plain_text;

/// The faults of a text, as the layout needs them.
pub(crate) struct Faults {
    /// Lines, from 0.
    lines: HashSet<usize>,
    /// Where each line starts.
    starts: Vec<u32>,
    /// It is in doubt which block lines belong to.
    pub(crate) blocks_in_doubt: bool,
}

impl Faults {
    pub(crate) fn of(parse: &Parse) -> Self {
        let tokens = parse.tree.tokens();
        let mut starts = vec![0];
        starts.extend(
            (0..tokens.len() as u32)
                .filter(|token| tokens.kind(*token) == Kind::Newline)
                .map(|token| tokens.start(token + 1)),
        );
        let nameless = parse.tree.statements().iter().any(|statement| statement.items.is_empty());
        let mut faults = Self { lines: HashSet::new(), starts, blocks_in_doubt: nameless };
        for error in &parse.errors {
            faults.blocks_in_doubt |= doubts_blocks(&parse.tree, error);
            // A header that is missing is no fault of the line that stands in its place.
            if error.rule == "missing-header" || only_spelling(&parse.tree, error) {
                continue;
            }
            let last = faults.line(error.span.end);
            faults.lines.extend(faults.line(error.span.start)..=last);
        }
        faults
    }

    /// The line of an offset, from 0.
    pub(crate) fn line(&self, offset: u32) -> usize {
        self.starts.partition_point(|start| *start <= offset).saturating_sub(1)
    }

    /// Whether the line of an offset is at fault.
    pub(crate) fn touch(&self, offset: u32) -> bool {
        !self.lines.is_empty() && self.lines.contains(&self.line(offset))
    }
}

/// Whether a fault leaves open which block something belongs to.
fn doubts_blocks(tree: &Tree, error: &SyntaxError) -> bool {
    if matches!(error.rule, "wrong-place" | "too-deep" | "too-large" | "missing-brace") {
        return true;
    }
    let tokens = tree.tokens();
    let (first, last) = (tokens.at(error.span.start), tokens.at(error.span.end.saturating_sub(1)));
    let brace = |token| matches!(tokens.kind(token), Kind::LBrace | Kind::RBrace);
    // Text behind a closing brace begins a line of its own, but stands on the brace's.
    let behind_brace = (0..first)
        .rev()
        .map(|token| tokens.kind(token))
        .find(|kind| *kind != Kind::Space)
        .is_some_and(|kind| kind == Kind::RBrace);
    behind_brace || (first..=last).any(brace)
}

/// Whether a fault is one of spelling alone, which the layout settles without a doubt of what is meant.
fn only_spelling(tree: &Tree, error: &SyntaxError) -> bool {
    let written = tree.slice(error.span);
    match (error.rule, &error.fix) {
        ("smart-quote", _) => plain_text(written).is_some(),
        ("unknown-colour", Some(fix)) => fix.span == error.span && written.to_uppercase() == fix.insert,
        _ => false,
    }
}
