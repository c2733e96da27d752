//! Reading circuit texts from the file system. The only I/O of this crate.

use std::{
    fmt, fs,
    io::{self, Read as _},
    path::{Path, PathBuf},
};

use crate::{Config, Refused, config};

/// The file whose folder is a library's root.
pub const ROOT_MARK: &str = "halfsplit.toml";

/// The largest file that is read where no library says otherwise, in bytes.
pub const LARGEST: u64 = config::LARGEST;

/// Why a text could not be read.
#[derive(Debug)]
pub enum ReadError {
    /// The file system said no.
    Io {
        /// The file.
        path: PathBuf,
        /// What it said.
        error: io::Error,
    },
    /// Not UTF-8.
    NotText {
        /// The file.
        path: PathBuf,
        /// Line of the first byte that is not text, from 1.
        line: usize,
        /// Offset of that byte.
        offset: usize,
        /// The byte.
        byte: u8,
    },
    /// Larger than was allowed.
    TooLarge {
        /// The file.
        path: PathBuf,
        /// Its size in bytes, as far as it is known.
        bytes: u64,
        /// How many bytes were allowed.
        largest: u64,
    },
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ReadError::Io { path, error } => write!(f, "{}: {error}", path.display()),
            ReadError::NotText { path, line, offset, byte } => write!(
                f,
                "{}:{line}: not UTF-8 text: byte 0x{byte:02X} at offset {offset}; save the file as UTF-8",
                path.display()
            ),
            ReadError::TooLarge { path, bytes, largest } => write!(
                f,
                "{}: {} is more than one circuit file may have ({}); split it, or set `largest-file` under `[check]` in \
                 {ROOT_MARK}",
                path.display(),
                megabytes(*bytes),
                megabytes(*largest)
            ),
        }
    }
}

impl std::error::Error for ReadError {}

/// `16 MB`, `16.1 MB`, `812 kB`, in powers of 1024.
fn megabytes(bytes: u64) -> String {
    match bytes >> 20 {
        0 => format!("{} kB", bytes.div_ceil(1 << 10)),
        whole if whole << 20 == bytes => format!("{whole} MB"),
        _ => format!("{:.1} MB", (bytes as f64 / f64::from(1 << 20)).max(1.0)),
    }
}

/// Reads one text of at most [`LARGEST`] bytes.
///
/// # Errors
/// See [`ReadError`]; nothing is guessed or replaced.
pub fn read(path: &Path) -> Result<String, ReadError> {
    read_up_to(path, LARGEST)
}

/// Reads one text of at most so many bytes.
///
/// # Errors
/// See [`ReadError`]; nothing is guessed or replaced.
pub fn read_up_to(path: &Path, largest: u64) -> Result<String, ReadError> {
    let io = |error| ReadError::Io { path: path.into(), error };
    let mut file = fs::File::open(path).map_err(io)?;
    let bytes = file.metadata().map_err(io)?.len();
    let too_large = |bytes| ReadError::TooLarge { path: path.into(), bytes, largest };
    if bytes > largest {
        return Err(too_large(bytes));
    }
    let mut text = Vec::with_capacity(bytes as usize + 1);
    // What is no file of a fixed length may have more to say than its size tells.
    file.by_ref().take(largest + 1).read_to_end(&mut text).map_err(io)?;
    if text.len() as u64 > largest {
        return Err(too_large(text.len() as u64));
    }
    decode(path, text)
}

/// The configuration of a library, by its root. Without a `halfsplit.toml` there everything is as usual.
///
/// # Errors
/// In one line, with file and place.
pub fn config(root: &Path) -> Result<Config, String> {
    let path = root.join(ROOT_MARK);
    match read(&path) {
        Ok(text) => Config::parse(&text).map_err(|error| error.in_file(&path)),
        Err(ReadError::Io { error, .. }) if error.kind() == io::ErrorKind::NotFound => Ok(Config::default()),
        Err(error) => Err(error.to_string()),
    }
}

fn decode(path: &Path, bytes: Vec<u8>) -> Result<String, ReadError> {
    String::from_utf8(bytes).map_err(|error| {
        let offset = error.utf8_error().valid_up_to();
        let bytes = error.as_bytes();
        ReadError::NotText {
            path: path.into(),
            line: bytes[..offset].iter().filter(|&&b| b == b'\n').count() + 1,
            offset,
            byte: bytes[offset],
        }
    })
}

