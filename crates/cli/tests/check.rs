//! `halfsplit check` on real folders: what it refuses to call clean, what it keeps, what it splits and joins.

use std::{
    fs,
    path::{Path, PathBuf},
    process::{Command, Output},
};

use serde_json::Value;

const LAMP: &str = "halfsplit 1\ncircuit \"lamp\"\nuse \"lib/power.circuit\"\nlamp E1 \"lamp\" {\n  connector X1 2 cavities\n  \
    filament 21 W at 12 V X1:1 -> X1:2\n}\nwire W3 F1:load to X1:1 RD/WH 1 mm2 2 m\nwire W4 X1:2 to GP1 BN 1 mm2 1 m\n";
const POWER: &str = "halfsplit 1\nlibrary \"battery and fuses\"\nsupply G1 battery {\n  volts 12 V\n  terminals 30 31\n}\n\
    ground-point GP1 \"left wing\"\nfuse F1 10 A\nwire W1 G1:31 to GP1 BK 10 mm2 0.4 m\nwire W2 G1:30 to F1:feed RD 4 mm2 0.5 m\n";
/// A circuit with so many errors, and a warning.
fn faulty(errors: usize) -> String {
    let wires = (100..100 + errors).map(|i| format!("wire W{i} G1:30 to XX{i}:1 RD 1 mm2 2 m\n"));
    format!("{POWER}wire W9000 G1:30 to F1:feed RD 4 mm2\n", POWER = POWER.replace("library", "circuit"))
        + &wires.collect::<String>()
}

/// A folder of its own for a test.
fn folder(name: &str, files: &[(&str, &str)]) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    for (path, text) in files {
        let path = folder.join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    folder
}

fn library(name: &str) -> PathBuf {
    let files = [
        ("halfsplit.toml", ""),
        ("lib/power.circuit", POWER),
        ("a.circuit", LAMP),
        ("b.circuit", LAMP),
        ("c.circuit", LAMP),
    ];
    folder(name, &files)
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    command.current_dir(folder).arg("check").args(arguments).output().unwrap()
}

/// Exit code, standard output and standard error.
fn check(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let out = run(folder, arguments);
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (out.status.code().unwrap(), text(out.stdout), text(out.stderr))
}

fn json(folder: &Path, arguments: &[&str]) -> (i32, Value) {
    let (code, said, _) = check(folder, &[arguments, &["--format", "json"]].concat());
    (code, serde_json::from_str(&said).unwrap_or_else(|error| panic!("{error}: {said}")))
}

#[test]
fn nothing_to_check_is_not_clean() {
    let empty = folder("check-empty", &[("readme.txt", "")]);
    let (code, said, why) = check(&empty, &[]);
    assert_eq!((code, said.as_str()), (2, ""));
    assert_eq!(
        why,
        "halfsplit: .: no circuit is looked at: the folder holds no file that ends in .circuit or .case\n"
    );

    let left_out =
        [(".ignore", "old/\n"), ("old/a.circuit", LAMP), (".hidden/b.circuit", LAMP), (".c.circuit", LAMP)];
    let left_out = folder("check-left-out", &left_out);
    let (code, _, why) = check(&left_out, &["."]);
    let reasons = "2 are hidden, or in hidden folders, 1 is left out by an ignore file";
    let end = "; a file that is named is looked at all the same\n";
    assert_eq!((code, why), (2, format!("halfsplit: .: no circuit is looked at: {reasons}{end}")));
    assert_ne!(check(&left_out, &["old/a.circuit"]).0, 2);

    // One folder of two is as bad as one of one.
    fs::write(empty.join("a.circuit"), "halfsplit 1\n").unwrap();
    let (code, said, _) = check(&empty, &[".", "../check-left-out"]);
    assert_eq!((code, said.as_str()), (2, ""));
}

#[cfg(unix)]
#[test]
fn links_are_not_walked_and_that_is_said() {
    let links = folder("check-links", &[]);
    std::os::unix::fs::symlink("/nowhere/a.circuit", links.join("a.circuit")).unwrap();
    let (code, _, why) = check(&links, &[]);
    assert_eq!(code, 2);
    assert!(why.contains("1 is a link, which a walk does not follow"), "{why}");
    let (code, _, why) = check(&links, &["a.circuit"]);
    assert_eq!((code, why.as_str()), (2, "halfsplit: a.circuit: the link leads nowhere\n"));
}

#[test]
fn a_file_that_cannot_be_read_is_counted() {
    let library = library("check-unread");
    fs::write(library.join("d.circuit"), b"halfsplit 1\n\xff\n").unwrap();
    let (code, said, why) = check(&library, &[]);
    assert_eq!(code, 2);
    assert_eq!(said, "5 files: nothing found; 1 could not be read; 3 not traced on a car\n");
    assert!(why.contains("d.circuit:2: not UTF-8 text"), "{why}");
    let (code, answer) = json(&library, &[]);
    assert_eq!((code, &answer["summary"]["unread"]), (2, &Value::from(1)));
}

