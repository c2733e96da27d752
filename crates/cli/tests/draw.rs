//! Drawing a net: to standard output, into a file, in a state and with a fault.

use std::{path::Path, process::Command};

fn draw(arguments: &[&str]) -> (bool, String, String) {
    let out = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .current_dir(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")))
        .arg("draw")
        .args(arguments)
        .output()
        .unwrap();
    (out.status.success(), String::from_utf8(out.stdout).unwrap(), String::from_utf8(out.stderr).unwrap())
}

const FAULTY: [&str; 8] = [
    "examples/tern/reference-a.circuit",
    "X35:1",
    "--supply",
    "12.4 V",
    "--unplug",
    "X34",
    "--fault",
    "B5 short 1.8 ohm",
];

#[test]
fn a_state_and_a_fault_are_drawn_and_a_file_holds_the_same() {
    let (done, svg, _) = draw(&FAULTY);
    assert!(done && svg.starts_with("<svg ") && svg.ends_with("</svg>\n"));
    for wanted in ["X34 parted", "B5 short 1.8 ohm", "12.40 V", "GY/RD", "sound: "] {
        assert!(svg.contains(wanted), "{wanted}");
    }
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join("net.svg");
    let (done, nothing, _) = draw(&[&FAULTY[..], &["--out", path.to_str().unwrap()]].concat());
    assert!(done && nothing.is_empty());
    assert_eq!(std::fs::read_to_string(path).unwrap(), svg);
}

#[test]
fn a_pin_that_is_not_there_is_no_drawing() {
    let (done, nothing, told) = draw(&["examples/tern/reference-a.circuit", "X35:9"]);
    assert!(!done && nothing.is_empty() && told.contains("no pin is called `X35:9`"), "{told}");
}
