//! Reading circuit texts from the file system. The only I/O of this crate.

use std::{
    fmt, fs, io,
    path::{Path, PathBuf},
};

/// The file whose folder is a library's root.
pub const ROOT_MARK: &str = "halfsplit.toml";

/// The largest file that is read, in bytes. Spans are 32 bits wide.
pub const LARGEST: u64 = 1 << 30;

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
    /// Larger than [`LARGEST`].
    TooLarge {
        /// The file.
        path: PathBuf,
        /// Its size in bytes.
        bytes: u64,
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
            ReadError::TooLarge { path, bytes } => {
                write!(
                    f,
                    "{}: {bytes} bytes is more than one circuit file may have ({LARGEST})",
                    path.display()
                )
            }
        }
    }
}

impl std::error::Error for ReadError {}

/// Reads one text.
///
/// # Errors
/// See [`ReadError`]; nothing is guessed or replaced.
pub fn read(path: &Path) -> Result<String, ReadError> {
    let io = |error| ReadError::Io { path: path.into(), error };
    let bytes = fs::metadata(path).map_err(io)?.len();
    if bytes > LARGEST {
        return Err(ReadError::TooLarge { path: path.into(), bytes });
    }
    decode(path, fs::read(path).map_err(io)?)
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

/// The root of the library that a file belongs to: the nearest folder upward
/// that holds `halfsplit.toml`, else the file's own folder.
pub fn library_root(file: &Path) -> PathBuf {
    let folder = file.parent().unwrap_or(Path::new("")).to_path_buf();
    let absolute = fs::canonicalize(if folder.as_os_str().is_empty() { Path::new(".") } else { &folder });
    let Ok(absolute) = absolute else { return folder };
    absolute.ancestors().find(|f| f.join(ROOT_MARK).is_file()).map_or(absolute.clone(), Path::to_path_buf)
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
}
