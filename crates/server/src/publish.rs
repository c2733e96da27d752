//! Diagnostics, sent apart from everything else.
//!
//! Texts change faster than they are worth checking. The publisher waits until
//! the client pauses, but never longer than a fixed time after the first change,
//! so that a client which never pauses still sees diagnostics. Each message is
//! stamped with the version of the text that was checked.

use std::collections::{BTreeMap, BTreeSet};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::Duration;

use halfsplit_base::FileId;
use tokio::sync::watch;
use tokio::time::{Instant, sleep, sleep_until};
use tower_lsp::Client;
use tower_lsp::lsp_types::{Diagnostic, MessageType, Url};

use crate::convert;
use crate::log::Log;
use crate::snapshot::Snapshot;

/// The pause that counts as the client having stopped.
const PAUSE: Duration = Duration::from_millis(100);

/// The longest that a change waits to be checked.
const LONGEST_WAIT: Duration = Duration::from_millis(500);

/// Publishes until the main loop ends.
pub(crate) async fn run(mut changed: watch::Receiver<Option<Snapshot>>, client: Client, log: Log) {
    let mut shown = Shown::default();
    while settle(&mut changed).await {
        let Some(snapshot) = changed.borrow_and_update().clone() else { continue };
        let checked =
            tokio::task::spawn_blocking(move || catch_unwind(AssertUnwindSafe(|| check(&snapshot))));
        match checked.await {
            Ok(Ok(reports)) => {
                for report in shown.news(reports) {
                    client.publish_diagnostics(report.uri, report.diagnostics, report.version).await;
                }
            }
            _ => log
                .message(MessageType::ERROR, "The checks failed inside the server; this is a fault of ours."),
        }
    }
}

/// Waits for a change and then for a pause. False when there will be none.
async fn settle<T>(changed: &mut watch::Receiver<T>) -> bool {
    if changed.changed().await.is_err() {
        return false;
    }
    let latest = Instant::now() + LONGEST_WAIT;
    loop {
        tokio::select! {
            more = changed.changed() => if more.is_err() { return false },
            () = sleep(PAUSE) => return true,
            () = sleep_until(latest) => return true,
        }
    }
}

/// What one file shows.
#[derive(Clone, Debug, PartialEq)]
struct Report {
    uri: Url,
    version: Option<i32>,
    diagnostics: Vec<Diagnostic>,
}

/// Checks every file that the client has open. What is wrong in a file that one of them uses is
/// shown there, once, be it open or not.
fn check(snapshot: &Snapshot) -> Vec<Report> {
    let mut shown: BTreeMap<FileId, Vec<Diagnostic>> = BTreeMap::new();
    for &file in snapshot.documents.keys() {
        shown.entry(file).or_default();
        for (place, diagnostic) in convert::diagnostics(snapshot, file) {
            let there = shown.entry(place).or_default();
            if place == file || !there.contains(&diagnostic) {
                there.push(diagnostic);
            }
        }
    }
    let report = |(file, diagnostics): (FileId, Vec<Diagnostic>)| {
        Some(Report { uri: snapshot.uri(file)?, version: snapshot.version(file), diagnostics })
    };
    shown.into_iter().filter_map(report).collect()
}

/// Which files show what. Knows when a file must be told that it shows nothing.
#[derive(Debug, Default)]
struct Shown(BTreeMap<Url, Report>);

impl Shown {
    /// What has to be sent so that exactly `reports` are shown.
    fn news(&mut self, reports: Vec<Report>) -> Vec<Report> {
        let mut news = Vec::new();
        let present: BTreeSet<Url> = reports.iter().map(|report| report.uri.clone()).collect();
        self.0.retain(|uri, shown| {
            let stays = present.contains(uri);
            if !stays && !shown.diagnostics.is_empty() {
                news.push(Report { uri: uri.clone(), version: None, diagnostics: Vec::new() });
            }
            stays
        });
        for report in reports {
            if self.0.get(&report.uri) != Some(&report) {
                self.0.insert(report.uri.clone(), report.clone());
                news.push(report);
            }
        }
        news
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn report(name: &str, version: i32, messages: &[&str]) -> Report {
        Report {
            uri: Url::parse(&format!("file:///{name}")).unwrap(),
            version: Some(version),
            diagnostics: messages
                .iter()
                .map(|&message| Diagnostic::new_simple(Default::default(), message.into()))
                .collect(),
        }
    }

    #[test]
    fn sends_only_what_is_new_and_clears_what_is_gone() {
        let mut shown = Shown::default();
        let (a, b) = (report("a", 1, &["floating net"]), report("b", 1, &[]));
        assert_eq!(shown.news(vec![a.clone(), b.clone()]), [a.clone(), b.clone()]);
        assert_eq!(shown.news(vec![a.clone(), b.clone()]), []);

        let newer = report("a", 2, &["floating net"]);
        assert_eq!(shown.news(vec![newer.clone(), b.clone()]), [newer]);

        let cleared = Report { version: None, ..report("a", 0, &[]) };
        assert_eq!(shown.news(vec![b]), [cleared]);
        assert_eq!(shown.news(vec![]), [], "b showed nothing: nothing to clear");
    }

    #[tokio::test(start_paused = true)]
    async fn waits_for_a_pause() {
        let (sender, mut receiver) = watch::channel(0);
        let start = Instant::now();
        sender.send_replace(1);
        assert!(settle(&mut receiver).await);
        assert_eq!(start.elapsed(), PAUSE);
    }

    #[tokio::test(start_paused = true)]
    async fn does_not_wait_for_ever_for_a_client_that_never_pauses() {
        let (sender, mut receiver) = watch::channel(0);
        let start = Instant::now();
        let typing = tokio::spawn(async move {
            for key in 1..100 {
                sender.send_replace(key);
                sleep(PAUSE / 2).await;
            }
        });
        assert!(settle(&mut receiver).await);
        assert_eq!(start.elapsed(), LONGEST_WAIT);
        typing.abort();
    }

    #[tokio::test]
    async fn ends_with_the_main_loop() {
        let (sender, mut receiver) = watch::channel(0);
        drop(sender);
        assert!(!settle(&mut receiver).await);
    }
}
