mod messages;

use crate::testing::{findings, mended, rules};

#[test]
fn what_was_read_is_kept() {
    let text = "halfsplit 1\nwire W7 SP10 -> X34:2 GR 0,5 mm2 0.4\n";
    let parse = crate::parse(text);
    let wire = &parse.facts[1];
    assert!(!wire.whole);
    assert_eq!(wire.name("name").map(|name| name.value), Some("W7"));
    assert_eq!(wire.pin("from").map(|pin| pin.value), Some("SP10"));
    assert_eq!(wire.pin("to").map(|pin| pin.value), Some("X34:2"));
    assert!(wire.is_unknown("colour"));
    assert_eq!(wire.section("section").map(|section| section.value), Some(crate::Section::Area(0.5)));
    assert_eq!(wire.quantity("length").and_then(|length| length.value.value), Some(0.4));
    assert_eq!(
        rules(text),
        [(2, "missing-to"), (2, "unknown-colour"), (2, "decimal-comma"), (2, "missing-unit")]
    );
}

#[test]
fn quantities_are_in_base_units() {
    let value = |written: &str, dimension: &str| {
        let text = match dimension {
            "ohms" => format!("halfsplit 1\nsupply G1 battery {{\ninner {written}\n}}\n"),
            "minutes" => format!("halfsplit 1\nsensor G1 {{\nreach {written}\n}}\n"),
            _ => format!("halfsplit 1\nsupply G1 battery {{\nvolts {written}\n}}\n"),
        };
        let parse = crate::parse(text.as_str());
        assert_eq!(parse.errors, [], "{text}");
        parse.facts[1].facts[0].quantity(dimension).and_then(|quantity| quantity.value.value)
    };
    assert_eq!(value("8 mohm", "ohms"), Some(0.008));
    assert_eq!(value("8 Mohm", "ohms"), Some(8e6));
    assert_eq!(value("4.7kΩ", "ohms"), Some(4700.0));
    assert_eq!(value("unknown", "ohms"), None);
    assert_eq!(value("90 s", "minutes"), Some(1.5));
    assert_eq!(value("1 h", "minutes"), Some(60.0));
    assert_eq!(value("150 mV", "volts"), Some(0.15));
}

#[test]
fn fixes_mend_what_they_are_for() {
    for slip in [
        "wire W7 SP10 to X34:2 GY/RD 0.5 mm2 0.4",
        "wire W7 SP10 -> X34:2 RD-GY 0,5 sqmm 0.4 Metres",
        "wire W7 SP10 X34:1O GY/RD O.5 mm2",
        "splice SP10 “20 cm from A10”",
        "splice SP10 \"20 cm from A10",
        "wier W7 SP10 to X34:2",
        "fuse F12 = 1OA typ C;",
        "inline X21 10 cavities halves body engine { 1-5 elsewhere }",
        "inline X21 10 cavities halves body engine { 5..1 elsewhere }",
        "relay K3 { coil 86 to 85 80 }",
        "sensor B4 { suspicion 3 V }",
        "splice SP10 under the intake",
        "vehicle Brantwick Tern 1.8",
        "ground-point GP1 { caution hot exhaust pipe }",
        "wire W7 SP10 to X34:2 GY RD AWG 14 2 m",
        "supply G1 battery { terminals +30 -31 }",
        "sensor B4 { connector X34 3 pins { reach 5m } }",
        "switch S1 { contact 30 -> 15 key on }",
    ] {
        let mended = mended(&format!("halfsplit 1\n{slip}\n"));
        assert_eq!(findings(&mended), "", "{mended}");
    }
}

#[test]
fn twenty_mistakes_twenty_findings() {
    let text = include_str!("tests/twenty.circuit");
    let wanted: Vec<(usize, String)> = text
        .lines()
        .enumerate()
        .filter_map(|(at, line)| Some((at + 1, line.split_once("#! ")?.1.to_owned())))
        .collect();
    assert_eq!(wanted.len(), 20);
    let found: Vec<(usize, String)> =
        rules(text).into_iter().map(|(line, rule)| (line, rule.to_owned())).collect();
    assert_eq!(found, wanted);
}
