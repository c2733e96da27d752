//! The standard library: every file reads clean, and its kinds say what the standards' tables say.
//!
//! The tables are written down here once more, as they were read, with source and mark beside each.

use halfsplit_base::{FileId, Files, Finding, Refused};
use halfsplit_check::check;
use halfsplit_circuit::{BranchKind, CavityRole, Circuit};
use halfsplit_model::{Model, library, lower, std_library};

fn load(text: &str) -> (Files, FileId) {
    let mut files = Files::default();
    let file = files.set("a.circuit".into(), text);
    library::load(&mut files, file, &mut |_, _| Err(Refused::Missing));
    (files, file)
}

/// A circuit that uses one file of the library.
fn model(name: &str, body: &str) -> Model {
    let (files, file) = load(&format!("halfsplit 1\ncircuit \"x\"\nuse std \"{name}\"\n{body}"));
    let model = lower(&files, file);
    assert_eq!(model.syntax, []);
    assert_eq!(model.overlay_syntax, []);
    assert_eq!(model.problems, []);
    model
}

fn findings(text: &str) -> Vec<Finding> {
    let (files, file) = load(text);
    check(&files, file).findings
}

#[test]
fn every_file_is_a_clean_library_with_its_sources() {
    for name in std_library::names() {
        let text = std_library::text(name).unwrap();
        assert_eq!(findings(text), [], "{name}");
        assert!(text.contains("SAW"), "{name} names no source");
    }
    assert_eq!(std_library::text("nothing"), None);
}

/// Each kind, on a part that says nothing itself.
#[test]
fn every_kind_makes_a_part() {
    for name in std_library::names() {
        let (files, file) = load(&format!("halfsplit 1\nlibrary \"x\"\nuse std \"{name}\"\n"));
        let kinds = lower(&files, file).kinds;
        assert!(!kinds.is_empty(), "{name}");
        for kind in kinds {
            let body = match kind.sort.as_str() {
                "connector" => format!("load P1 {{\n  connector X1 as {}\n}}\n", kind.name),
                sort => format!("{sort} P1 as {}\n", kind.name),
            };
            let model = model(name, &body);
            assert!(model.names.find_part("P1").is_some(), "{}", kind.name);
        }
    }
}

#[test]
fn a_file_that_there_is_not_is_answered_with_those_that_there_are() {
    let found = findings("halfsplit 1\nlibrary \"x\"\nuse std \"relay\"\n");
    assert_eq!(found[0].message, "the standard library has no file `relay`");
    assert_eq!(
        found[0].help.as_deref(),
        Some("it has relays, blade-fuses, diagnostic-socket, trailer-sockets")
    );
}

/// The ends of the first branch of a sort.
fn ends(circuit: &Circuit, is: impl Fn(&BranchKind) -> bool) -> Option<[&str; 2]> {
    let branch = circuit.branches.iter().find(|branch| is(&branch.kind))?;
    Some([branch.a, branch.b].map(|end| circuit.point(end).name.as_str()))
}

/// DIN 72552: 30 from the battery, 85 and 86 the coil's negative and positive end, 87a the contact that is
/// closed at rest (SAW, "Terminal designation / DIN 72552"); 87 the one that closes (MEMORY, common practice).
#[test]
fn relays_have_their_terminals() {
    for (kind, changeover, resistor, diode) in [
        ("RELAY-NO", false, false, false),
        ("RELAY-NO-RESISTOR", false, true, false),
        ("RELAY-NO-DIODE", false, false, true),
        ("RELAY-CHANGEOVER", true, false, false),
        ("RELAY-CHANGEOVER-RESISTOR", true, true, false),
        ("RELAY-CHANGEOVER-DIODE", true, false, true),
    ] {
        let model = model("relays", &format!("relay P as {kind} {{\n  with COIL 85 ohm\n}}\n"));
        let circuit = &model.circuit;
        let coil = ends(circuit, |kind| matches!(kind, BranchKind::Coil { .. }));
        assert_eq!(coil, Some(["P:86", "P:85"]), "{kind}");
        let contact = |rest| {
            ends(
                circuit,
                |kind| matches!(kind, BranchKind::RelayContact { closed_at_rest, .. } if *closed_at_rest == rest),
            )
        };
        assert_eq!(contact(false), Some(["P:30", "P:87"]), "{kind}");
        assert_eq!(contact(true), changeover.then_some(["P:30", "P:87a"]), "{kind}");
        let across = ends(circuit, |kind| matches!(kind, BranchKind::Load { .. }));
        assert_eq!(across, resistor.then_some(["P:86", "P:85"]), "{kind}");
        let clamp = ends(circuit, |kind| matches!(kind, BranchKind::Diode { .. }));
        assert_eq!(clamp, diode.then_some(["P:85", "P:86"]), "{kind}");
    }
}

