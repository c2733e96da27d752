//! Cases from the command line: the worked scenarios S01 and S07, common practice on an invented car, and teaching.

use std::{
    io::Write as _,
    path::Path,
    process::{Command, Stdio},
};

use serde_json::Value;

fn command(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    command.current_dir(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."))).env("COLUMNS", "100");
    command.args(arguments);
    command
}

fn said(arguments: &[&str]) -> String {
    let out = command(arguments).output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

fn case(name: &str) -> Value {
    let folder = if name == "low-battery" { "mistakes" } else { "cases" };
    let file = format!("examples/{folder}/{name}.case");
    serde_json::from_str(&said(&["case", &file, "--format", "json", "--no-cases"])).unwrap()
}

/// Chance of a repair unit, all its modes together.
fn chance(case: &Value, name: &str) -> f64 {
    let suspects = case["suspects"].as_array().unwrap();
    suspects.iter().filter(|s| s["name"] == name).map(|s| s["probability"].as_f64().unwrap()).sum()
}

fn lines(value: &Value) -> Vec<&str> {
    value.as_array().unwrap().iter().map(|line| line.as_str().unwrap()).collect()
}

fn gate<'c>(case: &'c Value, name: &str) -> &'c Value {
    case["gates"].as_array().unwrap().iter().find(|gate| gate["gate"] == name).unwrap()
}

/// The states of the module's items whose words hold a piece.
fn items<'c>(case: &'c Value, piece: &str) -> Vec<&'c str> {
    let all = gate(case, "module last")["items"].as_array().unwrap().iter();
    let found: Vec<&str> = all
        .filter(|item| item["what"].as_str().unwrap().contains(piece))
        .map(|item| item["state"].as_str().unwrap())
        .collect();
    assert!(!found.is_empty(), "no item says {piece}");
    found
}

#[test]
fn s01_convicts_the_sensor_and_never_the_module() {
    let case = case("2026-118");
    assert_eq!(case["schema"], 1);
    assert!(chance(&case, "B4") > 0.95, "{}", chance(&case, "B4"));
    assert!(chance(&case, "A10") < 1e-3);
    assert_eq!(case["contradiction"], Value::Null);
    assert_eq!(case["next"]["kind"], "end");
    assert!(case["next"]["conclusion"].as_str().unwrap().starts_with("B4: shorted inside"));
    assert!(lines(&case["patterns"]).iter().any(|line| line.contains("off, on, off")));
    assert_eq!(gate(&case, "module last")["passed"], false);
    assert_eq!(gate(&case, "dead circuit")["passed"], true);
    // All chances add up, and every suspect has a factor for every line.
    let suspects = case["suspects"].as_array().unwrap();
    let whole: f64 = suspects.iter().map(|s| s["probability"].as_f64().unwrap()).sum();
    assert!((whole - 1.0).abs() < 1e-9);
    assert!(suspects.iter().all(
        |s| s["evidence"].as_array().unwrap().len() == suspects[0]["evidence"].as_array().unwrap().len()
    ));
    assert!(suspects.iter().all(|s| s["probability"].as_f64().unwrap() >= 0.0));
}

#[test]
fn a_confirmed_case_is_written_up() {
    insta::assert_snapshot!(said(&[
        "case",
        "examples/cases/2026-118.case",
        "--format",
        "markdown",
        "--no-cases"
    ]));
}

/// 47 kohm on the dead wire with everything out is no contradiction but the mark of what nobody drew.
#[test]
fn s07_names_what_nobody_drew() {
    let case = case("2026-121");
    assert_eq!(case["contradiction"], Value::Null);
    assert!(chance(&case, "A10") < 0.01);
    let first = &case["suspects"][0];
    assert!(first["name"].as_str().unwrap().starts_with("unlisted equipment"), "{first}");
    assert_eq!(case["next"]["kind"], "end");
    assert!(case["next"]["conclusion"].as_str().unwrap().starts_with("unlisted equipment"));
}

#[test]
fn s07_with_the_alarm_drawn_convicts_the_alarm() {
    let case = case("2026-121-alarm");
    assert_eq!(case["contradiction"], Value::Null);
    assert!(chance(&case, "A90") > 0.9, "{}", chance(&case, "A90"));
    assert!(gate(&case, "module last")["probability"].as_f64().unwrap() < 0.01);
    let end = case["next"]["conclusion"].as_str().unwrap();
    assert!(end.starts_with("A90: output A90.TAP stuck on"), "{end}");
    assert!(chance(&case, "A10") < 0.01);
    assert!(
        lines(&case["patterns"]).iter().any(|line| line.contains("X90") && line.contains("off, on, off"))
    );
}

const OPENING: &str = "halfsplit 1\ncase \"one\" on \"tern/reference-a.circuit\" {\n  rested 12.60 V\n  supply 12.40 V\n  \
                       reading X35:1 0.235 V\n";

