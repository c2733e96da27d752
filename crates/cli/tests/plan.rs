//! The main job from the command line: one reading on the reference circuit, and the plan that it gives.

use std::{path::Path, process::Command};

use serde_json::Value;

const CIRCUIT: &str = "examples/tern/reference-a.circuit";
const READING: [&str; 9] =
    ["X35:1", "--reads", "0.235 V", "--key", "run", "--supply", "12.4 V", "--fact", "A10 communicates"];

fn halfsplit(arguments: &[&str]) -> std::process::Output {
    Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .current_dir(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")))
        .args(arguments)
        .env("COLUMNS", "100")
        .output()
        .unwrap()
}

fn plan(more: &[&str]) -> Value {
    let out = halfsplit(&[&["plan", CIRCUIT], &READING[..], more, &["--format", "json"]].concat());
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    serde_json::from_slice(&out.stdout).unwrap()
}

fn step(plan: &Value, id: u64) -> &Value {
    plan["steps"].as_array().unwrap().iter().find(|step| step["id"] == id).unwrap()
}

/// The targets on the way to a suspect: at every step the outcome that keeps it.
fn way(plan: &Value, suspect: &str) -> (Vec<String>, String) {
    let mut targets = Vec::new();
    let mut id = 1;
    loop {
        let step = step(plan, id);
        targets.push(step["target"].as_str().unwrap().to_owned());
        let outcomes = step["outcomes"].as_array().unwrap();
        let keeps =
            |outcome: &&Value| outcome["suspects"].as_array().unwrap().iter().any(|name| name == suspect);
        let outcome = outcomes.iter().find(keeps).unwrap();
        match outcome["next"].as_u64() {
            Some(next) => id = next,
            None => return (targets, outcome["conclusion"].as_str().unwrap().to_owned()),
        }
    }
}

fn minutes(plan: &Value) -> f64 {
    plan["expected_minutes"].as_f64().unwrap()
}

#[test]
fn the_printed_order_and_minutes() {
    let plan = plan(&["--suspects", "file-only"]);
    assert_eq!(plan["schema"], 1);
    assert_eq!(plan["meter"]["red"], "X35:1");
    assert_eq!(way(&plan, "B4").0, ["X35", "X21", "X34"]);
    assert_eq!(way(&plan, "A10").0, ["X35", "X21", "X34", "A10.X2"]);
    assert_eq!(way(&plan, "B2").0, ["X35", "X21", "X31", "X33", "X32"]);
    assert!(way(&plan, "B4").1.starts_with("B4: "));
    assert_eq!(format!("{:.1}", minutes(&plan)), "9.7");
    assert_eq!(plan["optimality"], "optimal");
}

#[test]
fn without_the_group_split() {
    let plan = plan(&["--suspects", "file-only", "--no-splits"]);
    assert_eq!(format!("{:.1}", minutes(&plan)), "12.4");
}

#[test]
fn the_default_keeps_unlisted_equipment_and_says_its_own_number() {
    let plan = plan(&[]);
    let names: Vec<&str> =
        plan["suspects"].as_array().unwrap().iter().map(|s| s["name"].as_str().unwrap()).collect();
    for kept in ["unlisted equipment", "wrong wire or wrong variant", "two faults"] {
        assert!(names.iter().any(|name| name.starts_with(kept)), "{kept} is missing from {names:?}");
    }
    // More suspects than the list on paper, and sensor-ground millivolts, a clue which that does not use.
    let steps = plan["steps"].as_array().unwrap();
    assert!(steps.iter().any(|step| step["do"].as_str().unwrap().contains("Read millivolts at X35:2")));
    // S01's traps: with every sensor's connector known, W7 is not beside B4, and the module comes last.
    let (targets, conclusion) = way(&plan, "B4");
    // X34 convicts: an open that would look healed by then shows itself at X21, where the reading rises a little.
    assert_eq!(targets[..3], ["X35", "X21", "X34"]);
    assert!(conclusion.starts_with("B4: ") && !conclusion.contains("W7") && !conclusion.contains("A10"));
    for step in plan["steps"].as_array().unwrap() {
        let last = step["outcomes"].as_array().unwrap().last().unwrap();
        assert_eq!(last["class"], "fits none of these", "every step keeps that branch");
    }
}

#[test]
fn a_place_beyond_the_split_is_refused() {
    let refused = plan(&[])["meter"]["refused"].clone();
    let first = &refused.as_array().unwrap()[0];
    assert_eq!(first["name"], "X31:1");
    assert!(first["reason"].as_str().unwrap().contains("beyond X21"));
    let out = halfsplit(&[&["plan", CIRCUIT], &READING[..], &["--meter", "X31:1"]].concat());
    assert_eq!(out.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&out.stderr).contains("beyond X21"));
}

#[test]
fn a_sound_reading_and_an_unknown_fact_are_told() {
    let sound = halfsplit(&["plan", CIRCUIT, "X35:1", "--reads", "4.99 V"]);
    assert_eq!(sound.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&sound.stderr).contains("nothing to isolate"));
    let fact = halfsplit(&["plan", CIRCUIT, "X35:1", "--reads", "0.235 V", "--fact", "the radio plays"]);
    assert_eq!(fact.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&fact.stderr).contains("A10 communicates"));
}

