//! A reference that many sensors share, written as text and read like any other file.

use std::fmt::Write;

use halfsplit_base::Files;
use halfsplit_circuit::{Circuit, Key, State};
use halfsplit_plan::Request;

/// Sensors behind one inline connector.
const GROUP: usize = 9;

/// The circuit of a net with so many parts, wires not counted, and what a plan is asked on it: a module, a first splice, groups of an inline, a splice and nine sensors, and sensors on the first splice for the rest.
pub fn net(parts: usize) -> (Circuit, Request) {
    let mut files = Files::default();
    let file = files.set("big-net.circuit".into(), &text(parts));
    let model = halfsplit_model::lower(&files, file);
    assert!(model.problems.is_empty() && model.syntax.is_empty(), "{:?} {:?}", model.problems, model.syntax);
    let mut state = State::with_key(Key::Run);
    state.set_supply(12.4);
    let mut request = Request::new(model.names.find_point("X100:1").unwrap(), state);
    request.reads = Some(0.235);
    request.facts = vec!["A1 communicates".into()];
    (model.circuit, request)
}

/// The same as text.
pub fn text(parts: usize) -> String {
    let groups = (parts - 2) / (GROUP + 2);
    let sensors = groups * GROUP + (parts - 2) % (GROUP + 2);
    let mut text = String::from(
        "halfsplit 1\ncircuit \"a large reference\"\nvehicle \"Brantwick Tern 1.8\" {\n  system 12 V\n}\n\
         supply G1 battery {\n  volts 12.6 V\n  inner 8 mohm\n  terminals 30 31\n}\n\
         ground-point GP1 \"left wing\" {\n  reach 1 min\n}\n\
         fuse F1 10 A {\n  reach 1 min\n}\n\
         wire W1 G1:30 to F1:feed RD 2.5 mm2 0.5 m\nwire W2 G1:31 to GP1 BK 25 mm2 0.4 m\n\
         wire W3 F1:load to A1.X1:1 RD 0.75 mm2 2 m\nwire W4 A1.X1:2 to GP1 BN 1.5 mm2 0.9 m\n",
    );
    let _ = write!(
        text,
        "module A1 \"body control\" {{\n  connector X1 2 cavities {{\n    reach 4 min\n  }}\n  \
         connector X2 {} cavities {{\n    reach 4 min\n  }}\n  feed X1:1 -> X1:2 draws 0.5 A key run {{\n    \
         standby 6 kohm\n    wakes 6 V\n  }}\n  reference REF 5.00 V X2:1 -> X2:2 {{\n    inner 0.2 ohm\n    \
         limit 400 mA\n    unpowered 4.7 kohm\n    sinks no\n    after-short recovers\n  }}\n}}\n\
         splice SP1\nsplice SP2\nwire W5 A1.X2:1 to SP1 GY/RD 0.5 mm2 0.4 m\n\
         wire W6 A1.X2:2 to SP2 BK/GY 0.5 mm2 0.4 m\n",
        2 + sensors,
    );
    for group in 0..groups {
        let _ = write!(
            text,
            "inline X{0} {1} cavities halves body far {{\n  reach {2} min\n}}\nsplice SP{3}\nsplice SP{4}\n\
             wire W{5} SP1 to X{0}.body:1 GY/RD 0.5 mm2 1.2 m\nwire W{6} X{0}.far:1 to SP{3} GY/RD 0.5 mm2 0.7 m\n\
             wire W{7} SP2 to X{0}.body:2 BK/GY 0.5 mm2 1.2 m\nwire W{8} X{0}.far:2 to SP{4} BK/GY 0.5 mm2 0.7 m\n",
            11 + group,
            GROUP + 2,
            2 + group % 4,
            11 + 2 * group,
            12 + 2 * group,
            11 + 4 * group,
            12 + 4 * group,
            13 + 4 * group,
            14 + 4 * group,
        );
    }
    for sensor in 0..sensors {
        let (group, place) = (sensor / GROUP, sensor % GROUP);
        let own = 100 + sensor;
        let _ = write!(
            text,
            "sensor B{own} {{\n  connector X{own} 3 cavities {{\n    reach {} min\n  }}\n  \
             draws 1 mA at 5 V X{own}:1 -> X{own}:2\n  signal X{own}:3\n  suspicion {}\n}}\n",
            1.0 + 0.5 * ((sensor * 7) % 13) as f64,
            1.0 + 0.25 * ((sensor * 5) % 9) as f64,
        );
        let wire = 200 + 4 * sensor;
        if group < groups {
            let (feed, back, inline) = (11 + 2 * group, 12 + 2 * group, 11 + group);
            let _ = write!(
                text,
                "wire W{0} SP{feed} to X{own}:1 GY/RD 0.5 mm2 0.6 m\nwire W{1} SP{back} to X{own}:2 BK/GY 0.5 mm2 0.6 m\n\
                 wire W{2} X{own}:3 to X{inline}.far:{4} YE/BU 0.5 mm2 1.1 m\n\
                 wire W{3} X{inline}.body:{4} to A1.X2:{5} YE/BU 0.5 mm2 1.3 m\n",
                wire,
                wire + 1,
                wire + 2,
                wire + 3,
                3 + place,
                3 + sensor,
            );
        } else {
            let _ = write!(
                text,
                "wire W{0} SP1 to X{own}:1 GY/RD 0.5 mm2 0.6 m\nwire W{1} SP2 to X{own}:2 BK/GY 0.5 mm2 0.6 m\n\
                 wire W{2} X{own}:3 to A1.X2:{3} YE/BU 0.5 mm2 1.3 m\n",
                wire,
                wire + 1,
                wire + 2,
                3 + sensor,
            );
        }
    }
    text
}
