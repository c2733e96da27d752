//! What the server tells the client about itself.

use std::fmt::Display;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use tokio::sync::mpsc::{UnboundedSender, unbounded_channel};
use tower_lsp::Client;
use tower_lsp::lsp_types::notification::LogTrace;
use tower_lsp::lsp_types::{LogTraceParams, MessageType, TraceValue};

/// Where remarks go. Never waits; remarks arrive in order.
#[derive(Clone, Debug)]
pub(crate) struct Log {
    remarks: UnboundedSender<Remark>,
    tracing: Arc<AtomicBool>,
}

#[derive(Debug)]
enum Remark {
    Message(MessageType, String),
    Trace(String),
}

impl Log {
    /// A log that writes to `client` until the last clone of it is gone.
    pub(crate) fn new(client: Client) -> Log {
        let (remarks, mut receiver) = unbounded_channel();
        tokio::spawn(async move {
            while let Some(remark) = receiver.recv().await {
                match remark {
                    Remark::Message(kind, text) => client.log_message(kind, text).await,
                    Remark::Trace(message) => {
                        let params = LogTraceParams { message, verbose: None };
                        client.send_notification::<LogTrace>(params).await;
                    }
                }
            }
        });
        Log { remarks, tracing: Arc::default() }
    }

    /// A line in the client's log.
    pub(crate) fn message(&self, kind: MessageType, text: impl Display) {
        let _ = self.remarks.send(Remark::Message(kind, text.to_string()));
    }

    /// A line in the client's trace, if it asked for one.
    pub(crate) fn trace(&self, text: impl Display) {
        if self.tracing.load(Ordering::Relaxed) {
            let _ = self.remarks.send(Remark::Trace(text.to_string()));
        }
    }

    /// Whether the client wants a trace.
    pub(crate) fn set_trace(&self, value: TraceValue) {
        self.tracing.store(value != TraceValue::Off, Ordering::Relaxed);
    }
}

#[cfg(test)]
impl Log {
    /// A log that nobody reads.
    pub(crate) fn unread() -> Log {
        Log { remarks: unbounded_channel().0, tracing: Arc::default() }
    }
}
