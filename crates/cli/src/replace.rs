//! Puts a new text in the place of one that was read, and never in the place of another that somebody saved meanwhile.

use std::{
    fs,
    io::{self, Read as _, Seek as _, Write as _},
    path::Path,
};

/// Replaces a file's text, if it is still the one that was read. Whoever reads the file sees the old text or the new
/// one, never half of it; but for a file of several names or of another owner, which keeps both and is written in place.
///
/// # Errors
/// If the file says something else by now, and then it is left as it is; or if it cannot be written.
pub fn replace(path: &Path, was: &str, text: &str) -> io::Result<()> {
    // The file that a link leads to is replaced, not the link.
    let path = fs::canonicalize(path)?;
    let before = fs::metadata(&path)?;
    if before.permissions().readonly() {
        return Err(io::Error::new(io::ErrorKind::PermissionDenied, "it is read-only"));
    }
    let (Some(folder), Some(name)) = (path.parent(), path.file_name()) else {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "it is no file"));
    };
    if several_names(&before) {
        return in_place(&path, was, text);
    }
    let beside = folder.join(format!(".{}.{}.new", name.to_string_lossy(), std::process::id()));
    let done = match write_beside(&beside, text, &before) {
        Ok(true) => swap(&beside, &path, was),
        Ok(false) => in_place(&path, was, text),
        Err(error) => Err(error),
    };
    // By now it holds the old text, or a new one that is of no use; that it is gone or stays changes nothing.
    let _ = fs::remove_file(&beside);
    done
}

fn changed() -> io::Error {
    io::Error::other(
        "somebody saved it while it was being laid out; it is left as they saved it: lay it out again",
    )
}

/// Writes a new file with owner and rights of the old one. Whether it could be given both.
fn write_beside(beside: &Path, text: &str, old: &fs::Metadata) -> io::Result<bool> {
    let mut file = fs::OpenOptions::new().write(true).create_new(true).open(beside)?;
    file.write_all(text.as_bytes())?;
    if !give_owner(&file, old)? {
        return Ok(false);
    }
    file.set_permissions(old.permissions())?;
    file.sync_all()?;
    Ok(true)
}

/// Puts the new file in the place of the old one.
#[cfg(target_os = "linux")]
fn swap(beside: &Path, path: &Path, was: &str) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    still_says(path, was)?;
    // Both change places in one step, so that what was replaced can be looked at.
    let exchange = || renameat_with(CWD, beside, CWD, path, RenameFlags::EXCHANGE);
    match exchange() {
        Ok(()) => still_says(beside, was).inspect_err(|_| {
            // Saved between the look and the step: back it goes.
            let _ = exchange();
        }),
        // A file system that knows no such step.
        Err(_) => fs::rename(beside, path),
    }
}

#[cfg(not(target_os = "linux"))]
fn swap(beside: &Path, path: &Path, was: &str) -> io::Result<()> {
    still_says(path, was)?;
    fs::rename(beside, path)
}

fn still_says(path: &Path, was: &str) -> io::Result<()> {
    if fs::read(path)? == was.as_bytes() { Ok(()) } else { Err(changed()) }
}

/// Writes over the text in the file itself, which keeps its names and its owner.
fn in_place(path: &Path, was: &str, text: &str) -> io::Result<()> {
    let mut file = fs::OpenOptions::new().read(true).write(true).open(path)?;
    let mut now = Vec::new();
    file.read_to_end(&mut now)?;
    if now != was.as_bytes() {
        return Err(changed());
    }
    file.rewind()?;
    file.write_all(text.as_bytes())?;
    file.set_len(text.len() as u64)?;
    file.sync_all()
}

#[cfg(unix)]
fn several_names(file: &fs::Metadata) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    file.nlink() > 1
}

#[cfg(not(unix))]
fn several_names(_: &fs::Metadata) -> bool {
    false
}

/// Gives a new file the owner of an old one. Whether it has that owner now.
#[cfg(unix)]
fn give_owner(new: &fs::File, old: &fs::Metadata) -> io::Result<bool> {
    use std::os::unix::fs::{MetadataExt as _, fchown};
    let now = new.metadata()?;
    let same = (now.uid(), now.gid()) == (old.uid(), old.gid());
    Ok(same || fchown(new, Some(old.uid()), Some(old.gid())).is_ok())
}

#[cfg(not(unix))]
fn give_owner(_: &fs::File, _: &fs::Metadata) -> io::Result<bool> {
    Ok(true)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::PathBuf;

    fn file(name: &str, text: &str) -> PathBuf {
        let folder = std::env::temp_dir().join(format!("halfsplit-replace-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir_all(&folder).unwrap();
        let path = folder.join("a.circuit");
        fs::write(&path, text).unwrap();
        path
    }

    fn alone(path: &Path) -> bool {
        fs::read_dir(path.parent().unwrap()).unwrap().count() == 1
    }

    #[test]
    fn the_text_that_was_read_is_replaced() {
        let path = file("plain", "old");
        replace(&path, "old", "new").unwrap();
        assert_eq!((fs::read_to_string(&path).unwrap().as_str(), alone(&path)), ("new", true));
        fs::remove_dir_all(path.parent().unwrap()).unwrap();
    }

    #[test]
    fn what_somebody_saved_meanwhile_stays() {
        let path = file("saved", "of a colleague");
        let error = replace(&path, "old", "new").unwrap_err();
        assert!(error.to_string().starts_with("somebody saved it"), "{error}");
        assert_eq!((fs::read_to_string(&path).unwrap().as_str(), alone(&path)), ("of a colleague", true));
        fs::remove_dir_all(path.parent().unwrap()).unwrap();
    }

    #[cfg(unix)]
    #[test]
    fn a_file_of_two_names_keeps_both() {
        let path = file("names", "old and longer");
        let other = path.with_extension("other");
        fs::hard_link(&path, &other).unwrap();
        assert!(replace(&path, "old", "new").is_err());
        replace(&path, "old and longer", "new").unwrap();
        assert_eq!(fs::read_to_string(&other).unwrap(), "new");
        assert_eq!(fs::metadata(&path).unwrap().permissions(), fs::metadata(&other).unwrap().permissions());
        fs::remove_dir_all(path.parent().unwrap()).unwrap();
    }
}
