//! The texts, and what they were at one moment.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use halfsplit_base::{FileId, Files, Finding, Span};

use crate::{Action, FilePosition, Hover, Symbol, Target};

/// Owns the texts and takes changes.
#[derive(Debug, Default)]
pub struct Host {
    files: Files,
    current: Option<Analysis>,
}

impl Host {
    /// Adds a text or replaces it.
    pub fn set(&mut self, path: PathBuf, text: &str) -> FileId {
        self.current = None;
        self.files.set(path, text)
    }

    /// Forgets a text, if it is known.
    pub fn remove(&mut self, path: &Path) {
        if let Some(file) = self.files.id(path) {
            self.current = None;
            self.files.remove(file);
        }
    }

    /// The texts.
    pub fn files(&self) -> &Files {
        &self.files
    }

    /// The texts as they are now. The same value until the next change, so that
    /// what one question works out serves the next.
    pub fn analysis(&mut self) -> Analysis {
        let files = &self.files;
        self.current.get_or_insert_with(|| Analysis { files: Arc::new(files.clone()) }).clone()
    }
}

/// The texts at one moment. Cheap to clone, never changes.
#[derive(Clone, Debug)]
pub struct Analysis {
    files: Arc<Files>,
}

impl Analysis {
    /// The texts.
    pub fn files(&self) -> &Files {
        &self.files
    }

    /// What the checks have to say about a file.
    pub fn findings(&self, _file: FileId) -> Vec<Finding> {
        Vec::new()
    }

    /// What is known about the words at a place.
    pub fn hover(&self, _at: FilePosition) -> Option<Hover> {
        None
    }

    /// Where the name at a place is declared.
    pub fn definition(&self, _at: FilePosition) -> Vec<Target> {
        Vec::new()
    }

    /// The outline of a file.
    pub fn symbols(&self, _file: FileId) -> Vec<Symbol> {
        Vec::new()
    }

    /// What can be done about a stretch of a file.
    pub fn actions(&self, _file: FileId, _range: Span) -> Vec<Action> {
        Vec::new()
    }
}
