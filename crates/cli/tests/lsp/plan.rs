//! The isolation plan from the editor: ordered, written, opened, replaced, and stopped.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::client::{Client, REFERENCE, place};

/// A battery, a fuse and a lamp: a plan of it is drawn in no time.
const LAMP: &str = "halfsplit 1\ncircuit \"20 °C 🔧 中\"\nsupply G1 battery {\n  volts 12 V\n  inner 8 mohm\n  terminals 30 31\n}\n\
    fuse F1 10 A { reach 1 min }\nwire W1 G1:30 to F1:feed RD 2.5 mm2 1 m\nwire W2 F1:load to X1:1 RD/BU 1 mm2 1 m\n\
    wire W3 X1:2 to G1:31 BN 1 mm2 1 m\n\
    lamp E1 {\n  connector X1 2 cavities {\n    reach 2 min\n    1 RD/BU\n    2 BN\n  }\n  filament 21 W at 12 V  X1:1 -> X1:2\n}\n";

/// A fresh folder with the lamp's circuit, and its address.
fn folder(name: &str) -> (PathBuf, String) {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    fs::write(folder.join("reference-a.circuit"), LAMP).unwrap();
    let uri = format!("file://{}/reference-a.circuit", folder.to_str().unwrap());
    (folder, uri)
}

fn order(uri: &str, pin: &str, reading: Option<&str>) -> Value {
    json!({ "command": "halfsplit.plan", "arguments": [{ "uri": uri, "pin": pin, "reading": reading }] })
}

/// Applies the edit that the server asks for as an editor does, on the disk; how many texts it changed.
fn apply(client: &Client) -> String {
    let request = client.take(|message| message["method"] == "workspace/applyEdit");
    let changes = request["params"]["edit"]["documentChanges"].as_array().unwrap().clone();
    assert_eq!(changes[0]["kind"], "create");
    let uri = changes[1]["textDocument"]["uri"].as_str().unwrap();
    let path = uri.strip_prefix("file://").unwrap();
    let before = fs::read_to_string(path).unwrap_or_default();
    let edit = &changes[1]["edits"][0];
    assert_eq!(edit["range"]["start"], json!({ "line": 0, "character": 0 }));
    let lines = before.matches('\n').count();
    assert_eq!(edit["range"]["end"]["line"], lines, "all that is there is replaced");
    fs::write(path, edit["newText"].as_str().unwrap()).unwrap();
    client.reply(&request, json!({ "applied": true }));
    path.to_owned()
}

#[test]
fn a_plan_is_written_opened_and_replaced() {
    let (_, uri) = folder("plan-ordered");
    let client = Client::greet_fully();
    client.open(&uri, LAMP);
    let at = place(&uri, LAMP, "to X1:1")["position"].clone();
    let params = json!({ "textDocument": { "uri": uri }, "range": { "start": at, "end": at }, "context": { "diagnostics": [] } });
    let offers = client.ask("textDocument/codeAction", params);
    let offers = offers["result"].as_array().unwrap();
    let plan = offers.iter().find(|offer| offer["title"].as_str().unwrap().contains("is dead")).unwrap();
    assert_eq!(plan["kind"], "refactor.rewrite");
    for round in 0..2 {
        let id = client.begin(
            "workspace/executeCommand",
            json!({ "command": plan["command"]["command"], "arguments": plan["command"]["arguments"] }),
        );
        let path = apply(&client);
        assert!(path.ends_with("/reference-a.X1-1.plan.md"), "{path}");
        let shown = client.take(|message| message["method"] == "window/showDocument");
        assert!(shown["params"]["uri"].as_str().unwrap().ends_with("reference-a.X1-1.plan.md"));
        client.reply(&shown, json!({ "success": true }));
        assert!(client.answer(id).get("error").is_none());
        let text = fs::read_to_string(&path).unwrap();
        assert_eq!(
            text.matches("\n# ").count() + usize::from(text.starts_with("# ")),
            1,
            "round {round}: {text}"
        );
        assert!(text.contains("F1"), "{text}");
    }
    assert_eq!(client.leave().code(), Some(0));
}

#[test]
fn without_a_reading_the_user_is_asked() {
    let (_, uri) = folder("plan-asked");
    let client = Client::greet_fully();
    client.open(&uri, LAMP);
    let id = client.begin("workspace/executeCommand", order(&uri, "X1:1", None));
    let question = client.take(|message| message["method"] == "window/showMessageRequest");
    assert_eq!(question["params"]["message"], "X1:1: what does the meter show?");
    client.reply(&question, json!({ "title": "It is dead" }));
    apply(&client);
    let shown = client.take(|message| message["method"] == "window/showDocument");
    client.reply(&shown, json!({ "success": true }));
    assert!(client.answer(id)["result"]["uri"].is_string());
    let id = client.begin("workspace/executeCommand", order(&uri, "X1:1", None));
    let question = client.take(|message| message["method"] == "window/showMessageRequest");
    client.reply(&question, Value::Null);
    assert_eq!(client.answer(id)["result"], Value::Null, "nothing was chosen, so nothing is done");
}

#[test]
fn an_order_that_makes_no_sense_is_answered() {
    let (_, uri) = folder("plan-refused");
    let client = Client::greet_fully();
    client.open(&uri, LAMP);
    let refused = client.ask("workspace/executeCommand", order(&uri, "X1:1", Some("blue")));
    assert_eq!(refused["error"]["code"], -32602);
    let refused = client.ask("workspace/executeCommand", order(&uri, "X99:1", Some("dead")));
    assert_eq!(refused["error"]["message"], "nothing is called X99:1 any more");
    let refused =
        client.ask("workspace/executeCommand", json!({ "command": "halfsplit.plough", "arguments": [] }));
    assert_eq!(refused["error"]["code"], -32602);
}

/// A client that cannot apply edits gets the edit.
#[test]
fn a_client_that_applies_nothing_gets_the_edit() {
    let client = Client::greet_as(json!({}));
    let uri = "file:///cars/reference-a.circuit";
    client.open(uri, LAMP);
    let answer = client.ask("workspace/executeCommand", order(uri, "X1:1", Some("0 V")));
    let changes = answer["result"]["edit"]["changes"].as_object().unwrap();
    assert!(changes.keys().next().unwrap().ends_with("reference-a.X1-1.plan.md"));
}

/// Hovers behind plans that nobody wants any more do not wait for them.
#[test]
fn a_cancelled_plan_stops() {
    let client = Client::greet_fully();
    let uri = "file:///cars/reference-a.circuit";
    client.open(uri, REFERENCE);
    client.ask("textDocument/hover", place(uri, REFERENCE, "to X34:2"));
    let plans: Vec<i64> = (0..8)
        .map(|_| client.begin("workspace/executeCommand", order(uri, "X35:1", Some("0.235 V"))))
        .collect();
    std::thread::sleep(Duration::from_millis(30));
    for id in &plans {
        client.tell("$/cancelRequest", json!({ "id": id }));
    }
    let start = Instant::now();
    client.ask("textDocument/hover", place(uri, REFERENCE, "to X34:2"));
    let waited = start.elapsed();
    for id in plans {
        let answer = client.answer(id);
        assert!(answer["error"]["code"] == -32800 || answer.get("result").is_some(), "{answer}");
    }
    // Eight plans one after another take seconds; the figure is kept loose for a busy machine.
    assert!(waited < Duration::from_secs(3), "the hover waited {waited:?}");
}
