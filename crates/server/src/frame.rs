//! Messages on the wire: `Content-Length` frames in and out.
//!
//! The reader here never ends because of what a client wrote: a frame it cannot
//! use becomes an error reply, and reading goes on with the next frame. Only the
//! end of the input ends it. The writer takes messages from an unbounded queue,
//! so that a client which writes much before it reads anything cannot make the
//! server wait for it while it waits for the server.

use serde_json::Value;
use tokio::io::{AsyncBufReadExt, AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt, BufReader, BufWriter};
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};
use tokio::task::JoinHandle;
use tower_lsp::jsonrpc::{Error, Id, Request, Response};

/// The longest header line that is read as one, in bytes.
const LONGEST_HEADER: u64 = 8 * 1024;

/// The longest body that is read, in bytes. Longer ones are skipped and refused.
const LONGEST_BODY: u64 = 512 * 1024 * 1024;

/// One frame, read.
#[derive(Debug)]
pub(crate) enum Incoming {
    /// A request or a notification.
    Request(Request),
    /// The client's answer to something the server asked.
    Response(Response),
    /// A frame that is no message, with the error to answer.
    Bad(Response),
}

/// One frame to write.
#[derive(Debug)]
pub(crate) enum Outgoing {
    /// A request or a notification to the client.
    Request(Request),
    /// The answer to a request of the client.
    Response(Response),
}

/// Reads frames from `R`.
pub(crate) struct Frames<R> {
    input: BufReader<R>,
}

impl<R: AsyncRead + Unpin> Frames<R> {
    /// Starts at the first byte of `input`.
    pub(crate) fn new(input: R) -> Self {
        Frames { input: BufReader::new(input) }
    }

    /// The next frame, or `None` at the end of the input.
    pub(crate) async fn next(&mut self) -> Option<Incoming> {
        let length = match self.headers().await? {
            Some(length) => length,
            None => return Some(bad(Id::Null, Error::parse_error())),
        };
        if length > LONGEST_BODY {
            let mut rest = (&mut self.input).take(length);
            tokio::io::copy(&mut rest, &mut tokio::io::sink()).await.ok()?;
            return Some(bad(Id::Null, Error::invalid_request()));
        }
        let mut body = vec![0; usize::try_from(length).ok()?];
        self.input.read_exact(&mut body).await.ok()?;
        Some(message(&body))
    }

    /// Reads up to the blank line. `Some(None)` when the block states no usable length.
    async fn headers(&mut self) -> Option<Option<u64>> {
        let mut length = None;
        let mut any = false;
        let mut line = Vec::new();
        loop {
            line.clear();
            let read = (&mut self.input).take(LONGEST_HEADER).read_until(b'\n', &mut line).await.ok()?;
            if read == 0 {
                return None;
            }
            let text = String::from_utf8_lossy(&line);
            let text = text.trim();
            if text.is_empty() {
                if any {
                    return Some(length);
                }
                continue;
            }
            any = true;
            if let Some((name, value)) = text.split_once(':')
                && name.trim().eq_ignore_ascii_case("content-length")
            {
                length = value.trim().parse().ok();
            }
        }
    }
}

/// Starts the writer. It ends when every sender is gone and all is written, or
/// when the output fails; then the senders see the queue closed.
pub(crate) fn writer<W>(output: W) -> (UnboundedSender<Outgoing>, JoinHandle<()>)
where
    W: AsyncWrite + Unpin + Send + 'static,
{
    let (sender, receiver) = unbounded_channel();
    (sender, tokio::spawn(write_all(receiver, output)))
}

async fn write_all<W: AsyncWrite + Unpin>(mut queue: UnboundedReceiver<Outgoing>, output: W) {
    let mut output = BufWriter::new(output);
    while let Some(message) = queue.recv().await {
        let body = match &message {
            Outgoing::Request(request) => serde_json::to_vec(request),
            Outgoing::Response(response) => serde_json::to_vec(response),
        };
        let Ok(body) = body else { continue };
        let head = format!("Content-Length: {}\r\n\r\n", body.len());
        if output.write_all(head.as_bytes()).await.is_err()
            || output.write_all(&body).await.is_err()
            || (queue.is_empty() && output.flush().await.is_err())
        {
            return;
        }
    }
    // Nothing is left to do about an output that fails now.
    let _ = output.shutdown().await;
}

fn message(body: &[u8]) -> Incoming {
    let read = serde_json::from_slice::<Value>(body);
    let Ok(value) = read.or_else(|_| serde_json::from_slice(&whole_pairs(body))) else {
        return bad(Id::Null, Error::parse_error());
    };
    let id = value.get("id").and_then(|id| serde_json::from_value(id.clone()).ok()).unwrap_or(Id::Null);
    if value.get("method").is_some() {
        serde_json::from_value(value).map_or_else(
            |_| bad(id, Error::invalid_request()),
            |request| Incoming::Request(without_empty_params(request)),
        )
    } else {
        serde_json::from_value(value)
            .map_or_else(|_| bad(Id::Null, Error::invalid_request()), Incoming::Response)
    }
}

