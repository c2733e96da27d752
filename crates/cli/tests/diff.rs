//! `halfsplit diff` on real files, folders and revisions of git.

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
};

use serde_json::Value;

const LAMP: &str = "halfsplit 1\ncircuit \"lamp\"\nsupply G1 battery {\n  volts      12.6 V\n  inner      10 mohm\n  terminals  30 31\n}\n\
    ground-point GP1 \"left wing\"\nfuse F1  10 A\nlamp E1 \"lamp\" {\n  connector X1 2 cavities\n  \
    filament  21 W at 12 V  X1:1 -> X1:2\n}\nwire W1  G1:31    to GP1      BK     10 mm2  0.4 m\n\
    wire W2  G1:30    to F1:feed  RD     4 mm2   0.5 m\nwire W3  F1:load  to X1:1     RD/WH  1 mm2   2 m\n\
    wire W4  X1:2     to GP1      BN     1 mm2   1 m\n";

/// A folder of its own for a test.
fn folder(name: &str, files: &[(&str, &str)]) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    files.iter().for_each(|(path, text)| write(&folder, path, text));
    folder
}

fn write(folder: &Path, path: &str, text: &str) {
    let path = folder.join(path);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, text).unwrap();
}

/// Exit code, standard output and standard error.
fn diff(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    let out = command.current_dir(folder).arg("diff").args(arguments).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (out.status.code().unwrap(), text(out.stdout), text(out.stderr))
}

fn git(folder: &Path, arguments: &[&str]) {
    let mut command = Command::new("git");
    command.current_dir(folder).args(["-c", "user.name=A. Author", "-c", "user.email=a@example.org"]);
    let out = command.args(arguments).output().unwrap();
    assert!(out.status.success(), "git {arguments:?}: {}", String::from_utf8_lossy(&out.stderr));
}

#[test]
fn two_files_as_text_markdown_and_json() {
    let thinner = LAMP.replace("RD/WH  1 mm2 ", "RD/WH  0.22 mm2 ");
    let folder = folder("diff-files", &[("old.circuit", LAMP), ("new.circuit", &thinner)]);
    let (code, text, _) = diff(&folder, &["old.circuit", "new.circuit"]);
    assert_eq!(code, 0);
    insta::assert_snapshot!("text", text);
    let (_, markdown, _) = diff(&folder, &["old.circuit", "new.circuit", "--format", "markdown"]);
    insta::assert_snapshot!("markdown", markdown);
    let (code, json, _) = diff(&folder, &["old.circuit", "new.circuit", "--format", "json", "--exit-code"]);
    assert_eq!(code, 1);
    let json: Value = serde_json::from_str(&json).unwrap();
    assert_eq!((&json["schema"], &json["changed"]), (&1.into(), &1.into()));
    let line = &json["files"][0]["changes"][0];
    assert_eq!(
        (&line["topic"], &line["what"], &line["new"]["line"]),
        (&"line".into(), &"wire W3".into(), &16.into())
    );
}

#[test]
fn another_layout_changes_nothing_on_the_car() {
    let other = LAMP.replace("  ", " ") + "# seen on the bench\n";
    let folder = folder("diff-layout", &[("old.circuit", LAMP), ("new.circuit", &other)]);
    let (code, text, _) = diff(&folder, &["old.circuit", "new.circuit", "--exit-code"]);
    assert_eq!((code, text.as_str()), (0, "old.circuit -> new.circuit: nothing changed on the car\n"));
}

#[test]
fn folders_tell_what_is_new_gone_moved_and_changed() {
    let fused = LAMP.replace("fuse F1  10 A", "fuse F1  15 A");
    let named = |title: &str| LAMP.replace("circuit \"lamp\"", &format!("circuit \"{title}\""));
    let folder = folder(
        "diff-folders",
        &[
            ("old/a.circuit", LAMP),
            ("old/b.circuit", &named("moved")),
            ("old/gone.circuit", &named("gone")),
            ("old/same.circuit", &named("same")),
            ("new/a.circuit", &fused),
            ("new/lights/b.circuit", &named("moved")),
            ("new/fresh.circuit", &named("fresh")),
            ("new/same.circuit", &named("same")),
        ],
    );
    insta::assert_snapshot!("folders", diff(&folder, &["old", "new"]).1);
}

