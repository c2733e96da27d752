//! How the process starts, what it survives, and that it always ends.

use serde_json::{Value, json};

use crate::client::Client;

const FILE: &str = "file:///cars/a.circuit";

fn symbols() -> Value {
    json!({ "textDocument": { "uri": FILE } })
}

#[test]
fn ends_with_0_after_shutdown_although_the_input_stays_open() {
    assert_eq!(Client::greet().leave().code(), Some(0));
}

#[test]
fn ends_with_1_without_shutdown_although_the_input_stays_open() {
    let client = Client::greet();
    client.tell("exit", Value::Null);
    assert_eq!(client.ended().code(), Some(1));
}

#[test]
fn ends_at_exit_before_it_was_greeted() {
    let client = Client::start();
    client.tell("exit", Value::Null);
    assert_eq!(client.ended().code(), Some(1));
}

#[test]
fn lives_on_after_what_is_no_message() {
    let client = Client::greet();
    client.send_bytes(b"Content-Length: 9\r\n\r\n{\"jsonrpc");
    assert_eq!(client.take(|message| message["error"]["code"] == -32700)["id"], Value::Null);
    client.send_bytes(b"Content-Length: 4\r\n\r\n\xff\xfe{}");
    client.take(|message| message["error"]["code"] == -32700);
    client.send_bytes(b"Content-Type: text/plain\r\n\r\n");
    client.take(|message| message["error"]["code"] == -32700);
    assert_eq!(client.ask("textDocument/plough", json!({}))["error"]["code"], -32601);
    assert_eq!(client.ask("textDocument/hover", json!(["there"]))["error"]["code"], -32602);
    let negative = json!({ "textDocument": { "uri": FILE }, "position": { "line": -1, "character": 0 } });
    assert_eq!(client.ask("textDocument/hover", negative)["error"]["code"], -32602);
    assert_eq!(client.ask("textDocument/documentSymbol", symbols())["result"], Value::Null);
    assert_eq!(client.leave().code(), Some(0));
}

#[test]
fn answers_a_request_once_cancelled_or_not() {
    let client = Client::greet();
    client.open(FILE, "halfsplit 1\n");
    for _ in 0..200 {
        let id = client.begin("textDocument/documentSymbol", symbols());
        client.tell("$/cancelRequest", json!({ "id": id }));
        let answer = client.answer(id);
        assert!(answer.get("result").is_some() || answer["error"]["code"] == -32800, "{answer}");
    }
    client.tell("$/cancelRequest", json!({ "id": 987_654 }));
    client.tell("$/cancelRequest", json!({ "id": "no such request" }));
    assert!(client.ask("textDocument/documentSymbol", symbols()).get("result").is_some());
    assert_eq!(client.leave().code(), Some(0));
}

#[test]
fn traces_when_asked_to() {
    let client = Client::greet();
    client.tell("$/setTrace", json!({ "value": "messages" }));
    client.ask("textDocument/documentSymbol", symbols());
    let trace = client.take(|message| message["method"] == "$/logTrace");
    assert_eq!(trace["params"]["message"], "document symbols");
}

#[test]
fn warns_of_a_change_that_it_cannot_apply() {
    let client = Client::greet();
    client.change(FILE, 2, [0, 0, 0, 0], "x");
    let warning = client.take(|message| message["method"] == "window/logMessage");
    let text = warning["params"]["message"].as_str().unwrap();
    assert_eq!(text, "file:///cars/a.circuit was changed, but it is not open: the change is ignored");
}

#[test]
fn keeps_many_files_apart() {
    let client = Client::greet();
    let name = |number: usize| format!("file:///cars/{number}.circuit");
    for number in 0..300 {
        client.open(&name(number), &format!("halfsplit 1\ncircuit \"car {number}\"\n"));
    }
    for number in 0..300 {
        client.diagnostics(&name(number), Some(1));
    }
    for number in 0..300 {
        client.close(&name(number));
    }
    let gone = json!({ "textDocument": { "uri": name(299) } });
    assert_eq!(client.ask("textDocument/documentSymbol", gone)["result"], Value::Null);
    assert_eq!(client.leave().code(), Some(0));
}
