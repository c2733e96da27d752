//! What texts say, line by line, for rules that look at the lines themselves.

use halfsplit_base::FileId;
use halfsplit_model::Place;
use halfsplit_syntax::Fact;

use crate::survey::Survey;

/// One statement, and the one whose block holds it.
pub(crate) struct Statement<'s> {
    pub(crate) file: FileId,
    pub(crate) fact: &'s Fact,
    pub(crate) holder: Option<&'s Fact>,
}

impl Statement<'_> {
    /// Its place.
    pub(crate) fn place(&self) -> Place {
        Place { file: self.file, span: self.fact.span }
    }
}

/// Every statement of the root file, those in blocks behind the one that holds them.
pub(crate) fn own<'s>(survey: &'s Survey<'_>) -> Vec<Statement<'s>> {
    let mut all = Vec::new();
    for (file, facts) in survey.facts().take(1) {
        gather(file, facts, None, &mut all);
    }
    all
}

fn gather<'s>(file: FileId, facts: &'s [Fact], holder: Option<&'s Fact>, all: &mut Vec<Statement<'s>>) {
    for fact in facts {
        all.push(Statement { file, fact, holder });
        gather(file, &fact.facts, Some(fact), all);
    }
}

/// Whether a line holds for some cars only.
pub(crate) fn is_conditional(fact: &Fact) -> bool {
    ["present", "absent", "since", "built"].into_iter().any(|slot| fact.has(slot))
}
