//! A circuit whose library lies on the disk.

use std::{fs, path::PathBuf};

use serde_json::{Value, json};

use crate::client::{Client, place};

const HORN: &str = "halfsplit 1\ncircuit \"horn\"\nuse \"lib/fuses.circuit\"\nsplice SP1\n\
    wire W3 F1:load to SP1 RD/WH 1 mm2 2 m\n";
const FUSES: &str = "halfsplit 1\nlibrary \"fuses\"\nfuse F1 10 A\n";

/// A library with that one file, and the address of a path in it.
fn library(name: &str) -> (PathBuf, impl Fn(&str) -> String) {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(folder.join("lib")).unwrap();
    fs::write(folder.join("halfsplit.toml"), "").unwrap();
    fs::write(folder.join("lib/fuses.circuit"), FUSES).unwrap();
    let address = folder.to_str().unwrap().to_owned();
    (folder, move |path: &str| format!("file://{address}/{path}"))
}

fn has(diagnostics: &[Value], rule: &str) -> bool {
    diagnostics.iter().any(|diagnostic| diagnostic["code"] == rule)
}

#[test]
fn a_library_on_the_disk_is_known_and_followed() {
    let (folder, uri) = library("lsp-library");
    let (horn, fuses) = (uri("horn.circuit"), uri("lib/fuses.circuit"));
    let client = Client::greet();
    client.open(&horn, HORN);
    assert!(!has(&client.diagnostics(&horn, Some(1)), "unknown-name"));
    let answer = client.ask("textDocument/definition", place(&horn, HORN, "wire W3 F1"));
    assert_eq!(answer["result"]["uri"], fuses);

    // A change on the disk.
    fs::write(folder.join("lib/fuses.circuit"), FUSES.replace("F1 10 A", "F1 10")).unwrap();
    let change = json!({ "changes": [{ "uri": fuses, "type": 2 }] });
    client.tell("workspace/didChangeWatchedFiles", change);
    assert!(has(&client.diagnostics(&fuses, None), "missing-unit"), "shown where the mistake is");

    // An edit of the open library, not saved.
    client.open(&fuses, FUSES);
    assert!(!has(&client.diagnostics(&fuses, Some(1)), "missing-unit"));
    client.change(&fuses, 2, [2, 5, 2, 7], "F9");
    assert!(has(&client.diagnostics(&horn, Some(1)), "unknown-name"));
}

#[test]
fn a_library_file_that_is_written_later_is_found() {
    let (folder, uri) = library("lsp-library-later");
    let (horn, fuses) = (uri("horn.circuit"), uri("lib/fuses.circuit"));
    fs::remove_file(folder.join("lib/fuses.circuit")).unwrap();
    let client = Client::greet();
    client.open(&horn, HORN);
    assert!(has(&client.diagnostics(&horn, Some(1)), "use-not-found"));
    fs::write(folder.join("lib/fuses.circuit"), FUSES).unwrap();
    client.tell("workspace/didChangeWatchedFiles", json!({ "changes": [{ "uri": fuses, "type": 1 }] }));
    assert!(!has(&client.diagnostics(&horn, Some(1)), "use-not-found"));
}
