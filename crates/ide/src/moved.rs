//! Files that get another path: the lines that name them follow.

use std::path::{Path, PathBuf};

use halfsplit_base::{Edit, Span};
use halfsplit_model::library;

use crate::Analysis;

/// The changes in all known files when files or folders move, each from a path to another.
pub(crate) fn moved(analysis: &Analysis, moves: &[(PathBuf, PathBuf)]) -> Vec<Edit> {
    let new_place = |path: &Path| {
        moves.iter().find_map(|(from, to)| {
            let rest = path.strip_prefix(from).ok()?;
            Some(if rest.as_os_str().is_empty() { to.clone() } else { to.join(rest) })
        })
    };
    let mut edits = Vec::new();
    for (file, text) in analysis.files().iter() {
        let root = analysis.files().root(file);
        for used in text.uses().iter().filter(|used| !used.std) {
            let Some(path) = library::place(root, used).ok().and_then(|path| new_place(&path)) else {
                continue;
            };
            // What leaves the library can't be named from inside.
            let Ok(inside) = path.strip_prefix(root) else { continue };
            let parts: Vec<_> = inside.components().map(|part| part.as_os_str().to_string_lossy()).collect();
            let span = Span::new(used.span.start + 1, used.span.end.max(used.span.start + 2) - 1);
            edits.push(Edit { file, span, text: parts.join("/") });
        }
    }
    edits
}

#[cfg(test)]
mod tests {
    use crate::testing::{edited, open};

    #[test]
    fn lines_follow_a_file_and_a_folder() {
        let text = "halfsplit 1\ncircuit \"20 °C 🔧\"\nuse \"lib/a.circuit\"\nuse \"lib/中.circuit\"\n";
        let (analysis, file) = open(text);
        let go = |from: &str, to: &str| edited(&analysis, file, &analysis.moved(&[(from.into(), to.into())]));
        assert_eq!(
            go("/cars/lib/a.circuit", "/cars/lib/b°.circuit"),
            text.replace("a.circuit", "b°.circuit")
        );
        assert_eq!(go("/cars/lib", "/cars/parts"), text.replace("lib/", "parts/"));
        assert_eq!(go("/cars/lib/a.circuit", "/elsewhere/a.circuit"), text);
    }
}
