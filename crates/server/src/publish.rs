//! Diagnostics, sent apart from everything else.
//!
//! The file that was touched last is checked first, then the others by how lately they were touched, one at a time;
//! a newer change goes before what still waits. Each message is stamped with the version of the text that was
//! checked. While a line is typed key by key, findings rest until the typing pauses or goes to another line:
//! what is half written is wrong on the way and nobody asked.

use std::collections::{BTreeMap, BTreeSet};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::Duration;

use halfsplit_base::FileId;
use halfsplit_ide::Revision;
use tokio::sync::watch;
use tokio::time::{Instant, sleep_until};
use tower_lsp::Client;
use tower_lsp::lsp_types::{Diagnostic, MessageType, Url};

use crate::convert;
use crate::log::Log;
use crate::snapshot::{Snapshot, Typing};

/// The pause after which a line counts as typed.
pub(crate) const QUIET: Duration = Duration::from_millis(700);

/// Publishes until the main loop ends.
pub(crate) async fn run(mut changed: watch::Receiver<Option<Snapshot>>, client: Client, log: Log) {
    let mut board = Board::default();
    loop {
        let snapshot = changed.borrow_and_update().clone();
        let refreshes = snapshot.as_ref().is_some_and(|snapshot| snapshot.profile.refreshes);
        let next = snapshot.as_ref().and_then(|snapshot| board.next(snapshot, Instant::now()));
        let (Some(snapshot), Some(next)) = (snapshot, next) else {
            if std::mem::take(&mut board.asks_again) && refreshes {
                // Never waited for: a client that does not answer holds up nothing.
                let client = client.clone();
                tokio::spawn(async move { client.workspace_diagnostic_refresh().await });
            }
            if changed.changed().await.is_err() {
                return;
            }
            continue;
        };
        let file = match next {
            Next::Check(file) => file,
            Next::Clear(report) => {
                client.publish_diagnostics(report.uri, report.diagnostics, report.version).await;
                continue;
            }
            Next::Wait(until) => {
                tokio::select! {
                    more = changed.changed() => if more.is_err() { return },
                    () = sleep_until(until) => {}
                }
                continue;
            }
        };
        let revision = snapshot.analysis.revision(file);
        let work = snapshot.clone();
        let checked = tokio::task::spawn_blocking(move || {
            catch_unwind(AssertUnwindSafe(|| convert::diagnostics(&work, file)))
        });
        let found = match checked.await {
            Ok(Ok(found)) => found,
            _ => {
                log.message(
                    MessageType::ERROR,
                    "The checks failed inside the server; this is a fault of ours.",
                );
                Vec::new()
            }
        };
        for report in board.take(&snapshot, file, revision, found) {
            client.publish_diagnostics(report.uri, report.diagnostics, report.version).await;
        }
    }
}

/// Whether what is typed can change what a file shows.
fn is_near(snapshot: &Snapshot, typing: Typing, file: FileId) -> bool {
    if file == typing.file {
        return true;
    }
    let files = snapshot.analysis.files();
    if !files.iter().any(|(known, _)| known == typing.file) {
        return false;
    }
    let typed = &files.get(typing.file).path;
    halfsplit_ide::uses(files, file).iter().any(|path| path == typed)
}

/// What to do next.
#[derive(Debug)]
enum Next {
    Check(FileId),
    Clear(Report),
    /// Nothing until then.
    Wait(Instant),
}

/// What one file shows.
#[derive(Clone, Debug, PartialEq)]
struct Report {
    uri: Url,
    version: Option<i32>,
    diagnostics: Vec<Diagnostic>,
}

/// Whether findings that a text has now are still on their way.
pub(crate) fn rests(typing: Typing, now: Instant) -> bool {
    now < typing.at + QUIET
}

/// What was found in one circuit.
#[derive(Debug)]
struct Found {
    /// What it was found in.
    revision: Option<Revision>,
    /// Whether what was found on the line that is being typed was left out.
    partial: bool,
    /// The findings, each in its file.
    list: Vec<(FileId, Diagnostic)>,
}

/// What was found in every circuit, and what every file shows of it.
#[derive(Debug, Default)]
struct Board {
    /// What was found in each open circuit.
    found: BTreeMap<FileId, Found>,
    /// What the client was told last.
    shown: BTreeMap<FileId, Report>,
    /// Whether a file that the client asks about itself shows something else because another was changed.
    asks_again: bool,
}

