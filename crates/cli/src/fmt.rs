//! `halfsplit fmt [PATHS]`: files in their one layout.

use std::{
    io::{self, Read as _, Write as _},
    path::{Path, PathBuf},
    process::ExitCode,
};

use clap::Args;
use halfsplit_base::disk;
use similar::TextDiff;

use crate::{Failure, circuits::circuits, look, replace::replace};

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
    let walk = circuits(&arguments.paths)?;
    let (paths, mut changed, mut failed) = (&walk.files, 0_usize, walk.unread.len());
    walk.unread.iter().for_each(|words| eprintln!("halfsplit: {words}"));
    for path in paths {
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
        replace(path, &text, &tidy).map_err(|error| format!("{}: {error}", path.display()))?;
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
