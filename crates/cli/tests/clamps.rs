//! Currents by a clamp: computed, in a case, and as what a plan begins with, on a blower and a rear screen behind one
//! fuse whose figures were worked out by hand (`clamps/blower.circuit`).

use std::{path::Path, process::Command};

use serde_json::Value;

const CIRCUIT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/clamps/blower.circuit");
const STATE: [&str; 4] = ["--key", "run", "--supply", "12.6 V"];

/// What was said, and whether all went well; errors where it did not.
fn halfsplit(arguments: &[&str]) -> (String, bool) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    let out = command.args(arguments).env("COLUMNS", "100").output().unwrap();
    let told = if out.status.success() { out.stdout } else { out.stderr };
    (String::from_utf8(told).unwrap(), out.status.success())
}

fn volts(more: &[&str]) -> (String, bool) {
    halfsplit(&[&["volts", CIRCUIT], more, &STATE[..]].concat())
}

fn amps(more: &[&str]) -> f64 {
    let (told, good) = volts(&[more, &["--amps", "--format", "json"]].concat());
    assert!(good, "{told}");
    let answer: Value = serde_json::from_str(&told).unwrap();
    assert_eq!(answer["reading"]["quantity"], "amps");
    assert_eq!(answer["reading"]["unit"], "A");
    answer["reading"]["nominal"].as_f64().unwrap()
}

/// A case with these readings, on its page and as JSON, or what is wrong with it.
fn case(name: &str, lines: &str) -> Result<(String, Value), String> {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("clamps").join(name);
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::copy(CIRCUIT, folder.join("blower.circuit")).unwrap();
    let head =
        "halfsplit 1\ncase \"blower\" on \"blower.circuit\" {\n  rested 12.7 V\n  supply 12.6 V\n  key run\n";
    let file = folder.join("blower.case");
    std::fs::write(&file, format!("{head}{lines}\n}}\n")).unwrap();
    let ask = |format| halfsplit(&["case", file.to_str().unwrap(), "--no-cases", "--format", format]);
    match ask("json") {
        (told, true) => Ok((ask("text").0, serde_json::from_str(&told).unwrap())),
        (told, false) => Err(told),
    }
}

/// Chance of a unit, or of what its way to fail begins with.
fn chance(case: &Value, name: &str, how: &str) -> f64 {
    let suspects = case["suspects"].as_array().unwrap().iter();
    let own = suspects.filter(|s| s["name"] == name && s["mode"].as_str().unwrap().contains(how));
    own.map(|s| s["probability"].as_f64().unwrap()).sum()
}

/// What lies in the way of both the blower and the screen.
fn shared(case: &Value) -> f64 {
    let parts = ["F1", "GP1", "GP2", "G1", "wire W0", "wire W1"].iter();
    parts.map(|name| chance(case, name, "")).sum::<f64>() + chance(case, "harness W2 W3 W5", "W2 open")
}

#[test]
fn a_clamp_reads_what_was_worked_out_by_hand() {
    let near = |more: &[&str], due: f64| {
        let found = amps(more);
        assert!((found - due).abs() < 0.01 * due.abs(), "{more:?}: worked out {due} A, computed {found} A");
    };
    near(&["X31:1"], 9.42);
    near(&["X31:2"], -9.42);
    near(&["X32:1"], 5.03);
    near(&["F1:load"], -14.45);
    near(&["X31:1", "--fault", "X31:2 added 1.73 ohm"], 4.10);
    near(&["X32:1", "--fault", "X31:2 added 1.73 ohm"], 5.05);
    near(&["X32:1", "--fault", "F1 added 1.13 ohm"], 2.19);
    assert_eq!(amps(&["W3"]), amps(&["X31:1"]), "a wire by its name, at its second end");
}

#[test]
fn a_current_in_words() {
    let mut told = String::new();
    let shown: [&[&str]; 4] = [
        &["X31:1"],
        &["X31:2"],
        &["X31:1", "--fault", "X31:2 added 1.73 ohm"],
        &["W5", "--fault", "F1 open"],
    ];
    for more in shown {
        told += &volts(&[more, &["--amps"]].concat()).0;
    }
    insta::assert_snapshot!(told);
}

#[test]
fn where_several_wires_end_all_are_named() {
    let all = "a clamp goes around one wire, and at SP1 there are W2, W3 and W5";
    let (told, good) = volts(&["SP1", "--amps"]);
    assert!(!good && told.contains(all), "{told}");
    let told = case("splice", "reading SP1 9.4 A").unwrap_err();
    assert!(told.contains(all), "{told}");
    let told = case("lamp", "reading X31:1 9.4 A with lamp").unwrap_err();
    assert!(told.contains("no black lead, no load"), "{told}");
    let (told, good) = volts(&["X31:1", "--amps", "--black", "GP1"]);
    assert!(!good && told.contains("cannot be used with"), "{told}");
}

