//! What an editor is told about a whole circuit, by the public questions only.

use halfsplit_base::{FileId, Span};
use halfsplit_ide::{Action, Analysis, Change, Class, FilePosition, Host, Symbol};

const REFERENCE: &str = include_str!("../../../examples/tern/reference-a.circuit");

fn open(text: &str) -> (Analysis, FileId) {
    let mut host = Host::default();
    let file = host.set("/cars/tern/reference-a.circuit".into(), text);
    (host.analysis(), file)
}

/// The offset of the cursor mark, and the text without it.
fn marked(text: &str) -> (u32, String) {
    (text.find("$0").expect("a mark") as u32, text.replace("$0", ""))
}

/// The reference circuit with the cursor behind `before`.
fn behind(before: &str) -> FilePosition {
    let offset = REFERENCE.find(before).expect("the words") + before.len();
    FilePosition { file: open(REFERENCE).1, offset: offset as u32 }
}

/// The line of the declaration, and the name in it.
fn definition(before: &str) -> Option<(String, String)> {
    let target = open(REFERENCE).0.definition(behind(before))?;
    let line = REFERENCE[..target.span.start as usize].rfind('\n').map_or(0, |at| at + 1);
    let line = REFERENCE[line..].lines().next()?;
    Some((line.trim().to_owned(), REFERENCE[target.span.range()].to_owned()))
}

#[test]
fn names_lead_to_their_declarations() {
    let line = |before| definition(before).map(|(line, _)| line).unwrap_or_default();
    assert_eq!(line("A10.X2:14     to SP1"), "splice SP10 \"20 cm from A10.X2\"");
    assert_eq!(line("to X34:"), "2      GY/RD");
    assert!(line("wire W7").starts_with("wire W7 "));
    assert_eq!(line("wire W102  F12:lo"), "fuse F12  10 A type C  F12:feed on BUS1 {");
    assert_eq!(line("to GP"), "ground-point GP1 \"left wing\" {");
    assert_eq!(definition("0.75 m"), None);
}

#[test]
fn a_hover_says_whether_somebody_traced_the_circuit() {
    let hover = |text: &str| {
        let (analysis, file) = open(text);
        let offset = text.find("sensor B4").expect("the sensor") + "sensor B".len();
        analysis.hover(FilePosition { file, offset: offset as u32 }).expect("a hover").markdown
    };
    assert!(hover(REFERENCE).ends_with("Proof: nobody traced this circuit on a car"));
    let traced = REFERENCE.replacen("\nvehicle", "\ntraced by \"R. Ambler\" on \"2026-03-14\"\n\nvehicle", 1);
    assert!(hover(&traced).ends_with("Proof: traced on a car by R. Ambler, 2026-03-14"));
}

fn outline(symbols: &[Symbol], depth: usize, out: &mut String) {
    for symbol in symbols {
        out.push_str(&format!("{:depth$}{} · {} · {:?}\n", "", symbol.name, symbol.detail, symbol.kind));
        assert!(symbol.span.start <= symbol.focus.start && symbol.focus.end <= symbol.span.end);
        outline(&symbol.children, depth + 2, out);
    }
}

#[test]
fn the_outline_is_nested_as_written() {
    let (analysis, file) = open(REFERENCE);
    let mut lines = String::new();
    outline(&analysis.symbols(file), 0, &mut lines);
    insta::assert_snapshot!(lines);
}

#[test]
fn a_broken_file_keeps_its_outline() {
    let (analysis, file) = open("halfsplit 1\nsensor B4 {\n  connector X34 3 cavities {\nwire W1 X34:1 to");
    let mut lines = String::new();
    outline(&analysis.symbols(file), 0, &mut lines);
    assert!(lines.contains("B4 · sensor"), "{lines}");
    assert!(lines.contains("W1 · wire"), "{lines}");
}

fn actions(marked_text: &str) -> (String, Vec<Action>) {
    let (at, text) = marked(marked_text);
    let (analysis, file) = open(&text);
    (text, analysis.actions(file, Span::new(at, at)))
}

