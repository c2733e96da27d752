//! Circuits that want to be more than a picture.

use halfsplit_circuit::{Builder, Key, State};
use halfsplit_render::draw::{Asked, picture};

use crate::{apart, written};

#[test]
fn a_hostile_circuit_is_inert_and_bounded() {
    let payloads = [
        "</text></svg><script>alert(1)</script>".to_owned(),
        "' onload='alert(1)' x='".to_owned(),
        "javascript:alert(1) <a href='x'> ]]> <!-- &amp; &#x3c;".to_owned(),
        "\u{202e}reversed\u{2066} \u{200f}\u{feff}\u{0}\u{7}\u{fffe}".to_owned(),
        "z\u{0300}\u{0301}\u{0302}\u{0303}\u{0304}".repeat(50),
        "M".repeat(1 << 20),
        "\u{202e}".repeat(1 << 20),
        "漢字🚗".repeat(100_000),
    ];
    for payload in &payloads {
        let mut model = written("halfsplit 1\n");
        let mut build = Builder::new();
        build.supply("G1", 12.4, 0.008);
        build.fuse("F1", 10.0);
        build.wire("W1", "G1:30", "F1:feed", payload, 2.5, 0.5);
        build.lamp("E1", "F1:load", "G1:31", 21.0, 12.0);
        model.circuit = build.build().unwrap();
        model.title.clone_from(payload);
        model.vehicle.name.clone_from(payload);
        for part in &mut model.circuit.parts {
            part.label.clone_from(payload);
            part.note.clone_from(payload);
            part.name.push_str(payload);
            let hazard = halfsplit_circuit::Hazard::Hot;
            part.cautions = vec![halfsplit_circuit::Caution { hazard, words: payload.clone() }; 30];
        }
        for point in &mut model.circuit.points {
            point.name.push_str(payload);
        }
        let pin = halfsplit_circuit::PointId(2);
        let (state, typed) = (State::with_key(Key::Run), [payload.clone()]);
        let short =
            halfsplit_circuit::FaultKind::Bridge { a: pin, b: model.circuit.negative.unwrap(), ohms: 2.0 };
        let asked = Asked { pin, state: &state, faults: &[short.into()], written: &typed };
        let drawn = picture(&model, &asked);
        let svg = drawn.svg();
        let read = roxmltree::Document::parse(&svg).unwrap();
        assert_eq!(apart::harmful(&read), [""; 0]);
        assert!(svg.len() < 64 << 10, "{} bytes", svg.len());
        assert!(drawn.width < 1200 && drawn.height < 2500, "{} by {}", drawn.width, drawn.height);
        assert!(
            !svg.contains(
                |c: char| matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{200f}')
            )
        );
        assert_eq!(apart::judge(&drawn, &svg, &mut apart::Counts::default()), [""; 0]);
    }
}

#[test]
fn a_net_of_thousands_is_drawn_in_part_and_says_so() {
    let mut text = String::from(
        "halfsplit 1\ncircuit \"many\"\nsupply G1 battery {\n volts 12 V\n inner 8 mohm\n terminals 30 31\n}\nsplice SP1\n",
    );
    text.push_str("wire W0 G1:30 to SP1 RD 1 mm2 1 m\n");
    for at in 1..3000 {
        text.push_str(&format!("wire W{at} SP1 to SP1x{at} RD 1 mm2 1 m\nsplice SP1x{at}\n"));
    }
    let model = written(&text);
    let svg = crate::svg(&model, "SP1", Key::Run);
    assert!(svg.len() < 200 << 10, "{}", svg.len());
    assert!(svg.contains("for want of room"));
}