/// A blower that takes 4.1 A where 9.4 A are sound: resistance, no short. The screen at its sound current clears
/// what both share, and is not what the job is about, although it was read first.
#[test]
fn too_little_current_is_resistance_and_the_sound_line_clears_what_is_shared() {
    let (page, alone) = case("alone", "reading X31:1 4.1 A").unwrap();
    assert!(page.contains("The complaint: X31:1 4.1 A, low."), "{page}");
    let (page, both) = case("both", "reading X32:1 5.0 A\nreading X31:1 4.1 A").unwrap();
    assert!(page.contains("The complaint: X31:1 4.1 A, low."), "{page}");
    for case in [&alone, &both] {
        assert!(chance(case, "M3", "shorted") < 0.05, "{}", chance(case, "M3", "shorted"));
        assert_eq!(case["contradiction"], Value::Null);
    }
    assert!(shared(&alone) > 0.5, "{}", shared(&alone));
    assert!(shared(&both) < 0.1, "{}", shared(&both));
    let own = chance(&both, "M3", "open") + chance(&both, "X31", "") + chance(&both, "wire W4", "open");
    assert!(own > 0.7, "{own}");
    // Volts at the blower's feed then clear what lies before it (by hand 12.6 V - 9.2 A x 6 mohm - 4.1 A x 14 mohm).
    let (_, fed) = case("fed", "reading X32:1 5.0 A\nreading X31:1 4.1 A\nreading X31:1 12.49 V").unwrap();
    let before = |case: &Value| chance(case, "harness W2 W3 W5", "W3 open");
    assert!(before(&fed) < 0.1 * before(&both), "{} of {}", before(&fed), before(&both));
}

#[test]
fn too_much_current_is_a_second_way() {
    let (page, case) = case("high", "reading X32:1 5.0 A\nreading X31:1 15.2 A").unwrap();
    assert!(page.contains("The complaint: X31:1 15.2 A, high."), "{page}");
    assert!(chance(&case, "M3", "shorted") > 0.9, "{}", chance(&case, "M3", "shorted"));
    assert!(chance(&case, "M3", "open") < 0.05);
}

/// The arrow of a clamp is soon turned round: the amount counts, on the way in and on the way out.
#[test]
fn the_return_wire_tells_the_same() {
    let (_, way_in) = case("in", "reading W3 4.1 A").unwrap();
    let (_, way_out) = case("out", "reading X31:2 4.1 A").unwrap();
    for name in ["M3", "F1", "GP1", "X31"] {
        let (one, other) = (chance(&way_in, name, ""), chance(&way_out, name, ""));
        assert!((one - other).abs() < 0.02, "{name}: {one} against {other}");
    }
}

#[test]
fn sound_currents_are_nothing_wrong() {
    let (page, case) =
        case("sound", "reading X31:1 9.1 A\nreading X31:2 9.1 A\nreading X32:1 4.7 A").unwrap();
    assert_eq!(case["suspects"].as_array().unwrap().len(), 0);
    assert_eq!(case["next"]["kind"], "first-reading");
    assert!(!page.contains("The complaint"), "{page}");
}

#[test]
fn a_plan_begins_with_a_current() {
    let ask = |reads: &str, more: &[&str]| {
        halfsplit(&[&["plan", CIRCUIT, "X31:1", "--reads", reads], more, &STATE[..]].concat())
    };
    let (told, good) = ask("4.1 A", &["--format", "json"]);
    assert!(good, "{told}");
    let plan: Value = serde_json::from_str(&told).unwrap();
    assert_eq!(plan["class"], "low");
    // What is at fault before the splice starves the screen too: asked first, at no way.
    assert!(plan["steps"][0]["do"].as_str().unwrap().contains("R5"), "{}", plan["steps"][0]);
    let names: Vec<&str> =
        plan["suspects"].as_array().unwrap().iter().map(|s| s["name"].as_str().unwrap()).collect();
    assert!(["F1", "M3", "GP2", "wire W4"].iter().all(|name| names.contains(name)), "{names:?}");
    // A short takes more, never less.
    let shorted = |list: &str| plan[list].to_string().contains("shorted inside, X31:1 to X31:2");
    assert!(shorted("dropped") && !shorted("suspects"));
    let (told, good) = ask("9.1 A", &[]);
    assert!(!good && told.contains("9.10 A at X31:1 is sound"), "{told}");
    let (told, good) = ask("4.1 A", &["--black", "GP1"]);
    assert!(!good && told.contains("without --black"), "{told}");
}
