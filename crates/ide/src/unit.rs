//! What is worked out about one circuit, at most once.

use std::fmt;
use std::sync::OnceLock;

use halfsplit_base::{FileId, Files};
use halfsplit_check::Checked;

/// One circuit's results. A new text gets a new unit, and so does whatever uses it; where nothing
/// changed the unit is kept from one analysis to the next.
#[derive(Default)]
pub(crate) struct Unit {
    checked: OnceLock<Checked>,
}

impl Unit {
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
