//! A client of the language server, over real standard input and output.

use std::cell::{Cell, RefCell};
use std::collections::VecDeque;
use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, ExitStatus, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

/// Long enough for any machine: a test that reaches it has hung.
const HUNG: Duration = Duration::from_secs(120);

/// The reference circuit.
pub const REFERENCE: &str = include_str!("../../../../examples/tern/reference-a.circuit");

/// Request parameters for the place right behind the first `before` of a text of ASCII
/// lines; it touches the name that `before` ends with.
pub fn place(uri: &str, text: &str, before: &str) -> Value {
    let end = text.find(before).expect("the words") + before.len();
    let line = text[..end].matches('\n').count();
    let character = end - text[..end].rfind('\n').map_or(0, |at| at + 1);
    json!({ "textDocument": { "uri": uri }, "position": { "line": line, "character": character } })
}

/// A server process and the two ends of its pipes.
pub struct Client {
    process: Child,
    input: RefCell<ChildStdin>,
    output: Receiver<Value>,
    /// Read, but not asked for yet.
    unclaimed: RefCell<VecDeque<Value>>,
    next_id: Cell<i64>,
}

impl Client {
    /// Starts a server; says nothing yet.
    pub fn start() -> Client {
        let mut process = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
            .arg("lsp")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the server starts");
        let input = process.stdin.take().expect("its input");
        let mut stdout = BufReader::new(process.stdout.take().expect("its output"));
        let (sender, output) = channel();
        thread::spawn(move || {
            while let Some(message) = read(&mut stdout) {
                if sender.send(message).is_err() {
                    return;
                }
            }
        });
        Client {
            process,
            input: RefCell::new(input),
            output,
            unclaimed: RefCell::default(),
            next_id: Cell::new(1),
        }
    }

    /// Starts a server and greets it, as a client that can do all we make use of.
    pub fn greet() -> Client {
        Client::greet_with("utf-16")
    }

    /// Starts a server and greets it with these capabilities.
    pub fn greet_as(capabilities: Value) -> Client {
        let client = Client::start();
        let hello = client.ask("initialize", json!({ "processId": null, "capabilities": capabilities }));
        assert!(hello["result"]["capabilities"].is_object(), "{hello}");
        client.tell("initialized", json!({}));
        client
    }

    /// The same, counting columns in `encoding`.
    pub fn greet_with(encoding: &str) -> Client {
        let client = Client::start();
        let capabilities = json!({
            "general": { "positionEncodings": [encoding] },
            "textDocument": {
                "hover": { "contentFormat": ["markdown"] },
                "documentSymbol": { "hierarchicalDocumentSymbolSupport": true },
                "codeAction": {
                    "codeActionLiteralSupport": { "codeActionKind": { "valueSet": ["quickfix", "source"] } },
                },
                "publishDiagnostics": { "relatedInformation": true },
            },
            "workspace": {
                "workspaceEdit": { "documentChanges": true, "resourceOperations": ["create"] },
            },
        });
        let hello = client.ask("initialize", json!({ "processId": null, "capabilities": capabilities }));
        assert_eq!(hello["result"]["capabilities"]["positionEncoding"], encoding);
        client.tell("initialized", json!({}));
        client
    }

    /// What a client says that can do all that the server makes use of.
    pub fn everything(encoding: &str) -> Value {
        json!({
            "general": { "positionEncodings": [encoding] },
            "textDocument": {
                "hover": { "contentFormat": ["markdown"] },
                "completion": { "completionItem": { "snippetSupport": true } },
                "documentSymbol": { "hierarchicalDocumentSymbolSupport": true },
                "codeAction": {
                    "codeActionLiteralSupport": { "codeActionKind": { "valueSet": ["quickfix", "refactor"] } },
                },
                "publishDiagnostics": { "relatedInformation": true },
                "diagnostic": { "relatedDocumentSupport": true },
            },
            "window": { "showDocument": { "support": true } },
            "workspace": {
                "applyEdit": true,
                "workspaceEdit": { "documentChanges": true, "resourceOperations": ["create"] },
            },
        })
    }

    /// Starts a server and greets it as such a client.
    pub fn greet_fully() -> Client {
        Client::greet_as(Client::everything("utf-16"))
    }

    /// Starts a server that works in a folder, and greets it as a client that asks for no diagnostics itself and
    /// watches no files.
    pub fn greet_in(folder: &str) -> Client {
        let client = Client::start();
        let mut capabilities = Client::everything("utf-16");
        capabilities["textDocument"]["diagnostic"].take();
        let folders = json!([{ "uri": folder, "name": "cars" }]);
        let hello = json!({ "processId": null, "capabilities": capabilities, "workspaceFolders": folders });
        assert!(client.ask("initialize", hello)["result"]["capabilities"].is_object());
        client.tell("initialized", json!({}));
        client
    }

    /// Answers a request of the server.
    pub fn reply(&self, request: &Value, result: Value) {
        self.send(&json!({ "jsonrpc": "2.0", "id": request["id"], "result": result }));
    }

