//! Every feature once, as a client that can do all of it meets it. Texts hold `°`, an emoji and wide characters
//! in front of what is asked about, so that a column counted wrong is an answer that is wrong.

use serde_json::{Value, json};

use crate::client::Client;

const FILE: &str = "file:///cars/features.circuit";

const TEXT: &str = "halfsplit 1\n\
circuit \"20 °C 🔧 中\"\n\
supply G1 battery {\n  volts 12 V\n  inner 8 mohm\n  terminals 30 31\n}\n\
fuse F1 10 A \"🔧\"\n\
wire W1 G1:30 to F1:feed RD 2.5 mm2 1 m \"🔧 中\" # °\n\
wire W2 F1:load to X1:1 RD/BU 1 mm2 1 m\n\
wire W3 X1:2 to G1:31 BN 1 mm2 1 m\n\
lamp E1 \"中\" {\n  connector X1 3 cavities {\n    reach 2 min\n    1 RD/BU \"🔧\"\n    2 BN\n  }\n  filament 21 W at 12 V  X1:1 -> X1:2\n}\n";

/// Line and column, in UTF-16 units, right behind the first `before`.
fn position(text: &str, before: &str) -> Value {
    let end = text.find(before).unwrap_or_else(|| panic!("{before}")) + before.len();
    let line = text[..end].matches('\n').count();
    let start = text[..end].rfind('\n').map_or(0, |at| at + 1);
    json!({ "line": line, "character": text[start..end].encode_utf16().count() })
}

fn at(before: &str) -> Value {
    json!({ "textDocument": { "uri": FILE }, "position": position(TEXT, before) })
}

fn of_file() -> Value {
    json!({ "textDocument": { "uri": FILE } })
}

/// The words of a range of the text.
fn words(range: &Value) -> String {
    let offset = |place: &Value| {
        let line = place["line"].as_u64().unwrap() as usize;
        let start: usize = TEXT.split_inclusive('\n').take(line).map(str::len).sum();
        let mut units = place["character"].as_u64().unwrap() as usize;
        let mut end = start;
        for letter in TEXT[start..].chars() {
            if units == 0 {
                break;
            }
            units -= letter.len_utf16();
            end += letter.len_utf8();
        }
        end
    };
    TEXT[offset(&range["start"])..offset(&range["end"])].to_owned()
}

fn client() -> Client {
    let client = Client::greet_fully();
    client.open(FILE, TEXT);
    client
}

fn ask(client: &Client, method: &str, params: Value) -> Value {
    let answer = client.ask(method, params);
    assert!(answer.get("error").is_none(), "{method}: {answer}");
    answer["result"].clone()
}

fn list(value: &Value) -> &[Value] {
    value.as_array().unwrap_or_else(|| panic!("a list: {value}"))
}

#[test]
fn completion_offers_free_cavities_and_tells_more_when_asked() {
    let client = client();
    let line = "wire W9 F1:load to X1:";
    let text = format!("{TEXT}{line}");
    client.open("file:///cars/b.circuit", &text);
    let place =
        json!({ "textDocument": { "uri": "file:///cars/b.circuit" }, "position": position(&text, line) });
    let found = ask(&client, "textDocument/completion", place);
    let labels: Vec<&str> =
        list(&found["items"]).iter().map(|item| item["label"].as_str().unwrap()).collect();
    assert_eq!(labels, ["X1:3", "X1:1", "X1:2"], "the free one first");
    let more = ask(&client, "completionItem/resolve", found["items"][1].clone());
    let page = more["documentation"]["value"].as_str().unwrap();
    assert!(page.starts_with("**X1:1**"), "{page}");
    let edit = &found["items"][0]["textEdit"];
    assert_eq!(edit["newText"], "X1:3");
    assert_eq!(edit["range"]["start"]["character"], 19);
}

