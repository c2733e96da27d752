//! Holds a laid-out text against the original: the same tokens, the same comments, the same facts,
//! no new fault.

use halfsplit_syntax::{Fact, Kind, Parse, SyntaxError, Tree, parse};

use crate::{error::FormatError, spelling::same};

/// Whether a text says the same as another, in the same order: words, numbers, texts, braces and comments, but for
/// the spellings that the layout settles, and comments on lines of their own still on such lines.
///
/// # Errors
/// The first difference.
pub fn verify(before: &str, after: &str) -> Result<(), FormatError> {
    compare(&parse(before), after)
}

pub(crate) fn compare(before: &Parse, after: &str) -> Result<(), FormatError> {
    let after = parse(after);
    let mut laid_out = Said::of(&after.tree);
    let read = Said::of(&before.tree);
    for token in read {
        let found = laid_out.next();
        if found.as_ref().is_none_or(|found| {
            !same((token.kind, token.text), (found.kind, found.text)) || found.alone != token.alone
        }) {
            let line = before.tree.text()[..token.start as usize].matches('\n').count() + 1;
            let after = found.map_or("", |found| found.text).to_owned();
            return Err(FormatError::Differs { line, before: token.text.to_owned(), after });
        }
    }
    if let Some(more) = laid_out.next() {
        let line = before.tree.text().matches('\n').count() + 1;
        return Err(FormatError::Differs { line, before: String::new(), after: more.text.to_owned() });
    }
    let sound = same_facts(&before.facts, &after.facts) && no_new_faults(&before.errors, &after.errors);
    if sound { Ok(()) } else { Err(FormatError::OtherFacts) }
}

/// Whether a text has no fault that the other has not; those that are mended may be gone.
fn no_new_faults(before: &[SyntaxError], after: &[SyntaxError]) -> bool {
    let mut before = before.iter();
    after.iter().all(|fault| before.any(|other| other.rule == fault.rule))
}

fn same_facts(before: &[Fact], after: &[Fact]) -> bool {
    before.len() == after.len()
        && before.iter().zip(after).all(|(before, after)| {
            before.shape == after.shape
                && before.slots.len() == after.slots.len()
                && before
                    .slots
                    .iter()
                    .zip(&after.slots)
                    .all(|(before, after)| before.name == after.name && before.value == after.value)
                && same_facts(&before.facts, &after.facts)
        })
}

/// A token that says something.
struct Token<'t> {
    kind: Kind,
    text: &'t str,
    start: u32,
    /// It is a comment on a line of its own.
    alone: bool,
}

/// The tokens of a text that say something, in order.
struct Said<'t> {
    tree: &'t Tree,
    at: u32,
    line_start: bool,
}

impl<'t> Said<'t> {
    fn of(tree: &'t Tree) -> Self {
        Self { tree, at: 0, line_start: true }
    }
}

impl<'t> Iterator for Said<'t> {
    type Item = Token<'t>;

    fn next(&mut self) -> Option<Token<'t>> {
        let tokens = self.tree.tokens();
        while (self.at as usize) < tokens.len() {
            let token = self.at;
            self.at += 1;
            match tokens.kind(token) {
                Kind::Newline => self.line_start = true,
                Kind::Space => {}
                kind => {
                    let alone = self.line_start && matches!(kind, Kind::Comment | Kind::CommentSlip);
                    self.line_start = false;
                    let (text, start) = (self.tree.token_text(token), tokens.start(token));
                    return Some(Token { kind, text, start, alone });
                }
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str =
        "halfsplit 1\n# of the loom\nsplice SP1 “left” # seen\nsensor B4 {\n  reach 5 min\n}\n";

    #[test]
    fn other_spelling_is_no_difference() {
        let after = "halfsplit 1\n\n# of the loom\nsplice  SP1 \"left\"  # seen\nsensor B4 {\n reach 5min\n}";
        assert_eq!(verify(TEXT, after), Ok(()));
    }

    #[test]
    fn whatever_is_lost_or_changed_is_found() {
        for (from, to) in [
            ("# of the loom\n", ""),
            (" # seen", ""),
            ("# seen", "# seem"),
            (" # seen\n", "\n# seen\n"),
            ("SP1", "SP2"),
            ("5 min", "5 s"),
            ("5 min", "5. min"),
            ("left", "Left"),
            ("\n}\n", "\n"),
            ("# of the loom\nsplice", "splice"),
            ("sensor B4 {", "sensor B4\n{"),
            ("splice SP1 “left” # seen\n", ""),
        ] {
            let changed = TEXT.replacen(from, to, 1);
            assert_ne!(changed, TEXT, "{from}");
            assert!(verify(TEXT, &changed).is_err(), "{from:?} to {to:?}");
        }
        assert!(verify(TEXT, &format!("{TEXT}# more\n")).is_err());
    }
}
