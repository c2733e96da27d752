//! One file's check, from its text to what is printed of it.

use std::{
    collections::{BTreeMap, HashMap},
    panic::{AssertUnwindSafe, catch_unwind},
    path::{Path, PathBuf},
};

use halfsplit_base::{Config, FileId, Files, Finding, Severity, disk};
use halfsplit_check::expect::{Effort, Outcome};
use halfsplit_render::{
    findings::{Counts, Drawer, Look},
    json,
};
use serde::{Deserialize, Serialize};

use super::{
    cache::{Cache, Used},
    print::Shape,
    room::Room,
};
use crate::expect;

/// What is asked of every file.
#[derive(Clone, Copy)]
pub struct Asked {
    pub shape: Shape,
    pub effort: Effort,
    /// What fails, where the command says so.
    pub deny: Option<Severity>,
    /// Most findings of one rule shown, where the command says so.
    pub most: Option<usize>,
    /// Whether expectations are listed.
    pub list: bool,
}

/// What came of one file: a report, or why there is none.
pub type Answer = Result<Report, String>;

/// What is printed of one file.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
pub struct Report {
    /// What is wrong in the file itself.
    pub own: Part,
    /// What is wrong in files that it uses. Other files that use them find the same.
    pub used: Vec<Part>,
    /// Whether it is a circuit that nobody traced on a car.
    pub untraced: bool,
    /// What became of its expectations.
    pub expected: Expected,
}

/// What is said of one text.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
pub struct Part {
    /// Each finding as it is printed, in text order.
    pub said: Vec<Said>,
    /// Findings beyond the most that are shown, by rule.
    pub more: Vec<More>,
    /// The file's path.
    pub file: String,
}

/// A finding as it is printed.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Said {
    weight: Weight,
    /// Whether it fails the check.
    pub fails: bool,
    pub text: String,
}

/// Findings of one rule that are not shown.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct More {
    pub rule: String,
    weight: Weight,
    pub fails: bool,
    pub count: usize,
}

/// What became of a file's expectations.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
pub struct Expected {
    pub all: usize,
    pub met: usize,
    pub waiting: usize,
    /// As they are printed: a list, or one JSON value each.
    pub text: Vec<String>,
}

/// A severity as it is stored.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
enum Weight {
    Note,
    Warning,
    Error,
}

impl Weight {
    fn of(severity: Severity) -> Weight {
        match severity {
            Severity::Note => Weight::Note,
            Severity::Warning => Weight::Warning,
            Severity::Error => Weight::Error,
        }
    }

    fn severity(self) -> Severity {
        match self {
            Weight::Note => Severity::Note,
            Weight::Warning => Severity::Warning,
            Weight::Error => Severity::Error,
        }
    }
}

impl More {
    /// How much each of them weighs.
    pub fn severity(&self) -> Severity {
        self.weight.severity()
    }
}

impl Report {
    /// Whether anything of it is printed.
    pub fn prints(&self) -> bool {
        let said = |part: &Part| !part.said.is_empty();
        said(&self.own) || self.used.iter().any(said) || !self.expected.text.is_empty()
    }
}

impl Part {
    /// How many findings there are, shown or not.
    pub fn counts(&self) -> Counts {
        let mut counts = Counts::default();
        self.said.iter().for_each(|said| counts.add(said.weight.severity(), 1));
        self.more.iter().for_each(|more| counts.add(more.weight.severity(), more.count));
        counts
    }

    /// Whether any finding fails the check.
    pub fn fails(&self) -> bool {
        self.said.iter().any(|said| said.fails) || self.more.iter().any(|more| more.fails)
    }
}

/// Checks files one after another. Keeps what several of them use.
pub struct Worker<'w> {
    asked: &'w Asked,
    cache: Option<&'w Cache>,
    room: &'w Room,
    files: Files,
    /// The library's root and configuration by the folder of a file.
    libraries: HashMap<PathBuf, (PathBuf, Result<Config, String>)>,
}

