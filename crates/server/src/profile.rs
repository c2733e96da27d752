//! What the client can do, as far as it changes what we send.

use std::path::PathBuf;

use halfsplit_base::Encoding;
use tower_lsp::lsp_types::{
    ClientCapabilities, DiagnosticClientCapabilities, InitializeParams, MarkupKind, PositionEncodingKind,
    ResourceOperationKind,
};

use crate::uri;

/// What the client can do. Starts with the least.
#[derive(Clone, Debug, Default)]
pub(crate) struct Profile {
    /// What both sides count columns in.
    pub(crate) encoding: Encoding,
    /// Hovers may be Markdown.
    pub(crate) markdown: bool,
    /// Document symbols may be nested.
    pub(crate) nested_symbols: bool,
    /// Diagnostics may point at other places.
    pub(crate) related_places: bool,
    /// Code actions are objects, not commands only.
    pub(crate) code_actions: bool,
    /// Offers may be snippets, with places to fill in.
    pub(crate) snippets: bool,
    /// The client asks for diagnostics itself.
    pub(crate) pulls: bool,
    /// A report may carry those of other files.
    pub(crate) related_reports: bool,
    /// We may ask the client to ask again.
    pub(crate) refreshes: bool,
    /// The client applies edits that we send.
    pub(crate) apply_edits: bool,
    /// The client opens documents that we name.
    pub(crate) show_documents: bool,
    /// The folders that the user works in.
    pub(crate) folders: Vec<PathBuf>,
    /// Edits may carry a version and create files.
    pub(crate) create_files: bool,
    /// We may ask to be told about files that change on the disk.
    pub(crate) watch_files: bool,
}

impl Profile {
    /// Reads what `initialize` says.
    pub(crate) fn new(params: &InitializeParams) -> Profile {
        let client = &params.capabilities;
        Profile {
            encoding: encoding(client),
            markdown: markdown(client).unwrap_or(false),
            nested_symbols: nested_symbols(client).unwrap_or(false),
            related_places: related_places(client).unwrap_or(false),
            code_actions: code_actions(client).unwrap_or(false),
            snippets: snippets(client).unwrap_or(false),
            pulls: pull(client).is_some(),
            related_reports: pull(client).and_then(|pull| pull.related_document_support).unwrap_or(false),
            refreshes: refreshes(client).unwrap_or(false),
            apply_edits: client
                .workspace
                .as_ref()
                .and_then(|workspace| workspace.apply_edit)
                .unwrap_or(false),
            show_documents: show_documents(client).unwrap_or(false),
            folders: folders(params),
            create_files: create_files(client).unwrap_or(false),
            watch_files: watch_files(client).unwrap_or(false),
        }
    }

    /// The encoding as the protocol spells it.
    pub(crate) fn encoding_kind(&self) -> PositionEncodingKind {
        match self.encoding {
            Encoding::Utf8 => PositionEncodingKind::UTF8,
            Encoding::Utf16 => PositionEncodingKind::UTF16,
            Encoding::Utf32 => PositionEncodingKind::UTF32,
        }
    }
}

/// The client's first choice among those we know, and all three are known.
fn encoding(client: &ClientCapabilities) -> Encoding {
    let offered = client.general.as_ref().and_then(|general| general.position_encodings.as_ref());
    offered
        .into_iter()
        .flatten()
        .find_map(|kind| match kind.as_str() {
            "utf-8" => Some(Encoding::Utf8),
            "utf-16" => Some(Encoding::Utf16),
            "utf-32" => Some(Encoding::Utf32),
            _ => None,
        })
        .unwrap_or_default()
}

fn markdown(client: &ClientCapabilities) -> Option<bool> {
    let hover = client.text_document.as_ref()?.hover.as_ref()?;
    Some(hover.content_format.as_ref()?.contains(&MarkupKind::Markdown))
}

fn nested_symbols(client: &ClientCapabilities) -> Option<bool> {
    let symbols = client.text_document.as_ref()?.document_symbol.as_ref()?;
    symbols.hierarchical_document_symbol_support
}

