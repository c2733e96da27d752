//! Document addresses of the protocol and paths of files.
//!
//! Editors spell one file in several ways: `file:///c%3A/x`, `file:///C:/x`,
//! with or without percent signs. All of them become one path. What is no file
//! (`untitled:Untitled-1`) keeps its address as its name.

use std::path::{Path, PathBuf};

use tower_lsp::lsp_types::Url;

/// The path that stands for an address.
pub(crate) fn path(uri: &Url) -> PathBuf {
    if uri.scheme() != "file" {
        return PathBuf::from(uri.as_str());
    }
    match uri.to_file_path() {
        Ok(path) => with_upper_drive(path),
        Err(()) => PathBuf::from(uri.as_str()),
    }
}

/// The address of a path, or `None` for a path that has none.
pub(crate) fn uri(path: &Path) -> Option<Url> {
    Url::from_file_path(path).ok().or_else(|| Url::parse(path.to_str()?).ok())
}

/// Whether an address names a file of the file system.
pub(crate) fn is_on_disk(uri: &Url) -> bool {
    uri.scheme() == "file"
}

/// `c:\x` and `C:\x` are one file; an address read where drives do not exist
/// leaves the drive behind a slash.
fn with_upper_drive(path: PathBuf) -> PathBuf {
    let Some(text) = path.to_str() else {
        return path;
    };
    let start = usize::from(text.starts_with('/'));
    let bytes = text.as_bytes();
    let is_drive = bytes.get(start).is_some_and(u8::is_ascii_lowercase)
        && bytes.get(start + 1) == Some(&b':')
        && matches!(bytes.get(start + 2), None | Some(b'/' | b'\\'));
    if !is_drive {
        return path;
    }
    let drive = text[start..=start].to_ascii_uppercase();
    PathBuf::from(format!("{}{drive}{}", &text[..start], &text[start + 1..]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn path_of(uri: &str) -> PathBuf {
        path(&Url::parse(uri).unwrap())
    }

    #[test]
    fn spellings_of_one_file_are_one_path() {
        let spellings = [
            "file:///c%3A/cars/a.circuit",
            "file:///C%3A/cars/a.circuit",
            "file:///c:/cars/a.circuit",
            "file:///C:/cars/a.circuit",
        ];
        for spelling in spellings {
            assert_eq!(path_of(spelling), path_of(spellings[0]), "{spelling}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_path_comes_back_from_its_address() {
        for path in ["/a b/20 °C.circuit", "/cars/#1.circuit", "/c/a%41.circuit"] {
            let uri = uri(Path::new(path)).unwrap();
            assert_eq!(super::path(&uri), Path::new(path), "{uri}");
        }
    }

    #[test]
    fn what_is_no_file_keeps_its_address() {
        for address in ["untitled:Untitled-1", "git:/a.circuit?ref", "file://host/a.circuit"] {
            let parsed = Url::parse(address).unwrap();
            let path = path(&parsed);
            assert!(is_on_disk(&parsed) || uri(&path) == Some(parsed), "{address}");
        }
    }
}
