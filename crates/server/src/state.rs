//! The main loop: the only owner of what changes.
//!
//! Edits are applied here, one after another, as they come off the queue.
//! Questions get a snapshot and leave for a worker thread, so the loop is
//! never busy with more than an edit.

use std::collections::{BTreeSet, HashMap};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

use halfsplit_base::{FileId, Refused, disk};
use halfsplit_ide::{Host, Indexed, is_std};
use tokio::sync::mpsc::UnboundedReceiver;
use tokio::sync::{Semaphore, watch};
use tokio::time::Instant;
use tower_lsp::lsp_types::{MessageType, TextDocumentContentChangeEvent, Url};

use crate::convert;
use crate::log::Log;
use crate::profile::Profile;
use crate::queue::{Job, Read};
use crate::snapshot::{Document, Documents, Snapshot, Typing};
use crate::uri;
use crate::workspace;

/// What changes.
pub(crate) struct State {
    host: Host,
    documents: Arc<Documents>,
    profile: Arc<Profile>,
    typing: Option<Typing>,
    /// Counts opens and changes.
    clock: u64,
    /// Files on the disk as they were when they were looked at last.
    stamps: HashMap<PathBuf, Stamp>,
    log: Log,
}

type Stamp = Option<(SystemTime, u64)>;

/// Takes jobs until the queue is closed. `changed` always holds the newest snapshot.
pub(crate) async fn run(
    mut jobs: UnboundedReceiver<Job>,
    changed: watch::Sender<Option<Snapshot>>,
    log: Log,
) {
    let mut state = State {
        host: Host::default(),
        documents: Arc::default(),
        profile: Arc::default(),
        typing: None,
        clock: 0,
        stamps: HashMap::new(),
        log,
    };
    let workers = Arc::new(Semaphore::new(workers()));
    while let Some(job) = jobs.recv().await {
        match job {
            Job::Read(Read { name, work }) => {
                state.log.trace(name);
                let snapshot = state.snapshot();
                let free = Arc::clone(&workers).acquire_owned();
                tokio::spawn(async move {
                    let Ok(place) = free.await else { return };
                    let worked = tokio::task::spawn_blocking(move || {
                        work(&snapshot);
                        drop(place);
                    });
                    // Work that panics has answered for itself.
                    let _ = worked.await;
                });
            }
            edit => {
                let applied = catch_unwind(AssertUnwindSafe(|| state.apply(edit)));
                if applied.is_err() {
                    state.log.message(
                        MessageType::ERROR,
                        "A change was lost inside the server; close the file and open it again.",
                    );
                }
                changed.send_replace(Some(state.snapshot()));
            }
        }
    }
}

/// How many questions are worked on at once: a few more than there are processors,
/// so that a long plan does not hold up every hover, and far fewer than the runtime
/// has threads, so that one is always left to write the answers.
fn workers() -> usize {
    std::thread::available_parallelism().map_or(4, |processors| processors.get() + 2)
}

impl State {
    fn snapshot(&mut self) -> Snapshot {
        Snapshot {
            analysis: self.host.analysis(),
            documents: Arc::clone(&self.documents),
            profile: Arc::clone(&self.profile),
            typing: self.typing,
        }
    }

    fn apply(&mut self, job: Job) {
        match job {
            Job::Start(profile) => self.profile = Arc::new(profile),
            Job::Open { uri, version, text } => self.open(uri, version, &text),
            Job::Change { uri, version, changes } => self.change(&uri, version, changes),
            Job::Close { uri } => self.close(&uri),
            Job::Saved { uri } => self.saved(&uri),
            Job::Disk(uris) => self.reload(&uris),
            Job::Indexed(files) => self.indexed(files),
            Job::Read(_) => {}
        }
    }

    fn open(&mut self, uri: Url, version: i32, text: &str) {
        self.log.trace("open");
        let path = uri::path(&uri);
        // What lies in no folder is in no library.
        let root = if uri::is_on_disk(&uri) { disk::library_root(&path) } else { PathBuf::new() };
        let file = self.host.set(path, text);
        self.clock += 1;
        let document = Document { uri, version, root, touched: self.clock };
        Arc::make_mut(&mut self.documents).insert(file, document);
        self.host.retry();
        self.freshen(file);
        self.libraries(file);
    }