#[test]
fn a_file_that_is_too_large_is_named_with_both_sizes() {
    let library = library("check-large");
    fs::write(library.join("halfsplit.toml"), "[check]\nlargest-file = \"2 kB\"\n").unwrap();
    fs::write(library.join("a.circuit"), format!("{LAMP}# {}\n", "x".repeat(3000))).unwrap();
    let (code, _, why) = check(&library, &["a.circuit"]);
    assert_eq!(code, 2);
    assert!(why.contains("a.circuit: 4 kB is more than one circuit file may have (2 kB)"), "{why}");
}

#[test]
fn warnings_fail_where_they_are_denied() {
    let warns = LAMP.replace("BN 1 mm2 1 m", "BN 1 mm2");
    let library = library("check-deny");
    fs::write(library.join("a.circuit"), warns).unwrap();
    assert_eq!(check(&library, &[]).0, 0);
    assert_eq!(check(&library, &["--deny", "warnings"]).0, 1);
    fs::write(library.join("halfsplit.toml"), "[check]\ndeny = \"warnings\"\n").unwrap();
    assert_eq!(check(&library, &[]).0, 1);
    assert_eq!(check(&library, &["--deny", "errors"]).0, 0);
}

#[test]
fn a_configuration_with_an_unknown_key_stops_the_check() {
    let library = library("check-config");
    fs::write(library.join("halfsplit.toml"), "[check]\nlargest-fiel = \"2 MB\"\n").unwrap();
    let (code, said, why) = check(&library, &["a.circuit"]);
    assert_eq!(code, 2);
    assert_eq!(said, "1 file: nothing found; 1 could not be read\n");
    assert!(
        why.contains("halfsplit.toml:2:1: nothing reads a key `largest-fiel`; was `largest-file` meant?"),
        "{why}"
    );
}

#[test]
fn many_findings_of_one_rule_are_counted() {
    let many = folder("check-many", &[("a.circuit", &faulty(300))]);
    let (code, said, _) = check(&many, &[]);
    assert_eq!(code, 1);
    assert_eq!(said.matches("[unknown-name]").count(), 50);
    assert!(said.contains("a.circuit: 250 more of unknown-name; `--most 0` shows all"), "{said}");
    assert!(said.ends_with("1 file: 300 errors, 1 warning; 1 not traced on a car\n"), "{said}");
    let (_, answer) = json(&many, &["--most", "3"]);
    assert_eq!(answer["findings"].as_array().unwrap().len(), 4);
    assert_eq!(
        (&answer["more"][0]["rule"], &answer["more"][0]["count"]),
        (&"unknown-name".into(), &297.into())
    );
    assert_eq!(answer["summary"]["errors"], 300);
    assert_eq!(check(&many, &["--most", "0"]).1.matches("[unknown-name]").count(), 300);
}

#[test]
fn the_output_is_the_same_however_many_threads_there_are() {
    let files: Vec<(String, String)> = (0..40).map(|i| (format!("c{i:02}.circuit"), faulty(i % 5))).collect();
    let files: Vec<(&str, &str)> = files.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
    let many = folder("check-order", &files);
    for format in ["human", "json"] {
        let one = check(&many, &["--jobs", "1", "--format", format]);
        assert_eq!(check(&many, &["--jobs", "7", "--format", format]), one);
    }
}

#[test]
fn parts_joined_are_the_whole() {
    let library = library("check-shard");
    // Wrong in a file that all use, so that it is found in every part.
    fs::write(library.join("lib/power.circuit"), POWER.replace("10 A", "10")).unwrap();
    fs::write(library.join("b.circuit"), LAMP.replace("E1", "E1 {")).unwrap();
    let (code, whole) = json(&library, &[]);
    let mut names = Vec::new();
    let mut files = 0;
    for part in 1..=3 {
        let (_, answer) = json(&library, &["--shard", &format!("{part}/3")]);
        files += answer["summary"]["files"].as_u64().unwrap();
        let name = format!("part{part}.json");
        fs::write(library.join(&name), answer.to_string()).unwrap();
        names.push(name);
    }
    assert_eq!(files, 4);
    let mut merge = vec!["--merge"];
    merge.extend(names.iter().map(String::as_str));
    let (joined_code, joined) = json(&library, &merge);
    assert_eq!(joined_code, code);
    assert_eq!(joined["summary"], whole["summary"]);
    let sorted = |answer: &Value| {
        let mut all: Vec<String> =
            answer["findings"].as_array().unwrap().iter().map(Value::to_string).collect();
        all.sort();
        all
    };
    assert_eq!(sorted(&joined), sorted(&whole));

    let (code, _, why) = check(&library, &["--merge", "part1.json", "part3.json"]);
    assert_eq!((code, why.as_str()), (2, "halfsplit: no report of part 2/3\n"));
    let (code, _, why) = check(&library, &["--merge", "part1.json", "part2.json", "part2.json"]);
    assert_eq!((code, why.as_str()), (2, "halfsplit: part2.json: part 2/3 is here already\n"));
    let (code, _, why) = check(&library, &["--merge", "halfsplit.toml"]);
    assert_eq!(code, 2, "{why}");
}

