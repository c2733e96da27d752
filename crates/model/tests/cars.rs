//! Options, build serials, overlays and system volts.

use halfsplit_base::Files;
use halfsplit_circuit::{
    Key, State,
    meter::{Load, Measure, Meter, read},
};
use halfsplit_model::{Car, Model, ProblemKind, Question, lower, lower_for, lower_with_overlay};

const TEXT: &str = "halfsplit 1
circuit \"x\"
vehicle \"Brantwick Tern\" {
  system 12 V
  option AC \"air conditioning\"
  option TURBO
}
supply G1 battery {
  volts 12 V
  terminals 30 31
}
splice SP1
sensor B4 \"A/C pressure\" when AC {
  connector X34 3 cavities
  draws 8 mA at 5 V X34:2 -> X34:1
}
wire W1 G1:30 to SP1 RD 0.5 mm2 1 m
wire W7 SP1 to X34:2 GY/RD 0.5 mm2 1 m
wire W8 SP1 to X35:1 GY/RD 0.5 mm2 1 m when serial 1..40217
wire W8 SP1 to X35:1 GY/BU 0.75 mm2 1 m when serial >= 40218
sensor B5 {
  connector X35 2 cavities {
    1 GY/RD \"old\" when serial 1..40217
    1 GY/BU \"new\" when serial >= 40218
  }
  draws 6 mA at 5 V X35:1 -> X35:2
}
splice SP9 when not TURBO
";

fn for_car(text: &str, car: &Car) -> Model {
    let mut files = Files::default();
    let file = files.set("x.circuit".into(), text);
    lower_for(&files, file, car)
}

fn car(options: &[(&str, bool)], serial: Option<u64>) -> Car {
    Car { options: options.iter().map(|(name, there)| ((*name).to_owned(), *there)).collect(), serial }
}

fn colour(model: &Model, wire: &str) -> String {
    let part = model.names.part(wire).unwrap();
    model.wires.iter().find(|w| w.part == part).and_then(|w| w.colour.clone()).unwrap().0
}

#[test]
fn without_a_car_every_option_is_there_and_the_newest_serial_stands() {
    let model = for_car(TEXT, &Car::default());
    assert_eq!((&model.syntax[..], &model.problems[..]), (&[][..], &[][..]));
    assert_eq!(colour(&model, "W8"), "GY/BU");
    assert!(model.names.part("SP9").is_err(), "not on a car with the turbo");
    assert_eq!(model.vehicle.options[0], ("AC".to_owned(), "air conditioning".to_owned()));
}

#[test]
fn an_older_car_has_the_older_wire() {
    let model = for_car(TEXT, &car(&[], Some(40_100)));
    assert_eq!(model.problems, []);
    assert_eq!(colour(&model, "W8"), "GY/RD");
    let x35 = model.circuit.connector(model.names.connector("X35").unwrap());
    assert_eq!(x35.cavities[0].label, "old");
}

#[test]
fn an_absent_part_leaves_its_plug_on_the_loom() {
    let model = for_car(TEXT, &car(&[("AC", false), ("TURBO", false)], None));
    assert_eq!(model.problems, [], "the wire is fitted all the same");
    assert!(model.names.part("SP9").is_ok());
    let b4 = model.names.part("B4").unwrap();
    assert!(model.facts.absent.contains(&b4));
    assert_eq!(model.circuit.branches_of(b4).count(), 0);
    let reads = |pin: &str| {
        let point = |name: &str| model.names.point(name).unwrap();
        let meter = Meter { red: point(pin), black: point("G1:31"), measure: Measure::Volts(Load::None) };
        read(&model.circuit, &State::with_key(Key::Run), &[], &meter).unwrap().nominal
    };
    assert!((reads("X34:2") - 12.0).abs() < 0.01);
    assert!(reads("X34.part:2").abs() < 0.01, "nothing is plugged in there");
}

