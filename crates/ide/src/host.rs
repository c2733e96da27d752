//! The texts, and what they were at one moment.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use halfsplit_base::{File, FileId, Files, Finding, Refused, Span};
use halfsplit_model::library;

use crate::index::Index;
use crate::scene::Scene;
use crate::unit::Unit;

/// Owns the texts and takes changes.
#[derive(Debug, Default)]
pub struct Host {
    files: Files,
    units: BTreeMap<FileId, Arc<Unit>>,
    /// Every file that a file uses, directly and by others; those that are not there included.
    uses: HashMap<FileId, Vec<PathBuf>>,
    /// The other way round.
    users: HashMap<PathBuf, BTreeSet<FileId>>,
    index: Arc<Index>,
    current: Option<Analysis>,
}

impl Host {
    /// Adds a text or replaces it.
    pub fn set(&mut self, path: PathBuf, text: &str) -> FileId {
        self.current = None;
        let before = self.files.id(&path).map(|file| Arc::clone(self.files.get(file)));
        let file = self.files.set(path.clone(), text);
        self.units.insert(file, Arc::default());
        // Most edits change no `use` line; then who uses what stays as it was.
        let named = |file: &File| -> Vec<(bool, String)> {
            file.uses().iter().map(|used| (used.std, used.written.clone())).collect()
        };
        let same = before.is_some_and(|before| named(&before) == named(self.files.get(file)));
        let outdated = self.outdate(&path);
        if !same {
            self.follow(file);
            outdated.into_iter().for_each(|user| self.follow(user));
        }
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
            self.follow(file);
        }
        let mut asked = Vec::new();
        library::load(&mut self.files, file, &mut |root, path| {
            asked.push(path.to_path_buf());
            read(root, path)
        });
        let uses = self.uses.get(&file).into_iter().flatten();
        let missing = |path: &&PathBuf| self.files.id(path).is_some_and(|id| !self.units.contains_key(&id));
        let fresh: Vec<PathBuf> = uses.filter(missing).cloned().collect();
        if asked.is_empty() && fresh.is_empty() {
            return;
        }
        self.current = None;
        // What a new file uses in its turn is known only now.
        self.follow(file);
        let known: Vec<PathBuf> = self.uses.get(&file).cloned().unwrap_or_default();
        for path in known {
            if let Some(id) = self.files.id(&path)
                && !self.units.contains_key(&id)
            {
                self.units.insert(id, Arc::default());
                self.follow(id);
                let users = self.outdate(&path);
                users.into_iter().filter(|user| *user != file).for_each(|user| self.follow(user));
            }
        }
        for path in asked {
            self.outdate(&path);
        }
        self.units.insert(file, Arc::default());
    }

    /// The files that use a path, directly or by others.
    pub fn users(&self, path: &Path) -> Vec<FileId> {
        self.users.get(path).into_iter().flatten().copied().collect()
    }

    /// Every path that a file uses, directly or by others, those that are not there included.
    pub fn uses(&self, file: FileId) -> &[PathBuf] {
        self.uses.get(&file).map_or(&[], Vec::as_slice)
    }

    /// Looks again for files that could not be had, the next time that they are asked for.
    pub fn retry(&mut self) {
        self.files.forget_refused();
    }

    /// Notes anew what a file uses.
    fn follow(&mut self, file: FileId) {
        self.unfollow(file);
        let uses = library::uses(&self.files, file);
        for path in &uses {
            self.users.entry(path.clone()).or_default().insert(file);
        }
        self.uses.insert(file, uses);
    }

    fn unfollow(&mut self, file: FileId) {
        for path in self.uses.remove(&file).unwrap_or_default() {
            if let Some(users) = self.users.get_mut(&path) {
                users.remove(&file);
                if users.is_empty() {
                    self.users.remove(&path);
                }
            }
        }
    }

    /// Drops what was worked out about circuits that use a file, and names them.
    fn outdate(&mut self, changed: &Path) -> Vec<FileId> {
        let users = self.users(changed);
        for user in &users {
            self.units.insert(*user, Arc::default());
        }
        users
    }

    /// Forgets a text, if it is known.
    pub fn remove(&mut self, path: &Path) {
        if let Some(file) = self.files.id(path) {
            self.current = None;
            let users = self.outdate(path);
            self.unfollow(file);
            self.files.remove(file);
            self.units.remove(&file);
            users.into_iter().filter(|user| *user != file).for_each(|user| self.follow(user));
        }
    }

    /// Forgets a text that nobody has open and no open circuit uses, and what it alone used. Gives the ids
    /// that are gone.
    pub fn let_go(&mut self, file: FileId, is_open: &dyn Fn(FileId) -> bool) -> Vec<FileId> {
        let mut gone = Vec::new();
        let mut asked = vec![file];
        while let Some(file) = asked.pop() {
            if is_open(file) || !self.units.contains_key(&file) {
                continue;
            }
            let path = self.files.get(file).path.clone();
            let wanted = self.users.get(&path).is_some_and(|users| users.iter().any(|&user| is_open(user)));
            if wanted {
                continue;
            }
            let used = self.uses.get(&file).cloned().unwrap_or_default();
            asked.extend(used.iter().filter_map(|path| self.files.id(path)));
            self.remove(&path);
            gone.push(file);
        }
        gone
    }

    /// The texts.
    pub fn files(&self) -> &Files {
        &self.files
    }

    /// What is known of the files that are not open. Changed by whoever reads the disk.
    pub fn index(&mut self) -> &mut Index {
        self.current = None;
        Arc::make_mut(&mut self.index)
    }

    /// The texts as they are now. Work done for one analysis serves the next
    /// wherever the text is the same.
    pub fn analysis(&mut self) -> Analysis {
        let (files, units, index) = (&self.files, &self.units, &self.index);
        self.current
            .get_or_insert_with(|| Analysis {
                files: Arc::new(files.clone()),
                units: Arc::new(units.clone()),
                index: Arc::clone(index),
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
    index: Arc<Index>,
}

impl Analysis {
    /// The texts.
    pub fn files(&self) -> &Files {
        &self.files
    }

    /// What is known of the files of the workspace.
    pub fn index(&self) -> &Index {
        &self.index
    }

    /// What the checks have to say about the circuit of a file. A finding may be in a file that it uses.
    pub fn findings(&self, file: FileId) -> &[Finding] {
        self.unit(file).map_or(&[], |unit| unit.findings(&self.files, file))
    }

    /// Names what is known of a circuit: two analyses with the same one give the same findings for it.
    pub fn revision(&self, file: FileId) -> Option<Revision> {
        self.units.get(&file).cloned().map(Revision)
    }

    /// Every file that is known, in the order of their ids.
    pub(crate) fn known(&self) -> impl Iterator<Item = FileId> + '_ {
        self.units.keys().copied()
    }

    fn unit(&self, file: FileId) -> Option<&Unit> {
        self.units.get(&file).map(Arc::as_ref)
    }

    /// A file in its circuit.
    pub(crate) fn scene(&self, file: FileId) -> Option<Scene<'_>> {
        let unit = self.unit(file)?;
        Some(Scene { files: &self.files, file, model: unit.model(&self.files, file), unit })
    }

    /// The findings of a file whose places touch a range.
    pub(crate) fn touched(&self, file: FileId, range: Span) -> impl Iterator<Item = &Finding> {
        let findings = self.findings(file).iter().filter(move |finding| finding.file == file);
        findings.filter(move |finding| finding.span.touches(range.start) || range.touches(finding.span.start))
    }
}

/// See [`Analysis::revision`].
#[derive(Clone, Debug)]
pub struct Revision(Arc<Unit>);

impl PartialEq for Revision {
    fn eq(&self, other: &Revision) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

impl Analysis {
    /// The same texts with further circuits, read as they are wanted: each is a path and its library's root.
    pub fn widened(
        &self,
        circuits: &[(PathBuf, PathBuf)],
        read: &mut dyn FnMut(&Path, &Path) -> Result<String, Refused>,
    ) -> Analysis {
        let mut host = Host {
            files: (*self.files).clone(),
            units: (*self.units).clone(),
            index: Arc::clone(&self.index),
            ..Host::default()
        };
        for (path, root) in circuits {
            if host.files.id(path).is_some() {
                continue;
            }
            let Ok(text) = read(root, path) else { continue };
            let file = host.set(path.clone(), &text);
            host.load(file, root.clone(), read);
        }
        host.analysis()
    }
}
