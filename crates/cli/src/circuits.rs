//! Which files a verb works on, when it is given files and folders.

use std::path::{Path, PathBuf};

use halfsplit_base::{FileId, Files, disk};
use ignore::WalkBuilder;

use crate::Failure;

/// Reads a file and what it uses from its library. A file that was read already, because another
/// one uses it, is not read again.
///
/// # Errors
/// If the file itself cannot be read; of what it uses, the check says so.
pub fn read(files: &mut Files, path: &Path) -> Result<FileId, disk::ReadError> {
    let file = match files.id(path) {
        Some(file) => file,
        None => files.set(path.to_path_buf(), &disk::read(path)?),
    };
    files.set_root(file, disk::library_root(path));
    halfsplit_model::library::load(files, file, &mut disk::read_in);
    Ok(file)
}

/// The files to work on.
#[derive(Debug, Default)]
pub struct Walk {
    /// Every circuit and case file, sorted, each once.
    pub files: Vec<PathBuf>,
    /// What could not be looked into, in words: a folder that may not be read.
    pub unread: Vec<String>,
}

/// Every circuit and case file under the paths; hidden and ignored files left out. A file that is named counts
/// whatever its name. Without a path it is the current folder.
///
/// # Errors
/// If a path leads nowhere, or to a folder in which there is no such file: with the reason.
pub fn circuits(paths: &[PathBuf]) -> Result<Walk, Failure> {
    let here = [PathBuf::from(".")];
    let paths = if paths.is_empty() { &here[..] } else { paths };
    let mut walk = Walk::default();
    for path in paths {
        if path.is_dir() {
            let before = walk.files.len();
            for entry in WalkBuilder::new(path).build() {
                match entry {
                    Ok(entry) if is_file(&entry) && is_circuit(entry.path()) => {
                        walk.files.push(entry.into_path())
                    }
                    Ok(_) => {}
                    Err(error) => walk.unread.push(error.to_string()),
                }
            }
            if walk.files.len() == before && walk.unread.is_empty() {
                return Err(format!("{}: no circuit is looked at: {}", path.display(), why_none(path)).into());
            }
        } else if path.exists() {
            walk.files.push(path.clone());
        } else if path.is_symlink() {
            return Err(format!("{}: the link leads nowhere", path.display()).into());
        } else {
            return Err(format!("{}: no such file or folder", path.display()).into());
        }
    }
    walk.files.sort();
    walk.files.dedup();
    Ok(walk)
}

/// Why nothing was found in a folder. Looks once more, at what was left out.
fn why_none(folder: &Path) -> String {
    let all = || WalkBuilder::new(folder).standard_filters(false).build().flatten();
    let circuits = |entry: &ignore::DirEntry| is_circuit(entry.path());
    let count = |hidden: bool| {
        let seen = WalkBuilder::new(folder).standard_filters(false).hidden(hidden).build().flatten();
        seen.filter(|entry| is_file(entry) && circuits(entry)).count()
    };
    let links = all().filter(|e| e.path_is_symlink() && (circuits(e) || e.path().is_dir())).count();
    let (whole, open) = (count(false), count(true));
    let mut reasons = Vec::new();
    if whole > open {
        reasons.push(match whole - open {
            1 => "1 is hidden, or in a hidden folder".to_owned(),
            hidden => format!("{hidden} are hidden, or in hidden folders"),
        });
    }
    if open > 0 {
        let verb = if open == 1 { "is" } else { "are" };
        reasons.push(format!("{open} {verb} left out by an ignore file"));
    }
    if links > 0 {
        let (verb, noun) = if links == 1 { ("is", "a link") } else { ("are", "links") };
        reasons.push(format!("{links} {verb} {noun}, which a walk does not follow: name what it leads to"));
    }
    if reasons.is_empty() {
        return "the folder holds no file that ends in .circuit or .case".to_owned();
    }
    format!("{}; a file that is named is looked at all the same", reasons.join(", "))
}

fn is_file(entry: &ignore::DirEntry) -> bool {
    entry.file_type().is_some_and(|t| t.is_file())
}

/// Whether a name is that of a circuit or a case.
pub fn is_circuit(path: &Path) -> bool {
    path.extension().is_some_and(|e| e == "circuit" || e == "case")
}