/// The root of the library that a file belongs to: the nearest folder upward that holds
/// `halfsplit.toml`, else the file's own folder. Spelt as the file is, where its path reaches as far.
pub fn library_root(file: &Path) -> PathBuf {
    let folder = file.parent().unwrap_or(Path::new(""));
    for above in folder.ancestors() {
        if above.join(ROOT_MARK).is_file() {
            return above.to_path_buf();
        }
        // What is above `..` is not what is written before it.
        if above.ends_with("..") {
            break;
        }
    }
    let here = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let Ok(absolute) = fs::canonicalize(here) else { return folder.to_path_buf() };
    let marked = absolute.ancestors().find(|above| above.join(ROOT_MARK).is_file());
    marked.map_or_else(|| folder.to_path_buf(), Path::to_path_buf)
}

/// Reads a file of a library of at most [`LARGEST`] bytes; see [`read_in_up_to`].
///
/// # Errors
/// If it is not there, cannot be read, or is a link that leads out of the root.
pub fn read_in(root: &Path, path: &Path) -> Result<String, Refused> {
    read_in_up_to(root, path, LARGEST)
}

/// Reads a file of a library of at most so many bytes, given where [`crate::library::path`] says it lies.
///
/// # Errors
/// If it is not there, cannot be read, or is a link that leads out of the root.
pub fn read_in_up_to(root: &Path, path: &Path, largest: u64) -> Result<String, Refused> {
    let root = if root.as_os_str().is_empty() { Path::new(".") } else { root };
    let missing = |error: io::Error| match error.kind() {
        io::ErrorKind::NotFound => Refused::Missing,
        _ => Refused::Unread(error.to_string()),
    };
    let real = fs::canonicalize(path).map_err(missing)?;
    if !real.starts_with(fs::canonicalize(root).map_err(missing)?) {
        return Err(Refused::LedOut);
    }
    if !real.is_file() {
        return Err(Refused::Unread("it is no file".into()));
    }
    read_up_to(path, largest).map_err(|error| match error {
        ReadError::Io { error, .. } => Refused::Unread(error.to_string()),
        other => Refused::Unread(other.to_string()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_byte_that_is_not_text_is_named_with_its_line() {
        let error =
            decode(Path::new("old.circuit"), b"halfsplit 1\nnote \"20 \xb0C\"\n".to_vec()).unwrap_err();
        assert_eq!(
            error.to_string(),
            "old.circuit:2: not UTF-8 text: byte 0xB0 at offset 21; save the file as UTF-8"
        );
    }

    #[test]
    fn what_is_too_large_is_said_with_both_sizes() {
        let top = folder("large");
        let path = top.join("a.circuit");
        fs::write(&path, "x".repeat((1 << 20) + 4096)).unwrap();
        let said = read_up_to(&path, 1 << 20).unwrap_err().to_string();
        let words = "1.0 MB is more than one circuit file may have (1 MB); split it, or set `largest-file` under `[check]` in \
                     halfsplit.toml";
        assert_eq!(said, format!("{}: {words}", path.display()));
        assert_eq!(read_up_to(&path, 2 << 20).unwrap().len(), (1 << 20) + 4096);
        fs::remove_dir_all(top).unwrap();
    }

    /// A folder of its own under the system's folder for such, empty.
    fn folder(name: &str) -> PathBuf {
        let folder = std::env::temp_dir().join(format!("halfsplit-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir_all(&folder).unwrap();
        folder
    }

    #[test]
    fn the_root_is_the_nearest_folder_with_the_mark_else_the_files_own() {
        let top = folder("root");
        fs::create_dir_all(top.join("cars/tern")).unwrap();
        let file = top.join("cars/tern/a.circuit");
        assert_eq!(library_root(&file), top.join("cars/tern"));
        fs::write(top.join("cars").join(ROOT_MARK), "").unwrap();
        assert_eq!(library_root(&file), top.join("cars"));
        fs::remove_dir_all(top).unwrap();
    }

    #[cfg(unix)]
    #[test]
    fn a_link_that_leads_out_is_not_followed() {
        let top = folder("link");
        fs::create_dir_all(top.join("lib")).unwrap();
        fs::write(top.join("outside.circuit"), "halfsplit 1\n").unwrap();
        fs::write(top.join("lib/inside.circuit"), "halfsplit 1\n").unwrap();
        std::os::unix::fs::symlink("../outside.circuit", top.join("lib/out.circuit")).unwrap();
        std::os::unix::fs::symlink("inside.circuit", top.join("lib/in.circuit")).unwrap();
        let read = |name: &str| read_in(&top.join("lib"), &top.join("lib").join(name));
        assert_eq!(read("out.circuit"), Err(Refused::LedOut));
        assert_eq!(read("in.circuit").as_deref(), Ok("halfsplit 1\n"));
        assert_eq!(read("nowhere.circuit"), Err(Refused::Missing));
        assert!(matches!(read_in(&top, &top.join("lib")), Err(Refused::Unread(_))));
        fs::remove_dir_all(top).unwrap();
    }
}
