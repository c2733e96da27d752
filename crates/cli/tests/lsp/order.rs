//! Edits and questions in the order of arrival: no answer is ever stale.

use serde_json::{Value, json};

use crate::client::{Client, REFERENCE, place};

const FILE: &str = "file:///cars/tern/reference-a.circuit";

/// Asks for the hover at X34:2 of wire W7; the request's id.
fn begin_hover(client: &Client, text: &str) -> i64 {
    client.begin("textDocument/hover", place(FILE, text, "to X34:2"))
}

fn hover_text(answer: &Value) -> String {
    answer["result"]["contents"]["value"].as_str().unwrap_or_else(|| panic!("a hover in {answer}")).into()
}

/// Every edit changes the volts of the reference and the name of the sensor; the
/// hover of a pin that hangs on both must show exactly what was written last.
#[test]
fn a_thousand_edits_and_hovers_and_no_stale_answer() {
    let client = Client::greet();
    client.open(FILE, REFERENCE);
    let volts = place(FILE, REFERENCE, "reference  REF_A  ")["position"].clone();
    let volts = [volts["line"].as_u64().unwrap() as u32, volts["character"].as_u64().unwrap() as u32];
    let name = place(FILE, REFERENCE, "A/C pressure\" {")["position"].clone();
    let name = [name["line"].as_u64().unwrap() as u32, name["character"].as_u64().unwrap() as u32 - 15];

    let mut asked = Vec::new();
    let mut written = String::from("A/C pressure");
    for edit in 0..1_000_u32 {
        let version = 2 + 2 * edit as i32;
        // 4.00 V, 4.10 V … 5.90 V, so that no value equals the one before it.
        let value = f64::from(40 + edit % 20) / 10.0;
        client.change(FILE, version, [volts[0], volts[1], volts[0], volts[1] + 4], &format!("{value:.2}"));
        let label = format!("A/C pressure, 20 °C 🔧 {edit}");
        let width = written.encode_utf16().count() as u32;
        client.change(FILE, version + 1, [name[0], name[1], name[0], name[1] + width], &label);
        written = label;
        asked.push((begin_hover(&client, REFERENCE), value, written.clone()));
        // Answers are taken now and then, so that some wait in the pipe and some do not.
        if edit % 7 == 0 {
            asked.drain(..).for_each(|asked| check(&client, asked));
        }
    }
    asked.drain(..).for_each(|asked| check(&client, asked));
    client.diagnostics(FILE, Some(2001));
    assert_eq!(client.leave().code(), Some(0));
}

fn check(client: &Client, (id, value, label): (i64, f64, String)) {
    let hover = hover_text(&client.answer(id));
    assert!(hover.contains(&format!("**X34:2** · B4 {label}\n")), "{label} in {hover}");
    let reads = hover.split("**").nth(3).and_then(|reads| reads.split(' ').next()).unwrap();
    let reads: f64 = reads.parse().unwrap();
    assert!((value - 0.05..=value).contains(&reads), "{reads} V for a reference of {value} V");
}

/// A hover asked in the middle of a burst belongs to its place in the burst.
#[test]
fn a_hover_within_a_burst_of_edits_is_answered_for_its_place() {
    let client = Client::greet();
    client.open(
        FILE,
        "halfsplit 1\ncircuit \"burst\"\nsplice SP1 \"0\"\nsplice SP2\nwire W1 SP1 to SP2 BK 0.5 mm2 1 m\n",
    );
    let hover = json!({ "textDocument": { "uri": FILE }, "position": { "line": 2, "character": 8 } });
    let mut asked = Vec::new();
    for edit in 1..=2_000 {
        let width = (edit - 1).to_string().len() as u32;
        client.change(FILE, edit + 1, [2, 12, 2, 12 + width], &edit.to_string());
        if edit % 100 == 0 {
            asked.push((edit, client.begin("textDocument/hover", hover.clone())));
        }
    }
    for (edit, id) in asked {
        let hover = hover_text(&client.answer(id));
        assert!(hover.starts_with(&format!("**SP1** · {edit}\n")), "{edit} in {hover}");
    }
    client.diagnostics(FILE, Some(2_001));
}

/// Questions that are cancelled at once do not hold up or mix up the others.
#[test]
fn cancelled_hovers_leave_the_others_right() {
    let client = Client::greet();
    client.open(FILE, REFERENCE);
    let mut kept = Vec::new();
    for round in 0..300 {
        let id = begin_hover(&client, REFERENCE);
        if round % 3 == 0 {
            kept.push(id);
        } else {
            client.tell("$/cancelRequest", json!({ "id": id }));
        }
    }
    for id in kept {
        assert!(hover_text(&client.answer(id)).starts_with("**X34:2**"));
    }
    assert_eq!(client.leave().code(), Some(0));
}
