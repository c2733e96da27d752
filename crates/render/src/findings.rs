//! Findings for people: the line, the facts in conflict, the fix.

use std::fmt::Write as _;

use ariadne::{Color, Config, IndexType, Label, Report, ReportKind};
use halfsplit_base::{Files, Finding, Severity};

/// How findings are drawn.
#[derive(Clone, Copy, Debug, Default)]
pub struct Look {
    /// Whether to use terminal colours.
    pub colour: bool,
}

/// Every finding with its stretch of text, and a closing line of counts.
pub fn text(files: &Files, findings: &[Finding], look: Look) -> String {
    let mut out = String::new();
    for finding in findings {
        out.push_str(&one(files, finding, look));
        out.push('\n');
    }
    out
}

/// The closing line: `3 files: 1 error, 2 warnings`.
pub fn summary(files: usize, findings: &[Finding]) -> String {
    let mut out = format!("{}: ", count(files, "file"));
    if findings.is_empty() {
        out.push_str("clean");
        return out;
    }
    let parts: Vec<String> = [Severity::Error, Severity::Warning, Severity::Note]
        .into_iter()
        .map(|severity| (findings.iter().filter(|f| f.severity == severity).count(), severity))
        .filter(|&(n, _)| n > 0)
        .map(|(n, severity)| count(n, severity.word()))
        .collect();
    out.push_str(&parts.join(", "));
    out
}

fn count(n: usize, noun: &str) -> String {
    let plural = if n == 1 { "" } else { "s" };
    format!("{n} {noun}{plural}")
}

fn one(files: &Files, finding: &Finding, look: Look) -> String {
    let (kind, colour) = match finding.severity {
        Severity::Error => (ReportKind::Error, Color::Red),
        Severity::Warning => (ReportKind::Warning, Color::Yellow),
        Severity::Note => (ReportKind::Custom("Note", Color::Blue), Color::Blue),
    };
    let name = |id| files.get(id).path.display().to_string();
    let config = Config::default().with_color(look.colour).with_index_type(IndexType::Byte);
    let span = (name(finding.file), finding.span.range());
    let mark = finding.fix.as_ref().map_or("here", |fix| &fix.title);
    let mut report = Report::build(kind, span.clone())
        .with_config(config)
        .with_code(finding.rule)
        .with_message(&finding.message)
        .with_label(Label::new(span).with_message(mark).with_color(colour));
    for related in &finding.related {
        let label = Label::new((name(related.file), related.span.range()));
        report =
            report.with_label(label.with_message(&related.message).with_color(Color::Blue).with_order(1));
    }
    if let Some(help) = &finding.help {
        report = report.with_help(help);
    }
    let mut sources = vec![finding.file];
    sources.extend(finding.related.iter().map(|r| r.file));
    sources.sort();
    sources.dedup();
    let cache = ariadne::sources(sources.iter().map(|&id| (name(id), files.get(id).text.to_string())));
    let mut out = Vec::new();
    match report.finish().write(cache, &mut out) {
        Ok(()) => {
            // The kind that we name ourselves keeps its colour whatever the configuration says.
            let drawn = String::from_utf8_lossy(&out);
            let drawn = if look.colour { drawn.into_owned() } else { without_colour(&drawn) };
            drawn.lines().map(|line| line.trim_end().to_owned() + "\n").collect()
        }
        // Drawing into memory cannot fail; should it ever, the finding itself still gets through.
        Err(_) => plain(files, finding),
    }
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
