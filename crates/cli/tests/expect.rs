//! `expect` blocks, as `halfsplit check` runs them.

use std::{path::Path, process::Command};

fn check(arguments: &[&str]) -> (String, Option<i32>) {
    let out = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .current_dir(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")))
        .arg("check")
        .args(arguments)
        .output()
        .unwrap();
    (String::from_utf8(out.stdout).unwrap(), out.status.code())
}

#[test]
fn every_worked_circuit_proves_its_readings() {
    let worked = [
        "tern/reference-a",
        "vane/rear-lamps",
        "vane/horn",
        "vane/can-bus",
        "vane/starter",
        "vane/trailer",
        "vane/fuel-pump",
        "vane/sleeping-draw",
        "vane/level-sensors",
    ];
    for circuit in worked {
        let (said, code) = check(&[&format!("examples/{circuit}.circuit"), "--format", "json"]);
        assert_eq!(code, Some(0), "{circuit}: {said}");
        let answer: serde_json::Value = serde_json::from_str(&said).unwrap();
        let expectations = answer["expectations"].as_array().unwrap();
        assert!(expectations.len() >= 4, "{circuit} expects too little");
        for expectation in expectations {
            assert_eq!(expectation["outcome"], "met", "{circuit}: {expectation}");
        }
    }
}

#[test]
fn what_is_not_met_says_what_comes_instead() {
    let (said, code) = check(&["examples/mistakes/expectations.circuit", "--expectations"]);
    assert_eq!(code, Some(1));
    insta::assert_snapshot!(said);
}
