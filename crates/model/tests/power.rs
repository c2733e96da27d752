//! What a file leaves out about a module's power.

use halfsplit_base::Files;
use halfsplit_circuit::{Key, Meter, ReadError, State, read};
use halfsplit_model::{Model, lower};

const TEXT: &str = "halfsplit 1
circuit \"wheel speed\"
vehicle \"Kestrow Fallow 2.2\" {
  system SYSTEM V
}
supply G1 battery {
  volts VOLTS V
  inner 8 mohm
  terminals 30 31
}
ground-point GP1
fuse F5 25 A
wire W1 G1:30 to F5:feed RD 10 mm2 0.6 m
wire W2 G1:31 to GP1 BK 25 mm2 0.4 m
wire W40 F5:load to A5.X1:1 RD/BU 2.5 mm2 1.1 m
wire W41 A5.X1:2 to GP1 BN 2.5 mm2 0.5 m
wire W52 A5.X1:5 to X41:1 WH 0.5 mm2 1.6 m
wire W53 A5.X1:6 to X41:2 BN 0.5 mm2 1.6 m
module A5 \"brake control\" {
  connector X1 8 cavities
  feed X1:1 -> X1:2 draws DRAW key run crank
  reference SPEED 8 V X1:5 -> X1:6 {
    inner unknown
    limit unknown
    unpowered unknown
  }
}
sensor B11 {
  connector X41 2 cavities
  draws 10 mA at 8 V X41:1 -> X41:2
}
";

fn model(system: &str, volts: &str, draw: &str) -> Model {
    let text = TEXT.replace("SYSTEM", system).replace("VOLTS", volts).replace("DRAW", draw);
    let mut files = Files::default();
    let file = files.set("x.circuit".into(), text.as_str());
    lower(&files, file)
}

fn volts(model: &Model, fault: &str) -> f64 {
    reading(model, fault).unwrap()
}

fn reading(model: &Model, fault: &str) -> Result<f64, ReadError> {
    let circuit = &model.circuit;
    let faults = if fault.is_empty() { vec![] } else { vec![model.fault(fault).unwrap()] };
    let meter = Meter::volts(circuit.point_named("X41:1").unwrap(), circuit.negative.unwrap());
    read(circuit, &State::with_key(Key::Run), &faults, &meter).map(|reading| reading.nominal)
}

#[test]
fn without_wakes_a_module_still_needs_feed_and_ground() {
    for draw in ["0.4 A", "20 mA", "unknown"] {
        let model = model("12", "12.6", draw);
        assert!((volts(&model, "") - 7.99).abs() < 0.02, "{draw}");
        assert!(volts(&model, "F5 open").abs() < 0.01, "{draw}");
        assert!(volts(&model, "W41 open").abs() < 0.2, "{draw}: {}", volts(&model, "W41 open"));
    }
}

#[test]
fn what_it_needs_is_a_share_of_the_system_volts() {
    // 24 V through 30 ohm into 60 ohm leave 16 V, more than half; through 100 ohm 9 V, less: it starts and starves.
    let model = model("24", "24", "0.4 A");
    assert!(volts(&model, "F5 added 30 ohm") > 7.9);
    assert!(matches!(reading(&model, "F5 added 100 ohm"), Err(ReadError::NoStableState { .. })));
}
