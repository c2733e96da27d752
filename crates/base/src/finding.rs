//! What a check has to say about a text.

use halfsplit_syntax::Span;

use crate::FileId;

/// How much a finding weighs.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Severity {
    /// Worth knowing; nothing is wrong.
    Note,
    /// Probably a slip.
    Warning,
    /// The file says something that cannot be.
    Error,
}

impl Severity {
    /// The word shown to people and programs.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Note => "note",
            Severity::Warning => "warning",
            Severity::Error => "error",
        }
    }
}

/// One thing that a check has to say.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Finding {
    /// Stable plain id of the rule, `missing-unit`.
    pub rule: &'static str,
    /// How much it weighs.
    pub severity: Severity,
    /// The two facts in conflict, in plain words.
    pub message: String,
    /// The file it is about.
    pub file: FileId,
    /// Where in the file.
    pub span: Span,
    /// The likely slip and what to do.
    pub help: Option<String>,
    /// The other places involved.
    pub related: Vec<Related>,
    /// A change that mends it, where one is certain enough.
    pub fix: Option<Fix>,
}

/// Another place that a finding speaks of.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Related {
    /// The file.
    pub file: FileId,
    /// Where in it.
    pub span: Span,
    /// What is there.
    pub message: String,
}

/// A change that mends a finding.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fix {
    /// What it does, in an editor's menu.
    pub title: String,
    /// The changes, none overlapping.
    pub edits: Vec<Edit>,
}

/// Text put in place of a span.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Edit {
    /// The file.
    pub file: FileId,
    /// What goes.
    pub span: Span,
    /// What comes.
    pub text: String,
}
