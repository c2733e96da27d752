//! How often findings come and go while somebody types.

use std::collections::BTreeSet;
use std::thread::sleep;
use std::time::Duration;

use serde_json::Value;

use crate::client::Client;

const FILE: &str = "file:///cars/quiet.circuit";

const BEFORE: &str = "halfsplit 1\ncircuit \"20 °C 🔧\"\nsupply G1 battery {\n  volts 12 V\n  inner 8 mohm\n  terminals 30 31\n}\n";

/// What is typed key by key behind that.
const TYPED: &str = "fuse F1 10 A\nwire W1 G1:30 to F1:feed RD 2.5 mm2 1 m\nsplice SP1\nwire W2 F1:load to SP1 RD 1 mm2 1 m\n\
    lamp E1 \"lamp\" {\nfilament 21 W at 12 V  1 -> 2\n}\nwire W3 SP1 to E1:1 RD 1 mm2 1 m\nwire W4 E1:2 to G1:31 BN 1 mm2 1 m\n";

fn shown(message: &Value) -> BTreeSet<String> {
    let all = message["params"]["diagnostics"].as_array().unwrap();
    all.iter().map(|found| format!("{} {}", found["code"], found["message"])).collect()
}

#[test]
fn findings_rest_while_a_line_is_typed() {
    let client = Client::greet();
    client.open(FILE, BEFORE);
    client.diagnostics(FILE, Some(1));
    let (mut line, mut column) = (BEFORE.matches('\n').count() as u32, 0);
    for (key, letter) in TYPED.chars().enumerate() {
        client.change(FILE, key as i32 + 2, [line, column, line, column], &letter.to_string());
        (line, column) = if letter == '\n' { (line + 1, 0) } else { (line, column + 1) };
        sleep(Duration::from_millis(15));
    }
    let keys = TYPED.chars().count();
    let last = client.diagnostics_until(FILE, keys as i32 + 1);
    let mut events = 0;
    let mut before = BTreeSet::new();
    for message in &last {
        let now = shown(message);
        events += now.symmetric_difference(&before).count();
        before = now;
    }
    let each = events as f64 / keys as f64;
    println!("{events} findings came or went over {keys} keys: {each:.2} a key");
    assert!(each < 0.23, "{each:.2} a key: {events} over {keys}");
    // And what is there in the end is what a fresh look finds.
    let fresh = Client::greet();
    fresh.open(FILE, &format!("{BEFORE}{TYPED}"));
    let whole: BTreeSet<String> = (fresh.diagnostics(FILE, Some(1)).iter())
        .map(|found| format!("{} {}", found["code"], found["message"]))
        .collect();
    assert_eq!(before, whole);
}

/// A line is told about once the typing pauses, without another key.
#[test]
fn a_pause_is_enough() {
    let client = Client::greet();
    client.open(FILE, BEFORE);
    client.diagnostics(FILE, Some(1));
    let line = BEFORE.matches('\n').count() as u32;
    for (column, letter) in "fuse F1 10".chars().enumerate() {
        client.change(
            FILE,
            column as i32 + 2,
            [line, column as u32, line, column as u32],
            &letter.to_string(),
        );
    }
    let found = client.diagnostics(FILE, Some(11));
    assert!(found.iter().any(|found| found["code"] == "missing-unit"), "{found:#?}");
}