#[test]
fn serials_must_neither_overlap_nor_leave_a_gap() {
    let with = |first: &str, second: &str| {
        let text = TEXT.replace("1..40217\nwire W8", &format!("{first}\nwire W8"));
        let text =
            text.replacen("0.75 mm2 1 m when serial >= 40218", &format!("0.75 mm2 1 m when {second}"), 1);
        for_car(&text, &Car::default()).problems.into_iter().map(|p| p.kind).collect::<Vec<_>>()
    };
    assert!(matches!(
        with("1..40218", "serial >= 40218")[..],
        [ProblemKind::SerialOverlap { from: 40_218, to: 40_218, .. }]
    ));
    assert!(matches!(
        with("1..40200", "serial >= 40218")[..],
        [ProblemKind::SerialGap { from: 40_201, to: 40_217, .. }]
    ));
    assert!(with("1..40200", "serial >= 40201").is_empty());
    assert!(with("1..50000 and AC", "serial >= 40218 and not AC").is_empty(), "no car has both");
}

#[test]
fn an_option_that_the_vehicle_does_not_have_is_unknown() {
    let problems = for_car(&TEXT.replace("when AC", "when ABS"), &Car::default()).problems;
    assert!(
        matches!(&problems[..], [p] if matches!(&p.kind, ProblemKind::UnknownName { wanted: "option", .. })),
        "{problems:?}"
    );
}

#[test]
fn only_questions_that_matter_are_asked() {
    let model = for_car(TEXT, &Car::default());
    let asked = |model: &Model, pin: &str| model.questions(model.names.point(pin).unwrap());
    let both = [
        Question::Option { name: "AC".into(), label: "air conditioning".into() },
        Question::Serial { from: 40_218 },
    ];
    assert_eq!(asked(&model, "SP1"), both);
    assert_eq!(asked(&model, "G1:31"), []);
    let known = for_car(TEXT, &car(&[("AC", true)], Some(50_000)));
    assert_eq!(asked(&known, "SP1"), []);
}

#[test]
fn an_overlay_adds_equipment_to_one_car() {
    let mut files = Files::default();
    let file = files.set("x.circuit".into(), TEXT);
    let added = files.set(
        "alarm.circuit".into(),
        "halfsplit 1\nload A90 \"added alarm\" {\n  connector X99 2 cavities\n  resistance 47 kohm X99:1 -> X99:2\n}\n\
         wire W90 SP1 to X99:1 PK 0.35 mm2 0.6 m\n",
    );
    let model = lower_with_overlay(&files, file, &[added], &Car::default());
    assert_eq!(model.problems, []);
    let w90 = model.names.part("W90").unwrap();
    assert_eq!(model.wires.iter().find(|w| w.part == w90).unwrap().place.file, added);
    assert!(lower(&files, file).names.part("W90").is_err(), "the circuit itself stays as it is");
}

