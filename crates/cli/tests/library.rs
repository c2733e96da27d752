//! `halfsplit check` and its like on circuits of several files, on a real disk.

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
};

const HORN: &str = "halfsplit 1\ncircuit \"horn\"\nuse \"lib/power.circuit\"\nload H1 \"horn\" {\n  connector X1 2 cavities\n  \
    resistance 4 ohm X1:1 -> X1:2\n}\nwire W3 F1:load to X1:1 RD/WH 1 mm2 2 m\nwire W4 X1:2 to GP1 BN 1 mm2 1 m\n";
const POWER: &str = "halfsplit 1\nlibrary \"battery and fuses\"\nsupply G1 battery {\n  volts 12 V\n  terminals 30 31\n}\n\
    ground-point GP1 \"left wing\"\nfuse F1 10 A\nwire W1 G1:31 to GP1 BK 10 mm2 0.4 m\nwire W2 G1:30 to F1:feed RD 4 mm2 0.5 m\n";

/// A library of two circuits that use one file.
fn library(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    for part in ["lib", "tern"] {
        fs::create_dir_all(folder.join(part)).unwrap();
    }
    fs::write(folder.join("halfsplit.toml"), "").unwrap();
    fs::write(folder.join("lib/power.circuit"), POWER).unwrap();
    fs::write(folder.join("tern/horn.circuit"), HORN).unwrap();
    fs::write(folder.join("tern/other.circuit"), HORN.replace("\"horn\"", "\"other horn\"")).unwrap();
    folder
}

fn run(folder: &Path, arguments: &[&str]) -> (i32, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    let out = command.current_dir(folder).args(arguments).output().unwrap();
    (out.status.code().unwrap(), String::from_utf8_lossy(&[out.stdout, out.stderr].concat()).into_owned())
}

#[test]
fn a_folder_with_a_library_is_checked_as_a_whole() {
    let folder = library("library-folder");
    let (code, said) = run(&folder, &["check"]);
    assert_eq!((code, said.as_str()), (0, "3 files: clean; 2 not traced on a car\n"));
    // Two circuits and the file itself meet the same mistake.
    fs::write(folder.join("lib/power.circuit"), POWER.replace("10 A", "10")).unwrap();
    let (code, said) = run(&folder, &["check", "tern", "--format", "json"]);
    assert_eq!(code, 1);
    let found: serde_json::Value = serde_json::from_str(&said).unwrap();
    let findings = found["findings"].as_array().unwrap();
    assert_eq!(findings.len(), 1, "{said}");
    assert_eq!(findings[0]["file"], "lib/power.circuit");
}

#[test]
fn a_reading_goes_through_the_used_file() {
    let folder = library("library-volts");
    let (code, said) = run(&folder, &["volts", "tern/horn.circuit", "X1:1", "--format", "json"]);
    assert_eq!(code, 0, "{said}");
    let reading: serde_json::Value = serde_json::from_str(&said).unwrap();
    let volts = reading["reading"]["nominal"].as_f64().unwrap();
    assert!((11.0..12.0).contains(&volts), "{volts}");
    // From its own folder the same file is under the same root.
    let (code, said) = run(&folder.join("tern"), &["volts", "horn.circuit", "X1:1"]);
    assert_eq!(code, 0, "{said}");
}

#[cfg(unix)]
#[test]
fn nothing_outside_the_root_is_read() {
    let folder = library("library-outside");
    let outside = folder.join("tern/inner");
    fs::create_dir_all(&outside).unwrap();
    fs::write(outside.join("halfsplit.toml"), "").unwrap();
    std::os::unix::fs::symlink("../../lib/power.circuit", outside.join("link.circuit")).unwrap();
    for (path, rule) in [
        ("link.circuit", "leads out of the library"),
        ("../../lib/power.circuit", "leads out of the library's root"),
        ("/etc/hostname", "starts outside the library's root"),
        ("lib/power.circuit", "there is no file"),
    ] {
        fs::write(outside.join("a.circuit"), HORN.replace("lib/power.circuit", path)).unwrap();
        let (code, said) = run(&folder, &["check", "tern/inner/a.circuit"]);
        assert_eq!(code, 1);
        assert!(said.contains(rule), "{path}: {said}");
    }
}
