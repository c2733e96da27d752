//! The texts, and what they were at one moment.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use halfsplit_base::{FileId, Files, Finding, Refused, Span};
use halfsplit_model::{Model, library};

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
        self.outdate(std::slice::from_ref(&path));
        let file = self.files.set(path, text);
        self.units.insert(file, Arc::default());
        file
    }

    /// Adds what a text uses, as far as it is not there yet. `read` is given the library's root and a
    /// file's whole path.
    pub fn load(
        &mut self,
        file: FileId,
        root: PathBuf,
        read: &mut dyn FnMut(&Path, &Path) -> Result<String, Refused>,
    ) {
        if self.files.root(file) != root {
            self.current = None;
            self.files.set_root(file, root);
            self.units.insert(file, Arc::default());
        }
        let mut new = Vec::new();
        library::load(&mut self.files, file, &mut |root, path| {
            new.push(path.to_path_buf());
            read(root, path)
        });
        let known: Vec<FileId> = self.files.iter().map(|(file, _)| file).collect();
        let fresh: Vec<FileId> = known.into_iter().filter(|file| !self.units.contains_key(file)).collect();
        if new.is_empty() && fresh.is_empty() {
            return;
        }
        self.current = None;
        new.extend(fresh.iter().map(|&file| self.files.get(file).path.clone()));
        self.units.extend(fresh.into_iter().map(|file| (file, Arc::default())));
        self.outdate(&new);
    }

    /// Looks again for files that could not be had, the next time that they are asked for.
    pub fn retry(&mut self) {
        self.files.forget_refused();
    }

    /// Drops what was worked out about circuits that use one of these files.
    fn outdate(&mut self, changed: &[PathBuf]) {
        for (&file, unit) in &mut self.units {
            let uses = library::uses(&self.files, file);
            if changed.iter().any(|path| uses.binary_search(path).is_ok()) {
                *unit = Arc::default();
            }
        }
    }

    /// Forgets a text, if it is known.
    pub fn remove(&mut self, path: &Path) {
        if let Some(file) = self.files.id(path) {
            self.current = None;
            self.outdate(&[path.to_path_buf()]);
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

    /// What the checks have to say about the circuit of a file. A finding may be in a file that it uses.
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
        let parse = self.unit(file).map(|_| self.files.get(file).parse());
        parse.map(|parse| symbols::symbols(&parse.tree, &parse.facts)).unwrap_or_default()
    }

    /// What can be done about a stretch of a file.
    pub fn actions(&self, file: FileId, range: Span) -> Vec<Action> {
        let mut actions = actions::fixes(self.findings(file), file, range);
        if let Some(model) = self.model(file) {
            let tree = &self.files.get(file).parse().tree;
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
