//! What is worked out about one circuit, each part at most once and only when it is asked for.

use std::fmt;
use std::sync::OnceLock;

use halfsplit_base::{FileId, Files, Finding};
use halfsplit_check::expect::Effort;
use halfsplit_model::Model;

use crate::sound::Sound;

/// One circuit's results. A new text gets a new unit, and so does whatever uses it; where nothing
/// changed the unit is kept from one analysis to the next.
#[derive(Default)]
pub(crate) struct Unit {
    model: OnceLock<Model>,
    findings: OnceLock<Vec<Finding>>,
    sound: OnceLock<Sound>,
}

impl Unit {
    /// The circuit that the text describes. A hover waits for this and not for the checks.
    pub(crate) fn model(&self, files: &Files, file: FileId) -> &Model {
        self.model.get_or_init(|| halfsplit_model::lower(files, file))
    }

    /// What the checks say of it.
    pub(crate) fn findings(&self, files: &Files, file: FileId) -> &[Finding] {
        self.findings.get_or_init(|| {
            halfsplit_check::judge(files, file, self.model(files, file), Effort::Quick).findings
        })
    }

    /// The circuit on a sound car.
    pub(crate) fn sound(&self, model: &Model) -> &Sound {
        self.sound.get_or_init(|| Sound::of(&model.circuit))
    }
}

impl fmt::Debug for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Unit").finish_non_exhaustive()
    }
}
