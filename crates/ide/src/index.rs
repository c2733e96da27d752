//! What is known of files that nobody has open: which files they use, and which names they declare.
//!
//! A text is read once, these few facts of it are kept, and the text is let go.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use halfsplit_base::{Encoding, File, WirePosition};
use halfsplit_model::library;

use crate::{Symbol, SymbolKind, symbols};

/// The facts of one file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Indexed {
    /// The files that its lines name, the standard library left out.
    pub uses: Vec<PathBuf>,
    /// What it declares, in the order of the text; cavities left out.
    pub names: Vec<IndexedName>,
}

/// A name that a file declares.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct IndexedName {
    /// The name.
    pub name: Box<str>,
    /// What it is, `sensor "A/C pressure"`.
    pub detail: Box<str>,
    /// What sort of thing it is.
    pub kind: SymbolKind,
    /// Where the name starts and ends.
    pub place: (WirePosition, WirePosition),
}

impl Indexed {
    /// Reads a text of the library with this root. Columns are counted in `encoding`.
    pub fn of(root: &Path, path: &Path, text: &str, encoding: Encoding) -> Indexed {
        let file = File::new(path.into(), text);
        let named = file.uses().iter().filter(|used| !used.std);
        let uses = named.filter_map(|used| library::place(root, used).ok()).collect();
        let parse = file.parse();
        let mut names = Vec::new();
        gather(&file, encoding, symbols::symbols(&parse.tree, &parse.facts), &mut names);
        Indexed { uses, names }
    }
}

fn gather(file: &File, encoding: Encoding, symbols: Vec<Symbol>, names: &mut Vec<IndexedName>) {
    for symbol in symbols {
        let nameless = matches!(symbol.kind, SymbolKind::Pin | SymbolKind::Use | SymbolKind::Expectation);
        if !nameless {
            let place = |offset| file.wire_position(offset, encoding);
            names.push(IndexedName {
                name: symbol.name.into(),
                detail: symbol.detail.into(),
                kind: symbol.kind,
                place: (place(symbol.focus.start), place(symbol.focus.end)),
            });
        }
        gather(file, encoding, symbol.children, names);
    }
}

/// Every file of the workspace that was read.
#[derive(Clone, Default, Debug)]
pub struct Index {
    files: BTreeMap<PathBuf, Arc<Indexed>>,
    users: BTreeMap<PathBuf, BTreeSet<PathBuf>>,
}

impl Index {
    /// Adds a file, or replaces what is known of it.
    pub fn set(&mut self, path: PathBuf, indexed: Indexed) {
        self.remove(&path);
        for used in &indexed.uses {
            self.users.entry(used.clone()).or_default().insert(path.clone());
        }
        self.files.insert(path, Arc::new(indexed));
    }

    /// Forgets a file.
    pub fn remove(&mut self, path: &Path) {
        let Some(before) = self.files.remove(path) else { return };
        for used in &before.uses {
            if let Some(users) = self.users.get_mut(used) {
                users.remove(path);
                if users.is_empty() {
                    self.users.remove(used);
                }
            }
        }
    }

    /// Every file, by path.
    pub fn iter(&self) -> impl Iterator<Item = (&Path, &Indexed)> {
        self.files.iter().map(|(path, indexed)| (path.as_path(), &**indexed))
    }

    /// How many files are known.
    pub fn len(&self) -> usize {
        self.files.len()
    }

    /// Whether none is.
    pub fn is_empty(&self) -> bool {
        self.files.is_empty()
    }

    /// The files that use a file, directly or by others.
    pub fn users(&self, path: &Path) -> BTreeSet<PathBuf> {
        let mut found = BTreeSet::new();
        let mut waiting = vec![path];
        while let Some(next) = waiting.pop() {
            for user in self.users.get(next).into_iter().flatten() {
                if found.insert(user.clone()) {
                    waiting.push(user);
                }
            }
        }
        found
    }
}

/// How well a name answers a search, best first; `None` if it does not. Case does not count.
pub fn rank(name: &str, wanted: &str) -> Option<u8> {
    if wanted.is_empty() {
        return Some(4);
    }
    let (name, wanted) = (name.to_lowercase(), wanted.to_lowercase());
    if name == wanted {
        return Some(0);
    }
    match name.find(&wanted) {
        Some(0) => return Some(1),
        Some(_) => return Some(2),
        None => {}
    }
    let mut letters = name.chars();
    wanted.chars().all(|letter| letters.any(|other| other == letter)).then_some(3)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn indexed(text: &str) -> Indexed {
        Indexed::of(Path::new("/cars"), Path::new("/cars/a.circuit"), text, Encoding::Utf16)
    }

    #[test]
    fn a_file_is_known_by_its_names_and_uses() {
        let text = "halfsplit 1\ncircuit \"20 °C 🔧\"\nuse \"lib/a.circuit\"\nuse std \"relays\"\n\
            sensor B4 \"中 🔧\" {\n  connector X34 3 cavities { 1 GY }\n}\n";
        let known = indexed(text);
        assert_eq!(known.uses, [PathBuf::from("/cars/lib/a.circuit")]);
        let names: Vec<&str> = known.names.iter().map(|name| &*name.name).collect();
        assert_eq!(names, ["20 °C 🔧", "B4", "X34"]);
        assert_eq!(known.names[1].place.0, WirePosition { line: 4, column: 7 });
    }

    #[test]
    fn users_are_found_over_others_and_forgotten_with_their_file() {
        let mut index = Index::default();
        index.set("/cars/lib/b.circuit".into(), indexed("halfsplit 1\nuse \"lib/a.circuit\"\n"));
        index.set("/cars/x.circuit".into(), indexed("halfsplit 1\nuse \"lib/b.circuit\"\n"));
        let users = |index: &Index| index.users(Path::new("/cars/lib/a.circuit")).len();
        assert_eq!(users(&index), 2);
        index.remove(Path::new("/cars/lib/b.circuit"));
        assert_eq!(users(&index), 0);
    }

    #[test]
    fn a_search_takes_the_exact_name_before_a_beginning_before_a_part_before_letters() {
        let ranks = ["X34", "X341", "AX34", "X3.4"].map(|name| rank(name, "x34"));
        assert_eq!(ranks, [Some(0), Some(1), Some(2), Some(3)]);
        assert_eq!(rank("X43", "x34"), None);
    }
}
