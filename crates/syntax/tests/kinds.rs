//! Kinds: parameters in their blocks, and what a part puts in their place.

use halfsplit_syntax::{Argument, Fact, Parse, Section, Span, Value, parse};

const PRESSURE: &str = "halfsplit 1
kind PRESSURE sensor \"three-wire pressure sensor\" {
  parameter  PLUG     X1
  parameter  CURRENT  8 mA
  parameter  GROUND   BK/GY
  connector  PLUG 3 cavities {
    view  wire-side
    1     GROUND
    2     GY/RD
  }
  draws      CURRENT at 5 V  PLUG:2 -> PLUG:1
  signal     PLUG:3
}
";

fn clean(text: &str) -> Parse {
    let parse = parse(text);
    assert_eq!(parse.errors, [], "{text}");
    parse
}

fn kind(parse: &Parse) -> &Fact {
    parse.facts.iter().find(|fact| fact.keyword() == "kind").unwrap()
}

/// Every slot of facts and their blocks: name, value, the words there.
fn slots(text: &str, facts: &[Fact], out: &mut Vec<String>) {
    for fact in facts {
        for slot in &fact.slots {
            let value = match &slot.value {
                Value::Quantity(quantity) => format!("{:?}", quantity.value),
                Value::Section(Section::Area(area)) => area.to_string(),
                Value::Word(word) | Value::Colour(word) | Value::Text(word) => word.to_string(),
                other => format!("{other:?}"),
            };
            let at = text.get(slot.span.range()).unwrap_or("elsewhere");
            out.push(format!("{} {} = {value} at {at}", fact.keyword(), slot.name));
        }
        slots(text, &fact.facts, out);
    }
}

#[test]
fn a_parameter_stands_for_its_default_and_keeps_its_own_place() {
    let parse = clean(PRESSURE);
    let mut all = Vec::new();
    slots(PRESSURE, &kind(&parse).facts, &mut all);
    for wanted in [
        "parameter default = 8 mA at 8 mA",
        "connector name = X1 at PLUG",
        "cavity colour = BK/GY at GROUND",
        "draws current = Some(0.008) at CURRENT",
        "draws from = X1:2 at PLUG:2",
        "signal pins = X1:3 at PLUG:3",
    ] {
        assert!(all.iter().any(|found| found == wanted), "{wanted} is not in {all:#?}");
    }
    assert_eq!(kind(&parse).word("sort").map(|word| word.value), Some("sensor"));
}

/// `with …` of a part, as arguments.
fn arguments(parse: &Parse) -> Vec<Argument> {
    let with = parse.facts.iter().find_map(|fact| fact.first("with")).unwrap();
    let names = with.words("parameter").map(|word| word.value);
    let values = with.slots.iter().filter(|slot| slot.name == "value");
    names.zip(values).map(|(name, slot)| Argument::new(name, &slot.value, slot.span)).collect()
}

#[test]
fn a_part_puts_its_own_values_in_their_place() {
    let parse = clean(PRESSURE);
    let part = "halfsplit 1\nsensor B4 as PRESSURE \"A/C pressure\" {\n  with PLUG X34 CURRENT 0.012A\n}\n";
    let other = clean(part);
    let instance = parse.instance(kind(&parse), &arguments(&other));
    assert_eq!(instance.errors, []);
    let mut all = Vec::new();
    slots(PRESSURE, &instance.facts, &mut all);
    for wanted in [
        "connector name = X34 at elsewhere",
        "cavity colour = BK/GY at GROUND",
        "draws current = Some(0.012) at elsewhere",
        "draws to = X34:1 at PLUG:1",
    ] {
        assert!(all.iter().any(|found| found == wanted), "{wanted} is not in {all:#?}");
    }
    assert!(!all.iter().any(|slot| slot.starts_with("parameter")));
    let draws = instance.facts.iter().find(|fact| fact.keyword() == "draws").unwrap();
    let span = draws.slot("current").unwrap().span;
    let place = Span::new(span.start - instance.beyond, span.end - instance.beyond);
    assert_eq!(&part[place.range()], "0.012A");
}