/// The message with every half of a surrogate pair that stands alone as the character that stands for what cannot
/// be read. Editors that count in UTF-16 send such halves when a pair is typed over; losing the edit would lose the text.
fn whole_pairs(body: &[u8]) -> Vec<u8> {
    let unit = |at: usize| -> Option<u32> {
        let digits = body.get(at..at + 6)?.strip_prefix(b"\\u")?;
        u32::from_str_radix(std::str::from_utf8(digits).ok()?, 16).ok()
    };
    let mut out = Vec::with_capacity(body.len());
    let mut at = 0;
    while at < body.len() {
        let first = if body[at] == b'\\' { unit(at) } else { None };
        let length = match first {
            Some(0xD800..=0xDBFF) if matches!(unit(at + 6), Some(0xDC00..=0xDFFF)) => 12,
            Some(0xD800..=0xDFFF) => {
                out.extend_from_slice(b"\\ufffd");
                at += 6;
                continue;
            }
            Some(_) => 6,
            // A backslash takes the next byte with it, so that `\\\\u` is no escape.
            None if body[at] == b'\\' => 2,
            None => 1,
        };
        let end = (at + length).min(body.len());
        out.extend_from_slice(&body[at..end]);
        at = end;
    }
    out
}

/// `shutdown` takes no parameters, and the protocol library refuses it with any.
/// Clients send `null`, `{}` or `[]` there; all mean the same.
fn without_empty_params(request: Request) -> Request {
    if request.method() != "shutdown" {
        return request;
    }
    match request.into_parts() {
        (method, Some(id), _) => Request::build(method).id(id).finish(),
        (method, None, _) => Request::build(method).finish(),
    }
}

fn bad(id: Id, error: Error) -> Incoming {
    Incoming::Bad(Response::from_error(id, error))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halves_of_pairs_are_mended_and_nothing_else() {
        let mended = |text: &str| String::from_utf8(whole_pairs(text.as_bytes())).unwrap();
        assert_eq!(mended(r#""a\ud83dz""#), r#""a\ufffdz""#);
        assert_eq!(mended(r#""\udd27""#), r#""\ufffd""#);
        for sound in [r#""\ud83d\udd27""#, r#""\\ud83d""#, r#""\n\u00b0 °🔧""#, "\\"] {
            assert_eq!(mended(sound), sound);
        }
    }

    async fn read(input: &str) -> Vec<String> {
        let mut frames = Frames::new(input.as_bytes());
        let mut seen = Vec::new();
        while let Some(frame) = frames.next().await {
            seen.push(match frame {
                Incoming::Request(request) => format!("request {}", request.method()),
                Incoming::Response(response) => format!("response {}", response.id()),
                Incoming::Bad(response) => {
                    format!("bad {:?}", response.error().map(|error| error.code))
                }
            });
        }
        seen
    }

    fn frame(body: &str) -> String {
        format!("Content-Length: {}\r\n\r\n{body}", body.len())
    }

    const NOTE: &str = r#"{"jsonrpc":"2.0","method":"initialized","params":{}}"#;

    #[tokio::test]
    async fn reads_what_follows_a_frame_that_is_no_message() {
        for (body, answer) in [
            (r#"{"jsonrpc":"#, "bad Some(ParseError)"),
            ("[]", "bad Some(InvalidRequest)"),
            ("7", "bad Some(InvalidRequest)"),
            (r#"{"method":7,"id":3}"#, "bad Some(InvalidRequest)"),
            ("", "bad Some(ParseError)"),
        ] {
            let input = frame(body) + &frame(NOTE);
            assert_eq!(read(&input).await, [answer, "request initialized"], "{body}");
        }
    }

    #[tokio::test]
    async fn reads_any_header_in_any_case() {
        let body = NOTE.len();
        let input = format!(
            "\r\ncontent-length: {body}\nContent-Type: text/plain\r\nX: y\r\n\r\n{NOTE}{}",
            frame(NOTE)
        );
        assert_eq!(read(&input).await, ["request initialized", "request initialized"]);
    }

    #[tokio::test]
    async fn refuses_a_block_without_length() {
        let input = format!("Content-Length: many\r\n\r\n{}", frame(NOTE));
        assert_eq!(read(&input).await, ["bad Some(ParseError)", "request initialized"]);
    }

    #[tokio::test]
    async fn ends_at_the_end_of_input_even_within_a_frame() {
        assert_eq!(read("Content-Length: 100\r\n\r\n{").await, [""; 0]);
        assert_eq!(read("Content-Le").await, [""; 0]);
    }

    #[tokio::test]
    async fn reads_answers_and_shutdown_with_parameters() {
        let answer = frame(r#"{"jsonrpc":"2.0","id":4,"result":null}"#);
        let shutdown = frame(r#"{"jsonrpc":"2.0","id":5,"method":"shutdown","params":null}"#);
        let mut frames = Frames::new(answer.as_bytes());
        assert!(matches!(frames.next().await, Some(Incoming::Response(_))));
        let mut frames = Frames::new(shutdown.as_bytes());
        let Some(Incoming::Request(request)) = frames.next().await else {
            panic!("a request");
        };
        assert_eq!(request.params(), None);
        assert_eq!(request.id(), Some(&Id::Number(5)));
    }
}
