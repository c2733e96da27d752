//! Everything a reader needs, frozen.

use std::collections::BTreeMap;
use std::sync::Arc;

use halfsplit_base::FileId;
use halfsplit_ide::{Analysis, is_std};
use tower_lsp::lsp_types::Url;

use crate::profile::Profile;
use crate::uri;

/// The texts and documents as they were at one point of the queue. Cheap to clone.
#[derive(Clone, Debug)]
pub(crate) struct Snapshot {
    pub(crate) analysis: Analysis,
    pub(crate) documents: Arc<Documents>,
    pub(crate) profile: Arc<Profile>,
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
