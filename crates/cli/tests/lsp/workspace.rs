//! What lies in the workspace and is not open: names, users, files that move, a disk that nobody watches.

use std::fs;
use std::path::PathBuf;
use std::thread::sleep;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::client::{Client, place};

const FUSES: &str = "halfsplit 1\nlibrary \"fuses 20 °C 🔧\"\nfuse F1 10 A \"中\"\n";

fn circuit(number: usize) -> String {
    format!(
        "halfsplit 1\ncircuit \"horn {number} 🔧\"\nuse \"lib/fuses.circuit\"\nsplice SP{number} \"中 °\"\n\
         wire W3 F1:load to SP{number} RD/WH 1 mm2 2 m\n"
    )
}

/// A library with two circuits that use one file, and a client that works in it.
fn workspace(name: &str) -> (PathBuf, impl Fn(&str) -> String, Client) {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(folder.join("lib")).unwrap();
    fs::write(folder.join("halfsplit.toml"), "").unwrap();
    fs::write(folder.join("lib/fuses.circuit"), FUSES).unwrap();
    fs::write(folder.join("a.circuit"), circuit(1)).unwrap();
    fs::write(folder.join("b.circuit"), circuit(2)).unwrap();
    let address = format!("file://{}", folder.to_str().unwrap());
    let client = Client::greet_in(&address);
    (folder, move |path: &str| format!("{address}/{path}"), client)
}

/// Asks until the workspace has been read.
fn symbols(client: &Client, query: &str, wanted: usize) -> Vec<String> {
    let end = Instant::now() + Duration::from_secs(60);
    loop {
        let found = client.ask("workspace/symbol", json!({ "query": query }));
        let names: Vec<String> = found["result"]
            .as_array()
            .unwrap()
            .iter()
            .map(|found| found["name"].as_str().unwrap().into())
            .collect();
        if names.len() >= wanted || Instant::now() > end {
            return names;
        }
        sleep(Duration::from_millis(10));
    }
}

#[test]
fn names_of_files_that_nobody_has_open_are_found() {
    let (_, _, client) = workspace("workspace-symbols");
    assert_eq!(symbols(&client, "SP", 2)[..2], ["SP1", "SP2"]);
    assert_eq!(symbols(&client, "F1", 1)[0], "F1");
}

#[test]
fn a_name_is_changed_in_every_file_that_uses_it() {
    let (_, uri, client) = workspace("workspace-rename");
    symbols(&client, "SP", 2);
    let (a, fuses) = (uri("a.circuit"), uri("lib/fuses.circuit"));
    client.open(&a, &circuit(1));
    let mut params = place(&a, &circuit(1), "wire W3 F1");
    params["newName"] = json!("F77");
    let edit = client.ask("textDocument/rename", params);
    let changes = edit["result"]["documentChanges"].as_array().unwrap_or_else(|| panic!("{edit}")).clone();
    let mut files: Vec<&str> =
        changes.iter().map(|change| change["textDocument"]["uri"].as_str().unwrap()).collect();
    files.sort_unstable();
    assert_eq!(files, [a.as_str(), uri("b.circuit").as_str(), fuses.as_str()]);
    let mut params = place(&a, &circuit(1), "wire W3 F1");
    params["context"] = json!({ "includeDeclaration": false });
    assert_eq!(client.ask("textDocument/references", params)["result"].as_array().unwrap().len(), 2);
}

#[test]
fn lines_follow_a_file_that_moves() {
    let (_, uri, client) = workspace("workspace-move");
    symbols(&client, "SP", 2);
    let moves =
        json!({ "files": [{ "oldUri": uri("lib/fuses.circuit"), "newUri": uri("lib/power.circuit") }] });
    let edit = client.ask("workspace/willRenameFiles", moves);
    let changes = edit["result"]["documentChanges"].as_array().unwrap_or_else(|| panic!("{edit}")).clone();
    assert_eq!(changes.len(), 2);
    assert!(
        changes.iter().all(|change| change["edits"][0]["newText"] == "lib/power.circuit"),
        "{changes:#?}"
    );
}