#[test]
fn a_value_that_does_not_fit_is_named_in_the_parts_own_words() {
    let parse = clean(PRESSURE);
    for (value, rule, words) in [
        ("CURRENT 8 V", "wrong-unit", "8 V"),
        ("CURRENT 8", "missing-unit", "8"),
        ("GROUND GYY", "unknown-colour", "GYY"),
    ] {
        let text = format!("halfsplit 1\nsensor B4 as PRESSURE {{\n  with {value}\n}}\n");
        let other = clean(&text);
        let instance = parse.instance(kind(&parse), &arguments(&other));
        let error = instance.errors.first().unwrap_or_else(|| panic!("{value} fits"));
        assert_eq!(error.rule, rule, "{value}: {error:?}");
        assert!(error.span.start >= instance.beyond, "{value}: {error:?}");
        let at = Span::new(error.span.start - instance.beyond, error.span.end - instance.beyond);
        assert_eq!(&text[at.range()], words, "{error:?}");
    }
    // What reads as something else altogether is found where the line stops making sense.
    let other = clean("halfsplit 1\nsensor B4 as PRESSURE {\n  with CURRENT X34\n}\n");
    assert!(!parse.instance(kind(&parse), &arguments(&other)).errors.is_empty());
}

#[test]
fn a_default_that_does_not_fit_is_a_mistake_of_the_kind() {
    let text = PRESSURE.replace("CURRENT  8 mA", "CURRENT  8 V");
    let parse = parse(text.as_str());
    let found: Vec<_> = parse.errors.iter().map(|error| (error.rule, &text[error.span.range()])).collect();
    assert_eq!(found, [("wrong-unit", "8 V")]);
}

#[test]
fn every_sort_of_part_can_be_a_kind() {
    for text in [
        "kind A fuse 10 A type C \"horn\" {\n reach 1 min\n}\nfuse F1 as A\nfuse F2 as A 15 A F2:feed on B\n",
        "kind A link 60 A\nlink FL1 as A\n",
        "kind A inline 12 cavities halves body door {\n 1 BK\n}\ninline X1 as A\n",
        "kind A connector 16 cavities {\n 4 \"ground\"\n cavity B BK\n}\nmodule M {\n connector X as A \"socket\"\n}\n",
        "kind A supply battery {\n terminals 30 31\n}\nsupply G1 as A\n",
        "kind A wire GY/RD 0.5 mm2\nwire W1 as A SP1 to SP2 2 m\n",
        "kind A relay {\n coil 86 -> 85 80 ohm\n contact 30 -> 87\n}\nrelay K1 as A {\n 30 on BUS1\n}\n",
        "kind A switch {\n position off on\n contact 1 -> 2 in on\n}\nswitch S1 as A\n",
        "kind A lamp {\n parameter POWER 21 W\n connector X 2 cavities\n filament POWER at 12 V X:1 -> X:2\n}\nlamp E1 as A \"x\"\n",
    ] {
        let parse = clean(&format!("halfsplit 1\n{text}"));
        assert!(parse.facts.iter().all(|fact| fact.whole), "{text}");
    }
}

#[test]
fn what_a_kind_says_may_be_left_out_and_nothing_else() {
    let found = |text: &str| -> Vec<&'static str> {
        parse(format!("halfsplit 1\n{text}")).errors.iter().map(|error| error.rule).collect()
    };
    assert_eq!(found("fuse F1\n"), ["missing-value"]);
    assert_eq!(found("fuse F1 as A 10\n"), ["missing-unit"]);
    assert_eq!(found("wire W1 as A SP1\n").len(), 1);
    assert_eq!(found("kind A sensr \"x\" {\n signal X1:1\n}\n").len(), 1);
    assert_eq!(found("kind A sensor {\n contact 1 -> 2\n}\n"), ["wrong-place"]);
    assert_eq!(found("sensor B4 {\n parameter P 1\n}\n"), ["wrong-place"]);
}
