//! Which files a text uses, and where they lie in its library.
//!
//! A library is a folder, its root, and everything under it. A file names another by its path from the
//! root. Nothing here opens a file: see [`crate::disk`].

use std::{
    fmt,
    path::{Component, Path, PathBuf},
};

use halfsplit_syntax::{Fact, Span, Value};

use crate::File;

/// One `use` line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Use {
    /// Whether it names a file of the standard library, which comes with the language.
    pub std: bool,
    /// The file as written: `lib/sensors.circuit`, or for the standard library `relays`.
    pub written: String,
    /// The words that name the file.
    pub span: Span,
    /// Whether a case names it, as its circuit or as what was added to its car.
    pub by_case: bool,
}

/// What is under no library root, whatever the disk holds.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Outside {
    /// Nothing is written.
    Empty,
    /// A path from the top of the file system: `/cars/a.circuit`, `C:\a.circuit`.
    Absolute,
    /// A step up: `../a.circuit`.
    Upward,
    /// A backslash, which divides folders on one system only.
    Backslash,
}

impl fmt::Display for Outside {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Outside::Empty => "no file is named",
            Outside::Absolute => "the path starts outside the library's root",
            Outside::Upward => "`..` leads out of the library's root",
            Outside::Backslash => "folders are divided by `/`, not by `\\`",
        })
    }
}

/// Where a file lies that another names, by its path from the library's root. Looks at the words
/// only; whether a link on the disk leads out is for [`crate::disk::read_in`] to see.
///
/// # Errors
/// If the path leads out of the root.
pub fn path(root: &Path, written: &str) -> Result<PathBuf, Outside> {
    if written.contains('\\') {
        return Err(Outside::Backslash);
    }
    let drive = written.as_bytes().get(1) == Some(&b':');
    if drive || written.starts_with('/') {
        return Err(Outside::Absolute);
    }
    let mut whole = root.to_path_buf();
    let mut named = false;
    for part in Path::new(written).components() {
        match part {
            Component::Normal(part) => {
                whole.push(part);
                named = true;
            }
            Component::CurDir => {}
            Component::ParentDir => return Err(Outside::Upward),
            Component::Prefix(_) | Component::RootDir => return Err(Outside::Absolute),
        }
    }
    if named { Ok(whole) } else { Err(Outside::Empty) }
}

impl File {
    /// The files that the text uses, in the order of its lines; of a case also its circuit and what was
    /// added to its car.
    ///
    /// Looked for once: an editor asks after every key.
    pub fn uses(&self) -> &[Use] {
        self.uses.get_or_init(|| self.find_uses())
    }

    fn find_uses(&self) -> Vec<Use> {
        // Most texts use nothing, and need not be read through to know it.
        if !says(&self.text, "use") && !says(&self.text, "case") {
            return Vec::new();
        }
        let mut uses = Vec::new();
        for fact in &self.parse().facts {
            match fact.keyword() {
                "use" => uses.extend(use_of(fact)),
                "case" => uses.extend(std::iter::once(fact).chain(fact.all("added")).filter_map(use_of)),
                _ => {}
            }
        }
        uses
    }
}

/// What a line names; `None` where that could not be read.
fn use_of(fact: &Fact) -> Option<Use> {
    let file = fact.slot("file")?;
    let Value::Text(written) = &file.value else { return None };
    let by_case = fact.keyword() != "use";
    Some(Use { std: fact.has("from"), written: written.as_str().to_owned(), span: file.span, by_case })
}

/// Whether a text has a word anywhere.
fn says(text: &str, word: &str) -> bool {
    let bytes = text.as_bytes();
    let in_word = |at: Option<usize>| {
        at.and_then(|at| bytes.get(at)).is_some_and(|b| b.is_ascii_alphanumeric() || b"_-".contains(b))
    };
    text.match_indices(word).any(|(at, _)| !in_word(at.checked_sub(1)) && !in_word(Some(at + word.len())))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Files;

    #[test]
    fn a_path_starts_at_the_root_and_stays_under_it() {
        let path = |written| path(Path::new("cars"), written);
        assert_eq!(path("lib/sensors.circuit"), Ok("cars/lib/sensors.circuit".into()));
        assert_eq!(path("./a.circuit"), Ok("cars/a.circuit".into()));
        assert_eq!(path("lib/../../b.circuit"), Err(Outside::Upward));
        assert_eq!(path("/etc/passwd"), Err(Outside::Absolute));
        assert_eq!(path("C:/cars/a.circuit"), Err(Outside::Absolute));
        assert_eq!(path("lib\\a.circuit"), Err(Outside::Backslash));
        assert_eq!(path("."), Err(Outside::Empty));
    }

    #[test]
    fn uses_are_found_whatever_else_the_text_says() {
        let text = "halfsplit 1\nuse \"lib/a.circuit\"\nfuse F1 10 A\nuse std \"relays\"\nuse\n";
        let mut files = Files::default();
        let file = files.set("t.circuit".into(), text);
        let uses = files.get(file).uses();
        let said: Vec<_> = uses.iter().map(|u| (u.std, u.written.as_str())).collect();
        assert_eq!(said, [(false, "lib/a.circuit"), (true, "relays")]);
        assert_eq!(&text[uses[0].span.range()], "\"lib/a.circuit\"");
        assert!(!says("fuse F1 10 A type C use-less", "use"));
    }
}