#[test]
fn a_kept_answer_is_never_a_stale_one() {
    let library = library("check-cache");
    let kept = |arguments: &[&str]| check(&library, &[&["--cache", ".kept"], arguments].concat());
    let clean = kept(&[]);
    assert_eq!((clean.0, kept(&[])), (0, clean.clone()));
    let answers = |folder: &Path| {
        let folders = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
        folders.flat_map(|folder| fs::read_dir(folder).unwrap()).count()
    };
    assert_eq!(answers(&library.join(".kept")), 4);

    // The file that all use, the configuration, what is asked, a file that comes and goes: each is seen.
    let power = library.join("lib/power.circuit");
    for (text, code) in [(POWER.replace("10 A", "10"), 1), (POWER.to_owned(), 0)] {
        fs::write(&power, text).unwrap();
        let now = kept(&[]);
        assert_eq!((now.0, now), (code, check(&library, &[])));
    }
    fs::remove_file(&power).unwrap();
    assert_eq!(kept(&["a.circuit"]), check(&library, &["a.circuit"]));
    assert_eq!(kept(&["a.circuit"]).0, 1);
    fs::write(&power, POWER).unwrap();
    assert_eq!(kept(&[]), clean);
    fs::write(library.join("a.circuit"), LAMP.replace("BN 1 mm2 1 m", "BN 1 mm2")).unwrap();
    assert_eq!(kept(&[]).0, 0);
    assert_eq!(kept(&["--deny", "warnings"]).0, 1);
    fs::write(library.join("halfsplit.toml"), "[check]\ndeny = \"warnings\"\n").unwrap();
    assert_eq!(kept(&[]).0, 1);
    assert_eq!(kept(&["--format", "json"]), check(&library, &["--format", "json"]));
}

#[test]
fn an_answer_that_was_cut_short_is_looked_for_again() {
    let library = library("check-cut");
    let clean = check(&library, &["--cache", ".kept"]);
    for folder in fs::read_dir(library.join(".kept")).unwrap() {
        for answer in fs::read_dir(folder.unwrap().path()).unwrap() {
            let path = answer.unwrap().path();
            let text = fs::read(&path).unwrap();
            fs::write(&path, &text[..text.len() / 2]).unwrap();
        }
    }
    assert_eq!(check(&library, &["--cache", ".kept"]), clean);
}

#[test]
fn quick_leaves_plans_out() {
    let root = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."));
    let (code, answer) = json(root, &["--quick", "examples/tern/reference-a.circuit"]);
    let outcomes = || answer["expectations"].as_array().unwrap().iter();
    let plan = |one: &Value| one["expected"].as_str().unwrap().starts_with("plan ");
    assert_eq!(code, 0);
    assert!(
        outcomes().any(plan) && outcomes().filter(|one| plan(one)).all(|one| one["outcome"] == "skipped")
    );
    assert!(outcomes().filter(|one| !plan(one)).all(|one| one["outcome"] == "met"));
}

#[cfg(target_os = "linux")]
#[test]
fn under_a_limit_of_memory_it_says_so_and_does_not_die() {
    let large = format!("{LAMP}{}", "# a remark\n".repeat(400_000));
    let library =
        folder("check-memory", &[("lib/power.circuit", POWER), ("a.circuit", &large), ("b.circuit", LAMP)]);
    let program = env!("CARGO_BIN_EXE_halfsplit");
    let shell = format!("ulimit -v 262144; exec {program} check");
    let out = Command::new("sh").args(["-c", &shell]).current_dir(&library).output().unwrap();
    let why = String::from_utf8_lossy(&out.stderr);
    assert_eq!(out.status.code(), Some(2), "{why}");
    assert!(why.contains("a.circuit: to check it may take"), "{why}");
    assert!(
        String::from_utf8_lossy(&out.stdout).starts_with("3 files: nothing found; 1 could not be read"),
        "{out:?}"
    );
}

#[cfg(unix)]
#[test]
fn stopped_by_the_user_it_still_prints_a_whole_report() {
    use std::io::Read as _;
    let files: Vec<(String, String)> = (0..600).map(|i| (format!("c{i:03}.circuit"), faulty(30))).collect();
    let files: Vec<(&str, &str)> = files.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
    let many = folder("check-stop", &files);
    let mut child = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .current_dir(&many)
        .args(["check", "--format", "json"])
        .stdout(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    let mut out = child.stdout.take().unwrap();
    let mut said = vec![0; 4096];
    out.read_exact(&mut said).unwrap();
    let stopped = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(stopped.success());
    out.read_to_end(&mut said).unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(130));
    let answer: Value = serde_json::from_slice(&said).unwrap();
    assert_eq!(answer["stopped"], true);
    assert!(answer["summary"]["files"].as_u64().unwrap() < 600);
}
