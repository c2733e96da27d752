//! The texts under work, as a value that can be shared.

use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
    sync::{Arc, OnceLock},
};

use halfsplit_syntax::Parse;
use line_index::LineIndex;

use crate::Use;

/// Names one file of a [`Files`]; stays the same when its text changes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct FileId(pub u32);

/// One text and what is derived from it alone.
#[derive(Debug)]
pub struct File {
    /// Where it lives, as the user named it.
    pub path: PathBuf,
    /// The text.
    pub text: Arc<str>,
    pub(crate) lines: OnceLock<LineIndex>,
    parse: OnceLock<Parse>,
    pub(crate) uses: OnceLock<Vec<Use>>,
}

impl File {
    /// A text by itself.
    pub fn new(path: PathBuf, text: impl Into<Arc<str>>) -> File {
        File {
            path,
            text: text.into(),
            lines: OnceLock::new(),
            parse: OnceLock::new(),
            uses: OnceLock::new(),
        }
    }

    /// The text as tree and facts. Worked out once, however many circuits use it.
    pub fn parse(&self) -> &Parse {
        self.parse.get_or_init(|| halfsplit_syntax::parse(Arc::clone(&self.text)))
    }
}

/// Why a file of the library could not be had.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Refused {
    /// There is none of this name.
    Missing,
    /// It is there, but a link leads out of the library's root.
    LedOut,
    /// It is there and cannot be read, in the system's words.
    Unread(String),
}

/// Every text under work. Cloning shares the texts.
#[derive(Clone, Default, Debug)]
pub struct Files {
    ids: Arc<BTreeMap<PathBuf, FileId>>,
    files: BTreeMap<FileId, Arc<File>>,
    roots: BTreeMap<FileId, PathBuf>,
    refused: BTreeMap<PathBuf, Refused>,
    next: u32,
}

impl Files {
    /// Adds a file or replaces its text.
    pub fn set(&mut self, path: PathBuf, text: &str) -> FileId {
        let id = match self.ids.get(&path) {
            Some(&id) => id,
            None => {
                let id = FileId(self.next);
                self.next += 1;
                Arc::make_mut(&mut self.ids).insert(path.clone(), id);
                id
            }
        };
        self.refused.remove(&path);
        self.files.insert(id, Arc::new(File::new(path, text)));
        id
    }

    /// Says where the library of a file has its root.
    pub fn set_root(&mut self, id: FileId, root: PathBuf) {
        self.roots.insert(id, root);
    }

    /// The root of a file's library: what was said, else the file's own folder.
    pub fn root(&self, id: FileId) -> &Path {
        let folder = || self.files.get(&id).and_then(|file| file.path.parent());
        self.roots.get(&id).map(PathBuf::as_path).or_else(folder).unwrap_or(Path::new(""))
    }

    /// Notes that a file was looked for and could not be had.
    pub fn refuse(&mut self, path: PathBuf, why: Refused) {
        self.refused.insert(path, why);
    }

    /// Why a file could not be had, if it was looked for.
    pub fn refused(&self, path: &Path) -> Option<&Refused> {
        self.refused.get(path)
    }

    /// Forgets which files could not be had, so that they are looked for again.
    pub fn forget_refused(&mut self) {
        self.refused.clear();
    }

    /// Forgets what was derived from a text; it is worked out again if it is asked for. For a run over
    /// more files than should be held at once.
    pub fn slim(&mut self, id: FileId) {
        if let Some(file) = self.files.get_mut(&id) {
            *file = Arc::new(File::new(file.path.clone(), Arc::clone(&file.text)));
        }
    }

    /// Forgets a file. Its id is not used again.
    pub fn remove(&mut self, id: FileId) {
        if let Some(file) = self.files.remove(&id) {
            Arc::make_mut(&mut self.ids).remove(&file.path);
            self.roots.remove(&id);
        }
    }

    /// The file of an id.
    ///
    /// # Panics
    /// If the id was removed or belongs to another `Files`: ids are not kept
    /// beyond the value that gave them.
    pub fn get(&self, id: FileId) -> &Arc<File> {
        &self.files[&id]
    }

    /// The id of a path, if the file is known.
    pub fn id(&self, path: &Path) -> Option<FileId> {
        self.ids.get(path).copied()
    }

    /// Every file, in the order of their ids.
    pub fn iter(&self) -> impl Iterator<Item = (FileId, &Arc<File>)> {
        self.files.iter().map(|(&id, file)| (id, file))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clone_keeps_the_text_it_was_taken_with() {
        let mut files = Files::default();
        let id = files.set("a.circuit".into(), "one");
        let before = files.clone();
        assert_eq!(files.set("a.circuit".into(), "two"), id);
        assert_eq!((&*before.get(id).text, &*files.get(id).text), ("one", "two"));
    }

    #[test]
    fn an_id_is_not_used_twice() {
        let mut files = Files::default();
        let first = files.set("a.circuit".into(), "");
        files.remove(first);
        assert_ne!(files.set("a.circuit".into(), ""), first);
        assert_eq!(files.iter().count(), 1);
    }
}
