//! Confirmed causes in a library's case files.

use std::{
    fs,
    path::{Path, PathBuf},
};

use halfsplit_base::{Files, disk, library};
use halfsplit_model::Model;
use halfsplit_plan::learned::Seen;

use crate::{Failure, case::unit, circuits};

/// What the cases of a circuit's library confirmed on that circuit, but for one file's own. A case that cannot be
/// read, or names a part that this car lacks, says nothing.
///
/// # Errors
/// If the library's folder cannot be listed.
pub fn seen(circuit: &Path, model: &Model, except: Option<&Path>) -> Result<Vec<Seen>, Failure> {
    let root = disk::library_root(circuit);
    let real = |path: &Path| fs::canonicalize(path).ok();
    let (this, except) = (real(circuit), except.and_then(real));
    let mut seen = Vec::new();
    for path in below(&root)? {
        if except.is_some() && real(&path) == except {
            continue;
        }
        let mut files = Files::default();
        let Ok(text) = disk::read(&path) else { continue };
        let file = files.set(path.clone(), &text);
        let about = files.get(file).uses().iter().any(|used| {
            let named = library::path(&root, &used.written).ok();
            used.by_case && named.and_then(|named| real(&named)) == this
        });
        // Most cases are of other circuits: only the others are worth the circuit's being read.
        if !about || !text.contains("confirmed") || circuits::read(&mut files, &path).is_err() {
            continue;
        }
        let lowered = halfsplit_model::lower(&files, file);
        let Some(confirmed) = lowered.case.as_ref().and_then(|case| case.confirmed.as_ref()) else {
            continue;
        };
        let part = unit(&lowered, confirmed.entity).and_then(|name| model.names.find_part(&name));
        seen.extend(part.map(|part| Seen { part, mode: confirmed.mode.clone() }));
    }
    Ok(seen)
}

/// Every case file of a library, sorted.
fn below(root: &Path) -> Result<Vec<PathBuf>, Failure> {
    // Without a mark of its own a library is one folder.
    let marked = root.join(disk::ROOT_MARK).is_file();
    let root = if root.as_os_str().is_empty() { Path::new(".") } else { root };
    let mut found = Vec::new();
    for entry in ignore::WalkBuilder::new(root).max_depth((!marked).then_some(1)).build() {
        let path = entry?.into_path();
        if path.extension().is_some_and(|e| e == "case") && path.is_file() {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}