fn related_places(client: &ClientCapabilities) -> Option<bool> {
    let diagnostics = client.text_document.as_ref()?.publish_diagnostics.as_ref()?;
    diagnostics.related_information
}

fn code_actions(client: &ClientCapabilities) -> Option<bool> {
    let actions = client.text_document.as_ref()?.code_action.as_ref()?;
    Some(actions.code_action_literal_support.is_some())
}

fn snippets(client: &ClientCapabilities) -> Option<bool> {
    let completion = client.text_document.as_ref()?.completion.as_ref()?;
    completion.completion_item.as_ref()?.snippet_support
}

fn pull(client: &ClientCapabilities) -> Option<&DiagnosticClientCapabilities> {
    client.text_document.as_ref()?.diagnostic.as_ref()
}

fn refreshes(client: &ClientCapabilities) -> Option<bool> {
    client.workspace.as_ref()?.diagnostic.as_ref()?.refresh_support
}

fn show_documents(client: &ClientCapabilities) -> Option<bool> {
    Some(client.window.as_ref()?.show_document.as_ref()?.support)
}

/// The folders of the workspace; the root where the client knows no folders.
#[allow(deprecated, reason = "older clients say only where their root is")]
fn folders(params: &InitializeParams) -> Vec<PathBuf> {
    let folders = params.workspace_folders.iter().flatten().map(|folder| &folder.uri);
    let folders: Vec<PathBuf> = folders.filter(|uri| uri::is_on_disk(uri)).map(uri::path).collect();
    if !folders.is_empty() {
        return folders;
    }
    let root = params.root_uri.as_ref().filter(|uri| uri::is_on_disk(uri)).map(uri::path);
    root.or_else(|| params.root_path.as_ref().map(PathBuf::from)).into_iter().collect()
}

fn create_files(client: &ClientCapabilities) -> Option<bool> {
    let edit = client.workspace.as_ref()?.workspace_edit.as_ref()?;
    let operations = edit.resource_operations.as_ref()?;
    Some(edit.document_changes? && operations.contains(&ResourceOperationKind::Create))
}

fn watch_files(client: &ClientCapabilities) -> Option<bool> {
    let watching = client.workspace.as_ref()?.did_change_watched_files.as_ref()?;
    watching.dynamic_registration
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn profile(capabilities: serde_json::Value) -> Profile {
        let params = json!({ "capabilities": capabilities });
        Profile::new(&serde_json::from_value(params).unwrap())
    }

    #[test]
    fn takes_the_first_encoding_that_it_knows() {
        for (offered, taken) in [
            (json!(["utf-32", "utf-8"]), Encoding::Utf32),
            (json!(["utf-7", "utf-8", "utf-16"]), Encoding::Utf8),
            (json!(["utf-7"]), Encoding::Utf16),
            (json!([]), Encoding::Utf16),
        ] {
            let profile = profile(json!({ "general": { "positionEncodings": offered } }));
            assert_eq!(profile.encoding, taken, "{offered}");
        }
        assert_eq!(profile(json!({})).encoding, Encoding::Utf16);
    }

    #[test]
    fn assumes_the_least_of_a_silent_client() {
        let profile = profile(json!({}));
        assert!(!profile.create_files && !profile.nested_symbols);
    }

    #[test]
    fn the_root_stands_for_folders_where_there_are_none() {
        let with = |params: serde_json::Value| Profile::new(&serde_json::from_value(params).unwrap()).folders;
        let folders = json!([{ "uri": "file:///cars", "name": "cars" }]);
        let all =
            with(json!({ "capabilities": {}, "rootUri": "file:///other", "workspaceFolders": folders }));
        assert_eq!(all, [PathBuf::from("/cars")]);
        assert_eq!(
            with(json!({ "capabilities": {}, "rootUri": "file:///20%20%C2%B0C" })),
            [PathBuf::from("/20 °C")]
        );
        assert!(with(json!({ "capabilities": {} })).is_empty());
    }
}
