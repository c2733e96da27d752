//! Findings for people: the line, the facts in conflict, the fix.

use std::{
    collections::HashMap,
    fmt::{Debug, Write as _},
    sync::Arc,
};

use ariadne::{Cache, Color, Config, IndexType, Label, Report, ReportKind, Source};
use halfsplit_base::{FileId, Files, Finding, Severity};

/// Longer lines are not drawn: a finding in one is said in a line of its own.
const LONGEST_LINE: usize = 2_000;

/// How findings are drawn.
#[derive(Clone, Copy, Debug, Default)]
pub struct Look {
    /// Whether to use terminal colours.
    pub colour: bool,
}

/// Every finding with its stretch of text.
pub fn text(files: &Files, findings: &[Finding], look: Look) -> String {
    let mut drawer = Drawer::new(files, look);
    let mut out = String::new();
    for finding in findings {
        out.push_str(&drawer.draw(finding));
        out.push('\n');
    }
    out
}

/// Draws findings one by one. The lines of a text are looked up once, however many findings it has.
pub struct Drawer<'f> {
    files: &'f Files,
    look: Look,
    sources: HashMap<FileId, Source<Arc<str>>>,
}

impl Cache<FileId> for &mut Drawer<'_> {
    type Storage = Arc<str>;

    fn fetch(&mut self, id: &FileId) -> Result<&Source<Arc<str>>, impl Debug> {
        let text = || Arc::clone(&self.files.get(*id).text);
        Ok::<_, String>(self.sources.entry(*id).or_insert_with(|| Source::from(text())))
    }

    fn display<'a>(&self, id: &'a FileId) -> Option<impl std::fmt::Display + 'a> {
        Some(self.files.get(*id).path.display().to_string())
    }
}

/// How many findings there are of each weight.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Counts {
    /// Errors.
    pub errors: usize,
    /// Warnings.
    pub warnings: usize,
    /// Notes.
    pub notes: usize,
}

impl Counts {
    /// Counts so many more of a weight.
    pub fn add(&mut self, severity: Severity, more: usize) {
        match severity {
            Severity::Error => self.errors += more,
            Severity::Warning => self.warnings += more,
            Severity::Note => self.notes += more,
        }
    }
}

/// The closing line: `3 files: 1 error, 2 warnings`.
pub fn summary(files: usize, found: Counts) -> String {
    let parts: Vec<String> =
        [(found.errors, Severity::Error), (found.warnings, Severity::Warning), (found.notes, Severity::Note)]
            .into_iter()
            .filter(|&(n, _)| n > 0)
            .map(|(n, severity)| count(n, severity.word()))
            .collect();
    let found = if parts.is_empty() { "clean".to_owned() } else { parts.join(", ") };
    format!("{}: {found}", count(files, "file"))
}

fn count(n: usize, noun: &str) -> String {
    let plural = if n == 1 { "" } else { "s" };
    format!("{n} {noun}{plural}")
}

impl<'f> Drawer<'f> {
    /// Draws findings of these files.
    pub fn new(files: &'f Files, look: Look) -> Drawer<'f> {
        Drawer { files, look, sources: HashMap::new() }
    }

    /// One finding with its stretch of text; in one line where its own line is too long to be drawn.
    pub fn draw(&mut self, finding: &Finding) -> String {
        let related = finding.related.iter().map(|other| (other.file, other.span.start));
        let mut places = std::iter::once((finding.file, finding.span.start)).chain(related);
        if places.any(|(file, at)| is_long(&self.files.get(file).text, at as usize)) {
            return plain(self.files, finding) + "\n";
        }
        let colour = self.look.colour;
        let mut out = Vec::new();
        match report(finding, colour).write(&mut *self, &mut out) {
            Ok(()) => {
                // The kind that we name ourselves keeps its colour whatever the configuration says.
                let drawn = String::from_utf8_lossy(&out);
                let drawn = if colour { drawn.into_owned() } else { without_colour(&drawn) };
                drawn.lines().map(|line| line.trim_end().to_owned() + "\n").collect()
            }
            // Drawing into memory cannot fail; should it ever, the finding itself still gets through.
            Err(_) => plain(self.files, finding),
        }
    }
}

/// Whether the line of an offset is longer than [`LONGEST_LINE`].
fn is_long(text: &str, at: usize) -> bool {
    let bytes = text.as_bytes();
    let at = at.min(bytes.len());
    let ends = |byte: &u8| *byte == b'\n';
    let before = bytes[..at].iter().rev().take(LONGEST_LINE).take_while(|byte| !ends(byte)).count();
    let after = bytes[at..].iter().take(LONGEST_LINE).take_while(|byte| !ends(byte)).count();
    before + after > LONGEST_LINE
}

fn report(finding: &Finding, colour: bool) -> Report<'static, (FileId, std::ops::Range<usize>)> {
    let (kind, shade) = match finding.severity {
        Severity::Error => (ReportKind::Error, Color::Red),
        Severity::Warning => (ReportKind::Warning, Color::Yellow),
        Severity::Note => (ReportKind::Custom("Note", Color::Blue), Color::Blue),
    };
    let config = Config::default().with_color(colour).with_index_type(IndexType::Byte);
    let span = (finding.file, finding.span.range());
    let mark = finding.fix.as_ref().map_or("here", |fix| &fix.title);
    let mut report = Report::build(kind, span.clone())
        .with_config(config)
        .with_code(finding.rule)
        .with_message(&finding.message)
        .with_label(Label::new(span).with_message(mark).with_color(shade));
    for related in &finding.related {
        let label = Label::new((related.file, related.span.range()));
        report =
            report.with_label(label.with_message(&related.message).with_color(Color::Blue).with_order(1));
    }
    if let Some(help) = &finding.help {
        report = report.with_help(help);
    }
    report.finish()
}

/// Text without the sequences that switch a terminal's colours.
fn without_colour(text: &str) -> String {
    let mut pieces = text.split("\u{1b}[");
    let mut out = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        out.push_str(piece.split_once('m').map_or(piece, |(_, rest)| rest));
    }
    out
}

/// One finding on one line: `file:line:column: severity[rule]: message`.
pub fn plain(files: &Files, finding: &Finding) -> String {
    let file = files.get(finding.file);
    let at = file.position(finding.span.start);
    let mut out = String::new();
    let _ = write!(
        out,
        "{}:{}:{}: {}[{}]: {}",
        file.path.display(),
        at.line,
        at.column,
        finding.severity.word(),
        finding.rule,
        finding.message
    );
    out
}