#[test]
fn a_finding_that_knows_its_cure_offers_it_and_it_cures() {
    let (text, actions) =
        actions("halfsplit 1\ncircuit \"c\"\nsplice SP1\nsplice SP2\nwire W1 SP1 to SP2 BK 0.5 mm2 0.4$0\n");
    let edits = actions.into_iter().find_map(|action| match action.change {
        Change::Edits(edits) => Some(edits),
        Change::Plan { .. } => None,
    });
    let edits = edits.expect("a fix for a length without its unit");
    let before = open(&text).0;
    let missing =
        |analysis: &Analysis, file| analysis.findings(file).iter().any(|f| f.rule == "missing-unit");
    assert!(missing(&before, edits[0].file));
    let mut mended = text;
    for edit in edits.iter().rev() {
        mended.replace_range(edit.span.range(), &edit.text);
    }
    let (after, file) = open(&mended);
    assert!(!missing(&after, file), "{mended}");
}

#[test]
fn the_plan_is_offered_where_the_line_names_a_pin() {
    let (analysis, file) = open(REFERENCE);
    let offered = |before: &str| {
        let at = behind(before).offset;
        let actions = analysis.actions(file, Span::new(at, at)).into_iter();
        actions.map(|action| action.title).find(|title| title.contains("plan"))
    };
    let for_pin = |pin: &str| Some(format!("Write the isolation plan for {pin}, which reads near zero"));
    assert_eq!(offered("to X34:"), for_pin("X34:2"));
    let first = Some("Write the isolation plan for F12:load, which is dead".to_owned());
    assert_eq!(offered("wire W102"), first, "the first pin of the line");
    assert_eq!(offered("wire W100"), None, "a battery's post is where the meter rests");
    assert_eq!(offered("reference  REF_"), for_pin("A10.X2:14"));
    assert_eq!(offered("circuit \"ref"), None);
}

/// A battery, a fuse and a lamp: a plan of it is drawn in no time.
const LAMP: &str = "halfsplit 1\ncircuit \"20 °C 🔧 中\"\nsupply G1 battery {\n  volts 12 V\n  inner 8 mohm\n  terminals 30 31\n}\n\
    fuse F1 10 A { reach 1 min }\nwire W1 G1:30 to F1:feed RD 2.5 mm2 1 m\nwire W2 F1:load to X1:1 RD/BU 1 mm2 1 m\n\
    wire W3 X1:2 to G1:31 BN 1 mm2 1 m\n\
    lamp E1 {\n  connector X1 2 cavities {\n    reach 2 min\n    1 RD/BU\n    2 BN\n  }\n  filament 21 W at 12 V  X1:1 -> X1:2\n}\n";

#[test]
fn the_plan_is_a_file_beside_the_circuit() {
    let (analysis, file) = open(LAMP);
    let plan = analysis.plan(file, "X1:1", Class::Dead, &|| false).unwrap();
    assert_eq!(plan.path.to_str(), Some("/cars/tern/reference-a.X1-1.plan.md"));
    for step in ["X1:1", "F1"] {
        assert!(plan.text.contains(step), "{step} in {}", plan.text);
    }
    let gone = analysis.plan(file, "X99:1", Class::Dead, &|| false).unwrap_err();
    assert_eq!(gone, "nothing is called X99:1 any more");
}

/// An offer that cannot be kept is not made.
#[test]
fn every_plan_that_is_offered_can_be_drawn() {
    let (analysis, file) = open(LAMP);
    let mut drawn = 0;
    for pin in ["F1:feed", "F1:load", "X1:1", "X1:2", "G1:30", "G1:31"] {
        let at = LAMP.find(pin).expect("the pin") as u32;
        for action in analysis.actions(file, Span::new(at, at)) {
            if let Change::Plan { file, pin, reading } = action.change {
                let plan = analysis.plan(file, &pin, reading, &|| false);
                assert!(plan.is_ok(), "{}: {plan:?}", action.title);
                drawn += 1;
            }
        }
    }
    assert!(drawn > 3, "{drawn}");
}

#[test]
fn an_analysis_never_changes() {
    let mut host = Host::default();
    let file = host.set("a.circuit".into(), "halfsplit 1\ncircuit \"one\"\n");
    let before = host.analysis();
    host.set("a.circuit".into(), "halfsplit 1\n");
    host.remove("a.circuit".as_ref());
    assert_eq!(before.symbols(file)[0].name, "one");
    assert!(host.analysis().symbols(file).is_empty(), "a file that is gone has no outline");
    assert!(host.analysis().findings(file).is_empty());
}
