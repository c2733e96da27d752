//! What is worked out about one text, at most once.

use std::fmt;
use std::sync::OnceLock;

use halfsplit_base::{FileId, Files};
use halfsplit_check::Checked;
use halfsplit_syntax::Parse;

/// One text's results. A new text gets a new unit; a text that did not change
/// keeps its unit from one analysis to the next.
#[derive(Default)]
pub(crate) struct Unit {
    parse: OnceLock<Parse>,
    checked: OnceLock<Checked>,
}

impl Unit {
    /// The text as tree and facts.
    pub(crate) fn parse(&self, files: &Files, file: FileId) -> &Parse {
        self.parse.get_or_init(|| halfsplit_syntax::parse(files.get(file).text.clone()))
    }

    /// The circuit that the text describes, and what the checks say of it.
    pub(crate) fn checked(&self, files: &Files, file: FileId) -> &Checked {
        self.checked.get_or_init(|| halfsplit_check::check(files, file))
    }
}

impl fmt::Debug for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Unit").finish_non_exhaustive()
    }
}
