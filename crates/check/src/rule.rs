//! What a rule is, and how it speaks.

use halfsplit_base::{Edit, Finding, Fix, Related, Severity};
use halfsplit_model::{Model, Place};

use crate::survey::Survey;

/// What a rule holds for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Scope {
    /// What any file says by itself: a library too, which is no circuit and joins nothing, and a case.
    File,
    /// Circuits: what is joined in them, and what they say as a whole.
    Circuit,
    /// Circuits in which nothing else is an error: what is odd in them may come from it.
    Sound,
    /// Cases: their circuit is checked by itself.
    Case,
}

/// One rule.
#[derive(Clone, Copy, Debug)]
pub struct Rule {
    /// Stable plain id: `floating-net`.
    pub id: &'static str,
    /// How much its findings weigh.
    pub severity: Severity,
    /// What it holds for.
    pub(crate) scope: Scope,
    /// Its page, Markdown: what, why, a bad and a good example.
    pub page: &'static str,
    /// Looks at a circuit. `None` for what the parser itself finds.
    pub(crate) check: Option<fn(&Survey, &mut Found)>,
}

impl Rule {
    /// Whether it is a rule over circuits; what is not is found by the parser, or is about `allow` lines.
    pub fn looks_at_circuits(&self) -> bool {
        self.check.is_some()
    }

    /// Whether its findings come from the parser.
    pub fn is_the_parsers(&self) -> bool {
        !self.looks_at_circuits() && !crate::allow::RULES.contains(&self.id)
    }

    /// The first sentence of its page, without the title.
    pub fn summary(&self) -> &'static str {
        let body = self.page.lines().skip(1).find(|line| !line.trim().is_empty());
        body.unwrap_or_default()
    }

    /// Whether it holds for a model: of a circuit, a library or a case.
    pub(crate) fn holds_for(&self, model: &Model) -> bool {
        match (self.scope, model.library, &model.case) {
            (Scope::File, ..) => true,
            (Scope::Circuit | Scope::Sound, library, case) => !library && case.is_none(),
            (Scope::Case, library, _) => !library,
        }
    }

    /// Whether it waits until no error is left.
    pub(crate) fn wants_sound(&self) -> bool {
        self.scope == Scope::Sound
    }

    pub(crate) fn run(&self, survey: &Survey) -> Vec<Finding> {
        let mut found = Found { rule: self.id, severity: self.severity, findings: Vec::new() };
        if let Some(check) = self.check {
            check(survey, &mut found);
        }
        found.findings
    }
}

/// Collects the findings of one rule.
#[derive(Debug)]
pub(crate) struct Found {
    rule: &'static str,
    severity: Severity,
    findings: Vec<Finding>,
}

impl Found {
    /// Adds a finding: where, and the two facts in conflict. Give the likely
    /// slip and the other place through what comes back.
    pub(crate) fn add(&mut self, place: Place, message: impl Into<String>) -> Detail<'_> {
        self.findings.push(Finding {
            rule: self.rule,
            severity: self.severity,
            message: message.into(),
            file: place.file,
            span: place.span,
            help: None,
            related: Vec::new(),
            fix: None,
        });
        Detail { findings: &mut self.findings }
    }
}

/// The finding just added.
#[derive(Debug)]
pub(crate) struct Detail<'a> {
    findings: &'a mut Vec<Finding>,
}

impl Detail<'_> {
    /// The likely slip and what to do.
    pub(crate) fn help(self, words: impl Into<String>) -> Self {
        self.set(|finding| finding.help = Some(words.into()))
    }

    /// Another place that the finding speaks of, if it is known.
    pub(crate) fn with_some(self, place: Option<Place>, words: impl Into<String>) -> Self {
        match place {
            Some(place) => self.with(place, words),
            None => self,
        }
    }

    /// Another place that the finding speaks of.
    pub(crate) fn with(self, place: Place, words: impl Into<String>) -> Self {
        let related = Related { file: place.file, span: place.span, message: words.into() };
        self.set(|finding| finding.related.push(related))
    }

    /// A change that mends it.
    pub(crate) fn fix(self, title: impl Into<String>, place: Place, text: impl Into<String>) -> Self {
        let edit = Edit { file: place.file, span: place.span, text: text.into() };
        self.set(|finding| finding.fix = Some(Fix { title: title.into(), edits: vec![edit] }))
    }

    /// The same change at several places.
    pub(crate) fn fix_all(
        self,
        title: impl Into<String>,
        places: impl Iterator<Item = Place>,
        text: &str,
    ) -> Self {
        let edits =
            places.map(|place| Edit { file: place.file, span: place.span, text: text.to_owned() }).collect();
        self.set(|finding| finding.fix = Some(Fix { title: title.into(), edits }))
    }

    fn set(self, change: impl FnOnce(&mut Finding)) -> Self {
        if let Some(last) = self.findings.last_mut() {
            change(last);
        }
        self
    }
}

/// What the parser found, as findings.
pub(crate) fn syntax_findings(model: &Model) -> Vec<Finding> {
    let own = model.syntax.iter().map(|error| (model.file, error));
    let others = model.overlay_syntax.iter().map(|(file, error)| (*file, error));
    own.chain(others)
        .map(|(file, error)| Finding {
            rule: error.rule,
            severity: Severity::Error,
            message: error.message.clone(),
            file,
            span: error.span,
            help: error.help.clone(),
            related: (error.related.iter())
                .map(|other| Related { file, span: other.span, message: other.message.clone() })
                .collect(),
            fix: error.fix.as_ref().map(|fix| Fix {
                title: fix.title.clone(),
                edits: vec![Edit { file, span: fix.span, text: fix.insert.clone() }],
            }),
        })
        .collect()
}