    fn change(&mut self, uri: &Url, version: i32, changes: Vec<TextDocumentContentChangeEvent>) {
        self.log.trace("change");
        let path = uri::path(uri);
        let open = self.host.files().id(&path).filter(|id| self.documents.contains_key(id));
        let Some(file) = open else {
            let message = format!("{uri} was changed, but it is not open: the change is ignored");
            self.log.message(MessageType::WARNING, message);
            return;
        };
        self.typing = self.typed(file, &changes);
        for change in changes {
            let before = self.host.files().get(file);
            let after = convert::changed_text(before, &change, self.profile.encoding);
            self.host.set(path.clone(), &after);
        }
        self.clock += 1;
        if let Some(document) = Arc::make_mut(&mut self.documents).get_mut(&file) {
            document.version = version;
            document.touched = self.clock;
        }
        if !self.profile.watch_files {
            self.freshen(file);
        }
        self.libraries(file);
    }

    /// Whether a change is a key pressed within a line, and whether it is the first on that line.
    fn typed(&self, file: FileId, changes: &[TextDocumentContentChangeEvent]) -> Option<Typing> {
        let [TextDocumentContentChangeEvent { range: Some(range), text, .. }] = changes else { return None };
        let short = text.chars().count() <= 1 && !text.contains(['\n', '\r']);
        let within = range.start.line == range.end.line
            && range.end.character.saturating_sub(range.start.character) <= 1;
        if !short || !within {
            return None;
        }
        let line = range.start.line;
        let fresh = self.typing.is_none_or(|before| (before.file, before.line) != (file, line));
        Some(Typing { file, line, at: Instant::now(), fresh })
    }

    /// Takes in what a text uses and is not known yet, and what the open circuits use that use it.
    fn libraries(&mut self, file: FileId) {
        let path = self.host.files().get(file).path.clone();
        let mut asking = vec![file];
        asking.extend(self.host.users(&path));
        for file in asking {
            let Some(document) = self.documents.get(&file) else { continue };
            match uri::is_on_disk(&document.uri) {
                true => self.host.load(file, document.root.clone(), &mut disk::read_in),
                false => self.host.load(file, PathBuf::new(), &mut |_, _| Err(Refused::Missing)),
            }
        }
    }

    /// The same for every open text: after the disk changed, anything may be there that was not.
    fn all_libraries(&mut self) {
        let open: Vec<FileId> = self.documents.keys().copied().collect();
        for &file in &open {
            let path = self.host.files().get(file).path.clone();
            if let Some(document) = Arc::make_mut(&mut self.documents).get_mut(&file)
                && uri::is_on_disk(&document.uri)
            {
                // The mark of a root may have come or gone.
                document.root = disk::library_root(&path);
            }
            self.libraries(file);
        }
    }

    /// What was typed and not saved is gone; the disk speaks again, where an open circuit still asks.
    fn close(&mut self, uri: &Url) {
        self.log.trace("close");
        let path = uri::path(uri);
        let Some(file) = self.host.files().id(&path) else { return };
        Arc::make_mut(&mut self.documents).remove(&file);
        if self.typing.is_some_and(|typing| typing.file == file) {
            self.typing = None;
        }
        let users = self.host.users(&path);
        if users.iter().any(|user| self.documents.contains_key(user)) {
            self.read(&path);
            users.into_iter().for_each(|user| self.libraries(user));
        } else {
            let documents = Arc::clone(&self.documents);
            self.host.let_go(file, &|file| documents.contains_key(&file));
        }
        self.reindex(&path);
    }

    fn saved(&mut self, uri: &Url) {
        self.log.trace("save");
        let path = uri::path(uri);
        if let Some(file) = self.host.files().id(&path).filter(|file| self.documents.contains_key(file)) {
            self.host.retry();
            self.freshen(file);
            self.libraries(file);
        }
        self.reindex(&path);
    }

