//! What the client can do, as far as it changes what we send.

use halfsplit_base::Encoding;
use tower_lsp::lsp_types::{
    ClientCapabilities, InitializeParams, MarkupKind, PositionEncodingKind, ResourceOperationKind,
};

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
    /// The edit of a code action may follow when the user chooses it.
    pub(crate) late_edits: bool,
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
            late_edits: late_edits(client).unwrap_or(false),
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

fn late_edits(client: &ClientCapabilities) -> Option<bool> {
    let actions = client.text_document.as_ref()?.code_action.as_ref()?;
    let late = &actions.resolve_support.as_ref()?.properties;
    Some(actions.data_support? && late.iter().any(|property| property == "edit"))
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
    fn late_edits_need_data_and_edit() {
        let with = |properties| {
            json!({ "textDocument": { "codeAction": {
                "dataSupport": true, "resolveSupport": { "properties": properties } } } })
        };
        assert!(profile(with(json!(["edit"]))).late_edits);
        assert!(!profile(with(json!(["command"]))).late_edits);
    }
}
