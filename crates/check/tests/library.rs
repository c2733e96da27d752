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

const SENSORS: &str = "halfsplit 1
kind PRESSURE sensor \"three-wire pressure sensor\" {
  parameter  PLUG     X1
  parameter  CURRENT  8 mA
  connector  PLUG 3 cavities {
    view  wire-side
    reach 5 min
    1     BK/GY
    2     GY/RD
    3     VT/WH
  }
  draws      CURRENT at 5 V  PLUG:2 -> PLUG:1
  signal     PLUG:3
  suspicion  1
}
";

/// A supply beside it.
const POWERED: &str = "supply G1 battery {\n  volts 12 V\n  terminals 30 31\n}\nground-point GP1 \"left wing\"\n\
    wire W9 G1:31 to GP1 BK 10 mm2 0.4 m\n";

/// A circuit with one such sensor, of which `block` says more.
fn sensor(block: &str) -> String {
    format!(
        "halfsplit 1\ncircuit \"pressure\"\nuse \"sensors.circuit\"\nsensor B4 as PRESSURE \"A/C pressure\" {{\n{block}}}\n\
         module A10 \"engine control\" {{\n  connector X2 3 cavities {{\n    view wire-side\n    reach 2 min\n  }}\n}}\n"
    )
}

#[test]
fn a_kind_gives_a_part_what_it_says_and_the_part_changes_single_facts() {
    let text = sensor(
        "  with PLUG X34 CURRENT 12 mA\n  suspicion 3\n  connector X34 3 cavities {\n    reach 9 min\n    2 RD\n  }\n",
    );
    let (_, checked) = checked(&[("a.circuit", &text), ("sensors.circuit", SENSORS)]);
    let model = &checked.model;
    let part = model.circuit.part(model.names.part("B4").unwrap());
    assert_eq!((part.label.as_str(), part.suspicion), ("A/C pressure", Some(3.0)));
    let connector = model.circuit.connector(model.names.connector("X34").unwrap());
    assert_eq!(connector.reach, Some(9.0));
    let colours: Vec<&str> = connector.cavities.iter().map(|cavity| cavity.colours[0].as_str()).collect();
    assert_eq!(colours, ["BK/GY", "RD", "VT/WH"]);
    let draws = model.circuit.branches.iter().find_map(|branch| match &branch.kind {
        halfsplit_circuit::BranchKind::Load { ohms, .. } => *ohms,
        _ => None,
    });
    assert!((draws.unwrap() - 5.0 / 0.012).abs() < 0.01, "{draws:?}");
}

#[test]
fn a_part_that_says_nothing_is_what_its_kind_says() {
    let (_, checked) = checked(&[("a.circuit", &sensor("")), ("sensors.circuit", SENSORS)]);
    let model = &checked.model;
    assert!(model.names.find_connector("B4.X1").is_some());
    assert_eq!(model.circuit.part(model.names.part("B4").unwrap()).suspicion, Some(1.0));
    let unlabelled = sensor("").replace(" \"A/C pressure\"", "");
    let (_, checked) = self::checked(&[("a.circuit", &unlabelled), ("sensors.circuit", SENSORS)]);
    let model = &checked.model;
    assert_eq!(model.circuit.part(model.names.part("B4").unwrap()).label, "three-wire pressure sensor");
}

/// What is wrong in the circuit is said there, of the part, though the words stand in the library.
#[test]
fn a_pin_of_a_kind_that_nothing_reaches_is_the_circuits_mistake() {
    let wire = "wire W1 X34:2 to A10.X2:1 GN 0.5 mm2 1 m\n";
    let text = sensor("  with PLUG X34\n") + POWERED + wire;
    let found = found(&[("a.circuit", &text), ("sensors.circuit", SENSORS)]);
    let kind = "(sensors.circuit:2 kind `PRESSURE`, which says it, is declared here)";
    assert_eq!(
        found,
        [
            format!(
                "a.circuit:4: load-without-return the current of B4 has no way back from X34:1: no wire ends at X34:1 {kind}"
            ),
            format!(
                "a.circuit:19: colour-contradiction W1 is GN (green), but the line of X34:2 says GY/RD (grey with a red \
                 tracer) (a.circuit:4 GY/RD here) {kind}"
            ),
        ]
    );
}

#[test]
fn what_does_not_fit_names_both_files() {
    for (block, wanted) in [
        (
            "  with CURRENT 8 V\n",
            "a.circuit:5: wrong-argument `CURRENT` does not fit kind `PRESSURE`: `8 V` is a voltage, but the current \
             of `draws` is a current, written in A, mA, uA (sensors.circuit:2 `PRESSURE` is declared here)",
        ),
        (
            "  with SOCKET X34\n",
            "a.circuit:5: unknown-parameter kind `PRESSURE` has no parameter `SOCKET` (sensors.circuit:2 `PRESSURE` \
             is declared here)",
        ),
    ] {
        let found = found(&[("a.circuit", &sensor(block)), ("sensors.circuit", SENSORS)]);
        let found: Vec<_> = found.iter().filter(|line| line.contains("(sensors.circuit")).collect();
        assert_eq!(found, [wanted]);
    }
    let lamp = sensor("").replace("sensor B4", "lamp B4");
    assert!(found(&[("a.circuit", &lamp), ("sensors.circuit", SENSORS)]).contains(
        &"a.circuit:4: wrong-kind `PRESSURE` is a kind of sensor, and this is a lamp (sensors.circuit:2 `PRESSURE` \
          is declared here)"
            .to_owned()
    ));
}

