//! `halfsplit fmt` on real files.

use std::{
    fs,
    io::Write as _,
    path::PathBuf,
    process::{Command, Output, Stdio},
};

const LOOSE: &str = "halfsplit 1\nbar   BUS1 # one\n  wire W1 SP1 to SP2 RD   0.5mm2\n";
const TIDY: &str = "halfsplit 1\nbar BUS1  # one\nwire W1  SP1  to SP2  RD  0.5 mm2\n";

/// A folder of its own for a test, empty.
fn folder(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

fn fmt(folder: &PathBuf, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    command.current_dir(folder).arg("fmt").args(arguments).output().unwrap()
}

fn code(out: &Output) -> i32 {
    out.status.code().unwrap()
}

#[test]
fn files_are_laid_out_once() {
    let folder = folder("fmt-once");
    fs::write(folder.join("a.circuit"), LOOSE).unwrap();
    fs::write(folder.join("b.circuit"), TIDY).unwrap();
    fs::write(folder.join("c.txt"), LOOSE).unwrap();
    let before = fs::metadata(folder.join("b.circuit")).unwrap().modified().unwrap();

    let check = fmt(&folder, &["--check"]);
    assert_eq!((code(&check), String::from_utf8_lossy(&check.stdout).trim()), (1, "./a.circuit"));
    assert_eq!(fs::read_to_string(folder.join("a.circuit")).unwrap(), LOOSE);

    let write = fmt(&folder, &[]);
    assert_eq!(code(&write), 0);
    assert_eq!(String::from_utf8_lossy(&write.stderr), "2 files, 1 laid out anew\n");
    assert_eq!(fs::read_to_string(folder.join("a.circuit")).unwrap(), TIDY);
    assert_eq!(fs::read_to_string(folder.join("c.txt")).unwrap(), LOOSE);
    assert_eq!(fs::metadata(folder.join("b.circuit")).unwrap().modified().unwrap(), before);
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 3, "nothing is left lying about");

    assert_eq!(code(&fmt(&folder, &["--check"])), 0);
}

#[test]
fn a_difference_is_shown() {
    let folder = folder("fmt-diff");
    fs::write(folder.join("a.circuit"), LOOSE).unwrap();
    let diff = fmt(&folder, &["--diff", "a.circuit"]);
    assert_eq!(code(&diff), 1);
    insta::assert_snapshot!(String::from_utf8_lossy(&diff.stdout), @r#"
    --- a.circuit
    +++ a.circuit
    @@ -1,3 +1,3 @@
     halfsplit 1
    -bar   BUS1 # one
    -  wire W1 SP1 to SP2 RD   0.5mm2
    +bar BUS1  # one
    +wire W1  SP1  to SP2  RD  0.5 mm2
    "#);
    assert_eq!(fs::read_to_string(folder.join("a.circuit")).unwrap(), LOOSE);
}

#[test]
fn standard_input_goes_to_standard_output() {
    let run = |arguments: &[&str], text: &[u8]| {
        let mut child = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
            .arg("fmt")
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        child.stdin.take().unwrap().write_all(text).unwrap();
        let out = child.wait_with_output().unwrap();
        (code(&out), String::from_utf8(out.stdout).unwrap())
    };
    assert_eq!(run(&["-"], LOOSE.as_bytes()), (0, TIDY.to_owned()));
    assert_eq!(run(&["-"], b""), (0, String::new()));
    assert_eq!(run(&["-", "--check"], LOOSE.as_bytes()), (1, String::new()));
    assert_eq!(run(&["-", "--check"], TIDY.as_bytes()), (0, String::new()));
    assert_eq!(run(&["-"], b"note \"20 \xb0C\""), (2, String::new()));
}

#[cfg(unix)]
#[test]
fn permissions_links_and_line_ends_are_kept() {
    use std::os::unix::fs::{PermissionsExt as _, symlink};
    let folder = folder("fmt-kept");
    let (file, link) = (folder.join("a.circuit"), folder.join("link.circuit"));
    fs::write(&file, LOOSE.replace('\n', "\r\n")).unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
    symlink("a.circuit", &link).unwrap();
    assert_eq!(code(&fmt(&folder, &["link.circuit"])), 0);
    assert_eq!(fs::read_to_string(&file).unwrap(), TIDY.replace('\n', "\r\n"));
    assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o640);
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
}

#[test]
fn what_cannot_be_done_is_said() {
    let folder = folder("fmt-not");
    fs::write(folder.join("a.circuit"), b"halfsplit 1\nbar \xff\n").unwrap();
    let out = fmt(&folder, &[]);
    assert_eq!(code(&out), 2);
    assert!(String::from_utf8_lossy(&out.stderr).contains("a.circuit:2: not UTF-8"));
    assert_eq!(code(&fmt(&folder, &["nowhere"])), 2);
    assert_eq!(code(&fmt(&folder, &["-", "a.circuit"])), 2);
    fs::write(folder.join("a.circuit"), LOOSE).unwrap();
    let mut permissions = fs::metadata(folder.join("a.circuit")).unwrap().permissions();
    permissions.set_readonly(true);
    fs::set_permissions(folder.join("a.circuit"), permissions).unwrap();
    let out = fmt(&folder, &[]);
    assert_eq!(code(&out), 2);
    assert!(String::from_utf8_lossy(&out.stderr).contains("it is read-only"));
    assert_eq!(fs::read_to_string(folder.join("a.circuit")).unwrap(), LOOSE);
}

/// Saved while it is read, laid out and written: whatever the moment, what the colleague wrote is there at the end.
#[test]
fn what_a_colleague_saves_meanwhile_is_not_lost() {
    let folder = folder("fmt-colleague");
    let path = folder.join("a.circuit");
    let loose = format!("halfsplit 1\n{}", "  wire W1 SP1 to SP2 RD   0.5mm2\n".repeat(3_000));
    for moment in 0..12 {
        fs::write(&path, &loose).unwrap();
        let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
        let mut running =
            command.current_dir(&folder).args(["fmt", "a.circuit"]).stderr(Stdio::null()).spawn().unwrap();
        std::thread::sleep(std::time::Duration::from_millis(moment * 25));
        let new = folder.join("saved");
        fs::write(&new, format!("{loose}# saved by a colleague at {moment}\n")).unwrap();
        fs::rename(&new, &path).unwrap();
        running.wait().unwrap();
        let now = fs::read_to_string(&path).unwrap();
        assert!(now.ends_with(&format!("# saved by a colleague at {moment}\n")), "lost at {moment}");
    }
}
