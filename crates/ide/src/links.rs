//! The files that a text names.

use std::path::PathBuf;

use halfsplit_base::Span;
use halfsplit_model::library;

use crate::scene::Scene;

/// Words that name a file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Link {
    /// The words, without quotation marks.
    pub span: Span,
    /// The file.
    pub path: PathBuf,
}

/// The links of a file; what comes with the language lies nowhere that could be opened.
pub(crate) fn links(scene: Scene) -> Vec<Link> {
    let root = scene.files.root(scene.file);
    let named = scene.files.get(scene.file).uses().iter().filter(|used| !used.std);
    let link = |used: &halfsplit_base::Use| {
        let path = library::place(root, used).ok()?;
        Some(Link { span: Span::new(used.span.start + 1, used.span.end.max(used.span.start + 2) - 1), path })
    };
    named.filter_map(link).collect()
}

#[cfg(test)]
mod tests {
    use crate::testing::open;

    #[test]
    fn uses_and_cases_lead_to_their_files() {
        let text = "halfsplit 1\ncase \"20 °C 🔧\" on \"tern/中.circuit\" {\n  added \"box.circuit\"\n}\nuse std \"relays\"\n";
        let (analysis, file) = open(text);
        let links = analysis.links(file);
        let shown: Vec<_> =
            links.iter().map(|link| (&text[link.span.range()], link.path.to_str().unwrap())).collect();
        assert_eq!(
            shown,
            [("tern/中.circuit", "/cars/tern/中.circuit"), ("box.circuit", "/cars/box.circuit")]
        );
    }
}