#[test]
fn signature_help_marks_the_value_at_hand() {
    let found = ask(&client(), "textDocument/signatureHelp", at("wire W2 F1:load to "));
    let signature = &found["signatures"][0];
    let label: Vec<u16> = signature["label"].as_str().unwrap().encode_utf16().collect();
    let active = found["activeParameter"].as_u64().unwrap() as usize;
    let span = list(&signature["parameters"][active]["label"]);
    let [from, to] = [0, 1].map(|end: usize| span[end].as_u64().unwrap() as usize);
    assert_eq!(String::from_utf16(&label[from..to]).unwrap(), "TO");
}

#[test]
fn references_highlights_and_navigation() {
    let client = client();
    let mut params = at("fuse F");
    params["context"] = json!({ "includeDeclaration": true });
    let found = ask(&client, "textDocument/references", params);
    let places: Vec<String> = list(&found).iter().map(|place| words(&place["range"])).collect();
    assert_eq!(places, ["F1", "F1", "F1"]);
    let net = ask(&client, "textDocument/documentHighlight", at("wire W2 F1:load to X1:1"));
    let net: Vec<String> = list(&net).iter().map(|place| words(&place["range"])).collect();
    assert_eq!(net, ["W2", "F1:load", "X1:1", "X1:1"]);
    for method in ["textDocument/definition", "textDocument/declaration"] {
        let found = ask(&client, method, at("wire W1 G1:30 to F1:fe"));
        assert_eq!(found["range"]["start"]["line"], 7, "{method}");
    }
    assert_eq!(ask(&client, "textDocument/typeDefinition", at("fuse F")), Value::Null);
}

#[test]
fn rename_changes_a_name_wherever_it_stands() {
    let client = client();
    let prepared = ask(&client, "textDocument/prepareRename", at("fuse F"));
    assert_eq!((words(&prepared["range"]), &prepared["placeholder"]), ("F1".into(), &json!("F1")));
    let mut params = at("fuse F");
    params["newName"] = json!("F77");
    let edit = ask(&client, "textDocument/rename", params.clone());
    let edits = list(&edit["documentChanges"][0]["edits"]);
    assert!(edits.len() == 3 && edits.iter().all(|edit| words(&edit["range"]) == "F1"), "{edits:#?}");
    params["newName"] = json!("W1");
    let refused = client.ask("textDocument/rename", params);
    assert_eq!(refused["error"]["message"], "`W1` is taken already in features.circuit");
    assert_eq!(client.ask("textDocument/prepareRename", at("20 "))["error"]["code"], -32803);
    let linked = ask(&client, "textDocument/linkedEditingRange", at("fuse F"));
    assert_eq!(list(&linked["ranges"]).len(), 3);
}

/// The words and kinds of packed tokens.
fn unpacked(data: &Value) -> Vec<(String, u64)> {
    let (mut line, mut column) = (0, 0);
    let numbers: Vec<u64> = list(data).iter().map(|number| number.as_u64().unwrap()).collect();
    numbers
        .chunks(5)
        .map(|token| {
            column = if token[0] == 0 { column + token[1] } else { token[1] };
            line += token[0];
            let end = column + token[2];
            let range = json!({ "start": { "line": line, "character": column }, "end": { "line": line, "character": end } });
            (words(&range), token[3])
        })
        .collect()
}

#[test]
fn semantic_tokens_whole_in_part_and_as_a_difference() {
    let client = client();
    let whole = ask(&client, "textDocument/semanticTokens/full", of_file());
    let tokens = unpacked(&whole["data"]);
    for (word, kind) in
        [("wire", 0), ("W1", 2), ("RD/BU", 7), ("mm2", 10), ("# °", 12), ("\"20 °C 🔧 中\"", 11)]
    {
        assert!(tokens.contains(&(word.to_owned(), kind)), "{word} in {tokens:?}");
    }
    let mut part = of_file();
    part["range"] = json!({ "start": position(TEXT, "# °"), "end": position(TEXT, "wire W2 F1:load") });
    let part = unpacked(&ask(&client, "textDocument/semanticTokens/range", part)["data"]);
    assert!(tokens.windows(part.len()).any(|window| window == part) && part.len() < tokens.len(), "{part:?}");
    let mut later = of_file();
    later["previousResultId"] = whole["resultId"].clone();
    let same = ask(&client, "textDocument/semanticTokens/full/delta", later.clone());
    assert_eq!(same["edits"], json!([]));
    client.change(FILE, 2, [8, 0, 8, 0], "# 🔧\n");
    later["previousResultId"] = same["resultId"].clone();
    let changed = ask(&client, "textDocument/semanticTokens/full/delta", later);
    assert_eq!(list(&changed["edits"]).len(), 1, "{changed}");
    let sent = list(&changed["edits"][0]["data"]).len();
    assert!(sent <= 10, "one word came, {sent} numbers were sent");
}

