//! The one queue, in the order in which the client spoke.
//!
//! A handler's first statement puts its work here, without waiting for anything;
//! so an edit that arrived before a question is applied before the question is
//! answered. The queue has no bound: a full one would make handlers wait, and
//! handlers that wait are taken up again in any order.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;

use halfsplit_ide::Indexed;
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};
use tokio::sync::oneshot;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::{TextDocumentContentChangeEvent, Url};

use crate::profile::Profile;
use crate::snapshot::Snapshot;

/// One thing to do.
pub(crate) enum Job {
    /// The client has said what it can do.
    Start(Profile),
    /// The client now owns a text.
    Open { uri: Url, version: i32, text: String },
    /// The client changed a text it owns.
    Change { uri: Url, version: i32, changes: Vec<TextDocumentContentChangeEvent> },
    /// The client gives a text back to the disk.
    Close { uri: Url },
    /// The client wrote a text to the disk.
    Saved { uri: Url },
    /// Files changed on the disk.
    Disk(Vec<Url>),
    /// What is known of files of the workspace; `None` for one that is gone.
    Indexed(Vec<(PathBuf, Option<Indexed>)>),
    /// A question about the texts as they are at this point of the queue.
    Read(Read),
}

/// A question: what it is called, and what answers it on a worker.
pub(crate) struct Read {
    pub(crate) name: &'static str,
    pub(crate) work: Box<dyn FnOnce(&Snapshot) + Send>,
}

/// Where jobs are put.
#[derive(Clone, Debug)]
pub(crate) struct Queue(UnboundedSender<Job>);

/// Whether the answer is still wanted.
pub(crate) struct Wanted<'a>(&'a dyn Fn() -> bool);

impl Wanted<'_> {
    /// False once the client has cancelled; long work looks here between steps.
    pub(crate) fn still(&self) -> bool {
        (self.0)()
    }
}

/// An empty queue and its other end.
pub(crate) fn queue() -> (Queue, UnboundedReceiver<Job>) {
    let (sender, receiver) = unbounded_channel();
    (Queue(sender), receiver)
}

impl Queue {
    /// Puts a job on the queue, at once.
    pub(crate) fn push(&self, job: Job) {
        // The other end goes away only when the connection ends.
        let _ = self.0.send(job);
    }

    /// Puts a question on the queue, at once; the future only waits for the answer.
    ///
    /// # Errors
    ///
    /// An internal error when `work` panics; "cancelled" when the connection ends.
    pub(crate) fn ask<T, F>(&self, name: &'static str, work: F) -> impl Future<Output = Result<T>> + use<T, F>
    where
        T: Send + 'static,
        F: FnOnce(&Snapshot, &Wanted) -> Result<T> + Send + 'static,
    {
        let (reply, answer) = oneshot::channel();
        let work = move |snapshot: &Snapshot| {
            // A cancelled request drops the future that waits, nothing else.
            if reply.is_closed() {
                return;
            }
            let wanted = || !reply.is_closed();
            let result = catch_unwind(AssertUnwindSafe(|| work(snapshot, &Wanted(&wanted))))
                .unwrap_or_else(|_| Err(failed(name)));
            let _ = reply.send(result);
        };
        self.push(Job::Read(Read { name, work: Box::new(work) }));
        async move { answer.await.unwrap_or_else(|_| Err(Error::request_cancelled())) }
    }
}

fn failed(name: &str) -> Error {
    let mut error = Error::internal_error();
    error.message = format!("{name} failed inside the server; this is a fault of ours").into();
    error
}
