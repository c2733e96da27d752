//! What an editor gets: diagnostics, hover, definition, outline, actions.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use crate::client::{Client, REFERENCE, place};

const FILE: &str = "file:///cars/tern/reference-a.circuit";

/// A wire to a name that nothing declares, behind characters of every width.
const SLIP: &str =
    "halfsplit 1\ncircuit \"c\"\nsplice SP1 \"a\"\nwire W1 SP1 to X9:1 BK 0.5 mm2 1 m \"20 °C 🔧\"\n";

fn of_rule<'a>(diagnostics: &'a [Value], rule: &str) -> Vec<&'a Value> {
    diagnostics.iter().filter(|diagnostic| diagnostic["code"] == rule).collect()
}

#[test]
fn diagnostics_follow_the_text() {
    let client = Client::greet();
    client.open(FILE, SLIP);
    let shown = client.diagnostics(FILE, Some(1));
    let unknown = of_rule(&shown, "unknown-name");
    assert_eq!(unknown.len(), 1, "{shown:#?}");
    assert_eq!(unknown[0]["range"]["start"], json!({ "line": 3, "character": 15 }));
    assert_eq!(unknown[0]["range"]["end"], json!({ "line": 3, "character": 19 }));
    assert_eq!(unknown[0]["source"], "halfsplit");
    assert_eq!(unknown[0]["severity"], 1);

    client.change(FILE, 2, [3, 15, 3, 19], "SP1");
    assert_eq!(of_rule(&client.diagnostics(FILE, Some(2)), "unknown-name").len(), 0);

    client.change(FILE, 3, [3, 15, 3, 18], "X9:1");
    assert_eq!(of_rule(&client.diagnostics(FILE, Some(3)), "unknown-name").len(), 1);
    client.close(FILE);
    assert_eq!(client.diagnostics(FILE, None).len(), 0, "a closed file shows nothing");
}

#[test]
fn columns_count_in_the_encoding_that_was_agreed() {
    // The slip stands behind `°` (2 bytes, 1 unit, 1 character) and a wrench (4, 2, 1).
    let text = "halfsplit 1\ncircuit \"c\"\nsplice SP1 \"°🔧\" nonsense\n";
    for (encoding, column) in [("utf-8", 20), ("utf-16", 17), ("utf-32", 16)] {
        let client = Client::greet_with(encoding);
        client.open(FILE, text);
        let shown = client.diagnostics(FILE, Some(1));
        let at = json!({ "line": 2, "character": column });
        assert!(shown.iter().any(|shown| shown["range"]["start"] == at), "{encoding}: {shown:#?}");
        // An edit counted the same way lands on the same word.
        client.change(FILE, 2, [2, column, 2, column + 8], "");
        let shown = client.diagnostics(FILE, Some(2));
        assert!(!shown.iter().any(|shown| shown["range"]["start"] == at), "{encoding}: {shown:#?}");
    }
}

#[test]
fn places_outside_the_text_are_answered() {
    let client = Client::greet();
    client.open(FILE, REFERENCE);
    for (line, character) in [(0, u32::MAX), (u32::MAX, 0), (u32::MAX, u32::MAX)] {
        let at =
            json!({ "textDocument": { "uri": FILE }, "position": { "line": line, "character": character } });
        for method in ["textDocument/hover", "textDocument/definition"] {
            assert_eq!(client.ask(method, at.clone())["result"], Value::Null, "{method}");
        }
    }
    let backwards = json!({ "start": { "line": 9, "character": 9 }, "end": { "line": 1, "character": 0 } });
    let params =
        json!({ "textDocument": { "uri": FILE }, "range": backwards, "context": { "diagnostics": [] } });
    assert!(client.ask("textDocument/codeAction", params)["result"].is_array());
}

#[test]
fn a_name_leads_to_its_declaration() {
    let client = Client::greet();
    client.open(FILE, REFERENCE);
    let answer = client.ask("textDocument/definition", place(FILE, REFERENCE, "to SP10"));
    let declared = place(FILE, REFERENCE, "splice SP10")["position"].clone();
    assert_eq!(answer["result"]["uri"], FILE);
    assert_eq!(answer["result"]["range"]["end"], declared);
}

#[test]
fn one_file_may_be_spelled_in_several_ways() {
    let client = Client::greet();
    client.open("file:///c%3A/cars/20%20%C2%B0C.circuit", "halfsplit 1\ncircuit \"c\"\n");
    for spelling in ["file:///c:/cars/20%20°C.circuit", "file:///C%3a/cars/20 %c2%b0C.circuit"] {
        let outline =
            client.ask("textDocument/documentSymbol", json!({ "textDocument": { "uri": spelling } }));
        assert_eq!(outline["result"][0]["name"], "c", "{spelling}");
    }
    let shown = client.diagnostics("file:///c%3A/cars/20%20%C2%B0C.circuit", Some(1));
    assert!(shown.is_empty(), "in the client's own spelling: {shown:#?}");
}

#[test]
fn a_text_that_was_never_saved_is_served() {
    let client = Client::greet();
    client.open("untitled:Untitled-1", SLIP);
    assert_eq!(of_rule(&client.diagnostics("untitled:Untitled-1", Some(1)), "unknown-name").len(), 1);
}