#[test]
fn what_stays_good_after_mating_is_a_contact() {
    let case = written(
        "stays",
        &format!("{OPENING}  out X34\n  reading X35:1 4.99 V\n  mated X34\n  reading X35:1 4.99 V\n}}\n"),
    );
    assert!(
        lines(&case["patterns"]).iter().any(|line| line.contains("stays good although X34 is mated again"))
    );
    assert!(lines(&case["contradiction"]["means"])[0].contains("comes and goes: a contact"));
}

#[test]
fn a_rise_in_part_is_one_of_several() {
    let case = written("partial", &format!("{OPENING}  out X34\n  reading X35:1 0.60 V\n}}\n"));
    let patterns = lines(&case["patterns"]);
    assert!(patterns[0].contains("rose in part when X34 went out") && patterns[0].contains("one of several"));
    let strangers: f64 = chance(&case, "two faults") + chance(&case, "wrong wire or wrong variant");
    assert!(strangers > 0.0, "what nothing excludes never gets zero");
}

/// Without its last reading the same case has no contradiction: it is the 47 kohm that nothing drawn explains.
#[test]
fn without_the_reading_there_is_no_contradiction() {
    let text = std::fs::read_to_string(root("examples/cases/2026-121.case")).unwrap();
    let text = text.lines().filter(|line| !line.contains("47 kohm")).collect::<Vec<_>>().join("\n");
    let case = written("no-contradiction", &text);
    assert_eq!(case["contradiction"], Value::Null);
}

/// Common practice, no source.
#[test]
fn several_sensors_on_one_reference() {
    let case = case("shared-reference");
    for sensor in ["B51", "B52", "B53"] {
        assert!(lines(&case["cleared"]).contains(&sensor), "{sensor} is not cleared");
    }
    assert!(lines(&case["cleared"]).iter().any(|line| line.contains("rubbed through to body")));
    assert_eq!(items(&case, "the wire, dead, to ground"), ["done"]);
    assert!(items(&case, "to its neighbour").iter().all(|state| *state == "missing"));
    assert_eq!(items(&case, "the wire, dead, to power"), ["missing"]);
    assert_eq!(gate(&case, "module last")["passed"], false);
    assert_eq!(case["next"]["kind"], "gates");
    let then = lines(&case["next"]["then"]);
    assert!(then[0].starts_with("feed A30.X1:1") && then[0].contains("under load"), "{then:?}");
    assert!(then[1].starts_with("ground A30.X1:2") && then[1].contains("under load"), "{then:?}");
    assert!(then[2].starts_with("added equipment: found on the car, separated"), "{then:?}");
    assert_eq!(case["contradiction"], Value::Null);
}

/// A wire that does not read OL to ground is not cleared by the same list.
#[test]
fn a_wire_that_touches_ground_is_wrong_and_comes_first() {
    let text = std::fs::read_to_string(root("examples/cases/shared-reference.case")).unwrap();
    let case = written("touching", &text.replace("OL", "4.3 ohm"));
    assert_eq!(items(&case, "the wire, dead, to ground"), ["wrong"]);
    assert!(!lines(&case["cleared"]).iter().any(|line| line.contains("rubbed through to body")));
    assert!(chance(&case, "harness W20–W23") > 0.5);
}

/// Common practice, no source.
#[test]
fn an_output_that_is_held_proves_no_module_alive() {
    let case = case("silent-module");
    let held = &case["held"][0];
    assert_eq!((&held["module"], &held["output"]), (&"A30".into(), &"A30.FAN".into()));
    assert_eq!(lines(&held["feeds"]), ["K5", "M5"]);
    let by = lines(&held["by"]);
    for wanted in
        ["K5 contact K5:30 to K5:87 welded", "W9 rubbed through to body", "unlisted equipment on W9"]
    {
        assert!(by.contains(&wanted), "{by:?}");
    }
    assert!(!by.iter().any(|line| line.contains("W20")), "{by:?}");
}

/// Common practice, no source.
#[test]
fn a_low_battery_comes_before_every_reading() {
    let low = case("low-battery");
    assert_eq!(low["next"]["kind"], "charge");
    assert_eq!(gate(&low, "battery")["passed"], false);
    assert!(low["suspects"].as_array().unwrap().is_empty());
    let charged = case("charged-battery");
    assert_eq!(gate(&charged, "battery")["passed"], true);
    assert_eq!(lines(&charged["void"]), ["X52:1 0.38 V"]);
    // Charged is not enough: it has to be tested.
    let text = std::fs::read_to_string(root("examples/cases/charged-battery.case")).unwrap();
    let untested = text.lines().filter(|line| !line.contains("checked")).collect::<Vec<_>>().join("\n");
    let untested = written("untested", &untested);
    assert_eq!(untested["next"]["kind"], "charge");
    assert!(untested["next"]["do"].as_str().unwrap().contains("test the battery under load"));
}

