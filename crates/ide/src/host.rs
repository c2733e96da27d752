//! The texts, and what they were at one moment.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use halfsplit_base::{FileId, Files, Finding, Span};
use halfsplit_model::Model;

use crate::pin::pin_at;
use crate::unit::Unit;
use crate::{Action, FilePosition, Hover, NewFile, Symbol, Target};
use crate::{actions, definition, hover, plan, symbols};

/// Owns the texts and takes changes.
#[derive(Debug, Default)]
pub struct Host {
    files: Files,
    units: BTreeMap<FileId, Arc<Unit>>,
    current: Option<Analysis>,
}

impl Host {
    /// Adds a text or replaces it.
    pub fn set(&mut self, path: PathBuf, text: &str) -> FileId {
        self.current = None;
        let file = self.files.set(path, text);
        self.units.insert(file, Arc::default());
        file
    }

    /// Forgets a text, if it is known.
    pub fn remove(&mut self, path: &Path) {
        if let Some(file) = self.files.id(path) {
            self.current = None;
            self.files.remove(file);
            self.units.remove(&file);
        }
    }

    /// The texts.
    pub fn files(&self) -> &Files {
        &self.files
    }

    /// The texts as they are now. Work done for one analysis serves the next
    /// wherever the text is the same.
    pub fn analysis(&mut self) -> Analysis {
        let (files, units) = (&self.files, &self.units);
        self.current
            .get_or_insert_with(|| Analysis {
                files: Arc::new(files.clone()),
                units: Arc::new(units.clone()),
            })
            .clone()
    }
}

/// The texts at one moment. Cheap to clone, never changes.
///
/// Every question takes a file id of [`Analysis::files`]; one that is not known
/// there has no findings, no names and no outline.
#[derive(Clone, Debug)]
pub struct Analysis {
    files: Arc<Files>,
    units: Arc<BTreeMap<FileId, Arc<Unit>>>,
}

impl Analysis {
    /// The texts.
    pub fn files(&self) -> &Files {
        &self.files
    }

    /// What the checks have to say about a file.
    pub fn findings(&self, file: FileId) -> &[Finding] {
        self.unit(file).map_or(&[], |unit| &unit.checked(&self.files, file).findings)
    }

    /// What is known about the name at a place.
    pub fn hover(&self, at: FilePosition) -> Option<Hover> {
        hover::hover(self.model(at.file)?, at.file, at.offset)
    }

    /// Where the name at a place is declared.
    pub fn definition(&self, at: FilePosition) -> Option<Target> {
        definition::definition(self.model(at.file)?, at.file, at.offset)
    }

    /// The outline of a file.
    pub fn symbols(&self, file: FileId) -> Vec<Symbol> {
        let parse = self.unit(file).map(|unit| unit.parse(&self.files, file));
        parse.map(|parse| symbols::symbols(&parse.tree, &parse.facts)).unwrap_or_default()
    }

    /// What can be done about a stretch of a file.
    pub fn actions(&self, file: FileId, range: Span) -> Vec<Action> {
        let mut actions = actions::fixes(self.findings(file), range);
        if let Some((unit, model)) = self.unit(file).zip(self.model(file)) {
            let tree = &unit.parse(&self.files, file).tree;
            let pin = pin_at(model, tree, file, range.start);
            actions.extend(pin.map(|pin| actions::plan(model, file, pin)));
        }
        actions
    }

    /// The isolation plan of a pin, as a file beside the circuit.
    ///
    /// # Errors
    /// In plain words, when there is nothing to plan.
    pub fn plan(&self, file: FileId, pin: &str) -> Result<NewFile, String> {
        let model = self.model(file).ok_or("the circuit is no longer there")?;
        plan::plan(&self.files.get(file).path, model, pin)
    }

    fn unit(&self, file: FileId) -> Option<&Unit> {
        self.units.get(&file).map(Arc::as_ref)
    }

    fn model(&self, file: FileId) -> Option<&Model> {
        self.unit(file).map(|unit| &unit.checked(&self.files, file).model)
    }
}
