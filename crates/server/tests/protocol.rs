//! Whole conversations with the server, over streams in memory.
//!
//! The input ends after the last message, so the server answers what it was
//! asked and ends; nothing here waits for a clock.

use std::time::Duration;

use halfsplit_server::{Ended, serve};
use serde_json::{Value, json};
use tokio::io::{AsyncReadExt, AsyncWriteExt};

/// Long enough for any machine: a test that reaches it has hung.
const HUNG: Duration = Duration::from_secs(60);

fn frame(message: &Value) -> String {
    let body = message.to_string();
    format!("Content-Length: {}\r\n\r\n{body}", body.len())
}

fn request(id: i32, method: &str, params: Value) -> Value {
    json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params })
}

fn notice(method: &str, params: Value) -> Value {
    json!({ "jsonrpc": "2.0", "method": method, "params": params })
}

/// Says everything, and returns all that was answered.
async fn converse(messages: &[Value]) -> (Vec<Value>, Ended) {
    let input: String = messages.iter().map(frame).collect();
    let (mut seen, output) = tokio::io::duplex(1 << 20);
    let mut answers = Vec::new();
    let (ended, read) = tokio::join!(
        tokio::time::timeout(HUNG, serve(input.as_bytes(), output)),
        seen.read_to_end(&mut answers)
    );
    read.unwrap();
    (messages_in(&answers), ended.expect("the server ends"))
}

fn messages_in(mut bytes: &[u8]) -> Vec<Value> {
    let mut messages = Vec::new();
    while !bytes.is_empty() {
        let head = bytes.windows(4).position(|window| window == b"\r\n\r\n").unwrap();
        let length = std::str::from_utf8(&bytes[..head]).unwrap();
        let length: usize = length.strip_prefix("Content-Length: ").unwrap().parse().unwrap();
        let (body, rest) = bytes[head + 4..].split_at(length);
        messages.push(serde_json::from_slice(body).unwrap());
        bytes = rest;
    }
    messages
}

fn answer_to(answers: &[Value], id: i32) -> &Value {
    let mut found = answers.iter().filter(|answer| answer["id"] == id);
    let answer = found.next().unwrap_or_else(|| panic!("an answer to {id} in {answers:#?}"));
    assert_eq!(found.next(), None, "one answer only");
    answer
}

fn initialize() -> Value {
    request(0, "initialize", json!({ "capabilities": {} }))
}

#[tokio::test]
async fn says_what_it_can_do() {
    let capabilities = json!({ "general": { "positionEncodings": ["utf-8", "utf-16"] } });
    let hello = request(0, "initialize", json!({ "capabilities": capabilities }));
    let (answers, _) = converse(&[hello]).await;
    let capabilities = &answer_to(&answers, 0)["result"]["capabilities"];
    assert_eq!(capabilities["positionEncoding"], "utf-8");
    assert_eq!(capabilities["textDocumentSync"]["change"], 2);
    assert_eq!(capabilities["hoverProvider"], true);
}

#[tokio::test]
async fn ends_in_order() {
    for params in [json!(null), json!({}), json!([])] {
        let messages = [initialize(), request(1, "shutdown", params), notice("exit", json!(null))];
        let (answers, ended) = converse(&messages).await;
        assert_eq!(answer_to(&answers, 1)["result"], Value::Null);
        assert_eq!(ended, Ended::InOrder);
    }
    let (_, ended) = converse(&[initialize(), notice("exit", json!(null))]).await;
    assert_eq!(ended, Ended::WithoutShutdown);
    let (_, ended) = converse(&[initialize()]).await;
    assert_eq!(ended, Ended::WithoutShutdown);
}

#[tokio::test]
async fn ends_at_exit_although_the_input_stays_open() {
    let (mut ours, input) = tokio::io::duplex(1 << 20);
    ours.write_all(frame(&notice("exit", json!(null))).as_bytes()).await.unwrap();
    let ended = tokio::time::timeout(HUNG, serve(input, tokio::io::sink())).await;
    assert_eq!(ended.expect("exit ends the server"), Ended::WithoutShutdown);
    drop(ours);
}

#[tokio::test]
async fn ends_when_the_client_no_longer_reads() {
    let (mut ours, input) = tokio::io::duplex(1 << 20);
    let (theirs, output) = tokio::io::duplex(16);
    drop(theirs);
    ours.write_all(frame(&initialize()).as_bytes()).await.unwrap();
    let ended = tokio::time::timeout(HUNG, serve(input, output)).await;
    assert_eq!(ended.expect("a broken output ends the server"), Ended::WithoutShutdown);
    drop(ours);
}

#[tokio::test]
async fn refuses_what_it_does_not_know_and_goes_on() {
    let messages = [
        request(7, "textDocument/hover", json!({})),
        initialize(),
        request(1, "textDocument/plough", json!({})),
        notice("textDocument/didPlough", json!({})),
        notice("$/plough", json!({})),
        request(2, "textDocument/hover", json!({ "position": "there" })),
        notice("textDocument/didOpen", json!([1, 2])),
        request(3, "textDocument/documentSymbol", json!({ "textDocument": { "uri": "untitled:x" } })),
        initialize(),
    ];
    let (answers, _) = converse(&messages).await;
    let code = |id| answer_to(&answers, id)["error"]["code"].clone();
    assert_eq!(code(7), -32002, "not before initialize");
    assert_eq!(code(1), -32601, "no such method");
    assert_eq!(code(2), -32602, "no such parameters");
    assert_eq!(answer_to(&answers, 3)["result"], Value::Null);
    let hellos: Vec<_> = answers.iter().filter(|answer| answer["id"] == 0).collect();
    assert_eq!(hellos.len(), 2);
    assert_eq!(hellos[1]["error"]["code"], -32600, "initialize only once");
}

/// A client may write everything before it reads anything.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn never_waits_for_a_client_that_does_not_read_yet() {
    let symbols = json!({ "textDocument": { "uri": "file:///nowhere/a.circuit" } });
    let many = 5_000;
    let (mut ours, input) = tokio::io::duplex(64);
    let (mut seen, output) = tokio::io::duplex(64);
    let server = tokio::spawn(async move { serve(input, output).await });
    let client = async {
        ours.write_all(frame(&initialize()).as_bytes()).await.unwrap();
        for id in 1..=many {
            let message = frame(&request(id, "textDocument/documentSymbol", symbols.clone()));
            ours.write_all(message.as_bytes()).await.unwrap();
        }
        drop(ours);
        let mut answers = Vec::new();
        seen.read_to_end(&mut answers).await.unwrap();
        messages_in(&answers)
    };
    let answers = tokio::time::timeout(HUNG, client).await.expect("nobody waits for the other");
    server.await.unwrap();
    let answered = answers.iter().filter(|answer| answer.get("result").is_some()).count();
    assert_eq!(answered, many as usize + 1);
}
