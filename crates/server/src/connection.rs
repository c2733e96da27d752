//! One client, from its first byte to its last.
//!
//! The protocol library routes messages and keeps the life cycle; the carrying
//! is ours, because its own carrier stops reading at the first malformed frame,
//! stops reading when a hundred answers wait for a slow client, and does not end
//! at `exit` while the input stays open. Here
//!
//! - every message is handed to its handler, and the handler's future is polled
//!   once, before the next message is read. Handlers put their work on the queue
//!   in that first poll, so work is queued in the order in which it arrived;
//! - what is not finished by then runs as a task of its own, however many there are;
//! - `exit` ends the connection at once, and so does the end of the input, after
//!   what is already asked is answered.

use std::future::{Future, poll_fn};
use std::panic::AssertUnwindSafe;
use std::pin::Pin;
use std::task::{Context, Poll, Waker};
use std::time::Duration;

use futures_util::{FutureExt, SinkExt, StreamExt};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::sync::Notify;
use tokio::sync::mpsc::UnboundedSender;
use tokio::task::JoinSet;
use tower_lsp::jsonrpc::{Error, Request, Response};
use tower_lsp::{ClientSocket, LanguageServer, LspService};
use tower_service::Service;

use crate::frame::{Frames, Incoming, Outgoing, writer};

/// How long a connection that ends waits for answers under way and for a client
/// that does not read. Nothing is lost by waiting: it ends as soon as all is written.
const LAST_WORDS: Duration = Duration::from_secs(5);

/// How a connection ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// The client said `shutdown` before it left.
    InOrder,
    /// The client left without saying `shutdown`.
    WithoutShutdown,
}

/// Serves one client until it says `exit`, its input ends, or it no longer reads.
pub(crate) async fn serve<R, W, B>(
    input: R,
    output: W,
    mut service: LspService<B>,
    socket: ClientSocket,
    orphaned: &Notify,
) -> Ended
where
    R: AsyncRead + Unpin,
    W: AsyncWrite + Unpin + Send + 'static,
    B: LanguageServer,
{
    let (outbox, written) = writer(output);
    let (mut requests, mut answers) = socket.split();
    let to_client = tokio::spawn({
        let outbox = outbox.clone();
        async move {
            while let Some(request) = requests.next().await {
                if outbox.send(Outgoing::Request(request)).is_err() {
                    return;
                }
            }
        }
    });

    let mut frames = Frames::new(input);
    let mut under_way = JoinSet::new();
    let mut ended = Ended::WithoutShutdown;
    loop {
        let incoming = tokio::select! {
            incoming = frames.next() => incoming,
            () = outbox.closed() => None,
            // The editor died and left its pipes to somebody else.
            () = orphaned.notified() => None,
        };
        while under_way.try_join_next().is_some() {}
        match incoming {
            None => break,
            Some(Incoming::Bad(reply)) => send(&outbox, Some(reply)),
            Some(Incoming::Response(answer)) => {
                if answers.send(answer).await.is_err() {
                    break;
                }
            }
            Some(Incoming::Request(request)) => {
                let is_exit = request.method() == "exit";
                let is_shutdown = request.method() == "shutdown";
                if poll_fn(|context| service.poll_ready(context)).await.is_err() {
                    break;
                }
                match poll_once(answer(&mut service, request)) {
                    Ok(response) => {
                        if is_shutdown && response.as_ref().is_some_and(Response::is_ok) {
                            ended = Ended::InOrder;
                        }
                        send(&outbox, response);
                    }
                    Err(rest) => {
                        let outbox = outbox.clone();
                        under_way.spawn(async move { send(&outbox, rest.await) });
                    }
                }
                if is_exit {
                    under_way.abort_all();
                    break;
                }
            }
        }
    }

    let _ = tokio::time::timeout(LAST_WORDS, async {
        while under_way.join_next().await.is_some() {}
        to_client.abort();
        drop(outbox);
        written.await
    })
    .await;
    ended
}

type Answer = Pin<Box<dyn Future<Output = Option<Response>> + Send>>;

/// The answer of `service`, where a handler that panics answers an error.
fn answer<B: LanguageServer>(service: &mut LspService<B>, request: Request) -> Answer {
    let id = request.id().cloned();
    let future = service.call(request);
    Box::pin(async move {
        match AssertUnwindSafe(future).catch_unwind().await {
            Ok(Ok(response)) => response,
            Ok(Err(_left)) => None,
            Err(_panic) => id.map(|id| Response::from_error(id, Error::internal_error())),
        }
    })
}

/// Polls once; gives the future back when it is not finished.
fn poll_once(mut future: Answer) -> Result<Option<Response>, Answer> {
    // Whoever takes the rest polls again with a waker of its own.
    match future.as_mut().poll(&mut Context::from_waker(Waker::noop())) {
        Poll::Ready(response) => Ok(response),
        Poll::Pending => Err(future),
    }
}

fn send(outbox: &UnboundedSender<Outgoing>, response: Option<Response>) {
    if let Some(response) = response {
        // A closed queue is seen by the loop, which ends the connection.
        let _ = outbox.send(Outgoing::Response(response));
    }
}
