//! The texts under work, as a value that can be shared.

use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
    sync::{Arc, OnceLock},
};

use line_index::LineIndex;

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
}

/// Every text under work. Cloning shares the texts.
#[derive(Clone, Default, Debug)]
pub struct Files {
    ids: Arc<BTreeMap<PathBuf, FileId>>,
    files: BTreeMap<FileId, Arc<File>>,
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
        let file = File { path, text: text.into(), lines: OnceLock::new() };
        self.files.insert(id, Arc::new(file));
        id
    }

    /// Forgets a file. Its id is not used again.
    pub fn remove(&mut self, id: FileId) {
        if let Some(file) = self.files.remove(&id) {
            Arc::make_mut(&mut self.ids).remove(&file.path);
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
