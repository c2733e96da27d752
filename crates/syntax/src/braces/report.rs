//! What is said about braces that are missing or too many.

use super::{DEEPEST, Open, Pass};
use crate::{error::SyntaxError, span::Span};

impl Pass<'_, '_> {
    pub(super) fn report_too_deep(&mut self, token: u32) {
        let at = self.tokens.span(token);
        self.errors.push_with(|| {
            SyntaxError::new(
                "too-deep",
                at,
                format!("blocks stand more than {DEEPEST} deep in one another here"),
            )
            .help("a circuit needs four at most; braces deeper than that are not read")
        });
    }

    pub(super) fn report_stray(&mut self, token: u32) {
        let at = self.tokens.span(token);
        if self.errors.widen("stray-brace", at) {
            return;
        }
        let inside = self.open.last().map(|open| self.line_name(open));
        self.errors.push_with(|| {
            let error = match &inside {
                None => SyntaxError::new("stray-brace", at, "this `}` closes nothing: no block is open here")
                    .help("take it out, or look above for a `{` that was lost"),
                Some(name) => SyntaxError::new(
                    "stray-brace",
                    at,
                    format!("this `}}` is one too many inside {name}, whose own `}}` comes later"),
                )
                .help("take it out, or look above for a `{` that was lost"),
            };
            error.fix(at, "", "take the } out")
        });
    }

    pub(super) fn report_unclosed(&mut self, open: &Open, before: u32) {
        let Some(brace) = open.brace else { return };
        let at = self.tokens.span(brace);
        let name = self.line_name(open);
        let end = before as usize >= self.tokens.len();
        let next = self.tokens.span(before);
        let line = self.line_at(next.start);
        let indent = " ".repeat(open.indent as usize);
        let (text, word) = (self.text, self.word(before));
        self.errors.push_with(|| {
            let error = SyntaxError::new("unclosed-brace", at, format!("the `{{` of {name} is never closed"));
            if end {
                let gap = if text.ends_with('\n') || text.is_empty() { "" } else { "\n" };
                return error.help("write its `}` on a line of its own, where the block ends").fix(
                    Span::empty(next.start),
                    format!("{gap}{indent}}}\n"),
                    "close it at the end of the file",
                );
            }
            let end = if word == "}" {
                "the next one".to_owned()
            } else {
                format!("the line that begins with `{word}`")
            };
            error
                .help(format!("its `}}` most likely belongs before {end}"))
                .related(next, "here something begins that no longer belongs to it")
                .fix(Span::empty(line), format!("{indent}}}\n"), "close it before this line")
        });
    }

    pub(super) fn report_missing_open(&mut self, first: u32, last: u32) {
        let at = self.tokens.span(first).to(self.tokens.span(last));
        let text = self.text;
        self.errors.push_with(|| {
            let line = text.get(at.range()).unwrap_or("");
            SyntaxError::new("missing-brace", at, format!("`{line}` has a block below it but no `{{`"))
                .help("the `{` stands at the end of the line that the block belongs to")
                .fix(at.end_point(), " {", "put { at the end of the line")
        });
    }

    pub(super) fn report_brace_below(&mut self, last: u32, token: u32) {
        let at = self.tokens.span(token);
        let above = self.tokens.span(last);
        let between = self.text.get(Span::new(above.end, at.start).range()).unwrap_or("");
        let only_space = between.trim().is_empty();
        self.errors.push_with(|| {
            let error = SyntaxError::new(
                "brace-below",
                at,
                "this `{` stands below the line that its block belongs to",
            )
            .help("it belongs to the end of that line");
            if only_space {
                error.fix(Span::new(above.end, at.end), " {", "put { at the end of the line above")
            } else {
                error
            }
        });
    }

    /// What a block is called in a message: `sensor B4`.
    fn line_name(&self, open: &Open) -> String {
        let Some(line) = open.line else {
            return "a block without a line".to_owned();
        };
        let start = self.tokens.span(line).start;
        let rest = self.text.get(start as usize..).unwrap_or("");
        let rest = rest.split(['\n', '\r', '{', '"']).next().unwrap_or("");
        let words: Vec<&str> = rest.split_whitespace().take(2).collect();
        format!("`{}`", words.join(" "))
    }

    /// The start of the line that a byte stands in.
    fn line_at(&self, offset: u32) -> u32 {
        let before = self.text.get(..offset as usize).unwrap_or("");
        // Within a line: what is put in never reaches further back than the indentation.
        before.rfind(['\n', '\r']).map_or(0, |at| at as u32 + 1)
    }
}