impl<'w> Worker<'w> {
    pub fn new(asked: &'w Asked, cache: Option<&'w Cache>, room: &'w Room) -> Worker<'w> {
        Worker { asked, cache, room, files: Files::default(), libraries: HashMap::new() }
    }

    /// Checks one file. Whatever goes wrong, the next one can be checked.
    pub fn check(&mut self, path: &Path) -> Answer {
        match catch_unwind(AssertUnwindSafe(|| self.look_at(path))) {
            Ok(answer) => answer,
            Err(_) => {
                self.files = Files::default();
                Err(format!(
                    "{}: the checker stumbled over this file; please report it with the file",
                    path.display()
                ))
            }
        }
    }

    fn look_at(&mut self, path: &Path) -> Answer {
        let (root, config) = self.library(path);
        let config = config?;
        let known = self.files.id(path);
        let text = match known {
            Some(file) => self.files.get(file).text.clone(),
            None => disk::read_up_to(path, config.largest).map_err(|error| error.to_string())?.into(),
        };
        let key = self.cache.map(|cache| cache.key(path, &root, &config, &text));
        if let Some(report) = self.cache.zip(key.as_ref()).and_then(|(cache, key)| cache.get(key)) {
            return Ok(report);
        }
        let _taken = self.room.take(text.len()).map_err(|error| format!("{}: {error}", path.display()))?;
        let file = known.unwrap_or_else(|| self.files.set(path.to_path_buf(), &text));
        drop(text);
        self.files.set_root(file, root);
        let largest = config.largest;
        halfsplit_model::library::load(&mut self.files, file, &mut |root, path| {
            disk::read_in_up_to(root, path, largest)
        });
        let checked = halfsplit_check::check_with(&self.files, file, self.asked.effort);
        let report = self.report(file, &config, &checked);
        let library = checked.model.library;
        drop(checked);
        if let (Some(cache), Some(key)) = (self.cache, key) {
            cache.put(&key, &report, &Used::of(&self.files, file));
        }
        // What other files use is kept; a circuit is not.
        if !library && known.is_none() {
            self.files.remove(file);
        }
        Ok(report)
    }

    fn library(&mut self, path: &Path) -> (PathBuf, Result<Config, String>) {
        let folder = path.parent().unwrap_or(Path::new("")).to_path_buf();
        let known = self.libraries.entry(folder).or_insert_with(|| {
            let root = disk::library_root(path);
            let config = disk::config(&root);
            (root, config)
        });
        known.clone()
    }

    fn report(&self, file: FileId, config: &Config, checked: &halfsplit_check::Checked) -> Report {
        let mut parts = Parts {
            deny: self.asked.deny.unwrap_or(config.deny),
            most: match self.asked.most.unwrap_or(config.most) {
                0 => usize::MAX,
                most => most,
            },
            drawer: match self.asked.shape {
                Shape::Human { colour } => Some(Drawer::new(&self.files, Look { colour })),
                Shape::Json => None,
            },
            files: &self.files,
            parts: BTreeMap::new(),
            counts: HashMap::new(),
        };
        checked.findings.iter().for_each(|finding| parts.add(finding));
        let mut parts = parts.parts;
        let own = parts.remove(&file).unwrap_or_default();
        let circuit = !checked.model.library && checked.model.case.is_none();
        let all = &checked.expectations;
        let count = |wanted: &Outcome| all.iter().filter(|e| e.outcome == *wanted).count();
        Report {
            own,
            used: parts.into_values().collect(),
            untraced: circuit && !checked.model.proven(),
            expected: Expected {
                all: all.len(),
                met: count(&Outcome::Met),
                waiting: count(&Outcome::Skipped),
                text: match self.asked.shape {
                    _ if all.is_empty() => Vec::new(),
                    Shape::Json => all.iter().map(|one| expect::json(&self.files, one).to_string()).collect(),
                    Shape::Human { .. } if self.asked.list => vec![expect::list(&self.files, all)],
                    Shape::Human { .. } => Vec::new(),
                },
            },
        }
    }
}

/// Sorts findings by the file that they are in, and leaves out what is too many.
struct Parts<'f> {
    files: &'f Files,
    drawer: Option<Drawer<'f>>,
    deny: Severity,
    most: usize,
    parts: BTreeMap<FileId, Part>,
    counts: HashMap<(FileId, &'static str), usize>,
}

impl Parts<'_> {
    fn add(&mut self, finding: &Finding) {
        let part = self.parts.entry(finding.file).or_insert_with(|| Part {
            file: self.files.get(finding.file).path.display().to_string(),
            ..Part::default()
        });
        let (weight, fails) = (Weight::of(finding.severity), finding.severity >= self.deny);
        let count = self.counts.entry((finding.file, finding.rule)).or_default();
        *count += 1;
        if *count <= self.most {
            let text = match &mut self.drawer {
                Some(drawer) => drawer.draw(finding),
                None => json::finding(self.files, finding).to_string(),
            };
            part.said.push(Said { weight, fails, text });
            return;
        }
        match part.more.iter_mut().find(|more| more.rule == finding.rule) {
            Some(more) => more.count += 1,
            None => part.more.push(More { rule: finding.rule.to_owned(), weight, fails, count: 1 }),
        }
    }
}