#[test]
fn a_client_without_markdown_gets_plain_words() {
    let client = Client::greet_as(json!({}));
    client.open(FILE, REFERENCE);
    let hover = client.ask("textDocument/hover", place(FILE, REFERENCE, "to X34:2"));
    assert_eq!(hover["result"]["contents"]["kind"], "plaintext");
    let text = hover["result"]["contents"]["value"].as_str().unwrap();
    assert!(text.starts_with("X34:2 · B4 A/C pressure\n") && !text.contains('*'), "{text}");
}

#[test]
fn the_outline_is_nested() {
    let client = Client::greet();
    client.open(FILE, REFERENCE);
    let outline = client.ask("textDocument/documentSymbol", json!({ "textDocument": { "uri": FILE } }));
    let outline = outline["result"].as_array().unwrap();
    let sensor = outline.iter().find(|symbol| symbol["name"] == "B4").unwrap();
    assert_eq!(sensor["children"][0]["name"], "X34");
    assert_eq!(sensor["children"][0]["children"].as_array().unwrap().len(), 3);
}

fn actions_at(client: &Client, uri: &str, text: &str, before: &str) -> Vec<Value> {
    let at = place(uri, text, before)["position"].clone();
    let params = json!({
        "textDocument": { "uri": uri },
        "range": { "start": at, "end": at },
        "context": { "diagnostics": [] },
    });
    client.ask("textDocument/codeAction", params)["result"].as_array().unwrap().clone()
}

/// A client that drops `Diagnostic.data`, and even the diagnostics, gets the fix all the same.
#[test]
fn a_fix_mends_its_finding() {
    let client = Client::greet();
    let text = "halfsplit 1\ncircuit \"c\"\nsplice SP1\nsplice SP2\nwire W1 SP1 to SP2 BK 0.5 mm2 0.4\n";
    client.open(FILE, text);
    assert_eq!(of_rule(&client.diagnostics(FILE, Some(1)), "missing-unit").len(), 1);
    let actions = actions_at(&client, FILE, text, "mm2 0.4");
    let fix = actions.iter().find(|action| action["kind"] == "quickfix").unwrap();
    assert_eq!(fix["diagnostics"][0]["code"], "missing-unit");
    let change = &fix["edit"]["documentChanges"][0];
    assert_eq!(change["textDocument"], json!({ "uri": FILE, "version": 1 }));
    let edit = &change["edits"][0];
    let at = |end: &str, axis: &str| edit["range"][end][axis].as_u64().unwrap() as u32;
    let range = [at("start", "line"), at("start", "character"), at("end", "line"), at("end", "character")];
    client.change(FILE, 2, range, edit["newText"].as_str().unwrap());
    assert_eq!(of_rule(&client.diagnostics(FILE, Some(2)), "missing-unit").len(), 0);
}

/// A fresh folder of this name, and the address of a file in it.
fn folder(name: &str) -> (PathBuf, impl Fn(&str) -> String) {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    let uri = {
        let folder = folder.clone();
        move |name: &str| {
            let path = folder.join(name).to_str().unwrap().replace(' ', "%20").replace('°', "%C2%B0");
            format!("file://{path}")
        }
    };
    (folder, uri)
}

#[test]
fn a_closed_file_is_let_go() {
    let (folder, uri) = folder("closed");
    let (path, file) = (folder.join("a.circuit"), uri("a.circuit"));
    let client = Client::greet();
    let title = |client: &Client| {
        let outline = client.ask("textDocument/documentSymbol", json!({ "textDocument": { "uri": file } }));
        outline["result"][0]["name"].as_str().map(str::to_owned)
    };
    let changed = |client: &Client, kind: i32| {
        let changes = json!([{ "uri": file, "type": kind }]);
        client.tell("workspace/didChangeWatchedFiles", json!({ "changes": changes }));
    };
    fs::write(&path, "halfsplit 1\ncircuit \"saved\"\n").unwrap();
    client.open(&file, "halfsplit 1\ncircuit \"typed\"\n");
    changed(&client, 2);
    assert_eq!(title(&client).as_deref(), Some("typed"), "an open text is the client's");
    client.close(&file);
    assert_eq!(title(&client), None, "nobody has it open and nothing uses it");
    client.open(&file, "halfsplit 1\ncircuit \"again\"\n");
    assert_eq!(title(&client).as_deref(), Some("again"));
    assert_eq!(client.leave().code(), Some(0));
}

#[test]
fn only_the_asked_kinds_are_offered() {
    let client = Client::greet();
    client.open(FILE, REFERENCE);
    let at = place(FILE, REFERENCE, "to X34:2")["position"].clone();
    let ask = |only: &str| {
        let params = json!({
            "textDocument": { "uri": FILE },
            "range": { "start": at, "end": at },
            "context": { "diagnostics": [], "only": [only] },
        });
        client.ask("textDocument/codeAction", params)["result"].as_array().unwrap().len()
    };
    assert_eq!(ask("quickfix"), 0);
    assert_eq!(ask("source.organizeImports"), 0);
    assert_eq!(ask("source"), 0);
    assert_eq!(ask("refactor"), 4, "a plan for each class of reading");
}