#[test]
fn a_kinds_own_mistake_is_found_in_its_file_once() {
    let wrong = SENSORS.replace("PLUG:3", "PLUG:4");
    let place = "sensors.circuit:13: no-such-cavity";
    let alone = found(&[("sensors.circuit", &wrong)]);
    assert_eq!(alone.len(), 1, "{alone:#?}");
    assert!(alone[0].starts_with(place), "{alone:#?}");
    let two = sensor("  with PLUG X34\n") + "sensor B5 as PRESSURE {\n  with PLUG X35\n}\n";
    let used = found(&[("a.circuit", &two), ("sensors.circuit", &wrong)]);
    let cavities: Vec<_> = used.iter().filter(|line| line.contains("no-such-cavity")).collect();
    assert_eq!(cavities.len(), 1, "{cavities:#?}");
    assert!(cavities[0].starts_with(place), "{cavities:#?}");
    assert_eq!(found(&[("sensors.circuit", SENSORS)]), [] as [String; 0]);
}

#[test]
fn two_kinds_of_one_name_name_both_files() {
    let again = sensor("") + "kind PRESSURE sensor {\n  note \"another\"\n}\n";
    let found = found(&[("a.circuit", &again), ("sensors.circuit", SENSORS)]);
    let wanted = "sensors.circuit:2: duplicate-name `PRESSURE` is declared a second time (a.circuit:12 `PRESSURE` is declared here)";
    assert!(found.iter().any(|line| line == wanted), "{found:#?}");
}

/// No fix may write over a kind's name: what it says stands elsewhere.
#[test]
fn nothing_is_mended_where_a_part_names_its_kind() {
    let text = sensor("  with PLUG X34\n") + "wire W1 X34:2 to A10.X2:3 GN 0.5 mm2 1 m\n";
    let (files, checked) = checked(&[("a.circuit", &text), ("sensors.circuit", SENSORS)]);
    for finding in &checked.findings {
        for edit in finding.fix.iter().flat_map(|fix| &fix.edits) {
            assert_ne!(&files.get(edit.file).text[edit.span.range()], "PRESSURE", "{finding:#?}");
        }
    }
}

#[test]
fn a_parameter_is_a_word_of_its_own_and_is_set_once() {
    for (line, wanted) in [
        ("  parameter V 8 mA\n", "`V` cannot be a parameter: it is a unit"),
        ("  parameter BK GN\n", "`BK` cannot be a parameter: it is a colour"),
        (
            "  parameter on X2\n",
            "`on` cannot be a parameter: it is a word of the language, or may become one",
        ),
        ("  parameter PLUG X2\n", "`PLUG` comes a second time (sensors.circuit:3 `PLUG` comes here first)"),
    ] {
        let text = SENSORS.replace("  connector  PLUG", &format!("{line}  connector  PLUG"));
        assert_eq!(
            found(&[("sensors.circuit", &text)]),
            [format!("sensors.circuit:5: parameter-name {wanted}")]
        );
    }
    let twice = sensor("  with PLUG X34\n  with PLUG X35\n");
    let found = found(&[("a.circuit", &twice), ("sensors.circuit", SENSORS)]);
    let wanted =
        "a.circuit:6: parameter-name `PLUG` comes a second time (a.circuit:5 `PLUG` comes here first)";
    assert!(found.iter().any(|line| line == wanted), "{found:#?}");
}

/// A file may say which vehicle its parts are of; a circuit that uses it says so itself.
#[test]
fn the_circuits_own_vehicle_goes_before_that_of_a_used_file() {
    let library = POWER.replace("supply", "vehicle \"Ollerby Vane\" {\n  system 24 V\n}\nsupply");
    let (_, alone) = checked(&[("horn.circuit", HORN), ("power.circuit", &library)]);
    assert_eq!(alone.model.vehicle.name, "Ollerby Vane");
    let own = HORN.replace("load H1", "vehicle \"Brantwick Tern\"\nload H1");
    let (_, both) = checked(&[("horn.circuit", &own), ("power.circuit", &library)]);
    assert_eq!((both.model.vehicle.name.as_str(), both.model.vehicle.system), ("Brantwick Tern", None));
}

/// A kind's connector may be of a kind too, and hand on what a part sets.
#[test]
fn a_kind_hands_on_to_the_kind_of_its_connector() {
    let library = "halfsplit 1
kind THREE connector 3 cavities \"three-way plug\" {
  parameter  WIRE  WH
  parameter  SAYS  \"signal\"
  view       wire-side
  3          WIRE SAYS
}
kind PRESSURE sensor {
  parameter  PLUG    X1
  parameter  SIGNAL  VT
  connector PLUG as THREE {
    with  WIRE SIGNAL  SAYS \"pressure\"
    1     BK
  }
  signal     PLUG:3
}
";
    assert_eq!(found(&[("sensors.circuit", library)]), [] as [String; 0]);
    let (_, checked) =
        checked(&[("a.circuit", &sensor("  with PLUG X34 SIGNAL GN\n")), ("sensors.circuit", library)]);
    let model = &checked.model;
    assert_eq!(model.problems, []);
    let connector = model.circuit.connector(model.names.connector("X34").unwrap());
    let cavities: Vec<_> =
        connector.cavities.iter().map(|c| (c.colours[0].as_str(), c.label.as_str())).collect();
    assert_eq!(cavities, [("BK", ""), ("", ""), ("GN", "pressure")]);
}
