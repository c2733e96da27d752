//! Reads the workspace's files once, a few facts of each, while the editor goes on.

use std::path::{Path, PathBuf};

use halfsplit_base::{Encoding, disk};
use halfsplit_ide::Indexed;
use ignore::WalkBuilder;

use crate::queue::{Job, Queue};

/// Files between two messages to the main loop.
const BATCH: usize = 250;

/// Reads every circuit and case under some folders, as version control sees them, and queues what is known of each.
pub(crate) fn index(queue: &Queue, folders: &[PathBuf], encoding: Encoding) {
    let mut batch = Vec::new();
    for folder in folders {
        for entry in WalkBuilder::new(folder).build().flatten() {
            let path = entry.path();
            if !is_ours(path) || !entry.file_type().is_some_and(|kind| kind.is_file()) {
                continue;
            }
            if let Some(indexed) = read(path, encoding) {
                batch.push((path.to_path_buf(), Some(indexed)));
            }
            if batch.len() >= BATCH {
                queue.push(Job::Indexed(std::mem::take(&mut batch)));
            }
        }
    }
    queue.push(Job::Indexed(batch));
}

/// Whether a path is that of a circuit or case.
pub(crate) fn is_ours(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension == "circuit" || extension == "case")
}

/// What is known of a file on the disk; `None` if it cannot be read.
pub(crate) fn read(path: &Path, encoding: Encoding) -> Option<Indexed> {
    let text = disk::read(path).ok()?;
    Some(Indexed::of(&disk::library_root(path), path, &text, encoding))
}
