//! What a change of text does to the car, on circuits small enough to know the answer.

use std::fmt::Write as _;

use halfsplit_base::Files;
use halfsplit_check::{
    Checked, check,
    diff::{Side, Told, diff},
};

const LAMPS: &str = r#"halfsplit 1
circuit "two lamps"
traced by "R. Ambler" on "2026-03-14"
vehicle "Kestrow Lark 2.0" {
  system  12 V
}
supply G1 battery {
  volts      12.6 V
  inner      10 mohm
  terminals  30 31
}
ground-point GP1 "left wing" {
  joint  0.4 mohm
}
splice SP1 "behind the dash"
fuse F1  10 A
lamp E1 "left" {
  connector X1 2 cavities {
    1  RD/WH
  }
  filament  21 W at 12 V  X1:1 -> X1:2
}
lamp E2 "right" {
  connector X2 2 cavities
  filament  21 W at 12 V  X2:1 -> X2:2
}
wire W1  G1:31    to GP1      BK     10 mm2   0.4 m
wire W2  G1:30    to F1:feed  RD     4 mm2    0.5 m
wire W3  F1:load  to SP1      RD/WH  1.5 mm2  2 m
wire W4  SP1      to X1:1     RD/WH  1 mm2    1 m
wire W5  SP1      to X2:1     RD/WH  1 mm2    1 m
wire W6  X1:2     to GP1      BN     1 mm2    1 m
wire W7  X2:2     to GP1      BN     1 mm2    1 m
"#;

/// Every change in a line of its own; nothing where nothing changed.
fn changes(old: &str, new: &str) -> String {
    let read = |text: &str| -> (Files, halfsplit_base::FileId, Checked) {
        let mut files = Files::default();
        let file = files.set("lamps.circuit".into(), text);
        let checked = check(&files, file);
        (files, file, checked)
    };
    let (old, new) = (read(old), read(new));
    let sides = [&old, &new].map(|(files, file, checked)| Side { files, file: *file, checked });
    let mut out = String::new();
    for change in diff(sides[0], sides[1]) {
        let words = |told: &Option<Told>| told.as_ref().map_or("-".to_owned(), |told| told.words.clone());
        let _ = writeln!(
            out,
            "{} | {} | {} | {}",
            change.topic.word(),
            change.what,
            words(&change.old),
            words(&change.new)
        );
    }
    out
}

/// What changes when a stretch of the circuit is written otherwise.
fn after(was: &str, is: &str) -> String {
    assert_eq!(LAMPS.matches(was).count(), 1, "{was}");
    changes(LAMPS, &LAMPS.replace(was, is))
}

#[test]
fn layout_order_remarks_and_units_change_nothing() {
    assert_eq!(changes(LAMPS, LAMPS), "");
    let mut lines: Vec<&str> = LAMPS.lines().collect();
    let wires = lines.len() - 7;
    lines[wires..].reverse();
    assert_eq!(changes(LAMPS, &lines.join("\n")), "", "another order");
    assert_eq!(after("wire W6  X1:2     to GP1 ", "wire  W6 X1:2 to GP1  "), "");
    assert_eq!(after("1.5 mm2  2 m", "1.5 mm2  2 m  # measured twice"), "");
    assert_eq!(after("inner      10 mohm", "inner      0.01 ohm"), "");
    assert_eq!(
        after("filament  21 W at 12 V  X1:1 -> X1:2\n}", "filament  21 W at 12 V  X1:1 -> X1:2\n\n}\n\n"),
        ""
    );
}

#[test]
fn a_thinner_wire_tells_its_drop_and_its_fuse() {
    insta::assert_snapshot!(after("1.5 mm2  2 m", "0.35 mm2  2 m"));
}

#[test]
fn a_wire_at_another_pin_tells_what_left_and_what_joined() {
    insta::assert_snapshot!(after("SP1      to X2:1 ", "F1:feed  to X2:1 "));
}

#[test]
fn another_fuse_tells_current_and_rating() {
    insta::assert_snapshot!(after("fuse F1  10 A", "fuse F1  5 A"));
}

#[test]
fn another_name_is_told_once_and_changes_nothing_else() {
    insta::assert_snapshot!(changes(LAMPS, &LAMPS.replace("SP1", "SP9")), @"name | splice | SP1 | SP9");
    insta::assert_snapshot!(changes(LAMPS, &LAMPS.replace("X2", "X22").replace("E2", "E22")), @r"
    name | lamp | E2 | E22
    name | connector | X2 | X22
    ");
}

#[test]
fn a_wire_less_and_a_wire_more() {
    insta::assert_snapshot!(after("wire W7  X2:2     to GP1      BN     1 mm2    1 m\n", ""));
    let drain = "wire W8  SP1      to GP1      RD     1 mm2    1 m\n";
    insta::assert_snapshot!(changes(LAMPS, &format!("{LAMPS}{drain}")));
}

#[test]
fn lines_of_a_block_are_told_with_their_holder() {
    insta::assert_snapshot!(after("1  RD/WH", "1  RD/GY"));
    insta::assert_snapshot!(after("  joint  0.4 mohm\n", ""));
}

#[test]
fn an_order_of_steps_says_something() {
    let steps = |one: &str, two: &str| format!("{LAMPS}expect \"lit\" {{\n  {one}\n  {two}\n}}\n");
    let (unplugged, read) = ("out X1", "volts X2:1 between 11 V and 13 V");
    assert_ne!(changes(&steps(unplugged, read), &steps(read, unplugged)), "");
}

#[test]
fn what_cannot_be_read_is_not_called_the_same() {
    let broken = |word: &str| format!("{LAMPS}{word} W8\n");
    assert_ne!(changes(&broken("wier"), &broken("wyre")), "");
}

#[test]
fn what_is_expected_is_told_and_leaves_the_tracing_alone() {
    let expecting = |low: &str| {
        format!("{LAMPS}expect \"lit\" {{\n  key run\n  volts X2:1 between {low} V and 13 V\n}}\n")
    };
    let told = changes(&expecting("11"), &expecting("12"));
    assert!(told.contains("12 V") && !told.contains("trace"), "{told}");
}

/// The top statements of a file, each as it is written.
fn statements(text: &str) -> Vec<String> {
    let mut files = Files::default();
    let file = files.set("some.circuit".into(), text);
    let facts = &files.get(file).parse().facts;
    facts.iter().map(|fact| text[fact.span.range()].to_owned()).collect()
}

#[test]
fn an_example_from_back_to_front_is_the_same_and_without_any_statement_it_is_not() {
    let examples = [
        include_str!("../../../examples/tern/reference-a.circuit"),
        include_str!("../../../examples/vane/tail-and-stop.circuit"),
        include_str!("../../../examples/haul/mirror-and-heater.circuit"),
    ];
    for text in examples {
        let mut all = statements(text);
        all[1..].reverse();
        assert_eq!(changes(text, &all.join("\n")), "");
        for left_out in 1..all.len() {
            let mut fewer = all.clone();
            let gone = fewer.remove(left_out);
            let told = changes(text, &fewer.join("\n"));
            assert!(told.lines().any(|line| line.starts_with("line | ")), "{gone}\n{told}");
        }
    }
}
