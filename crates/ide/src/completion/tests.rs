use halfsplit_base::Edit;

use crate::testing::{edited, marked};

const HEAD: &str = "halfsplit 1\ncircuit \"20 °C 🔧\"\nvehicle \"Brantwick 中\" {\n  option AC \"air 🔧\"\n}\n\
    splice SP1 \"°\"\nsensor B4 \"🔧 中\" {\n  connector X34 4 cavities {\n    1 BK/GY\n    2 GY/RD \"reference\"\n    3 VT/WH\n    4 blank\n  }\n}\n\
    wire W1 SP1 to X34:1 BK/GY 0.5 mm2 1 m # 🔧\n";

/// The labels offered where `$0` stands behind the circuit above.
fn labels(line: &str) -> Vec<String> {
    let (analysis, at) = marked(&format!("{HEAD}{line}"));
    let found = analysis.completions(at).unwrap_or_default();
    found.offers.into_iter().map(|offer| offer.label).collect()
}

#[test]
fn statements_stand_where_they_may() {
    let top = labels("$0");
    assert!(top.contains(&"wire".into()) && !top.contains(&"reach".into()), "{top:?}");
    let inner = labels("sensor B5 \"🔧\" {\n  $0\n}\n");
    assert!(inner.contains(&"draws".into()) && !inner.contains(&"wire".into()), "{inner:?}");
    assert_eq!(labels("# wir$0"), [""; 0], "nothing in a comment");
}

#[test]
fn free_cavities_come_first_and_blank_ones_last() {
    assert_eq!(labels("wire W2 SP1 to X34:$0"), ["X34:2", "X34:3", "X34:1", "X34:4"]);
    let (analysis, at) = marked(&format!("{HEAD}wire W2 SP1 to X34:$0"));
    let first = analysis.completions(at).unwrap().offers.remove(0);
    assert_eq!(first.detail, "GY/RD, reference, free");
}

#[test]
fn the_colours_that_belong_there_come_first() {
    assert_eq!(labels("wire W2 SP1 to X34:2 $0")[..2], ["BK/GY", "GY/RD"]);
    assert_eq!(labels("wire W2 stub to X34:2 $0")[0], "GY/RD");
    assert_eq!(labels("wire W2 SP1 to X34:2 VT/W$0")[0], "VT/WH");
}

#[test]
fn a_number_is_offered_its_unit_and_nothing_else() {
    assert_eq!(labels("wire W2 SP1 to X34:2 GY/RD 0.5 mm2 2.2 $0"), ["m", "cm", "mm"]);
    assert_eq!(labels("wire W2 SP1 to X34:2 GY/RD 0.5 $0")[..1], ["mm2"]);
}

#[test]
fn a_new_name_is_the_next_one() {
    assert_eq!(labels("wire $0"), ["W2"]);
    assert_eq!(labels("splice $0"), ["SP2"]);
}

#[test]
fn options_rules_states_and_faults() {
    assert!(labels("splice SP2 when $0").contains(&"AC".into()));
    assert!(labels("allow dang$0").contains(&"dangling-wire".into()));
    assert_eq!(labels("expect \"°\" {\n  key $0\n}\n"), ["off", "accessory", "run", "crank"]);
    assert!(labels("expect \"°🔧\" {\n  fault \"B4 sh$0\"\n}\n").contains(&"short".into()));
    assert!(labels("expect \"°🔧\" {\n  fault \"$0\"\n}\n").contains(&"B4".into()));
    assert!(labels("use std \"$0\"").contains(&"relays".into()));
}

#[test]
fn what_is_chosen_replaces_what_was_typed_and_nothing_more() {
    let line = "wire W2 SP1 to X34:$0 GY/RD 0.5 mm2 1 m \"🔧 °\"";
    let (analysis, at) = marked(&format!("{HEAD}{line}"));
    let found = analysis.completions(at).unwrap();
    let edit = Edit { file: at.file, span: found.replaces, text: found.offers[0].label.clone() };
    let after = edited(&analysis, at.file, &[edit]);
    assert_eq!(after, format!("{HEAD}{}", line.replace("$0", "2")));
}

#[test]
fn every_statement_has_a_skeleton_that_its_example_could_have_grown_from() {
    for shape in halfsplit_syntax::shape::all() {
        let skeleton = super::skeleton(shape);
        assert!(!skeleton.is_empty() && !skeleton.contains("  "), "{}: {skeleton}", shape.keyword);
        if shape.opens_with_keyword() {
            assert!(skeleton.starts_with(shape.keyword), "{skeleton}");
        }
    }
    let wire = halfsplit_syntax::shape::part("wire").map(super::skeleton);
    let expected = "wire ${1:name} ${2:from} to ${3:to} ${4:colour} ${5:section mm2} ${6:length m}";
    assert_eq!(wire.as_deref(), Some(expected));
}