/// SAE J1962-2016 and ISO 15031-3 (SAW, tnlab.org and three other pages).
#[test]
fn the_diagnostic_socket_has_its_pins() {
    let model = model(
        "diagnostic-socket",
        "load P {\n  connector X90 as DIAGNOSTIC-SOCKET {\n    6 GN/WH\n    14 GN/BK \"bus, low\"\n  }\n}\n",
    );
    let socket = model.circuit.connector(model.names.connector("X90").unwrap());
    assert_eq!(socket.cavities.len(), 16);
    for (pin, words) in [
        (2, "J1850 bus +"),
        (4, "chassis ground"),
        (5, "signal ground"),
        (6, "CAN-H"),
        (7, "K line"),
        (10, "J1850 bus -"),
        (14, "bus, low"),
        (15, "L line"),
        (16, "permanent feed"),
    ] {
        let cavity = &socket.cavities[pin - 1];
        assert!(cavity.label.starts_with(words), "{pin}: {}", cavity.label);
        let wired = [6, 14].contains(&pin);
        assert_eq!(cavity.role == CavityRole::Plain, wired, "{pin}");
    }
    assert_eq!(socket.cavities[5].colours[0], "GN/WH");
}

/// ISO 1724 type 12N (SAW, "12N" page, "siebenpolige Anhängersteckdose", workshop page) and ISO 11446-1:2012
/// (SAW, a connector maker's standards page): pin, colour, terminal, mm².
#[test]
fn trailer_sockets_have_their_pins_colours_and_sections() {
    let seven: [(&str, &str, &str); 7] = [
        ("YE", "L", "1.5"),
        ("BU", "54g", "1.5"),
        ("WH", "31", "2.5"),
        ("GN", "R", "1.5"),
        ("BN", "58R", "1.5"),
        ("RD", "54", "1.5"),
        ("BK", "58L", "1.5"),
    ];
    let thirteen: [(&str, &str, &str); 13] = [
        ("YE", "L", "1.5"),
        ("BU", "", "1.5"),
        ("WH", "31", "2.5"),
        ("GN", "R", "1.5"),
        ("BN", "58R", "1.5"),
        ("RD", "54", "1.5"),
        ("BK", "58L", "1.5"),
        ("PK", "", "1.5"),
        ("OG", "30", "2.5"),
        ("GY", "15", "2.5"),
        ("WH/BK", "31", "2.5"),
        ("", "", ""),
        ("WH/RD", "31", "2.5"),
    ];
    for (kind, table) in [("TRAILER-7N", &seven[..]), ("TRAILER-13", &thirteen[..])] {
        let model = model("trailer-sockets", &format!("inline X80 as {kind}\n"));
        let socket = model.circuit.connector(model.names.connector("X80").unwrap());
        assert_eq!((socket.cavities.len(), &socket.halves), (table.len(), &["car".into(), "trailer".into()]));
        for (cavity, (colour, terminal, section)) in socket.cavities.iter().zip(table) {
            assert_eq!(cavity.colours[0], *colour, "{kind} {}", cavity.name);
            let words: Vec<&str> = cavity.label.split(", ").collect();
            assert!(terminal.is_empty() || words.contains(terminal), "{kind} {}: {words:?}", cavity.name);
            let section = format!("{section} mm2");
            assert!(
                section == " mm2" || words.contains(&section.as_str()),
                "{kind} {}: {words:?}",
                cavity.name
            );
        }
    }
}

