//! `halfsplit diff OLD NEW`: what a change of text does to the car.

mod page;
mod tree;

use std::{
    collections::{BTreeMap, BTreeSet},
    path::{Path, PathBuf},
    process::ExitCode,
};

use clap::{Args, ValueEnum};
use halfsplit_base::{FileId, Files, disk};
use halfsplit_check::{
    Checked,
    diff::{self, Change, Side},
    expect::Effort,
};

use crate::{Failure, look};

use page::Page;
use tree::Tree;

/// What to compare.
#[derive(Args)]
pub struct Arguments {
    /// A file, a folder, or either in a revision of git: `main:`, `HEAD~1:examples/vane`, `v2:./lamp.circuit`.
    old: String,
    /// The same, as it is now.
    new: String,
    /// How to print it.
    #[arg(long, value_enum, default_value = "text")]
    format: DiffFormat,
    /// End with exit code 1 where something changed on a car.
    #[arg(long)]
    exit_code: bool,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum DiffFormat {
    /// For people.
    Text,
    /// For a comment of a review.
    Markdown,
    /// For programs.
    Json,
}

/// One file in its two states.
#[derive(Default)]
pub struct Compared {
    /// Its path before; `None` where it is new.
    pub old: Option<String>,
    /// Its path now; `None` where it is gone.
    pub new: Option<String>,
    /// What changed on the car.
    pub changes: Vec<Said>,
}

/// A change with its lines instead of its places.
pub struct Said {
    pub change: Change,
    pub old_line: Option<u32>,
    pub new_line: Option<u32>,
}

/// A file that was read with what it uses.
struct Read {
    files: Files,
    file: FileId,
}

/// Compares and prints. Exit code 0; 1 where something changed and the exit code was asked for.
pub fn run(arguments: &Arguments) -> Result<ExitCode, Failure> {
    let old = Tree::open(&arguments.old)?;
    let new = Tree::open(&arguments.new)?;
    if old.is_one_file() != new.is_one_file() {
        return Err("a file is compared with a file, a folder with a folder".into());
    }
    let mut compared = Vec::new();
    for (before, after) in pairs(&old, &new)? {
        compared.push(compare(&old, before, &new, after)?);
    }
    let page = Page { files: &compared };
    match arguments.format {
        DiffFormat::Text => look::print(&page.text())?,
        DiffFormat::Markdown => look::print(&page.markdown())?,
        DiffFormat::Json => look::print_json(&page.json())?,
    }
    let changed = compared.iter().any(Compared::is_changed);
    Ok(if changed && arguments.exit_code { ExitCode::from(1) } else { ExitCode::SUCCESS })
}

impl Compared {
    /// Whether anything changed on the car; a file that was only moved changes nothing.
    pub fn is_changed(&self) -> bool {
        self.old.is_none() || self.new.is_none() || !self.changes.is_empty()
    }

    /// What to call it.
    pub fn name(&self) -> String {
        match (&self.old, &self.new) {
            (Some(old), Some(new)) if old != new => format!("{old} -> {new}"),
            (_, Some(name)) | (Some(name), None) => name.clone(),
            (None, None) => String::new(),
        }
    }
}

type Pair<'t> = (Option<&'t str>, Option<&'t str>);

/// Which file is which: by its path, or where that is gone by its text.
fn pairs<'t>(old: &'t Tree, new: &'t Tree) -> Result<Vec<Pair<'t>>, Failure> {
    if let (Some(old), Some(new)) = (old.one_file(), new.one_file()) {
        return Ok(vec![(Some(old), Some(new))]);
    }
    let mut moved: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for name in old.names().filter(|name| !new.has(name)) {
        moved.entry(old.read(name)?).or_default().push(name);
    }
    let mut pairs: Vec<Pair> = Vec::new();
    let mut gone: BTreeSet<&str> = moved.values().flatten().copied().collect();
    for name in new.names() {
        if old.has(name) {
            pairs.push((Some(name), Some(name)));
            continue;
        }
        let before = moved.get_mut(&new.read(name)?).and_then(Vec::pop);
        if let Some(before) = before {
            gone.remove(before);
        }
        pairs.push((before, Some(name)));
    }
    pairs.extend(gone.into_iter().map(|name| (Some(name), None)));
    pairs.sort_by_key(|(old, new)| new.or(*old));
    Ok(pairs)
}

fn compare(old: &Tree, before: Option<&str>, new: &Tree, after: Option<&str>) -> Result<Compared, Failure> {
    let shown = |tree: &Tree, name: Option<&str>| name.map(|name| tree.shown(name));
    let mut compared = Compared { old: shown(old, before), new: shown(new, after), changes: Vec::new() };
    let (Some(before), Some(after)) = (before, after) else { return Ok(compared) };
    if !(old.is_one_file() || before != after) {
        // In a folder a path says enough.
        (compared.old, compared.new) = (Some(before.to_owned()), Some(after.to_owned()));
    }
    let (was, is) = (old.read(before)?, new.read(after)?);
    let (was, is) = (Read::of(&old.place(before), &was), Read::of(&new.place(after), &is));
    if was.texts() == is.texts() {
        return Ok(compared);
    }
    let checked = [&was, &is].map(|read| halfsplit_check::check_with(&read.files, read.file, Effort::Quick));
    let changes = diff::diff(was.side(&checked[0]), is.side(&checked[1]));
    let line = |read: &Read, told: &Option<diff::Told>| {
        let place = told.as_ref()?.place?;
        Some(read.files.get(place.file).position(place.span.start).line)
    };
    compared.changes = changes
        .into_iter()
        .map(|change| Said { old_line: line(&was, &change.old), new_line: line(&is, &change.new), change })
        .collect();
    Ok(compared)
}

impl Read {
    fn of(path: &Path, text: &str) -> Read {
        let mut files = Files::default();
        let file = files.set(path.to_path_buf(), text);
        files.set_root(file, disk::library_root(path));
        halfsplit_model::library::load(&mut files, file, &mut disk::read_in);
        Read { files, file }
    }

    fn side<'s>(&'s self, checked: &'s Checked) -> Side<'s> {
        Side { files: &self.files, file: self.file, checked }
    }

    /// Its own text and those of the files that it uses, each by its path in the library.
    fn texts(&self) -> BTreeMap<PathBuf, Option<&str>> {
        let text = |file: FileId| &*self.files.get(file).text;
        let root = self.files.root(self.file);
        let used = halfsplit_model::library::uses(&self.files, self.file).into_iter().map(|path| {
            let said = self.files.id(&path).map(text);
            (path.strip_prefix(root).unwrap_or(&path).to_path_buf(), said)
        });
        used.chain([(PathBuf::new(), Some(text(self.file)))]).collect()
    }
}