    /// Looks whether files on the disk that a text uses are still as they were read. Not every client tells.
    fn freshen(&mut self, file: FileId) {
        let used: Vec<PathBuf> = self.host.uses(file).to_vec();
        for path in used {
            let known = self.host.files().id(&path);
            if is_std(&path) || known.is_some_and(|known| self.documents.contains_key(&known)) {
                continue;
            }
            let stamp = stamp(&path);
            let before = self.stamps.insert(path.clone(), stamp);
            match (known, stamp) {
                (Some(_), now) if before.is_some_and(|before| before != now) => self.read(&path),
                // One that was not there may have come.
                (None, Some(_)) => self.host.retry(),
                _ => {}
            }
        }
    }

    fn reload(&mut self, uris: &[Url]) {
        self.log.trace("files changed on disk");
        let paths: BTreeSet<PathBuf> =
            uris.iter().filter(|uri| uri::is_on_disk(uri)).map(uri::path).collect();
        // Of a folder that is gone the client may name the folder only.
        let under: Vec<PathBuf> = (self.host.files().iter().map(|(_, file)| &file.path))
            .filter(|path| paths.iter().any(|changed| path.starts_with(changed)))
            .cloned()
            .collect();
        for path in under {
            let known = self.host.files().id(&path);
            if known.is_some_and(|file| !self.documents.contains_key(&file)) {
                self.read(&path);
            }
        }
        for path in &paths {
            self.reindex(path);
        }
        self.host.retry();
        self.all_libraries();
    }

    /// Takes a text as it is on the disk; one that is not there is forgotten.
    fn read(&mut self, path: &Path) {
        self.stamps.insert(path.to_path_buf(), stamp(path));
        match disk::read(path) {
            Ok(text) => {
                self.host.set(path.into(), &text);
            }
            Err(_) => self.host.remove(path),
        }
    }

    fn indexed(&mut self, files: Vec<(PathBuf, Option<Indexed>)>) {
        let index = self.host.index();
        for (path, indexed) in files {
            match indexed {
                Some(indexed) => index.set(path, indexed),
                None => index.remove(&path),
            }
        }
    }

    /// Notes anew what is known of a file or folder of the workspace.
    fn reindex(&mut self, path: &Path) {
        if !self.profile.folders.iter().any(|folder| path.starts_with(folder)) {
            return;
        }
        if workspace::is_ours(path) {
            let indexed = workspace::read(path, self.profile.encoding);
            return self.indexed(vec![(path.to_path_buf(), indexed)]);
        }
        if !path.exists() {
            let under = self.host.index().iter().map(|(known, _)| known);
            let gone: Vec<_> =
                under.filter(|known| known.starts_with(path)).map(|known| (known.into(), None)).collect();
            self.indexed(gone);
        }
    }
}

/// When a file was written last, and how long it is; `None` if it is not there.
fn stamp(path: &Path) -> Stamp {
    let data = std::fs::metadata(path).ok()?;
    Some((data.modified().ok()?, data.len()))
}

#[cfg(test)]
mod tests {
    use tower_lsp::jsonrpc::ErrorCode;
    use tower_lsp::lsp_types::{Position, Range};

    use super::*;
    use crate::queue::{Queue, queue};

    fn start() -> (Queue, watch::Receiver<Option<Snapshot>>) {
        let (queue, jobs) = queue();
        let (changed, changes) = watch::channel(None);
        tokio::spawn(run(jobs, changed, Log::unread()));
        (queue, changes)
    }

    fn address() -> Url {
        Url::parse("file:///nowhere/a.circuit").unwrap()
    }

    fn open(queue: &Queue, text: &str) {
        queue.push(Job::Open { uri: address(), version: 1, text: text.into() });
    }

    fn replace(queue: &Queue, version: i32, range: Option<Range>, text: &str) {
        let change = TextDocumentContentChangeEvent { range, range_length: None, text: text.into() };
        queue.push(Job::Change { uri: address(), version, changes: vec![change] });
    }

