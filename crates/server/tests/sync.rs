//! Any sequence of edits leaves the server with the text that the client has.
//!
//! The client's side is kept here by a second, plainer reading of the protocol:
//! a list of UTF-16 units. What the server made of the text is seen through its
//! outline, which has to be the one of a text opened whole.

use halfsplit_server::serve;
use proptest::prelude::*;
use serde_json::{Value, json};

#[derive(Clone, Debug)]
struct Edit {
    start: (u32, u32),
    end: (u32, u32),
    text: String,
}

/// The unit that a place means: past a line's end is its end, past the last line the end of
/// the text, inside a pair the start of the pair.
fn unit(units: &[u16], (line, column): (u32, u32)) -> usize {
    let (feed, back) = (u16::from(b'\n'), u16::from(b'\r'));
    // Where a line's text ends, and where the next line starts.
    let ends = |from: usize| {
        let at = from + units[from..].iter().position(|&unit| unit == feed || unit == back)?;
        let pair = units[at] == back && units.get(at + 1) == Some(&feed);
        Some((at, at + 1 + usize::from(pair)))
    };
    let mut start = 0;
    for _ in 0..line {
        match ends(start) {
            Some((_, next)) => start = next,
            None => return units.len(),
        }
    }
    let end = ends(start).map_or(units.len(), |(end, _)| end);
    let at = (start + column as usize).min(end);
    let inside_a_pair = at > 0 && at < units.len() && (0xDC00..0xE000).contains(&units[at]);
    at - usize::from(inside_a_pair)
}

fn apply(text: &str, edit: &Edit) -> String {
    let units: Vec<u16> = text.encode_utf16().collect();
    let (a, b) = (unit(&units, edit.start), unit(&units, edit.end));
    let (start, end) = (a.min(b), a.max(b));
    let replaced = [&units[..start], &edit.text.encode_utf16().collect::<Vec<_>>(), &units[end..]].concat();
    String::from_utf16(&replaced).expect("whole characters")
}

fn frame(message: &Value) -> String {
    let body = message.to_string();
    format!("Content-Length: {}\r\n\r\n{body}", body.len())
}

fn outline(id: i32, uri: &str) -> Value {
    let params = json!({ "textDocument": { "uri": uri } });
    json!({ "jsonrpc": "2.0", "id": id, "method": "textDocument/documentSymbol", "params": params })
}

fn open(uri: &str, text: &str) -> Value {
    let document = json!({ "uri": uri, "languageId": "halfsplit", "version": 1, "text": text });
    json!({ "jsonrpc": "2.0", "method": "textDocument/didOpen", "params": { "textDocument": document } })
}

fn change(uri: &str, version: usize, edits: &[Edit]) -> Value {
    let place = |(line, character): (u32, u32)| json!({ "line": line, "character": character });
    let changes: Vec<Value> = edits
        .iter()
        .map(|edit| json!({ "range": { "start": place(edit.start), "end": place(edit.end) }, "text": edit.text }))
        .collect();
    let params = json!({ "textDocument": { "uri": uri, "version": version }, "contentChanges": changes });
    json!({ "jsonrpc": "2.0", "method": "textDocument/didChange", "params": params })
}

/// Asks the server for the outline of the edited text and of the same text opened whole.
fn outlines(before: &str, after: &str, edits: &[Edit]) -> (Value, Value) {
    let hello = json!({ "jsonrpc": "2.0", "id": 0, "method": "initialize", "params": { "capabilities": {
        "textDocument": { "documentSymbol": { "hierarchicalDocumentSymbolSupport": true } } } } });
    let (edited, whole) = ("untitled:edited", "untitled:whole");
    let mut messages = vec![hello, open(edited, before)];
    // Two changes in one message, then one, then two: both forms are in use.
    let halves = edits.chunks(2).enumerate();
    messages.extend(halves.map(|(at, edits)| change(edited, at + 2, edits)));
    messages.extend([open(whole, after), outline(1, edited), outline(2, whole)]);
    let input: String = messages.iter().map(frame).collect();
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let output = runtime.block_on(async {
        let (mut seen, output) = tokio::io::duplex(1 << 20);
        let mut bytes = Vec::new();
        let (_, read) = tokio::join!(
            serve(input.as_bytes(), output),
            tokio::io::AsyncReadExt::read_to_end(&mut seen, &mut bytes)
        );
        read.unwrap();
        String::from_utf8(bytes).unwrap()
    });
    let answer = |id: i32| {
        let mut messages = output.split("Content-Length: ").filter_map(|part| part.split_once("\r\n\r\n"));
        messages
            .find_map(|(_, body)| {
                let message: Value = serde_json::from_str(body).unwrap();
                (message["id"] == id).then(|| message["result"].clone())
            })
            .expect("an answer")
    };
    (answer(1), answer(2))
}

fn edit() -> impl Strategy<Value = Edit> {
    let place = || (0..9_u32, prop_oneof![0..40_u32, Just(u32::MAX)]);
    let text = prop_oneof![
        Just(String::new()),
        Just("splice SP7 \"🔧\"\n".to_owned()),
        Just("\r\n".to_owned()),
        Just("\r".to_owned()),
        "[a-z °🔧{}\"\n]{0,12}",
    ];
    (place(), place(), text).prop_map(|(start, end, text)| Edit { start, end, text })
}

const BEFORE: &str = "halfsplit 1\r\ncircuit \"20 °C 🔧\"\r\nsplice SP1 \"°°🔧🔧\"\nsensor B4 \"🔧\" {\n  connector X34 3 cavities {\n    1 BK/GY \"°\"\n  }\n}\nsplice SP2";

proptest! {
    #![proptest_config(ProptestConfig { cases: 1_000, ..ProptestConfig::default() })]

    #[test]
    fn edits_lead_to_the_same_text_on_both_sides(edits in prop::collection::vec(edit(), 1..12)) {
        let after = edits.iter().fold(BEFORE.to_owned(), |text, edit| apply(&text, edit));
        let (edited, whole) = outlines(BEFORE, &after, &edits);
        prop_assert_eq!(edited, whole);
    }
}