/// ISO 8820-3 / DIN 72581 (SAW, "Fuse colors – what do they mean?", "Fuse Color Code Chart"; 1 A and 35 A and all
/// of type E but 40 and 50 A MEMORY); cold resistance SAW-2nd (a fuse maker's sheets).
#[test]
fn fuses_have_their_ratings_colours_and_cold_resistance() {
    let medium = [
        (1.0, "black"),
        (2.0, "grey"),
        (3.0, "violet"),
        (4.0, "pink"),
        (5.0, "tan"),
        (7.5, "brown"),
        (10.0, "red"),
        (15.0, "blue"),
        (20.0, "yellow"),
        (25.0, "white"),
        (30.0, "green"),
        (35.0, "blue-green"),
        (40.0, "orange"),
    ];
    let large = [
        (20.0, "yellow"),
        (25.0, "grey"),
        (30.0, "green"),
        (35.0, "brown"),
        (40.0, "orange"),
        (50.0, "red"),
        (60.0, "blue"),
        (70.0, "brown"),
        (80.0, "clear"),
        (100.0, "violet"),
    ];
    let cold = [("C", 20.0, 3.38e-3), ("C", 40.0, 1.44e-3), ("F", 15.0, 4.58e-3)];
    let cold = cold.into_iter().chain([("E", 30.0, 1.9e-3), ("E", 35.0, 1.7e-3), ("E", 40.0, 1.4e-3)]);
    let cold: Vec<_> = cold.collect();
    let bodies = [("C", &medium[..]), ("F", &medium[1..11]), ("E", &large[..])];
    for (body, table) in bodies {
        for (rating, colour) in table {
            let model = model("blade-fuses", &format!("fuse P as FUSE-{body}-{rating}\n"));
            let part = model.circuit.part(model.names.part("P").unwrap());
            assert!(part.note.starts_with(colour), "{body} {rating}: {}", part.note);
            let fuse = model.circuit.branches.iter().find_map(|branch| match branch.kind {
                BranchKind::Fuse { ohms, rating } => Some((ohms, rating)),
                _ => None,
            });
            let known = cold.iter().find(|(other, amps, _)| (*other, *amps) == (body, *rating));
            let ohms = known.map(|(.., ohms)| *ohms).or(halfsplit_circuit::wire::fuse_ohms(*rating)).unwrap();
            let (found, amps) = fuse.unwrap();
            assert_eq!(amps, *rating);
            assert!((found - ohms).abs() < 1e-9, "{body} {rating}: {found}, wanted {ohms}");
        }
    }
}

/// What is only remembered is no reason for an error: colours of ISO 3732 (MEMORY) stand in words.
#[test]
fn a_remembered_value_makes_no_error() {
    let text = "halfsplit 1\ncircuit \"x\"\nuse std \"trailer-sockets\"\ninline X81 as TRAILER-7S {\n  reach 1 min\n  \
        view mating-face\n}\nsplice SP1\nsplice SP2\nwire W1 SP1 to X81.car:1 RD 1.5 mm2 1 m\n\
        wire W2 X81.trailer:1 to SP2 RD 1.5 mm2 1 m\n";
    assert!(!findings(text).iter().any(|f| f.rule.starts_with("colour")));
    // The same wire at a socket whose colours were read is held against them, and its kind is named.
    let read = findings(&text.replace("TRAILER-7S", "TRAILER-7N"));
    let colour = read.iter().find(|f| f.rule == "colour-contradiction").unwrap();
    assert!(colour.related.iter().any(|other| other.message.contains("TRAILER-7N")), "{colour:#?}");
}
