use crate::testing::{edited, marked};
use crate::{ActionKind, Change};

const HEAD: &str = "halfsplit 1\ncircuit \"20 °C 🔧\"\nsplice SP1 \"中\"\nsensor B4 \"🔧\" {\n  connector X60 3 cavities {\n    1 GY\n  }\n}\n\
    wire W1 SP1 to X60:1 GY 0.5 mm2 1 m\n";

/// Titles at the mark, `*` in front of what is preferred, and the text after each.
fn offers(text: &str) -> Vec<(String, String)> {
    let (analysis, at) = marked(text);
    let span = halfsplit_base::Span::empty(at.offset);
    let offers = analysis.actions(at.file, span).into_iter().filter(|action| action.kind != ActionKind::Plan);
    offers
        .map(|action| {
            let mark = if action.preferred { "*" } else { "" };
            let Change::Edits(edits) = &action.change else { return (action.title, String::new()) };
            (format!("{mark}{}", action.title), edited(&analysis, at.file, edits))
        })
        .collect()
}

#[test]
fn an_undeclared_plug_is_declared_and_no_wire_moves_to_another() {
    let text =
        format!("{HEAD}wire W2 SP1 to X61:$02 GY/RD 0.5 mm2 1 m # °\nwire W3 X61:1 to stub BN 0.5 mm2 1 m\n");
    let offers = offers(&text);
    let titles: Vec<&str> = offers.iter().map(|(title, _)| title.as_str()).collect();
    assert!(titles.contains(&"Declare X61 from the wires that name it"), "{titles:?}");
    assert!(titles.iter().all(|title| !title.starts_with('*') && !title.contains("X60")), "{titles:?}");
    let after = &offers.iter().find(|(title, _)| title.starts_with("Declare")).unwrap().1;
    assert!(after.contains("connector X61 2 cavities {\n    1 BN\n    2 GY/RD\n  }"), "{after}");
    let (analysis, file) = crate::testing::open(after);
    assert!(!analysis.findings(file).iter().any(|finding| finding.rule == "unknown-name"), "{after}");
}

#[test]
fn own_terminals_are_written_bare() {
    let text = format!(
        "{HEAD}heater R1 \"中 🔧\" {{\n  resistance 4 ohm R1:$01 -> R1:2\n}}\nheater R2 {{\n  resistance 4 ohm 1 -> 2\n}}\n"
    );
    let offers = offers(&text);
    let bare = offers.iter().find(|(title, _)| title.starts_with("*Write the own terminals of R1 bare"));
    assert!(!offers.iter().any(|(title, _)| title.contains("R2")), "{offers:?}");
    // Where the language knows them with their owner's name, there is nothing to mend.
    if let Some((_, after)) = bare {
        assert!(after.contains("resistance 4 ohm 1 -> 2\n}\nheater R2"), "{after}");
    }
}

#[test]
fn what_is_certain_is_mended_at_once() {
    let text = "halfsplit 1\ncircuit “20 °C 🔧”\nsplice SP1 “中”\nwire W1 SP1 to stub GY 0,5$0 mm2 1,5 m\n";
    let offers = offers(text);
    let all = &offers.iter().find(|(title, _)| title.starts_with("Mend everything")).unwrap().1;
    assert_eq!(
        *all,
        "halfsplit 1\ncircuit \"20 °C 🔧\"\nsplice SP1 \"中\"\nwire W1 SP1 to stub GY 0.5 mm2 1.5 m\n"
    );
    assert!(offers.iter().any(|(title, _)| title.starts_with('*')), "{offers:?}");
}

#[test]
fn cavities_are_sorted_with_their_remarks() {
    let text = "halfsplit 1\ncircuit \"°\"\nsensor B4 \"🔧\" {\n  connector X1 3 cavities {\n    3 GY # 中\n    $01 RD \"°\"\n    2 BU # 🔧\n  }\n}\n";
    let offers = offers(text);
    let after = &offers.iter().find(|(title, _)| title.starts_with("Sort")).unwrap().1;
    assert!(after.contains("    1 RD \"°\"\n    2 BU # 🔧\n    3 GY # 中\n"), "{after}");
}

#[test]
fn a_warning_is_allowed_with_the_cursor_in_the_reason() {
    let (analysis, at) = marked(
        "halfsplit 1\ncircuit \"20 °C 🔧 中\"\nsupply G1 battery {\n  volts 12 V\n  inner 8 mohm\n  terminals 30 31\n}\n\
         fuse F1 10 A\nwire W1 G1:30 to F1:feed RD 2.5 mm2 1 m\nwire W2 $0F1:load to E1:1 RD/BU \"🔧 °\"\n\
         wire W3 E1:2 to G1:31 BN 1 mm2 1 m\nlamp E1 {\n  filament 21 W at 12 V  1 -> 2\n}\n",
    );
    let all = halfsplit_base::Span::new(at.offset - 8, at.offset + 20);
    let actions = analysis.actions(at.file, all);
    let allow = actions.into_iter().find(|action| action.title.starts_with("Allow")).expect("an allow");
    let Change::Edits(edits) = &allow.change else { panic!("{allow:?}") };
    let after = edited(&analysis, at.file, edits);
    let cursor = allow.cursor.unwrap() as usize;
    assert!(after[..cursor].ends_with(" because \"") && after[cursor..].starts_with("\" on "), "{after}");
}