#[test]
fn every_file_of_the_workspace_is_checked_when_asked() {
    let (folder, uri, client) = workspace("workspace-diagnostics");
    fs::write(folder.join("lib/fuses.circuit"), FUSES.replace("10 A", "10")).unwrap();
    let changes = json!({ "changes": [{ "uri": uri("lib/fuses.circuit"), "type": 2 }] });
    client.tell("workspace/didChangeWatchedFiles", changes);
    symbols(&client, "SP", 2);
    let report =
        client.ask("workspace/diagnostic", json!({ "previousResultIds": [], "partialResultToken": 7 }));
    assert_eq!(report["result"]["items"], json!([]), "all came in parts");
    let part = client.take(|message| message["method"] == "$/progress" && message["params"]["token"] == 7);
    let items = part["params"]["value"]["items"].as_array().unwrap().clone();
    let of = |name: &str| items.iter().find(|item| item["uri"] == uri(name)).cloned().unwrap_or(Value::Null);
    assert_eq!(of("lib/fuses.circuit")["items"][0]["code"], "missing-unit");
    assert_eq!(items.len(), 3);
}

/// Not every client watches files; then their times are looked at.
#[test]
fn a_disk_that_nobody_watches_is_seen_at_the_next_save() {
    let (folder, uri, client) = workspace("workspace-unwatched");
    let a = uri("a.circuit");
    client.open(&a, &circuit(1));
    let unknown = |found: &[Value]| found.iter().any(|found| found["code"] == "unknown-name");
    assert!(!unknown(&client.diagnostics(&a, Some(1))));
    fs::write(folder.join("lib/fuses.circuit"), FUSES.replace("F1", "F100")).unwrap();
    client.tell("textDocument/didSave", json!({ "textDocument": { "uri": a } }));
    assert!(unknown(&client.diagnostics(&a, Some(1))));
    fs::remove_dir_all(folder.join("lib")).unwrap();
    client.tell("textDocument/didSave", json!({ "textDocument": { "uri": a } }));
    let found = client.diagnostics(&a, Some(1));
    assert!(found.iter().any(|found| found["code"] == "use-not-found"), "a folder that is gone: {found:#?}");
}

#[test]
fn half_a_pair_loses_no_edit() {
    let client = Client::greet();
    let uri = "file:///cars/halves.circuit";
    client.open(uri, "halfsplit 1\ncircuit \"🔧\"\n");
    let change = r#"{"jsonrpc":"2.0","method":"textDocument/didChange","params":{"textDocument":{"uri":"file:///cars/halves.circuit","version":2},"contentChanges":[{"text":"halfsplit 1\ncircuit \"a\ud83d b\"\n"}]}}"#;
    client.send_bytes(format!("Content-Length: {}\r\n\r\n{change}", change.len()).as_bytes());
    let outline = client.ask("textDocument/documentSymbol", json!({ "textDocument": { "uri": uri } }));
    assert_eq!(outline["result"][0]["name"], "a\u{fffd} b");
    let local = json!({ "textDocument": { "uri": "file://localhost/cars/halves.circuit" } });
    assert_eq!(client.ask("textDocument/documentSymbol", local)["result"][0]["name"], "a\u{fffd} b");
}

/// An editor that dies leaves no server behind, even where somebody else holds its pipes open.
#[cfg(target_os = "linux")]
#[test]
fn the_server_ends_with_the_editor() {
    let mut editor = std::process::Command::new("sleep").arg("600").spawn().unwrap();
    let client = Client::start();
    client.ask("initialize", json!({ "processId": editor.id(), "capabilities": {} }));
    editor.kill().unwrap();
    editor.wait().unwrap();
    assert_eq!(client.ended().code(), Some(1));
}