#[test]
fn the_next_step_starts_from_what_is_out() {
    let text = std::fs::read_to_string(root("examples/cases/2026-118.case")).unwrap();
    // Without them the millivolts on the sensor ground are what is left to read: the place is open already.
    let text = text.lines().filter(|line| !line.contains("X35:2")).collect::<Vec<_>>().join("\n");
    let (head, _) = text.split_once("  out      X34\n").unwrap();
    let case = written("half-way", &format!("{head}}}\n"));
    assert_eq!(case["next"]["kind"], "step");
    assert_eq!(case["next"]["target"], "X35:2");
    assert_eq!(lines(&case["remate"]), ["X21", "X35"]);
    assert!(case["next"]["minutes"].as_f64().unwrap() < 0.5);
}

#[test]
fn confirmed_cases_move_a_plans_weights() {
    let reading = [
        "plan",
        "examples/tern/reference-a.circuit",
        "X35:1",
        "--reads",
        "0.235 V",
        "--supply",
        "12.4 V",
        "--format",
        "json",
    ];
    let weight = |plan: &Value, name: &str| -> f64 {
        let suspects = plan["suspects"].as_array().unwrap().iter();
        suspects.filter(|s| s["name"] == name).map(|s| s["weight"].as_f64().unwrap()).sum()
    };
    let with: Value = serde_json::from_str(&said(&reading)).unwrap();
    let without: Value = serde_json::from_str(&said(&[&reading[..], &["--no-cases"]].concat())).unwrap();
    assert_eq!(with["learned"]["cases"], 1);
    assert_eq!(without["learned"], Value::Null);
    assert!(weight(&with, "B4") > weight(&without, "B4"));
    assert!(weight(&with, "B1") < weight(&without, "B1"));
    let whole = |plan: &Value| -> f64 {
        plan["suspects"].as_array().unwrap().iter().map(|s| s["weight"].as_f64().unwrap()).sum()
    };
    assert!((whole(&with) - whole(&without)).abs() < 1e-9);
    let b4 = with["suspects"].as_array().unwrap().iter().find(|s| s["name"] == "B4").unwrap();
    assert!(b4["from_cases"].as_f64().unwrap() > 0.0);
}

fn teach(arguments: &[&str], typed: &str) -> String {
    let mut child = command(&[&["case", "--teach", "examples/cases/2026-118.case"], arguments].concat())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(typed.as_bytes()).unwrap();
    let out = child.wait_with_output().unwrap();
    assert!(out.status.success());
    String::from_utf8(out.stdout).unwrap()
}

#[test]
fn a_lesson_gives_readings_refuses_dangers_and_counts_minutes() {
    let typed = "help\nread X35:1\nread X35:1 with lamp\nohms X35:1 to X35:2\npart X35\nread X35:1\npart X21\nread X35:1\n\
                 part X34\nread X35:1\nmate X34\nread X35:1\nfly\nverdict B4\n";
    insta::assert_snapshot!(teach(&["--fault", "B4 short 1.8 ohm"], typed));
}

#[test]
fn a_wrong_verdict_is_told_and_a_number_brings_the_same_fault() {
    let wrong = teach(&["--fault", "B4 short 1.8 ohm"], "verdict A10\n");
    assert!(wrong.contains("Not A10: it was B4"), "{wrong}");
    let first = teach(&["--number", "17"], "read X35:1\nquit\n");
    assert!(first.contains("Fault number 17.") && first.contains("No verdict"), "{first}");
    assert_eq!(first, teach(&["--number", "17"], "read X35:1\nquit\n"));
}

fn root(path: &str) -> std::path::PathBuf {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join(path)
}

/// A case that is written for one test, in a library of its own that holds the circuits of the examples.
fn written(name: &str, text: &str) -> Value {
    let folder = std::env::temp_dir().join(format!("halfsplit-case-{name}-{}", std::process::id()));
    let _ = std::fs::remove_dir_all(&folder);
    for circuit in ["tern/reference-a.circuit", "lark/sensors-and-fan.circuit"] {
        let to = folder.join(circuit);
        std::fs::create_dir_all(to.parent().unwrap()).unwrap();
        std::fs::copy(root("examples").join(circuit), to).unwrap();
    }
    std::fs::write(folder.join("halfsplit.toml"), "").unwrap();
    let file = folder.join("one.case");
    std::fs::write(&file, text).unwrap();
    let answer = said(&["case", file.to_str().unwrap(), "--format", "json"]);
    std::fs::remove_dir_all(folder).unwrap();
    serde_json::from_str(&answer).unwrap()
}
