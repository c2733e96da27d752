//! `halfsplit fmt [PATHS]`: files in their one layout.

use std::{
    fs,
    io::{self, Read as _, Write as _},
    path::{Path, PathBuf},
    process::ExitCode,
};

use clap::Args;
use halfsplit_base::disk;
use similar::TextDiff;

use crate::{Failure, circuits::circuits, look};

/// What to lay out.
#[derive(Args)]
pub struct Arguments {
    /// Files and folders, the current folder if none is given; `-` for standard input to standard output.
    paths: Vec<PathBuf>,
    /// Write nothing; list the files that are not in their layout, and exit with 1 if there are any.
    #[arg(long)]
    check: bool,
    /// Write nothing; show what would change, and exit with 1 if anything would.
    #[arg(long)]
    diff: bool,
}

/// Lays out. Exit code 0 when all is done, 1 when `--check` or `--diff` found something, 2 when a file could not be
/// read, laid out or written; such a file is left as it is.
pub fn run(arguments: &Arguments) -> Result<ExitCode, Failure> {
    if arguments.paths.iter().any(|path| path == Path::new("-")) {
        return match arguments.paths.as_slice() {
            [_] => standard_input(arguments),
            _ => Err("`-` stands alone: standard input and files are not laid out in one go".into()),
        };
    }
    let paths = circuits(&arguments.paths)?;
    let (mut changed, mut failed) = (0_usize, 0_usize);
    for path in &paths {
        match one(path, arguments) {
            Ok(change) => changed += usize::from(change),
            Err(failure) => {
                eprintln!("halfsplit: {failure}");
                failed += 1;
            }
        }
    }
    let only_looks = arguments.check || arguments.diff;
    let files = if paths.len() == 1 { "file" } else { "files" };
    let done = if only_looks { "not in their layout" } else { "laid out anew" };
    eprintln!("{} {files}, {changed} {done}", paths.len());
    Ok(exit(failed > 0, only_looks && changed > 0))
}

/// Lays out one file. Whether that changed anything.
fn one(path: &Path, arguments: &Arguments) -> Result<bool, Failure> {
    let text = disk::read(path)?;
    let tidy = halfsplit_format::format(&text).map_err(|error| format!("{}: {error}", path.display()))?;
    if tidy == text {
        return Ok(false);
    }
    if arguments.diff {
        show_diff(&path.display().to_string(), &text, &tidy)?;
    } else if arguments.check {
        look::print(&path.display().to_string())?;
    } else {
        replace(path, &tidy).map_err(|error| format!("{}: {error}", path.display()))?;
    }
    Ok(true)
}

fn standard_input(arguments: &Arguments) -> Result<ExitCode, Failure> {
    let mut text = String::new();
    io::stdin().lock().read_to_string(&mut text).map_err(|error| format!("standard input: {error}"))?;
    let tidy = halfsplit_format::format(&text).map_err(|error| format!("standard input: {error}"))?;
    let changed = tidy != text;
    if arguments.diff {
        show_diff("standard input", &text, &tidy)?;
    } else if !arguments.check {
        let mut out = io::stdout().lock();
        out.write_all(tidy.as_bytes())?;
        out.flush()?;
    }
    Ok(exit(false, changed && (arguments.check || arguments.diff)))
}

fn exit(failed: bool, found: bool) -> ExitCode {
    ExitCode::from(match (failed, found) {
        (true, _) => 2,
        (false, true) => 1,
        (false, false) => 0,
    })
}

fn show_diff(name: &str, before: &str, after: &str) -> io::Result<()> {
    if before == after {
        return Ok(());
    }
    let diff = TextDiff::from_lines(before, after);
    look::print(&diff.unified_diff().header(name, name).to_string())
}

/// Replaces a file's text in one step: whoever reads it sees the old text or the new one, never half of it.
fn replace(path: &Path, text: &str) -> io::Result<()> {
    // The file that a link leads to is replaced, not the link.
    let path = fs::canonicalize(path)?;
    let permissions = fs::metadata(&path)?.permissions();
    if permissions.readonly() {
        return Err(io::Error::new(io::ErrorKind::PermissionDenied, "it is read-only"));
    }
    let (Some(folder), Some(name)) = (path.parent(), path.file_name()) else {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "it is no file"));
    };
    let beside = folder.join(format!(".{}.{}.new", name.to_string_lossy(), std::process::id()));
    let written = write_new(&beside, text, permissions).and_then(|()| fs::rename(&beside, &path));
    if written.is_err() {
        // Whatever came of it is of no use; that it is gone or stays changes nothing about the error.
        let _ = fs::remove_file(&beside);
    }
    written
}

fn write_new(path: &Path, text: &str, permissions: fs::Permissions) -> io::Result<()> {
    let mut file = fs::OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(text.as_bytes())?;
    file.set_permissions(permissions)?;
    file.sync_all()
}
