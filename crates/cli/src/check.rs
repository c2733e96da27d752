//! `halfsplit check [PATHS]`: mistakes in files, folders and libraries.

mod cache;
mod merge;
mod one;
mod pool;
mod print;
mod progress;
mod room;
mod shard;

use std::{
    io,
    path::PathBuf,
    process::ExitCode,
    sync::atomic::{AtomicBool, Ordering},
};

use clap::{Args, ValueEnum};
use halfsplit_base::Severity;
use halfsplit_check::expect::Effort;

use self::{
    cache::Cache,
    one::{Asked, Report, Worker},
    print::{Printer, Shape},
    progress::Progress,
    shard::Shard,
};
use crate::{Failure, circuits::circuits};

/// What to check.
#[derive(Args)]
pub struct Arguments {
    /// Files and folders; the current folder if none is given.
    paths: Vec<PathBuf>,
    /// How to print the findings.
    #[arg(long, value_enum, default_value = "human")]
    format: CheckFormat,
    /// List what every `expect` block expected, met or not.
    #[arg(long)]
    expectations: bool,
    /// The lightest findings that fail the check; what `halfsplit.toml` says where this is not given.
    #[arg(long, value_enum, value_name = "WEIGHT")]
    deny: Option<Deny>,
    /// Show at most so many findings of one rule in one file and count the rest; 0 shows all.
    #[arg(long, value_name = "COUNT")]
    most: Option<usize>,
    /// Leave out expectations that take a plan.
    #[arg(long)]
    quick: bool,
    /// Keep what was found in this folder, and do not look again where nothing has changed.
    #[arg(long, value_name = "FOLDER")]
    cache: Option<PathBuf>,
    /// Check one part of all files, the same on every machine: the first of four is `1/4`.
    #[arg(long, value_name = "PART/PARTS")]
    shard: Option<Shard>,
    /// Join what the parts printed with `--format json` into one report; the paths are these files.
    #[arg(long, conflicts_with_all = ["shard", "cache", "quick", "expectations"])]
    merge: bool,
    /// How many files to check at once; one for each core where this is not given.
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u16).range(1..))]
    jobs: Option<u16>,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum CheckFormat {
    /// With the stretch of text.
    Human,
    /// For programs.
    Json,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Deny {
    /// Errors alone.
    Errors,
    /// Warnings and errors.
    Warnings,
    /// Any finding.
    Notes,
}

impl Deny {
    fn severity(self) -> Severity {
        match self {
            Deny::Errors => Severity::Error,
            Deny::Warnings => Severity::Warning,
            Deny::Notes => Severity::Note,
        }
    }
}

/// Set once the user wants to stop.
static STOP: AtomicBool = AtomicBool::new(false);

/// Checks and prints. Exit code 0 when nothing is found that fails, 1 when something is, 2 when there was nothing to
/// check or a file could not be read, 130 when the user stopped it.
pub fn run(arguments: &Arguments, colour: bool) -> Result<ExitCode, Failure> {
    let shape = match arguments.format {
        CheckFormat::Human => Shape::Human { colour },
        CheckFormat::Json => Shape::Json,
    };
    if arguments.merge {
        return merge::run(&arguments.paths, shape);
    }
    let walk = circuits(&arguments.paths)?;
    for words in &walk.unread {
        eprintln!("halfsplit: {words}");
    }
    let all = walk.files.len();
    let paths = match arguments.shard {
        Some(shard) => shard.part(walk.files, arguments.quick),
        None => walk.files,
    };
    // Whoever asks a second time does not want to wait for the file at hand. Without a handler it ends at once, too.
    let _ = ctrlc::set_handler(|| {
        if STOP.swap(true, Ordering::Relaxed) {
            std::process::exit(130);
        }
    });

    let asked = Asked {
        shape,
        effort: if arguments.quick { Effort::Quick } else { Effort::Whole },
        deny: arguments.deny.map(Deny::severity),
        most: arguments.most,
        list: arguments.expectations,
    };
    let cache = arguments.cache.as_deref().map(|folder| Cache::open(folder, &asked)).transpose()?;
    let room = room::Room::of_this_process();
    let mut printer = Printer::new(shape, io::stdout().lock(), arguments.shard.map(|shard| (shard, all)));
    let progress = Progress::new(paths.len());
    printer.unread(walk.unread.len());
    printer.start()?;
    pool::in_order(
        paths.len(),
        arguments.jobs.map(usize::from),
        &STOP,
        || Worker::new(&asked, cache.as_ref(), &room),
        |worker, index| worker.check(&paths[index]),
        |_, answer| progress.past(answer.as_ref().map_or(true, Report::prints), || printer.file(answer)),
    )?;
    drop(progress);
    let stopped = STOP.load(Ordering::Relaxed) && printer.files() < paths.len();
    let failed = printer.finish(stopped.then_some(paths.len()))?;
    if let Some(words) = cache.and_then(|cache| cache.complaint()) {
        eprintln!("halfsplit: {words}");
    }
    Ok(ExitCode::from(if stopped { 130 } else { failed }))
}
