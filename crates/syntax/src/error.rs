//! What can be wrong with a text, and how it is said.

use crate::span::Span;

/// One fault in a text. All are errors; what could be read is kept all the same.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SyntaxError {
    /// Stable plain id: `missing-unit`.
    pub rule: &'static str,
    /// Where the fault is.
    pub span: Span,
    /// What is wrong, with the two facts that disagree.
    pub message: String,
    /// What to do about it.
    pub help: Option<String>,
    /// A change of the text that mends it, where one is likely right.
    pub fix: Option<TextEdit>,
    /// Other places that belong to it.
    pub related: Vec<Related>,
}

/// A change of the text.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TextEdit {
    /// What is replaced; empty to insert.
    pub span: Span,
    /// What is written instead.
    pub insert: String,
    /// What the change does, as a short order: `write 0.4 m`.
    pub title: String,
}

/// Another place that belongs to a fault.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Related {
    /// Where.
    pub span: Span,
    /// What is there.
    pub message: String,
}

impl SyntaxError {
    /// A fault at a place.
    pub(crate) fn new(rule: &'static str, span: Span, message: impl Into<String>) -> Self {
        Self { rule, span, message: message.into(), help: None, fix: None, related: Vec::new() }
    }

    /// Adds what to do about it.
    pub(crate) fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Adds a change that mends it.
    pub(crate) fn fix(mut self, span: Span, insert: impl Into<String>, title: impl Into<String>) -> Self {
        self.fix = Some(TextEdit { span, insert: insert.into(), title: title.into() });
        self
    }

    /// Adds another place that belongs to it.
    pub(crate) fn related(mut self, span: Span, message: impl Into<String>) -> Self {
        self.related.push(Related { span, message: message.into() });
        self
    }
}

/// Most faults kept of one file: past it a file is no circuit, and memory is finite.
pub const MOST_ERRORS: usize = 2_000;

/// Gathers faults, up to [`MOST_ERRORS`].
#[derive(Default)]
pub(crate) struct Errors {
    kept: Vec<SyntaxError>,
    dropped: usize,
}

impl Errors {
    /// Whether another fault would still be kept: saves composing messages nobody sees.
    pub(crate) fn full(&self) -> bool {
        self.kept.len() >= MOST_ERRORS
    }

    /// Keeps a fault.
    pub(crate) fn push(&mut self, error: SyntaxError) {
        if self.full() {
            self.dropped += 1;
        } else {
            self.kept.push(error);
        }
    }

    /// Keeps a fault, and composes it only if there is room.
    pub(crate) fn push_with(&mut self, error: impl FnOnce() -> SyntaxError) {
        if self.full() {
            self.dropped += 1;
        } else {
            self.kept.push(error());
        }
    }

    /// Makes the last fault cover this place too, if it is of the same rule and ends here: a run of the same slip is one.
    pub(crate) fn widen(&mut self, rule: &str, span: Span) -> bool {
        let last = self.kept.last_mut().filter(|last| last.rule == rule && last.span.end == span.start);
        let Some(last) = last else { return false };
        last.span.end = span.end;
        if let Some(fix) = &mut last.fix {
            fix.span.end = span.end;
        }
        true
    }

    /// All faults, by place.
    pub(crate) fn finish(mut self) -> Vec<SyntaxError> {
        self.kept.sort_by_key(|error| (error.span.start, error.span.end));
        if self.dropped > 0 {
            let at = self.kept.last().map_or(Span::default(), |last| last.span);
            self.kept.push(
                SyntaxError::new(
                    "too-many-errors",
                    at,
                    format!("{} more faults in this file are not listed", self.dropped),
                )
                .help("mend the first ones and check again; perhaps this is not a circuit file"),
            );
        }
        self.kept
    }
}