#[test]
fn two_batteries_in_series_with_a_tapped_centre() {
    let text = "halfsplit 1
circuit \"truck\"
vehicle \"Kestrow Haul\" {
  system 24 V
}
supply G1 battery \"lower\" {
  volts 12.6 V
  inner 5 mohm
  terminals 30 31
}
supply G2 battery \"upper\" {
  volts 12.6 V
  inner 5 mohm
  terminals 30 31
}
wire W1 G1:30 to G2:31 BK 50 mm2 0.3 m
relay K1 {
  coil 86 -> 85 300 ohm
  contact 30 -> 87
}
module A1 {
  connector X1 2 cavities
  feed X1:1 -> X1:2 draws 1 A
}
wire W2 G2:30 to K1:86 RD 1 mm2 1 m
wire W3 G1:31 to K1:85 BN 1 mm2 1 m
wire W4 G2:30 to X1:1 RD 1 mm2 1 m
wire W5 G1:31 to X1:2 BN 1 mm2 1 m
";
    for text in [text.to_owned(), text.replace("G1", "GX").replace("G2", "G1").replace("GX", "G2")] {
        let model = for_car(&text, &Car::default());
        assert_eq!(model.problems, []);
        let name =
            |point: Option<halfsplit_circuit::PointId>| model.circuit.point(point.unwrap()).name.clone();
        let lower = if text.contains("supply G1 battery \"lower\"") { "G1" } else { "G2" };
        let upper = if lower == "G1" { "G2" } else { "G1" };
        assert_eq!(name(model.circuit.negative), format!("{lower}:31"));
        assert_eq!(name(model.circuit.positive), format!("{upper}:30"));
        let meter = Meter::volts(model.circuit.positive.unwrap(), model.circuit.negative.unwrap());
        let reading = read(&model.circuit, &State::with_key(Key::Run), &[], &meter).unwrap();
        assert!((reading.nominal - 25.2).abs() < 0.05, "{reading:?}");
        let centre =
            Meter::volts(model.names.point(&format!("{lower}:30")).unwrap(), model.circuit.negative.unwrap());
        let reading = read(&model.circuit, &State::with_key(Key::Run), &[], &centre).unwrap();
        assert!((reading.nominal - 12.6).abs() < 0.02, "{reading:?}");
        // Defaults follow the system's volts: pull-in, and the module's draw of 1 A at 24 V.
        let kinds: Vec<_> = model.circuit.branches.iter().map(|b| b.kind.clone()).collect();
        use halfsplit_circuit::BranchKind::{Coil, Feed};
        assert!(kinds.iter().any(|k| matches!(k, Coil { pull_in, .. } if (*pull_in - 15.6).abs() < 1e-9)));
        assert!(
            kinds.iter().any(|k| matches!(k, Feed { awake: Some(ohms), .. } if (*ohms - 24.0).abs() < 1e-9))
        );
    }
}

#[test]
fn a_generator_holds_the_volts_at_its_sense_wire() {
    let text = "halfsplit 1
circuit \"charging\"
vehicle \"Ollerby Vane\" {
  system 12 V
}
supply G2 generator {
  volts 14.2 V
  inner 20 mohm
  terminals B 31
  sense S 10 kohm
  sense-lost 8 V
  fallback 14.6 V
  ceiling 15.5 V
}
supply G1 battery {
  volts 12.6 V
  inner 8 mohm
  terminals 30 31
}
wire W1 G2:B to G1:30 RD 16 mm2 2 m
wire W2 G2:S to G1:30 RD 0.75 mm2 2 m
wire W3 G2:31 to G1:31 BK 25 mm2 0.5 m
load R2 {
  resistance 0.6 ohm G1:30 -> G1:31
}
";
    let model = for_car(text, &Car::default());
    assert_eq!((&model.syntax[..], &model.problems[..]), (&[][..], &[][..]));
    let point = |name: &str| model.names.point(name).unwrap();
    assert_eq!(model.circuit.positive, Some(point("G1:30")), "the battery's posts, whatever comes first");
    let volts = |key: Key, red: &str, faults: &[halfsplit_circuit::Fault]| {
        let meter = Meter::volts(point(red), point("G2:31"));
        read(&model.circuit, &State::with_key(key), faults, &meter).unwrap().nominal
    };
    assert!((volts(Key::Run, "G2:S", &[]) - 14.2).abs() < 0.001);
    assert!(volts(Key::Run, "G2:B", &[]) > 14.22, "its own terminal makes up for the cable");
    assert!(volts(Key::Off, "G2:B", &[]) < 12.6, "it does not turn");
    let broken = [model.fault("W2 open").unwrap()];
    assert!((volts(Key::Run, "G2:B", &broken) - 14.6).abs() < 0.001);
    // Held to 120 A it cannot lift the flat battery to its volts.
    let limited = for_car(&text.replace("ceiling 15.5 V", "ceiling 15.5 V\n  limit 120 A"), &Car::default());
    let meter = Meter::volts(point("G2:S"), point("G2:31"));
    let reading = read(&limited.circuit, &State::with_key(Key::Run), &[], &meter).unwrap().nominal;
    assert!((13.0..13.6).contains(&reading), "{reading}");
}
