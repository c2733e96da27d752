//! Prints a text beside what is wrong with it, for snapshots.

use crate::{SyntaxError, parse};

/// Every line of the text that has findings, with them below it; then the facts that were kept.
pub(crate) fn findings(text: &str) -> String {
    let parse = parse(text);
    let mut out = String::new();
    let mut start = 0;
    let lines = if text.is_empty() { vec![""] } else { text.split_inclusive('\n').collect() };
    for (number, line) in lines.into_iter().enumerate() {
        let end = start + line.len();
        let last = end == text.len();
        let here = |error: &&SyntaxError| {
            let at = error.span.start as usize;
            (start..end).contains(&at) || last && at >= end
        };
        let here: Vec<&SyntaxError> = parse.errors.iter().filter(here).collect();
        if !here.is_empty() {
            out += &format!("{:>2} | {}\n", number + 1, line.trim_end());
        }
        for error in here {
            out += &format!("   {}: {}\n", error.rule, error.message);
            if let Some(help) = &error.help {
                out += &format!("      {help}\n");
            }
            if let Some(fix) = &error.fix {
                out += &format!("      fix: {}\n", fix.title);
            }
        }
        start = end;
    }
    out
}

/// Rules with their lines, 1-based.
pub(crate) fn rules(text: &str) -> Vec<(usize, &'static str)> {
    let line = |error: &SyntaxError| text[..error.span.start as usize].matches('\n').count() + 1;
    parse(text).errors.iter().map(|error| (line(error), error.rule)).collect()
}

/// The text with every fix of its errors made.
pub(crate) fn mended(text: &str) -> String {
    let mut out = text.to_owned();
    for error in parse(text).errors.iter().rev() {
        if let Some(fix) = &error.fix {
            out.replace_range(fix.span.range(), &fix.insert);
        }
    }
    out
}
