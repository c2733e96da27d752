//! Texts with a cursor mark, for the tests of every feature.

use halfsplit_base::FileId;

use crate::{Analysis, FilePosition, Host, Target};

/// The text with `$0` taken out, and where that stood.
pub(crate) fn marked(text: &str) -> (Analysis, FilePosition) {
    let offset = text.find("$0").expect("a mark") as u32;
    let (analysis, file) = open(&text.replacen("$0", "", 1));
    (analysis, FilePosition { file, offset })
}

/// A text by itself.
pub(crate) fn open(text: &str) -> (Analysis, FileId) {
    let mut host = Host::default();
    let file = host.set("/cars/a.circuit".into(), text);
    (host.analysis(), file)
}

/// `4:8 SP10`: line and column from 1 in characters, and the text there.
pub(crate) fn shown(analysis: &Analysis, target: Target) -> String {
    let file = analysis.files().get(target.file);
    let place = file.position(target.span.start);
    format!("{}:{} {}", place.line, place.column, &file.text[target.span.range()])
}

/// A text after edits that do not overlap.
pub(crate) fn edited(analysis: &Analysis, file: FileId, edits: &[halfsplit_base::Edit]) -> String {
    let mut text = analysis.files().get(file).text.to_string();
    let mut edits: Vec<_> = edits.iter().filter(|edit| edit.file == file).collect();
    edits.sort_by_key(|edit| std::cmp::Reverse(edit.span.start));
    for edit in edits {
        text.replace_range(edit.span.range(), &edit.text);
    }
    text
}