    /// Whether a message came that fits, among those not asked for yet.
    pub fn has_said(&self, fits: impl Fn(&Value) -> bool) -> bool {
        let mut unclaimed = self.unclaimed.borrow_mut();
        unclaimed.extend(self.output.try_iter());
        unclaimed.iter().any(fits)
    }

    /// Every message of diagnostics of a text up to one version of it, in order.
    pub fn diagnostics_until(&self, uri: &str, version: i32) -> Vec<Value> {
        let mut all = Vec::new();
        loop {
            let message = self.take(|message| {
                message["method"] == "textDocument/publishDiagnostics" && message["params"]["uri"] == uri
            });
            let last = message["params"]["version"] == version;
            all.push(message);
            if last {
                return all;
            }
        }
    }

    /// Sends bytes as they are.
    pub fn send_bytes(&self, bytes: &[u8]) {
        let mut input = self.input.borrow_mut();
        input.write_all(bytes).and_then(|()| input.flush()).expect("the server reads");
    }

    fn send(&self, message: &Value) {
        let body = message.to_string();
        self.send_bytes(format!("Content-Length: {}\r\n\r\n{body}", body.len()).as_bytes());
    }

    /// Sends a notification.
    pub fn tell(&self, method: &str, params: Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }

    /// Sends a request; its id.
    pub fn begin(&self, method: &str, params: Value) -> i64 {
        let id = self.next_id.replace(self.next_id.get() + 1);
        self.send(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params }));
        id
    }

    /// The answer to a request.
    pub fn answer(&self, id: i64) -> Value {
        self.take(|message| message.get("method").is_none() && message["id"] == id)
    }

    /// Sends a request and waits for its answer.
    pub fn ask(&self, method: &str, params: Value) -> Value {
        self.answer(self.begin(method, params))
    }

    /// Opens a text, as version 1.
    pub fn open(&self, uri: &str, text: &str) {
        let document = json!({ "uri": uri, "languageId": "halfsplit", "version": 1, "text": text });
        self.tell("textDocument/didOpen", json!({ "textDocument": document }));
    }

    /// Changes a range `[line, column, line, column]` of a text.
    pub fn change(&self, uri: &str, version: i32, range: [u32; 4], text: &str) {
        let [line, column, end_line, end_column] = range;
        let range = json!({
            "start": { "line": line, "character": column },
            "end": { "line": end_line, "character": end_column },
        });
        let changes = json!([{ "range": range, "text": text }]);
        let document = json!({ "uri": uri, "version": version });
        self.tell("textDocument/didChange", json!({ "textDocument": document, "contentChanges": changes }));
    }

    /// Closes a text.
    pub fn close(&self, uri: &str) {
        self.tell("textDocument/didClose", json!({ "textDocument": { "uri": uri } }));
    }

    /// Waits for the diagnostics of one version of a text (`None`: of a closed one).
    pub fn diagnostics(&self, uri: &str, version: Option<i32>) -> Vec<Value> {
        let message = self.take(|message| {
            message["method"] == "textDocument/publishDiagnostics"
                && message["params"]["uri"] == uri
                && message["params"].get("version").and_then(Value::as_i64) == version.map(i64::from)
        });
        message["params"]["diagnostics"].as_array().expect("diagnostics").clone()
    }

    /// The next message that fits, now or later.
    pub fn take(&self, fits: impl Fn(&Value) -> bool) -> Value {
        let mut unclaimed = self.unclaimed.borrow_mut();
        if let Some(at) = unclaimed.iter().position(&fits) {
            return unclaimed.remove(at).expect("it is there");
        }
        let end = Instant::now() + HUNG;
        loop {
            let left = end.saturating_duration_since(Instant::now());
            let message = self.output.recv_timeout(left).unwrap_or_else(|error| {
                panic!("no message fits ({error}); not asked for: {unclaimed:#?}");
            });
            if fits(&message) {
                return message;
            }
            unclaimed.push_back(message);
        }
    }

    /// Says `shutdown` and `exit`, keeps the input open, and waits for the process to end.
    pub fn leave(self) -> ExitStatus {
        assert_eq!(self.ask("shutdown", Value::Null)["result"], Value::Null);
        self.tell("exit", Value::Null);
        self.ended()
    }

    /// Waits for the process to end, with its input still open.
    pub fn ended(mut self) -> ExitStatus {
        let end = Instant::now() + HUNG;
        while Instant::now() < end {
            if let Some(status) = self.process.try_wait().expect("the process can be asked") {
                return status;
            }
            thread::sleep(Duration::from_millis(5));
        }
        panic!("the server does not end");
    }
}

impl Drop for Client {
    fn drop(&mut self) {
        // After a failed test the process may still run.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

fn read(input: &mut BufReader<ChildStdout>) -> Option<Value> {
    let mut length = None;
    loop {
        let mut line = String::new();
        if input.read_line(&mut line).ok()? == 0 {
            return None;
        }
        match line.trim_end().split_once(": ") {
            Some(("Content-Length", value)) => length = value.parse().ok(),
            Some(_) => {}
            None => break,
        }
    }
    let mut body = vec![0; length.expect("a length")];
    input.read_exact(&mut body).ok()?;
    Some(serde_json::from_slice(&body).expect("a message"))
}
