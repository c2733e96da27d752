//! Drawings of every circuit at hand: nothing lies on anything else, whatever is drawn in whatever state.

mod apart;
mod hostile;

use std::{
    path::{Path, PathBuf},
    time::{Duration, Instant},
};

use halfsplit_base::{Files, disk};
use halfsplit_circuit::{Key, PointKind, State, faults_of};
use halfsplit_model::{Model, lower};
use halfsplit_render::draw::{Asked, picture};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// Every circuit under a folder of the repository, in order.
fn circuits(folder: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![root().join(folder)];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|end| end == "circuit") {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

fn model(path: &Path) -> Model {
    let mut files = Files::default();
    let file = files.set(path.to_path_buf(), &disk::read(path).unwrap());
    files.set_root(file, disk::library_root(path));
    halfsplit_model::library::load(&mut files, file, &mut disk::read_in);
    lower(&files, file)
}

/// A circuit from its text alone.
fn written(text: &str) -> Model {
    let mut files = Files::default();
    let file = files.set("one.circuit".into(), text);
    lower(&files, file)
}

fn svg(model: &Model, pin: &str, key: Key) -> String {
    let pin = model.names.point(pin).unwrap();
    picture(model, &Asked { pin, state: &State::with_key(key), faults: &[], written: &[] }).svg()
}

const SMALL: &str = r#"halfsplit 1
circuit "one lamp"
vehicle "Kestrow Pip" { system 12 V }
supply G1 battery {
  volts 12.6 V
  inner 8 mohm
  terminals 30 31
}
ground-point GP1 "left wing" { joint 0.35 mohm }
fuse F1 10 A type C
wire W0 G1:31 to GP1 BK 16 mm2 0.4 m
wire W1 G1:30 to F1:feed RD 4 mm2 0.5 m
wire W2 F1:load to X1:1 RD/YE 0.75 mm2 2 m
wire W3 X1:2 to GP1 BN 0.75 mm2 0.5 m
lamp E1 "reading lamp" {
  connector X1 2 cavities {
    1 RD/YE
    2 BN
  }
  filament 5 W at 12 V X1:1 -> X1:2
}
"#;

#[test]
fn a_small_net_as_svg() {
    let model = written(SMALL);
    assert!(model.problems.is_empty() && model.syntax.is_empty(), "{:?} {:?}", model.problems, model.syntax);
    insta::assert_snapshot!(svg(&model, "X1:1", Key::Run));
}

#[test]
fn what_is_written_elsewhere_changes_nothing() {
    let more = "bar BUS9 \"elsewhere\"\nfuse F9 5 A type C F9:feed on BUS9\nwire W9 F9:load to SP9 GN 0.5 mm2 1 m\nsplice SP9\n";
    let (before, after) = (written(SMALL), written(&format!("{SMALL}# a remark\n{more}")));
    assert!(after.circuit.parts.len() > before.circuit.parts.len());
    assert_eq!(svg(&before, "X1:1", Key::Run), svg(&after, "X1:1", Key::Run));
}

#[test]
fn what_is_parted_or_faulty_is_said_and_dashed() {
    let model = model(&root().join("examples/tern/reference-a.circuit"));
    let pin = model.names.point("X35:1").unwrap();
    let mut state = State::with_key(Key::Run);
    state.set_supply(12.4);
    model.unplug(&mut state, "X21").unwrap();
    let written = ["B4 short 1.8 ohm".to_owned()];
    let faults = [model.fault(&written[0]).unwrap()];
    let svg = picture(&model, &Asked { pin, state: &state, faults: &faults, written: &written }).svg();
    let words: String = words_of(&svg).join("\n");
    for wanted in
        ["X21 parted", "fault: B4 short 1.8 ohm", "sound: 5.00 V", "floats", "GY/RD", "0.5 mm², 0.8 m"]
    {
        assert!(words.contains(wanted), "{wanted} is not in\n{words}");
    }
    assert!(svg.contains(r#"class="box off""#) && svg.contains(r#"class="mark""#));
    let negative = model.circuit.negative.unwrap();
    let meter = halfsplit_circuit::Meter::volts(pin, negative);
    let reading = halfsplit_circuit::read(&model.circuit, &state, &faults, &meter).unwrap();
    assert!(words.contains(&format!("X35:1  {}", halfsplit_render::volts(reading.nominal))), "{words}");
}

#[test]
fn a_value_that_nobody_knows_is_said_to_be_unknown() {
    let model = model(&root().join("examples/tern/reference-a.circuit"));
    let words = words_of(&svg(&model, "X36:2", Key::Run)).join(" ");
    assert!(words.contains("Not counted:") && words.contains("B6"), "{words}");
}

/// Every line of words in a drawing, which has to be XML.
fn words_of(svg: &str) -> Vec<String> {
    let read = roxmltree::Document::parse(svg).unwrap();
    let texts = read.descendants().filter(|node| node.has_tag_name("text"));
    texts
        .map(|node| node.descendants().filter(|n| n.is_text()).map(|n| n.text().unwrap()).collect())
        .collect()
}

#[test]
fn nothing_lies_on_anything_else() {
    let files = circuits("examples")
        .into_iter()
        .filter(|path| !path.components().any(|c| c.as_os_str() == "mistakes"));
    let mut counts = apart::Counts::default();
    let mut spent = Vec::<Duration>::new();
    let mut wrong = Vec::new();
    let mut widest = (0, String::new());
    for path in files.chain(circuits("tests/strangers")) {
        let model = model(&path);
        let circuit = &model.circuit;
        let named = circuit.points.iter().enumerate().filter(|(_, p)| p.kind != PointKind::Inside);
        let pins: Vec<u32> = named.map(|(at, _)| at as u32).collect();
        let all = faults_of(circuit);
        for (turn, &pin) in pins.iter().step_by(3).enumerate() {
            let pin = halfsplit_circuit::PointId(pin);
            let mut state = State::with_key(Key::ALL[[2, 2, 0, 2, 3, 1][turn % 6]]);
            let mut written = Vec::new();
            let mut faults = Vec::new();
            if turn % 3 == 1 && !circuit.connectors.is_empty() {
                state
                    .unplugged
                    .insert(halfsplit_circuit::ConnectorId((turn % circuit.connectors.len()) as u32));
            }
            if turn % 4 == 2 && !all.is_empty() {
                let fault = &all[turn * 7 % all.len()];
                faults.clone_from(&fault.faults);
                written = vec![fault.label.clone(); faults.len()];
            }
            let asked = Asked { pin, state: &state, faults: &faults, written: &written };
            let began = Instant::now();
            let drawn = picture(&model, &asked);
            let svg = drawn.svg();
            spent.push(began.elapsed());
            let name = format!("{} {} turn {turn}", path.display(), circuit.point(pin).name);
            widest = widest.max((drawn.width, name.clone()));
            wrong.extend(
                apart::judge(&drawn, &svg, &mut counts).into_iter().map(|what| format!("{name}: {what}")),
            );
            if turn % 5 == 0 {
                assert_eq!(svg, picture(&model, &asked).svg(), "{name}");
            }
        }
    }
    spent.sort();
    println!("{counts}");
    println!(
        "time per drawing in this build: median {:.1?}, longest {:.1?}",
        spent[spent.len() / 2],
        spent[spent.len() - 1]
    );
    println!("widest: {}", widest.1);
    println!("{} wrong", wrong.len());
    assert!(counts.drawings > 300, "{counts}");
    assert!(wrong.is_empty(), "{}", wrong[..wrong.len().min(40)].join("\n"));
}