impl Board {
    /// The next thing to do for a snapshot; `None` when all is told.
    fn next(&mut self, snapshot: &Snapshot, now: Instant) -> Option<Next> {
        let closed: Vec<FileId> =
            self.found.keys().copied().filter(|file| !snapshot.documents.contains_key(file)).collect();
        for file in closed {
            self.found.remove(&file);
        }
        if let Some(report) = self.clear(snapshot) {
            return Some(Next::Clear(report));
        }
        let mut waits = None;
        let is_new = |file: FileId| {
            let known = self.found.get(&file).map(|found| &found.revision);
            known.is_none_or(|known| *known != snapshot.analysis.revision(file))
        };
        let is_partial = |file: FileId| self.found.get(&file).is_some_and(|found| found.partial);
        let outdated = snapshot.documents.iter().filter(|(file, _)| is_new(**file) || is_partial(**file));
        let mut outdated: Vec<(u64, FileId)> =
            outdated.map(|(file, document)| (document.touched, *file)).collect();
        outdated.sort_unstable_by(|a, b| b.cmp(a));
        for (_, file) in outdated {
            let typing =
                snapshot.typing.filter(|typing| rests(*typing, now) && is_near(snapshot, *typing, file));
            match typing {
                // Going on to another line, and a text that was never checked, are not kept waiting.
                Some(typing) if self.found.contains_key(&file) => {
                    if typing.fresh && typing.file == file && is_new(file) {
                        return Some(Next::Check(file));
                    }
                    waits = Some(Next::Wait(typing.at + QUIET));
                }
                _ => return Some(Next::Check(file)),
            }
        }
        waits
    }

    /// A file that shows something which no circuit finds any more, if there is one.
    fn clear(&mut self, snapshot: &Snapshot) -> Option<Report> {
        let known = |file: &FileId| {
            snapshot.documents.contains_key(file)
                || self.found.values().any(|found| found.list.iter().any(|(place, _)| place == file))
        };
        let gone = self.shown.keys().copied().find(|file| !known(file))?;
        let report = self.shown.remove(&gone)?;
        // Diagnostics of nothing need no clearing; what the client asked for itself is not ours to clear.
        if report.diagnostics.is_empty() || (snapshot.profile.pulls && report.version.is_some()) {
            return self.clear(snapshot);
        }
        Some(Report { version: None, diagnostics: Vec::new(), ..report })
    }

    /// Takes what was found in a circuit; what has to be told to the client.
    fn take(
        &mut self,
        snapshot: &Snapshot,
        file: FileId,
        revision: Option<Revision>,
        found: Vec<(FileId, Diagnostic)>,
    ) -> Vec<Report> {
        let fresh = snapshot
            .typing
            .filter(|typing| typing.fresh && typing.file == file && rests(*typing, Instant::now()));
        let mut list = found;
        if let Some(typing) = fresh {
            list.retain(|(place, diagnostic)| *place != file || diagnostic.range.start.line != typing.line);
        }
        let before = self.found.insert(file, Found { revision, partial: fresh.is_some(), list });
        let places = before.iter().chain(self.found.get(&file)).flat_map(|found| &found.list);
        let mut touched: BTreeSet<FileId> = places.map(|(place, _)| *place).collect();
        touched.insert(file);
        let mut news = Vec::new();
        for place in touched {
            let Some(report) = self.report(snapshot, place) else { continue };
            if self.shown.get(&place) == Some(&report) {
                continue;
            }
            self.shown.insert(place, report.clone());
            let document = snapshot.documents.get(&place).filter(|_| snapshot.profile.pulls);
            match document {
                // After its own change the client asks by itself.
                Some(document) => {
                    self.asks_again |=
                        snapshot.documents.values().any(|other| other.touched > document.touched);
                }
                None => news.push(report),
            }
        }
        // The file itself before those that it uses.
        news.sort_by_key(|report| Some(&report.uri) != snapshot.uri(file).as_ref());
        news
    }

    /// What a file shows: what its own circuit finds, then what those find that use it, each once. What was found in
    /// an older text of one of them speaks of places that may be others now, and waits until that one is checked.
    fn report(&self, snapshot: &Snapshot, file: FileId) -> Option<Report> {
        if !snapshot.analysis.files().iter().any(|(known, _)| known == file) {
            return None;
        }
        let mut diagnostics: Vec<Diagnostic> = Vec::new();
        let own = self.found.get(&file).into_iter();
        let others = self
            .found
            .iter()
            .filter(|(root, found)| **root != file && found.revision == snapshot.analysis.revision(**root));
        let others = others.map(|(_, found)| found);
        for (at, found) in own.chain(others).enumerate() {
            for (_, diagnostic) in found.list.iter().filter(|(place, _)| *place == file) {
                if at == 0 || !diagnostics.contains(diagnostic) {
                    diagnostics.push(diagnostic.clone());
                }
            }
        }
        Some(Report { uri: snapshot.uri(file)?, version: snapshot.version(file), diagnostics })
    }
}

#[cfg(test)]
mod tests;
