//! Circuits of several files: each finding is in the file where the mistake is.

use std::path::{Path, PathBuf};

use halfsplit_base::{FileId, Files, Refused};
use halfsplit_check::{Checked, check};

/// A circuit and the files around it, all in one folder.
fn load(texts: &[(&str, &str)]) -> (Files, FileId) {
    let mut files = Files::default();
    let file = files.set(texts[0].0.into(), texts[0].1);
    let text =
        |path: &Path| texts.iter().find(|(name, _)| Path::new(name) == path).map(|(_, text)| (*text).into());
    halfsplit_model::library::load(&mut files, file, &mut |_, path| text(path).ok_or(Refused::Missing));
    (files, file)
}

fn checked(texts: &[(&str, &str)]) -> (Files, Checked) {
    let (files, file) = load(texts);
    let checked = check(&files, file);
    (files, checked)
}

/// `file:line: rule message`, with the other places.
fn found(texts: &[(&str, &str)]) -> Vec<String> {
    let (files, checked) = checked(texts);
    let at = |file, span: halfsplit_base::Span| {
        let file = files.get(file);
        format!("{}:{}", file.path.display(), file.position(span.start).line)
    };
    let said = |f: &halfsplit_base::Finding| {
        let related: Vec<String> =
            f.related.iter().map(|r| format!(" ({} {})", at(r.file, r.span), r.message)).collect();
        format!("{}: {} {}{}", at(f.file, f.span), f.rule, f.message, related.concat())
    };
    checked.findings.iter().map(said).collect()
}

const HORN: &str = "halfsplit 1\ncircuit \"horn\"\nuse \"power.circuit\"\nload H1 \"horn\" {\n  connector X1 2 cavities\n  \
    resistance 4 ohm X1:1 -> X1:2\n}\nwire W3 F1:load to X1:1 RD/WH 1 mm2 2 m\nwire W4 X1:2 to GP1 BN 1 mm2 1 m\n";
const POWER: &str = "halfsplit 1\nlibrary \"battery and fuses\"\nsupply G1 battery {\n  terminals 30 31\n}\n\
    ground-point GP1 \"left wing\"\nfuse F1 10 A\nwire W1 G1:31 to GP1 BK 10 mm2 0.4 m\nwire W2 G1:30 to F1:feed RD 4 mm2 0.5 m\n";

#[test]
fn what_a_used_file_declares_joins_the_circuit() {
    let (files, checked) = checked(&[("horn.circuit", HORN), ("power.circuit", POWER)]);
    assert_eq!(checked.findings, []);
    let fuse = checked.model.names.part("F1").unwrap();
    let place = checked.model.declaration(halfsplit_model::Entity::Part(fuse)).unwrap();
    assert_eq!(files.get(place.file).path, PathBuf::from("power.circuit"));
}

#[test]
fn a_library_by_itself_is_no_circuit_and_no_mistake() {
    assert_eq!(found(&[("power.circuit", POWER)]), [] as [String; 0]);
    let wrong = POWER.replace("10 A", "10").replace("ground-point", "splice F1\nground-point");
    assert_eq!(
        found(&[("power.circuit", &wrong)]),
        [
            "power.circuit:8: duplicate-name `F1` is declared a second time (power.circuit:6 `F1` is declared here)",
            "power.circuit:8: missing-unit `10` has no unit; a fuse's rating is written in amps: `10 A`"
        ]
    );
}

#[test]
fn a_mistake_in_a_used_file_is_found_there() {
    let wrong = POWER.replace("10 A", "10");
    assert_eq!(
        found(&[("horn.circuit", HORN), ("power.circuit", &wrong)]),
        ["power.circuit:7: missing-unit `10` has no unit; a fuse's rating is written in amps: `10 A`"]
    );
}

#[test]
fn one_name_in_two_files_names_both() {
    let twice = HORN.replace("load H1", "ground-point GP1 \"right wing\"\nload H1");
    assert_eq!(
        found(&[("horn.circuit", &twice), ("power.circuit", POWER)]),
        [
            "power.circuit:6: duplicate-name `GP1` is declared a second time (horn.circuit:4 `GP1` is declared here)"
        ]
    );
}

#[test]
fn a_ring_is_named_whole_at_the_line_that_closes_it() {
    let a = POWER.replace("supply", "use \"b.circuit\"\nsupply");
    let b = "halfsplit 1\nlibrary \"b\"\nuse \"c.circuit\"\n";
    let c = "halfsplit 1\nlibrary \"c\"\nuse \"power.circuit\"\n";
    assert_eq!(
        found(&[("horn.circuit", HORN), ("power.circuit", &a), ("b.circuit", b), ("c.circuit", c)]),
        ["c.circuit:3: use-cycle these files use each other in a ring: \
          power.circuit → b.circuit → c.circuit → power.circuit"]
    );
}

#[test]
fn a_circuit_is_no_library() {
    let title = POWER.replace("library", "circuit");
    assert_eq!(
        found(&[("horn.circuit", HORN), ("power.circuit", &title)])[0],
        "horn.circuit:3: use-of-circuit `power.circuit` is a circuit of its own and not a library \
         (power.circuit:2 its title is here)"
    );
}

#[test]
fn what_cannot_be_had_is_said_once_with_its_reason() {
    let (mut files, file) = load(&[("horn.circuit", HORN)]);
    let said = |files: &Files| -> Vec<String> {
        check(files, file)
            .findings
            .iter()
            .filter(|f| f.rule == "use-not-found")
            .map(|f| f.message.clone())
            .collect()
    };
    assert_eq!(said(&files), ["there is no file `power.circuit`"]);
    files.refuse("power.circuit".into(), Refused::LedOut);
    assert_eq!(said(&files), ["`power.circuit` is a link that leads out of the library"]);
    files.refuse("power.circuit".into(), Refused::Unread("not for you".into()));
    assert_eq!(said(&files), ["`power.circuit` cannot be read: not for you"]);
    assert!(!found(&[("horn.circuit", HORN)]).iter().any(|f| f.contains("unknown-name")));
}

#[test]
fn a_file_of_which_nothing_is_used_is_noted_where_it_is_named() {
    let uses = HORN.replace("use", "use std \"relays\"\nuse \"idle.circuit\"\nuse");
    let idle = "halfsplit 1\nlibrary \"nothing\"\n";
    assert_eq!(
        found(&[("horn.circuit", &uses), ("power.circuit", POWER), ("idle.circuit", idle)]),
        [
            "horn.circuit:3: unused-use nothing of `relays` is used here",
            "horn.circuit:4: unused-use nothing of `idle.circuit` is used here"
        ]
    );
}

/// A remark about a library file as a whole is not one about whoever uses it.
#[test]
fn what_a_library_says_of_itself_stays_with_it() {
    let more = POWER.replace(
        "supply",
        "traced by \"R. Ambler\" on \"2026-03-14\"\nallow missing-length because \"drawn only\"\nsupply",
    );
    let bare = HORN.replace(" 2 m\n", "\n");
    let (_, checked) = checked(&[("horn.circuit", &bare), ("power.circuit", &more)]);
    assert!(!checked.model.proven());
    assert!(checked.model.allows.is_empty());
}
