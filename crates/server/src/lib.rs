//! The language server: protocol, order and liveness.
//!
//! Carries questions from an editor to [`halfsplit_ide`] and answers back, in
//! the order in which the editor spoke. It works nothing out about circuits,
//! and no type of the protocol leaves it.
//!
//! What holds at all times:
//!
//! - edits are applied in the order of arrival, and a question sees every edit before it;
//! - questions are answered on worker threads from a snapshot that never changes;
//! - a question that panics answers an error, and the server lives on;
//! - `exit`, or the end of the input, ends the connection.
//!
//! ```
//! # tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap().block_on(async {
//! use halfsplit_server::{Ended, serve};
//! let input = "Content-Length: 33\r\n\r\n{\"jsonrpc\":\"2.0\",\"method\":\"exit\"}";
//! assert_eq!(serve(input.as_bytes(), tokio::io::sink()).await, Ended::WithoutShutdown);
//! # })
//! ```

mod answers;
mod backend;
mod capabilities;
mod commands;
mod connection;
mod convert;
mod frame;
mod log;
mod painted;
mod profile;
mod publish;
mod pull;
mod queue;
mod snapshot;
mod state;
mod uri;
mod workspace;

use std::io;
use std::process::ExitCode;
use std::sync::Arc;

use tokio::io::{AsyncRead, AsyncWrite};
use tokio::sync::{Notify, watch};
use tower_lsp::LspService;

use crate::backend::Backend;
use crate::log::Log;

pub use connection::Ended;

/// Serves one client over standard input and output, until it leaves.
///
/// The exit code is 0 when the client said `shutdown` first, else 1.
///
/// # Errors
///
/// When the threads cannot be started.
pub fn run() -> io::Result<ExitCode> {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    let ended = runtime.block_on(serve(tokio::io::stdin(), tokio::io::stdout()));
    // Standard input may still be open, with a thread that waits for it.
    runtime.shutdown_background();
    Ok(match ended {
        Ended::InOrder => ExitCode::SUCCESS,
        Ended::WithoutShutdown => ExitCode::FAILURE,
    })
}

/// Serves one client over any pair of streams, until it leaves.
pub async fn serve<R, W>(input: R, output: W) -> Ended
where
    R: AsyncRead + Unpin,
    W: AsyncWrite + Unpin + Send + 'static,
{
    let orphaned = Arc::new(Notify::new());
    let told = Arc::clone(&orphaned);
    let (service, socket) = LspService::build(move |client| {
        let (queue, jobs) = queue::queue();
        let (changed, changes) = watch::channel(None);
        let log = Log::new(client.clone());
        tokio::spawn(state::run(jobs, changed, log.clone()));
        tokio::spawn(publish::run(changes, client.clone(), log.clone()));
        Backend::new(queue, client, log, told)
    })
    .custom_method("$/setTrace", Backend::set_trace)
    .finish();
    connection::serve(input, output, service, socket, &orphaned).await
}
