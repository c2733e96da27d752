//! Everything a reader needs, frozen.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use halfsplit_base::FileId;
use halfsplit_ide::{Analysis, is_std};
use tokio::time::Instant;
use tower_lsp::lsp_types::Url;

use crate::profile::Profile;
use crate::uri;

/// The texts and documents as they were at one point of the queue. Cheap to clone.
#[derive(Clone, Debug)]
pub(crate) struct Snapshot {
    pub(crate) analysis: Analysis,
    pub(crate) documents: Arc<Documents>,
    pub(crate) profile: Arc<Profile>,
    /// The line that is being typed, if one is.
    pub(crate) typing: Option<Typing>,
}

/// A statement that is being typed key by key.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Typing {
    /// The file.
    pub(crate) file: FileId,
    /// Its line, from 0.
    pub(crate) line: u32,
    /// When the last key came.
    pub(crate) at: Instant,
    /// Whether that key was the first on this line.
    pub(crate) fresh: bool,
}

/// The texts that the client owns.
pub(crate) type Documents = BTreeMap<FileId, Document>;

/// A text that the client owns.
#[derive(Clone, Debug)]
pub(crate) struct Document {
    /// The address, as the client spells it.
    pub(crate) uri: Url,
    /// The client's count of its changes.
    pub(crate) version: i32,
    /// The root of its library.
    pub(crate) root: PathBuf,
    /// Higher is touched later.
    pub(crate) touched: u64,
}

impl Snapshot {
    /// The file of an address, if it is known.
    pub(crate) fn file(&self, uri: &Url) -> Option<FileId> {
        self.analysis.files().id(&uri::path(uri))
    }

    /// The address of a file, in the client's own spelling where it has one.
    pub(crate) fn uri(&self, file: FileId) -> Option<Url> {
        let path = &self.analysis.files().get(file).path;
        match self.documents.get(&file) {
            Some(document) => Some(document.uri.clone()),
            // What comes with the language lies nowhere that an editor could open.
            None if is_std(path) => None,
            None => uri::uri(path),
        }
    }

    /// The version of a file's text, if the client owns it.
    pub(crate) fn version(&self, file: FileId) -> Option<i32> {
        self.documents.get(&file).map(|document| document.version)
    }
}