#[test]
fn hints_lenses_folds_and_selections() {
    let client = client();
    let mut all = of_file();
    all["range"] = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 99, "character": 0 } });
    let hints = ask(&client, "textDocument/inlayHint", all);
    let labels: Vec<&str> = list(&hints).iter().map(|hint| hint["label"].as_str().unwrap()).collect();
    assert_eq!(labels[0], "1.7 A of 10 A");
    assert_eq!(hints[1]["position"], position(TEXT, "1 m \"🔧 中\""), "behind the words, before the remark");
    let lenses = ask(&client, "textDocument/codeLens", of_file());
    let titles: Vec<&str> =
        list(&lenses).iter().map(|lens| lens["command"]["title"].as_str().unwrap()).collect();
    assert!(titles.contains(&"2 of 3 cavities wired · reach 2.0 min"), "{titles:?}");
    let folds = ask(&client, "textDocument/foldingRange", of_file());
    assert!(list(&folds).iter().any(|fold| fold["startLine"] == 11 && fold["endLine"] == 17), "{folds}");
    let mut params = of_file();
    params["positions"] = json!([position(TEXT, "wire W1 G1:3")]);
    let selection = &ask(&client, "textDocument/selectionRange", params)[0];
    assert_eq!(words(&selection["range"]), "30");
    assert_eq!(words(&selection["parent"]["range"]), "G1:30");
}

#[test]
fn colours_have_swatches_and_a_shade_has_letters() {
    let client = client();
    let found = ask(&client, "textDocument/documentColor", of_file());
    let codes: Vec<String> = list(&found).iter().map(|found| words(&found["range"])).collect();
    assert_eq!(codes[..3], ["RD", "RD", "BU"]);
    let mut params = of_file();
    params["color"] = json!({ "red": 0.9, "green": 0.1, "blue": 0.1, "alpha": 1.0 });
    params["range"] = found[0]["range"].clone();
    let offered = ask(&client, "textDocument/colorPresentation", params);
    assert_eq!(offered[0]["textEdit"]["newText"], "RD");
}

#[test]
fn formatting_of_a_file_a_range_and_a_line_just_ended() {
    let client = Client::greet_fully();
    let untidy = "halfsplit 1\ncircuit   \"20 °C 🔧\"\nsplice   SP1 \"中\"\n\nsplice   SP2\n";
    client.open(FILE, untidy);
    let options = json!({ "tabSize": 2, "insertSpaces": true });
    let params = json!({ "textDocument": { "uri": FILE }, "options": options });
    assert_eq!(list(&ask(&client, "textDocument/formatting", params.clone())).len(), 3);
    let mut part = params.clone();
    part["range"] = json!({ "start": { "line": 2, "character": 0 }, "end": { "line": 2, "character": 3 } });
    let edits = ask(&client, "textDocument/rangeFormatting", part);
    assert!(list(&edits).len() == 1 && edits[0]["range"]["start"]["line"] == 2, "{edits}");
    let mut typed = params;
    typed["position"] = json!({ "line": 3, "character": 0 });
    typed["ch"] = json!("\n");
    let edits = ask(&client, "textDocument/onTypeFormatting", typed);
    assert!(list(&edits).iter().all(|edit| edit["range"]["start"]["line"] == 2), "{edits}");
}