#[test]
fn the_page_as_a_technician_reads_it() {
    let out = halfsplit(&[&["plan", CIRCUIT], &READING[..], &["--suspects", "file-only"]].concat());
    let page = String::from_utf8(out.stdout).unwrap();
    insta::assert_snapshot!("shared_reference", page);
}

#[test]
fn everything_else_stands_behind_the_first_page() {
    let printed = |more: &[&str]| {
        let out = halfsplit(&[&["plan", CIRCUIT], &READING[..], &["--suspects", "file-only"], more].concat());
        String::from_utf8(out.stdout).unwrap()
    };
    let (first, whole) = (printed(&[]), printed(&["--full"]));
    assert!(whole.starts_with(&first), "{whole}");
    for behind in [
        "Suspects that explain the reading",
        "not X31:1",
        "The wire, dead: ohms",
        "Feeds and grounds of the module",
        "The module last",
        "Mate again",
        "If nothing fits",
    ] {
        assert!(whole[first.len()..].contains(behind), "{behind}");
    }
    assert!(first.contains("A module is convicted only after its gates"), "{first}");
    assert!(first.lines().all(|line| line.chars().count() <= 80), "{first}");
    let markdown = printed(&["--format", "markdown"]);
    assert!(markdown.starts_with("# X35:1 reads 0.235 V") && !markdown.contains("Mate again"), "{markdown}");
}

#[test]
fn a_circuit_that_nobody_traced_says_so() {
    let told = halfsplit(&[&["plan", CIRCUIT], &READING[..]].concat());
    let told = String::from_utf8(told.stdout).unwrap();
    let run_in: Vec<&str> = told.split_whitespace().collect();
    assert!(run_in.join(" ").contains("Nobody traced this circuit on a car"), "{told}");
    assert_eq!(plan(&[])["proven"], false);
    let folder = std::path::PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("traced");
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join("reference-a.circuit");
    let text =
        std::fs::read_to_string(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join(CIRCUIT))
            .unwrap();
    let (head, rest) = text.split_once("\nvehicle ").unwrap();
    let text = format!("{head}\ntraced by \"R. Ambler\" on \"2026-03-14\"\n\nvehicle {rest}");
    std::fs::write(&path, text).unwrap();
    let told = halfsplit(&[&["plan", path.to_str().unwrap()], &READING[..]].concat());
    let told = String::from_utf8(told.stdout).unwrap();
    assert!(told.starts_with("X35:1 reads 0.235 V") && !told.contains("Nobody traced"), "{told}");
}

#[test]
fn an_unknown_reach_that_decides_the_first_step_is_named() {
    let folder = std::path::PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("unknown");
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join("reference-a.circuit");
    let text =
        std::fs::read_to_string(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join(CIRCUIT))
            .unwrap();
    // Nobody wrote down how long it takes to get at the plug where the meter would rest.
    let (head, rest) = text.split_once("connector X35").unwrap();
    let rest = rest.replacen("reach", "# reach", 1);
    std::fs::write(&path, format!("{head}connector X35{rest}")).unwrap();
    let ask = [&["plan", path.to_str().unwrap()], &READING[..], &["--format", "json"]].concat();
    let out = halfsplit(&ask);
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let plan: Value = serde_json::from_slice(&out.stdout).unwrap();
    let unknowns = plan["unknowns"].as_array().unwrap();
    assert!(unknowns.iter().any(|unknown| unknown["fact"] == "reach of X35"), "{unknowns:?}");
    // With everything known, nothing is in doubt.
    let known = halfsplit(&[&["plan", CIRCUIT], &READING[..], &["--format", "json"]].concat());
    let known: Value = serde_json::from_slice(&known.stdout).unwrap();
    assert_eq!(known["unknowns"], serde_json::json!([]));
}

#[test]
fn a_time_that_is_up_gives_the_best_plan_so_far() {
    let hurried = plan(&["--within", "0 s"]);
    assert!(hurried["optimality"].as_str().unwrap() != "optimal", "{}", hurried["optimality"]);
    assert!(minutes(&hurried) >= minutes(&plan(&[])) - 1e-9);
    assert_eq!(way(&hurried, "B4").1, way(&plan(&[]), "B4").1);
    let wrong = halfsplit(&["plan", CIRCUIT, "X35:1", "--reads", "0.2 V", "--within", "soon"]);
    assert!(!wrong.status.success());
    assert!(String::from_utf8_lossy(&wrong.stderr).contains("not a time"), "{wrong:?}");
}

#[test]
fn a_meter_that_wanders_is_a_reading_too() {
    let out = halfsplit(&["plan", CIRCUIT, "X36:2", "--reads", "floats", "--key", "run"]);
    let told = String::from_utf8(out.stdout).unwrap();
    assert!(told.starts_with("X36:2 floats, the meter wanders, and should read 4.95 to 5.05 V"), "{told}");
    assert!(told.contains("wire W31: W31 open or resistive"), "{told}");
}
