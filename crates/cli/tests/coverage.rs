//! `halfsplit plan FILE PIN --coverage`.

use std::{path::Path, process::Command};

fn plan(arguments: &[&str]) -> String {
    let out = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .current_dir(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")))
        .arg("plan")
        .args(arguments)
        .output()
        .unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

#[test]
fn what_the_file_cannot_tell_apart_and_which_fact_would() {
    let asked =
        ["examples/vane/fuel-pump.circuit", "X76:1", "--reads", "0 V", "--set", "A10.PUMP=on", "--coverage"];
    insta::assert_snapshot!(plan(&asked));
    let json: serde_json::Value =
        serde_json::from_str(&plan(&[&asked[..], &["--format", "json"]].concat())).unwrap();
    let facts =
        json["groups"].as_array().unwrap().iter().flat_map(|group| group["facts"].as_array().unwrap());
    let facts: Vec<&str> = facts.map(|fact| fact["fact"].as_str().unwrap()).collect();
    assert!(facts.contains(&"the reach of F14"), "{facts:?}");
}