#[test]
fn a_used_file_that_changed_is_told_with_what_comes_of_it() {
    let (head, rest) = LAMP.split_once("supply").unwrap();
    let (power, lamp) = rest.split_once("lamp E1").unwrap();
    let lamp = format!("{head}use \"lib/power.circuit\"\nlamp E1{lamp}");
    let power = |fuse: &str| format!("halfsplit 1\nlibrary \"power\"\nsupply{power}").replace("10 A", fuse);
    let (ten, five) = (power("10 A"), power("5 A"));
    let files = |text: &str, root: &str| -> Vec<(String, String)> {
        [("halfsplit.toml", ""), ("lamp.circuit", lamp.as_str()), ("lib/power.circuit", text)]
            .map(|(path, text)| (format!("{root}/{path}"), text.to_owned()))
            .to_vec()
    };
    let all = [files(&ten, "old"), files(&five, "new")].concat();
    let all: Vec<(&str, &str)> = all.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
    let folder = folder("diff-used", &all);
    insta::assert_snapshot!("used", diff(&folder, &["old", "new"]).1);
}

#[test]
fn a_revision_is_compared_with_what_lies_there_and_leaves_the_index_alone() {
    let folder = folder("diff-revision", &[("cars/lamp.circuit", LAMP), ("readme.txt", "lamps")]);
    git(&folder, &["init", "--quiet"]);
    git(&folder, &["add", "."]);
    git(&folder, &["commit", "--quiet", "--message", "a lamp"]);
    let same = diff(&folder, &["HEAD:cars", "cars", "--exit-code"]);
    assert_eq!((same.0, same.1.as_str()), (0, "lamp.circuit: nothing changed on the car\n"), "{}", same.2);
    write(&folder, "cars/lamp.circuit", &LAMP.replace("fuse F1  10 A", "fuse F1  15 A"));
    git(&folder, &["add", "."]);
    let (code, text, complaint) = diff(&folder, &["HEAD:", ".", "--exit-code"]);
    assert_eq!(code, 1, "{text}{complaint}");
    assert!(text.contains("A of 15 A"), "{text}");
    let one = diff(&folder.join("cars"), &["HEAD:./lamp.circuit", "lamp.circuit", "--exit-code"]);
    assert_eq!(one.0, 1, "{}{}", one.1, one.2);
    // What was staged is staged still.
    let staged =
        Command::new("git").current_dir(&folder).args(["diff", "--cached", "--name-only"]).output().unwrap();
    assert_eq!(String::from_utf8_lossy(&staged.stdout), "cars/lamp.circuit\n");
    git(&folder, &["commit", "--quiet", "--message", "a larger fuse"]);
    assert_eq!(diff(&folder, &["HEAD~1:cars/lamp.circuit", "HEAD:cars/lamp.circuit", "--exit-code"]).0, 1);

    for (what, words) in
        [("HAED:cars", "no revision"), ("HEAD:bikes", "no circuit"), ("--output=x:cars", "unexpected")]
    {
        let (code, _, complaint) = diff(&folder, &[what, "cars"]);
        assert!(code == 2 && complaint.contains(words), "{what}: {code} {complaint}");
    }
}

#[test]
fn what_cannot_be_compared_is_refused() {
    let folder = folder("diff-refused", &[("a.circuit", LAMP), ("b/b.circuit", LAMP)]);
    for arguments in [["a.circuit", "b"], ["a.circuit", "missing.circuit"], ["b", "nowhere"]] {
        let (code, said, complaint) = diff(&folder, &arguments);
        assert!(code == 2 && said.is_empty() && !complaint.is_empty(), "{arguments:?}");
    }
}