#[test]
fn the_way_of_the_current_is_a_call_hierarchy() {
    let client = client();
    let here = ask(&client, "textDocument/prepareCallHierarchy", at("wire W2 F1:load to X1:1"));
    assert_eq!(here[0]["name"], "X1:1");
    let up = ask(&client, "callHierarchy/incomingCalls", json!({ "item": here[0] }));
    assert_eq!((&up[0]["from"]["name"], &up[0]["from"]["detail"]), (&json!("F1:load"), &json!("W2 RD/BU")));
    let down = ask(&client, "callHierarchy/outgoingCalls", json!({ "item": here[0] }));
    assert_eq!(down[0]["to"]["name"], "X1:2");
}

#[test]
fn diagnostics_are_given_when_asked_for_and_not_pushed_as_well() {
    let client = Client::greet_fully();
    client.open(FILE, &TEXT.replace("10 A", "10"));
    let report = ask(&client, "textDocument/diagnostic", of_file());
    assert_eq!((&report["kind"], &report["items"][0]["code"]), (&json!("full"), &json!("missing-unit")));
    let mut again = of_file();
    again["previousResultId"] = report["resultId"].clone();
    assert_eq!(ask(&client, "textDocument/diagnostic", again.clone())["kind"], "unchanged");
    client.change(FILE, 2, [7, 8, 7, 10], "10 A");
    let mended = ask(&client, "textDocument/diagnostic", again);
    assert!(
        mended["kind"] == "full" && list(&mended["items"]).iter().all(|item| item["code"] != "missing-unit")
    );
    let workspace = ask(&client, "workspace/diagnostic", json!({ "previousResultIds": [] }));
    assert_eq!(workspace["items"][0]["uri"], FILE);
    assert!(!client.has_said(|message| message["method"] == "textDocument/publishDiagnostics"));
}

/// A guess about a name is never taken without being looked at, and moves no wire to another plug.
#[test]
fn no_preferred_fix_rewires_the_car() {
    let client = Client::greet_fully();
    let text = TEXT.replace("wire W3 X1:2", "wire W3 X2:2");
    client.open(FILE, &text);
    let place = position(&text, "wire W3 X2:");
    let params = json!({ "textDocument": { "uri": FILE }, "range": { "start": place, "end": place }, "context": { "diagnostics": [] } });
    let offers = ask(&client, "textDocument/codeAction", params);
    let titles: Vec<&str> = list(&offers).iter().map(|offer| offer["title"].as_str().unwrap()).collect();
    assert!(titles.contains(&"Declare X2 from the wires that name it"), "{titles:?}");
    for offer in list(&offers) {
        assert!(offer["isPreferred"] != true, "{offer}");
        assert!(!offer["edit"].to_string().contains("X1:2"), "{offer}");
    }
}

#[test]
fn what_the_server_can_do_is_what_it_says() {
    let client = Client::start();
    let hello = client.ask(
        "initialize",
        json!({ "processId": std::process::id(), "capabilities": Client::everything("utf-16") }),
    );
    let capabilities = &hello["result"]["capabilities"];
    for provider in [
        "hoverProvider",
        "completionProvider",
        "signatureHelpProvider",
        "definitionProvider",
        "declarationProvider",
        "typeDefinitionProvider",
        "implementationProvider",
        "referencesProvider",
        "documentHighlightProvider",
        "documentSymbolProvider",
        "workspaceSymbolProvider",
        "codeActionProvider",
        "codeLensProvider",
        "documentFormattingProvider",
        "documentRangeFormattingProvider",
        "documentOnTypeFormattingProvider",
        "renameProvider",
        "documentLinkProvider",
        "colorProvider",
        "foldingRangeProvider",
        "selectionRangeProvider",
        "linkedEditingRangeProvider",
        "callHierarchyProvider",
        "inlayHintProvider",
        "semanticTokensProvider",
        "diagnosticProvider",
        "executeCommandProvider",
    ] {
        assert!(
            !capabilities[provider].is_null() && capabilities[provider] != false,
            "{provider}: {capabilities:#}"
        );
    }
    assert!(capabilities["workspace"]["fileOperations"]["willRename"].is_object());
}
