//! What was found before, by what it was found from.
//!
//! An answer's name is made of all that its check starts from: the program itself, what was asked, the configuration,
//! the file's path and text. In the answer stands what the check read besides: each used file by its path and text, and
//! each that was not to be had. It holds as long as all of these are the same; what a check reads follows from what it
//! has read, so nothing else can have changed. No clock and no file's date is asked.

use std::{
    collections::HashMap,
    env, fs, io,
    path::{Path, PathBuf},
    sync::{
        Mutex,
        atomic::{AtomicUsize, Ordering},
    },
};

use halfsplit_base::{Config, FileId, Files, disk};
use serde::{Deserialize, Serialize};

use super::one::{Asked, Report};
use crate::Failure;

/// A folder of answers.
pub struct Cache {
    folder: PathBuf,
    /// What every answer starts from.
    base: blake3::Hasher,
    /// What stands in used files now, each read once in a run.
    seen: Mutex<HashMap<(PathBuf, PathBuf), String>>,
    /// How many answers could not be written, and the first reason.
    unwritten: AtomicUsize,
    reason: Mutex<Option<io::Error>>,
}

/// What a check read besides its own file.
#[derive(Serialize, Deserialize)]
pub struct Used(Vec<(PathBuf, PathBuf, String)>);

#[derive(Serialize, Deserialize)]
struct Answer {
    used: Used,
    report: Report,
}

impl Used {
    /// The files that a file uses, as far as they are no part of the program.
    pub fn of(files: &Files, file: FileId) -> Used {
        let root = files.root(file);
        let paths = halfsplit_model::library::uses(files, file);
        let own = paths.into_iter().filter(|path| !halfsplit_model::library::is_std(path));
        let state = |path: PathBuf| {
            let said = match (files.id(&path), files.refused(&path)) {
                (Some(id), _) => digest(files.get(id).text.as_bytes()),
                (None, Some(refused)) => format!("{refused:?}"),
                (None, None) => "not read".to_owned(),
            };
            (root.to_path_buf(), path, said)
        };
        Used(own.map(state).collect())
    }
}

impl Cache {
    /// Opens a folder of answers, which is made if it is not there.
    ///
    /// # Errors
    /// If it cannot be made, or the program cannot read itself.
    pub fn open(folder: &Path, asked: &Asked) -> Result<Cache, Failure> {
        let version = env::current_exe()
            .and_then(fs::read)
            .map_err(|error| format!("--cache: this program: {error}"))?;
        let mut base = blake3::Hasher::new();
        add(&mut base, &version);
        add(
            &mut base,
            format!("{:?}", (asked.shape, asked.effort, asked.deny, asked.most, asked.list)).as_bytes(),
        );
        fs::create_dir_all(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
        Ok(Cache {
            folder: folder.to_path_buf(),
            base,
            seen: Mutex::default(),
            unwritten: AtomicUsize::new(0),
            reason: Mutex::default(),
        })
    }

    /// The name of a file's answer.
    pub fn key(&self, path: &Path, root: &Path, config: &Config, text: &str) -> String {
        let mut hasher = self.base.clone();
        add(&mut hasher, path.as_os_str().as_encoded_bytes());
        add(&mut hasher, root.as_os_str().as_encoded_bytes());
        add(&mut hasher, format!("{config:?}").as_bytes());
        add(&mut hasher, text.as_bytes());
        hasher.finalize().to_hex().to_string()
    }

    /// The answer of a name, if there is one and all that it was made from is still the same.
    pub fn get(&self, key: &str) -> Option<Report> {
        let answer: Answer = serde_json::from_slice(&fs::read(self.place(key)).ok()?).ok()?;
        let holds = answer.used.0.iter().all(|(root, path, said)| self.now(root, path) == *said);
        holds.then_some(answer.report)
    }

    /// Keeps an answer. What cannot be written is found again next time.
    pub fn put(&self, key: &str, report: &Report, used: &Used) {
        // A file that was not read is one of which the check knows nothing: it may be had next time.
        if used.0.iter().any(|(.., said)| said == "not read") {
            return;
        }
        let written = serde_json::to_vec(&serde_json::json!({ "used": used, "report": report }))
            .map_err(io::Error::other)
            .and_then(|answer| self.write(&self.place(key), &answer));
        if let Err(error) = written {
            self.unwritten.fetch_add(1, Ordering::Relaxed);
            self.reason.lock().unwrap_or_else(|poisoned| poisoned.into_inner()).get_or_insert(error);
        }
    }

    /// Whoever reads an answer sees all of it or none.
    fn write(&self, place: &Path, answer: &[u8]) -> io::Result<()> {
        if let Some(folder) = place.parent() {
            fs::create_dir_all(folder)?;
        }
        let beside = place.with_extension(format!("{}.new", std::process::id()));
        let written = fs::write(&beside, answer).and_then(|()| fs::rename(&beside, place));
        if written.is_err() {
            let _ = fs::remove_file(&beside);
        }
        written
    }

    /// What went wrong, in words.
    pub fn complaint(self) -> Option<String> {
        let error = self.reason.into_inner().unwrap_or_else(|poisoned| poisoned.into_inner())?;
        let count = self.unwritten.into_inner();
        Some(format!("{}: {count} answers could not be kept: {error}", self.folder.display()))
    }

    fn place(&self, key: &str) -> PathBuf {
        let (first, rest) = key.split_at(2);
        self.folder.join(first).join(rest)
    }

    fn now(&self, root: &Path, path: &Path) -> String {
        let seen = || self.seen.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
        let place = (root.to_path_buf(), path.to_path_buf());
        if let Some(said) = seen().get(&place) {
            return said.clone();
        }
        // The size that may be read is in the name of the answer; a larger file is not the one that was read.
        let said = match disk::read_in_up_to(root, path, u64::MAX - 1) {
            Ok(text) => digest(text.as_bytes()),
            Err(refused) => format!("{refused:?}"),
        };
        seen().insert(place, said.clone());
        said
    }
}

fn digest(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex().to_string()
}

/// Adds one thing, so that no two rows of things are the same in a row of bytes.
fn add(hasher: &mut blake3::Hasher, bytes: &[u8]) {
    hasher.update(&(bytes.len() as u64).to_le_bytes());
    hasher.update(bytes);
}
