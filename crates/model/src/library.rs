//! Gets the files that a circuit uses, through whoever can open them.

use std::path::{Path, PathBuf};

use halfsplit_base::{FileId, Files, Refused, Use, library};

use crate::std_library;

/// The folder under which files of the standard library stand in a [`Files`]. No folder of a disk is called so.
const STD: &str = "<std>";

/// Puts every file that a file uses, and those that they use, into `files`, as far as they are not
/// there. `read` is given the library's root and a file's whole path; what it refuses is noted in `files`.
/// The standard library needs no reader.
pub fn load(files: &mut Files, file: FileId, read: &mut dyn FnMut(&Path, &Path) -> Result<String, Refused>) {
    let root = files.root(file).to_path_buf();
    let mut waiting = vec![file];
    let mut seen = vec![file];
    while let Some(next) = waiting.pop() {
        let known = std::sync::Arc::clone(files.get(next));
        for used in known.uses() {
            let Ok(path) = place(&root, used) else { continue };
            let id = match files.id(&path) {
                Some(id) => id,
                None if files.refused(&path).is_some() => continue,
                None => {
                    let text = match used.std {
                        true => std_library::text(&used.written).map(str::to_owned).ok_or(Refused::Missing),
                        false => read(&root, &path),
                    };
                    match text {
                        Ok(text) => files.set(path, &text),
                        Err(why) => {
                            files.refuse(path, why);
                            continue;
                        }
                    }
                }
            };
            if !seen.contains(&id) {
                seen.push(id);
                waiting.push(id);
            }
        }
    }
}

/// The paths of all files that a file uses, directly and by others, those that are not there included.
/// Sorted.
pub fn uses(files: &Files, file: FileId) -> Vec<PathBuf> {
    let root = files.root(file);
    let mut paths = std::collections::BTreeSet::new();
    let mut waiting = vec![file];
    while let Some(next) = waiting.pop() {
        for used in files.get(next).uses() {
            let Ok(path) = place(root, used) else { continue };
            let id = files.id(&path);
            if paths.insert(path) {
                waiting.extend(id);
            }
        }
    }
    paths.into_iter().collect()
}

/// Whether a file belongs to the standard library.
pub fn is_std(path: &Path) -> bool {
    path.starts_with(STD)
}

/// Where the file of a `use` line lies.
///
/// # Errors
/// If its path leads out of the root.
pub fn place(root: &Path, used: &Use) -> Result<PathBuf, library::Outside> {
    if used.std {
        return Ok(Path::new(STD).join(format!("{}.circuit", used.written)));
    }
    library::path(root, &used.written)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_file_is_read_once_and_what_is_refused_is_not_asked_for_again() {
        let mut files = Files::default();
        let text = "halfsplit 1\nuse \"lib/a.circuit\"\nuse \"lib/none.circuit\"\nuse \"../b.circuit\"\n";
        let file = files.set("cars/x.circuit".into(), text);
        let mut asked = Vec::new();
        for _ in 0..2 {
            load(&mut files, file, &mut |root, path| {
                assert_eq!(root, Path::new("cars"));
                asked.push(path.to_path_buf());
                match path.ends_with("a.circuit") {
                    true => Ok("halfsplit 1\nuse \"lib/a.circuit\"\nuse std \"relays\"\n".into()),
                    false => Err(Refused::Missing),
                }
            });
        }
        let paths = ["cars/lib/a.circuit", "cars/lib/none.circuit"].map(PathBuf::from);
        asked.sort();
        assert_eq!(asked, paths);
        let all = uses(&files, file);
        assert_eq!(all[..1], [PathBuf::from("<std>/relays.circuit")]);
        assert_eq!(all[1..], paths);
        assert!(files.id(&all[0]).is_some_and(|id| files.get(id).text.contains("DIN 72552")));
    }
}
