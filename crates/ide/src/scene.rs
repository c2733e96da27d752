//! One file in the circuit that it belongs to, as every feature looks at it.

use halfsplit_base::{FileId, Files};
use halfsplit_circuit::{BranchKind, Circuit, PointId};
use halfsplit_model::{Entity, Model};
use halfsplit_syntax::{Fact, Kind, Parse, Span, StatementId, Tree};

use crate::sound::Sound;
use crate::unit::Unit;

/// One file, and what is known of its circuit. Cheap to copy.
#[derive(Clone, Copy)]
pub(crate) struct Scene<'a> {
    /// Every text.
    pub(crate) files: &'a Files,
    /// The file.
    pub(crate) file: FileId,
    /// The circuit of the file.
    pub(crate) model: &'a Model,
    pub(crate) unit: &'a Unit,
}

impl<'a> Scene<'a> {
    pub(crate) fn circuit(&self) -> &'a Circuit {
        &self.model.circuit
    }

    pub(crate) fn text(&self) -> &'a str {
        &self.files.get(self.file).text
    }

    pub(crate) fn parse(&self) -> &'a Parse {
        self.files.get(self.file).parse()
    }

    pub(crate) fn tree(&self) -> &'a Tree {
        &self.parse().tree
    }

    /// The circuit as it stands on a sound car, the key in run.
    pub(crate) fn sound(&self) -> &'a Sound {
        self.unit.sound(self.model)
    }

    /// The token that touches an offset and says something; the one behind the cursor before the one in front.
    pub(crate) fn token_at(&self, offset: u32) -> Option<(Kind, Span)> {
        let tokens = self.tree().tokens();
        let after = first_after(self.tree(), offset);
        let near = [after.checked_sub(1)?, after.saturating_sub(2)];
        let says = |kind: Kind| !kind.is_trivia() && kind != Kind::Newline;
        let found = near.into_iter().filter(|&token| tokens.span(token).touches(offset));
        found.map(|token| (tokens.kind(token), tokens.span(token))).find(|(kind, _)| says(*kind))
    }

    /// The innermost fact whose statement touches an offset.
    pub(crate) fn fact_at(&self, offset: u32) -> Option<&'a Fact> {
        fact_at(&self.parse().facts, offset)
    }

    /// The fact of a statement.
    pub(crate) fn fact_of(&self, statement: StatementId) -> Option<&'a Fact> {
        let span = self.tree().statement(statement)?.span;
        let mut facts = &self.parse().facts;
        loop {
            let after = facts.partition_point(|fact| fact.span.start <= span.start);
            let fact = facts.get(after.checked_sub(1)?)?;
            if fact.statement == statement {
                return Some(fact);
            }
            facts = &fact.facts;
        }
    }

    /// What the name under an offset stands for, and its stretch of text.
    pub(crate) fn entity_at(&self, offset: u32) -> Option<(Entity, Span)> {
        self.model.entity_at(self.file, offset)
    }

    /// The colours of the wires at a point, each once, in the order of the file.
    pub(crate) fn colours(&self, point: PointId) -> Vec<&'a str> {
        let mut colours: Vec<&str> = Vec::new();
        for &id in self.sound().branches_at(point) {
            if let BranchKind::Wire { colour, .. } = &self.circuit().branch(id).kind
                && !colour.is_empty()
                && !colours.contains(&colour.as_str())
            {
                colours.push(colour);
            }
        }
        colours
    }
}

/// The innermost of some facts whose statement touches an offset.
pub(crate) fn fact_at(facts: &[Fact], offset: u32) -> Option<&Fact> {
    let after = facts.partition_point(|fact| fact.span.start <= offset);
    let fact = facts.get(after.checked_sub(1)?).filter(|fact| fact.span.touches(offset))?;
    Some(fact_at(&fact.facts, offset).unwrap_or(fact))
}

/// The number of the first token that starts behind an offset.
pub(crate) fn first_after(tree: &Tree, offset: u32) -> u32 {
    let tokens = tree.tokens();
    let (mut low, mut high) = (0, tokens.len() as u32);
    while low < high {
        let middle = low + (high - low) / 2;
        if tokens.span(middle).start <= offset { low = middle + 1 } else { high = middle }
    }
    low
}

/// Every fact, those in blocks behind the one that holds them.
pub(crate) fn walk<'f>(facts: &'f [Fact], visit: &mut dyn FnMut(&'f Fact)) {
    for fact in facts {
        visit(fact);
        walk(&fact.facts, visit);
    }
}
