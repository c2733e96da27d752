//! What a rule is, and how it speaks.

use halfsplit_base::{Edit, Finding, Fix, Related, Severity};
use halfsplit_model::{Model, Place};

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
    pub check: Option<fn(&Model, &mut Found)>,
}

impl Rule {
    /// The first sentence of its page, without the title.
    pub fn summary(&self) -> &'static str {
        let body = self.page.lines().skip(1).find(|line| !line.trim().is_empty());
        body.unwrap_or_default()
    }

    pub(crate) fn run(&self, model: &Model) -> Vec<Finding> {
        let mut found = Found { rule: self.id, severity: self.severity, findings: Vec::new() };
        if let Some(check) = self.check {
            check(model, &mut found);
        }
        found.findings
    }
}

/// Collects the findings of one rule.
#[derive(Debug)]
pub struct Found {
    rule: &'static str,
    severity: Severity,
    findings: Vec<Finding>,
}

impl Found {
    /// Adds a finding: where, and the two facts in conflict. Give the likely
    /// slip and the other place through what comes back.
    pub fn add(&mut self, place: Place, message: impl Into<String>) -> Detail<'_> {
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
pub struct Detail<'a> {
    findings: &'a mut Vec<Finding>,
}

impl Detail<'_> {
    /// The likely slip and what to do.
    pub fn help(self, words: impl Into<String>) -> Self {
        self.set(|finding| finding.help = Some(words.into()))
    }

    /// Another place that the finding speaks of.
    pub fn with(self, place: Place, words: impl Into<String>) -> Self {
        let related = Related { file: place.file, span: place.span, message: words.into() };
        self.set(|finding| finding.related.push(related))
    }

    /// A change that mends it.
    pub fn fix(self, title: impl Into<String>, place: Place, text: impl Into<String>) -> Self {
        let edit = Edit { file: place.file, span: place.span, text: text.into() };
        self.set(|finding| finding.fix = Some(Fix { title: title.into(), edits: vec![edit] }))
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
    let file = model.file;
    (model.syntax.iter())
        .map(|error| Finding {
            rule: error.rule,
            severity: Severity::Error,
            message: error.message.clone(),
            file,
            span: error.span,
            help: error.help.clone(),
            related: Vec::new(),
            fix: error.fix.as_ref().map(|fix| Fix {
                title: fix.title.clone(),
                edits: vec![Edit { file, span: fix.span, text: fix.insert.clone() }],
            }),
        })
        .collect()
}
