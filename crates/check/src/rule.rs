//! What a rule is, and how it speaks.

use halfsplit_base::{Edit, Finding, Fix, Related, Severity};
use halfsplit_model::{Model, Place};

use crate::survey::Survey;

/// The rules that hold for a library.
const LIBRARY: [&str; 16] = [
    "unknown-name",
    "ambiguous-name",
    "duplicate-name",
    "no-such-cavity",
    "too-many-cavities",
    "cavity-twice",
    "half-missing",
    "use-not-found",
    "use-outside",
    "use-cycle",
    "use-of-circuit",
    "unused-use",
    "wrong-kind",
    "unknown-parameter",
    "parameter-name",
    "wrong-argument",
];

/// One rule.
#[derive(Clone, Copy, Debug)]
pub struct Rule {
    /// Stable plain id: `floating-net`.
    pub id: &'static str,
    /// How much its findings weigh.
    pub severity: Severity,
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

    /// Whether it judges what a file says by itself, so that it holds for a library too, which is no
    /// circuit and joins nothing.
    pub(crate) fn holds_for_libraries(&self) -> bool {
        LIBRARY.contains(&self.id)
    }

    /// Whether it judges what a case says.
    pub(crate) fn holds_for_cases(&self) -> bool {
        self.holds_for_libraries() || CASE.contains(&self.id)
    }

    pub(crate) fn run(&self, survey: &Survey) -> Vec<Finding> {
        let mut found = Found { rule: self.id, severity: self.severity, findings: Vec::new() };
        if let Some(check) = self.check {
            check(survey, &mut found);
        }
        found.findings
    }
}

/// Rules that hold for a case, besides those of [`LIBRARY`]: its circuit is checked by itself.
const CASE: [&str; 4] = ["unclear-case", "lamp-on-reference", "ohms-on-live-circuit", "battery-first"];

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