    /// Asks for the text and the version, as the snapshot of the question has them.
    fn text(queue: &Queue) -> impl Future<Output = (String, Option<i32>)> + use<> {
        let answer = queue.ask("text", |snapshot, _| {
            let Some(file) = snapshot.file(&address()) else { return Ok((String::new(), None)) };
            let text = snapshot.analysis.files().get(file).text.to_string();
            Ok((text, snapshot.version(file)))
        });
        async { answer.await.unwrap() }
    }

    #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
    async fn a_question_sees_every_edit_before_it_and_none_after() {
        let (queue, _changes) = start();
        open(&queue, "0");
        let mut answers = Vec::new();
        for version in 2..1_002 {
            replace(&queue, version, None, &version.to_string());
            answers.push((version, text(&queue)));
        }
        for (version, answer) in answers {
            assert_eq!(answer.await, (version.to_string(), Some(version)));
        }
    }

    #[tokio::test]
    async fn a_question_that_panics_answers_an_error_and_the_loop_lives() {
        let (queue, _changes) = start();
        open(&queue, "still here");
        let failed = queue.ask::<(), _>("hover", |_, _| panic!("a fault of ours"));
        let error = failed.await.unwrap_err();
        assert_eq!(error.code, ErrorCode::InternalError);
        assert_eq!(error.message, "hover failed inside the server; this is a fault of ours");
        assert_eq!(text(&queue).await.0, "still here");
    }

    #[tokio::test]
    async fn a_cancelled_question_is_told_so() {
        let (queue, _changes) = start();
        let (begun, has_begun) = std::sync::mpsc::channel();
        let (ended, has_ended) = tokio::sync::oneshot::channel();
        let question = queue.ask("plan", move |_, wanted| {
            begun.send(()).unwrap();
            while wanted.still() {
                std::thread::yield_now();
            }
            ended.send(()).unwrap();
            Ok(())
        });
        tokio::task::spawn_blocking(move || has_begun.recv()).await.unwrap().unwrap();
        drop(question);
        has_ended.await.unwrap();
    }

    #[tokio::test]
    async fn a_question_cancelled_before_its_turn_is_not_worked_on() {
        let (queue, _changes) = start();
        let (begun, has_begun) = tokio::sync::oneshot::channel();
        drop(queue.ask("plan", move |_, _| begun.send(()).map_err(|()| unreachable!())));
        assert!(has_begun.await.is_err(), "the work was dropped, not done");
    }

    #[tokio::test]
    async fn edits_outside_the_text_take_its_nearest_place() {
        let (queue, _changes) = start();
        open(&queue, "20 °C 🔧 x\n");
        let at =
            |line, from, to| Some(Range { start: Position::new(line, from), end: Position::new(line, to) });
        replace(&queue, 2, at(0, 9, 10), "y");
        assert_eq!(text(&queue).await.0, "20 °C 🔧 y\n");
        replace(&queue, 3, at(0, 7, 7), "in the middle of a pair: ");
        assert_eq!(text(&queue).await.0, "20 °C in the middle of a pair: 🔧 y\n");
        replace(&queue, 4, at(0, 900, 1_000), ", end of line");
        assert_eq!(text(&queue).await.0, "20 °C in the middle of a pair: 🔧 y, end of line\n");
        replace(&queue, 5, at(u32::MAX, u32::MAX, 0), "end of text");
        assert_eq!(text(&queue).await.0, "20 °C in the middle of a pair: 🔧 y, end of line\nend of text");
        replace(&queue, 6, at(0, 3, 0), "");
        assert_eq!(text(&queue).await.0, "°C in the middle of a pair: 🔧 y, end of line\nend of text");
    }

    #[tokio::test]
    async fn a_change_of_a_text_that_is_not_open_changes_nothing() {
        let (queue, _changes) = start();
        replace(&queue, 2, None, "from nowhere");
        assert_eq!(text(&queue).await, (String::new(), None));
    }

    #[tokio::test]
    async fn a_closed_text_is_the_clients_no_more() {
        let (queue, mut changes) = start();
        open(&queue, "typed and not saved");
        queue.push(Job::Close { uri: address() });
        assert_eq!(text(&queue).await, (String::new(), None));
        assert!(changes.borrow_and_update().as_ref().unwrap().documents.is_empty());
    }
}
