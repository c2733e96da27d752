use std::sync::Arc;

use halfsplit_ide::Host;

use super::*;
use crate::snapshot::{Document, Documents};

/// Texts that a client has open, the last one touched last.
struct Desk {
    host: Host,
    documents: Documents,
    clock: u64,
    typing: Option<Typing>,
    board: Board,
}

impl Desk {
    fn new() -> Desk {
        Desk {
            host: Host::default(),
            documents: Documents::new(),
            clock: 0,
            typing: None,
            board: Board::default(),
        }
    }

    fn set(&mut self, name: &str, text: &str) -> FileId {
        let uri = Url::parse(&format!("file:///cars/{name}")).unwrap();
        let file = self.host.set(crate::uri::path(&uri), text);
        self.clock += 1;
        let version = self.clock as i32;
        self.documents.insert(file, Document { uri, version, root: "/cars".into(), touched: self.clock });
        file
    }

    fn snapshot(&mut self) -> Snapshot {
        Snapshot {
            analysis: self.host.analysis(),
            documents: Arc::new(self.documents.clone()),
            profile: Arc::default(),
            typing: self.typing,
        }
    }

    /// Everything that is told until nothing is left to do or all waits: file names and numbers of findings.
    fn told(&mut self) -> Vec<(String, usize)> {
        let snapshot = self.snapshot();
        let mut told = Vec::new();
        let note = |report: &Report| (report.uri.path().to_owned(), report.diagnostics.len());
        loop {
            match self.board.next(&snapshot, Instant::now()) {
                Some(Next::Check(file)) => {
                    let revision = snapshot.analysis.revision(file);
                    let found = convert::diagnostics(&snapshot, file);
                    told.extend(self.board.take(&snapshot, file, revision, found).iter().map(note));
                }
                Some(Next::Clear(report)) => told.push(note(&report)),
                Some(Next::Wait(_)) | None => return told,
            }
        }
    }
}

const SOUND: &str = "halfsplit 1\nlibrary \"20 °C 🔧\"\nfuse F1 10 A\n";

#[tokio::test]
async fn the_file_touched_last_is_told_first_and_nothing_is_told_twice() {
    let mut desk = Desk::new();
    for name in ["a.circuit", "b.circuit", "c.circuit"] {
        desk.set(name, SOUND);
    }
    let names: Vec<String> = desk.told().into_iter().map(|(name, _)| name).collect();
    assert_eq!(names, ["/cars/c.circuit", "/cars/b.circuit", "/cars/a.circuit"]);
    assert_eq!(desk.told(), []);
    desk.set("a.circuit", &SOUND.replace("10 A", "10"));
    assert_eq!(desk.told(), [("/cars/a.circuit".to_owned(), 1)]);
}

#[tokio::test]
async fn a_text_that_is_closed_shows_nothing_any_more() {
    let mut desk = Desk::new();
    let file = desk.set("a.circuit", &SOUND.replace("10 A", "10"));
    assert_eq!(desk.told().len(), 1);
    desk.documents.remove(&file);
    desk.host.let_go(file, &|_| false);
    assert_eq!(desk.told(), [("/cars/a.circuit".to_owned(), 0)]);
}

#[tokio::test(start_paused = true)]
async fn a_line_that_is_being_typed_is_told_when_the_typing_pauses() {
    let mut desk = Desk::new();
    let file = desk.set("a.circuit", SOUND);
    let other = desk.set("b.circuit", SOUND);
    desk.told();
    desk.set("a.circuit", &SOUND.replace("10 A", "10"));
    desk.typing = Some(Typing { file, line: 2, at: Instant::now(), fresh: false });
    assert_eq!(desk.told(), []);
    desk.set("b.circuit", &SOUND.replace("10 A", "10"));
    assert_eq!(desk.told(), [("/cars/b.circuit".to_owned(), 1)], "another file does not wait: {other:?}");
    tokio::time::advance(QUIET).await;
    assert_eq!(desk.told(), [("/cars/a.circuit".to_owned(), 1)]);
}
