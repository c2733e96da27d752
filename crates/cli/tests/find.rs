//! Finding the wire, on the connector of worked scenario S21: five wires of one colour in a 24-way.

use std::{path::Path, process::Command};

fn find(arguments: &[&str]) -> (String, String) {
    let out = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .current_dir(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")))
        .arg("find")
        .args(arguments)
        .output()
        .unwrap();
    (String::from_utf8(out.stdout).unwrap(), String::from_utf8(out.stderr).unwrap())
}

#[test]
fn the_shortest_unique_description_and_its_mirrored_twin() {
    let (told, _) = find(&["examples/vane/level-sensors.circuit", "A40.X2:6"]);
    insta::assert_snapshot!(told);
    let (json, _) = find(&["examples/vane/level-sensors.circuit", "A40.X2:6", "--format", "json"]);
    let found: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(found["description"], "GY/RD with BU/WH on its left, seen from the wire side");
    assert_eq!(found["same_colour"].as_array().unwrap().len(), 5, "colour alone fits five");
    assert_eq!(found["twins"], serde_json::json!(["16"]));
    assert!(found["doubts"].as_array().unwrap().iter().any(|cavity| cavity == "23"));
    let ohms = found["confirm"]["reading"]["nominal"].as_f64().unwrap();
    assert!((ohms - 0.0816).abs() < 0.01, "printed: 0.08 ohm, computed {ohms}");
    assert_eq!(found["confirm"]["red"], "X103:1");
}

#[test]
fn an_only_colour_needs_no_neighbour() {
    let (told, _) = find(&["examples/vane/level-sensors.circuit", "X103:1"]);
    assert!(told.contains("GY/RD, the only one"), "{told}");
}

#[test]
fn a_splice_has_no_cavity() {
    let (_, error) = find(&["examples/vane/level-sensors.circuit", "SP101"]);
    assert!(error.contains("in no connector"), "{error}");
}
