//! Which files a verb works on, when it is given files and folders.

use std::path::{Path, PathBuf};

use halfsplit_base::{FileId, Files, disk};

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

/// Every circuit and case file under the paths, sorted; hidden and ignored files left out. A file that is named counts
/// whatever its name. Without a path it is the current folder.
pub fn circuits(paths: &[PathBuf]) -> Result<Vec<PathBuf>, Failure> {
    let here = [PathBuf::from(".")];
    let paths = if paths.is_empty() { &here[..] } else { paths };
    let mut out = Vec::new();
    for path in paths {
        if path.is_dir() {
            for entry in ignore::WalkBuilder::new(path).build() {
                let entry = entry?;
                if entry.file_type().is_some_and(|t| t.is_file()) && is_circuit(entry.path()) {
                    out.push(entry.into_path());
                }
            }
        } else if path.exists() {
            out.push(path.clone());
        } else {
            return Err(format!("{}: no such file or folder", path.display()).into());
        }
    }
    out.sort();
    out.dedup();
    Ok(out)
}

fn is_circuit(path: &Path) -> bool {
    path.extension().is_some_and(|e| e == "circuit" || e == "case")
}
