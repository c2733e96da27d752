//! Every statement beyond the reference circuit: what it becomes, and what it reads.

use halfsplit_base::{FileId, Files};
use halfsplit_circuit::{
    BranchKind, Hazard, Key, State,
    meter::{Load, Measure, Meter, read},
};
use halfsplit_model::{Entity, Model, ProblemKind, lower};

const HEAD: &str = "halfsplit 1\ncircuit \"x\"\nvehicle \"Ollerby Vane\" {\n  system 12 V\n}\n\
supply G1 battery {\n  volts 12 V\n  inner 1 mohm\n  terminals 30 31\n}\n";

fn model(body: &str) -> Model {
    let mut files = Files::default();
    let file: FileId = files.set("x.circuit".into(), &format!("{HEAD}{body}"));
    let model = lower(&files, file);
    assert_eq!(model.syntax, []);
    assert_eq!(model.problems, []);
    model
}

fn volts(model: &Model, state: &State, red: &str) -> f64 {
    let point = |name: &str| model.names.point(name).unwrap();
    let meter = Meter { red: point(red), black: point("G1:31"), measure: Measure::Volts(Load::None) };
    read(&model.circuit, state, &[], &meter).unwrap().nominal
}

fn ohms(model: &Model, red: &str, black: &str) -> f64 {
    let point = |name: &str| model.names.point(name).unwrap();
    let meter = Meter { red: point(red), black: point(black), measure: Measure::Ohms };
    let dead = State { battery: false, ..State::default() };
    read(&model.circuit, &dead, &[], &meter).unwrap().nominal
}

fn near(computed: f64, wanted: f64) {
    assert!((computed - wanted).abs() <= 0.002 * wanted.abs().max(0.01), "{computed}, wanted {wanted}");
}

fn part(model: &Model, name: &str) -> halfsplit_circuit::PartId {
    model.names.part(name).unwrap()
}

#[test]
fn a_bus_has_wires_terminators_and_inputs() {
    let model = model(
        "module A1 {\n  connector X1 4 cavities {\n    contact 1 mohm\n  }\n  terminator 120 ohm X1:1 -> X1:2\n  input 40 kohm X1:1 -> X1:2\n}\n\
         module A2 {\n  connector X2 4 cavities {\n    contact 1 mohm\n  }\n  terminator 120 ohm X2:1 -> X2:2\n}\n\
         wire W1 X1:1 to X2:1 GN/WH 0.35 mm2 1 m\nwire W2 X1:2 to X2:2 GN/BK 0.35 mm2 1 m\n\
         twisted W1 W2 \"keep the pitch\"\n\
         bus CAN1 can 500 kbit/s \"powertrain\" {\n  high A1.X1:1 X2:1\n  low A1.X1:2\n}\n",
    );
    let bus = &model.facts.buses[0];
    assert_eq!((bus.kind.as_str(), bus.rate, bus.high.len(), bus.low.len()), ("can", Some(500e3), 2, 1));
    assert_eq!(model.facts.twisted[0].wires, [part(&model, "W1"), part(&model, "W2")]);
    assert_eq!(model.facts.passive.len(), 3);
    // 120 ohm with 40 kohm, beside 120 ohm behind two wires of 54.4 mohm and four contacts of 1 mohm.
    let near_end = 1.0 / (1.0 / 120.0 + 1.0 / 40e3);
    let far_end = 120.0 + 2.0 * 0.0544 + 4.0 * 0.001;
    let all = 1.0 / (1.0 / near_end + 1.0 / far_end);
    near(ohms(&model, "A1.X1.part:1", "A1.X1.part:2"), all);
}

#[test]
fn pull_ups_and_pull_downs_hold_an_open_wire() {
    let model = model(
        "module A1 {\n  connector X1 6 cavities\n  feed X1:1 -> X1:2 draws 0.1 A key run {\n    wakes 6 V\n  }\n\
         \x20 pull-up 10 kohm X1:3 to 5 V\n  pull-up 1 kohm X1:4 to X1:1\n  pull-down 1 kohm X1:4\n  pull-down 100 kohm X1:3 to X1:2\n}\n\
         wire W1 G1:30 to X1:1 RD 1 mm2 1 m\nwire W2 G1:31 to X1:2 BN 1 mm2 1 m\n",
    );
    let run = State::with_key(Key::Run);
    // The meter's 10 Mohm stands beside the 100 kohm.
    let down = 1.0 / (1.0 / 100e3 + 1.0 / 10e6);
    near(volts(&model, &run, "X1:3"), 5.0 * down / (down + 10e3));
    near(volts(&model, &run, "X1:4"), 6.0);
    assert!(volts(&model, &State::default(), "X1:3") < 0.1, "asleep, the module's rail is down");
}

#[test]
fn a_bridge_turns_both_ways() {
    let model = model(
        "module A1 {\n  connector X1 6 cavities\n  feed X1:1 -> X1:2 draws 0.1 A key run\n\
         \x20 bridge MIRROR X1:5 X1:6 feed X1:1 return X1:2 {\n    saturation 0.2 V\n  }\n}\n\
         motor M1 {\n  connector X2 2 cavities\n  power 12 W at 12 V X2:1 -> X2:2\n}\n\
         wire W1 G1:30 to X1:1 RD 1 mm2 1 m\nwire W2 G1:31 to X1:2 BN 1 mm2 1 m\n\
         wire W3 X1:5 to X2:1 GY 0.5 mm2 1 m\nwire W4 X1:6 to X2:2 GY/BK 0.5 mm2 1 m\n",
    );
    let across = |command: &str| {
        let mut state = State::with_key(Key::Run);
        model.set(&mut state, command).unwrap();
        volts(&model, &state, "X2:1") - volts(&model, &state, "X2:2")
    };
    let forward = across("A1.MIRROR=forward");
    assert!((11.3..11.6).contains(&forward), "{forward}");
    assert!((across("MIRROR=reverse") + forward).abs() < 0.01);
    assert!(across("A1.MIRROR=off").abs() < 0.01);
    let refused = model.set(&mut State::default(), "A1.MIRROR=on").unwrap_err().to_string();
    assert_eq!(refused, "A1.MIRROR is commanded `forward`, `reverse` or `off`, not `on`");
}

#[test]
fn a_high_side_driver_passes_on_its_feed() {
    let model = model(
        "module A1 {\n  connector X1 6 cavities\n  feed X1:1 -> X1:2 draws 0.1 A key run\n\
         \x20 driver TAIL high-side X1:1 -> X1:5 key run {\n    saturation 0.2 V\n    inner 0.1 ohm\n  }\n}\n\
         load R1 {\n  connector X2 2 cavities\n  coil X2:1 -> X2:2 12 ohm\n}\n\
         wire W1 G1:30 to X1:1 RD 1 mm2 1 m\nwire W2 G1:31 to X1:2 BN 1 mm2 1 m\n\
         wire W3 X1:5 to X2:1 GY 0.5 mm2 1 m\nwire W4 X2:2 to G1:31 BN 0.5 mm2 1 m\n",
    );
    let on = volts(&model, &State::with_key(Key::Run), "X2:1");
    assert!((11.6..11.75).contains(&on), "{on}");
    assert!(volts(&model, &State::default(), "X2:1").abs() < 0.01);
    let role = |name: &str| model.roles[&model.names.point(name).unwrap()];
    assert_eq!(role("X1:5"), halfsplit_model::PinRole::Driver);
    assert_eq!(role("X1:1"), halfsplit_model::PinRole::Feed);
}

#[test]
fn eyelets_repairs_and_contacts_add_up_along_a_wire() {
    let model = model(
        "inline X9 2 cavities halves a b {\n  contact 20 mohm\n  contact 50 mohm at 2\n}\n\
         wire W1 G1:30 to X9.a:1 RD 0.5 mm2 2 m {\n  eyelet 3 mohm at from \"post\"\n  repair at 0.4 m GY 1 mm2 0.5 m \"after a marten\"\n\
         \x20 circuit-number \"15-204\"\n  drawing \"sheet 4\"\n}\n\
         wire W2 X9.b:1 to stub GY/RD 0.5 mm2 1 m {\n  stub because \"prepared for the tow bar\"\n}\n",
    );
    // Between eyelet and cavity: 1.5 m of 37.1 mohm and 0.5 m of 18.5 mohm.
    near(ohms(&model, "W1:from", "X9.a:1"), 1.5 * 0.0371 + 0.5 * 0.0185);
    near(ohms(&model, "G1:30", "X9.b:1"), 0.003 + 1.5 * 0.0371 + 0.5 * 0.0185 + 0.02);
    near(ohms(&model, "X9.a:1", "X9.b:1"), 0.02);
    near(ohms(&model, "X9.a:2", "X9.b:2"), 0.05);
    let wire = &model.wires[0];
    assert_eq!((wire.repairs[0].colour.as_str(), wire.repairs[0].at), ("GY", Some(0.4)));
    assert_eq!(model.facts.circuit_numbers[&wire.part], "15-204");
    assert_eq!(model.facts.drawings[&wire.part], "sheet 4");
    assert_eq!(model.wires[1].stub.as_deref(), Some("prepared for the tow bar"));
    // An open at the end with an eyelet is the eyelet's; at the other end it is the wire's.
    let series = |written: &str| match model.fault(written).unwrap().kind {
        halfsplit_circuit::FaultKind::Series { branch, .. } => model.circuit.branch(branch).kind.clone(),
        other => panic!("{other:?}"),
    };
    assert!(matches!(series("W1 at G1:30 open"), BranchKind::Joint { .. }));
    assert!(matches!(series("W1 at X9.a:1 open"), BranchKind::Wire { .. }));
}

#[test]
fn a_spiral_contact_and_a_shield_are_copper() {
    let model = model(
        "spiral-contact X9 \"behind the wheel\" {\n  connector X70 6 cavities\n  path X70:4 to horn 0.15 ohm\n}\n\
         wire W1 G1:30 to X70:4 GN/BK 0.5 mm2 1 m\nwire W2 X9:horn to G1:31 GN/BK 0.5 mm2 1 m\n\
         ground-point GP1\nshield SH1 {\n  over W1\n  drain to GP1 0.5 mm2 0.1 m\n}\n",
    );
    near(ohms(&model, "X70:4", "X9:horn"), 0.155);
    near(ohms(&model, "SH1", "GP1"), 0.00371);
    let shield = &model.facts.shields[0];
    assert_eq!((shield.wires.len(), shield.drains.len()), (1, 1));
    assert!(model.fault("X9 open").is_ok());
}

#[test]
fn a_zone_gives_its_danger_to_what_it_holds_and_to_neighbours_in_the_connector() {
    let model = model(
        "spiral-contact X9 {\n  connector X70 6 cavities\n  path X70:4 to horn 0.15 ohm\n}\n\
         switch S5 {\n  connector X71 3 cavities\n}\n\
         fuse F1 10 A {\n  slot \"12\" in \"engine bay box\"\n}\n\
         wire W1 F1:load to X70:4 GN/BK 0.5 mm2 1 m\nwire W2 F1:load to X71:1 GN/BK 0.5 mm2 1 m\n\
         run RUN1 \"steering column\" 0.4 m {\n  wires W1 W2\n  caution moving \"rake lever\"\n}\n\
         zone COLUMN \"steering column\" {\n  caution airbag \"battery off, wait\"\n  holds X70:4 S5\n}\n",
    );
    let hazards = |connector: &str| {
        let id = model.names.connector(connector).unwrap();
        model.circuit.connector(id).cautions.iter().map(|c| c.hazard).collect::<Vec<_>>()
    };
    assert_eq!(hazards("X70"), [Hazard::Airbag]);
    assert_eq!(hazards("X71"), [Hazard::Airbag]);
    let of = |name: &str| model.circuit.part(part(&model, name)).cautions.len();
    assert_eq!((of("S5"), of("W1"), of("X9")), (1, 1, 0));
    assert_eq!(
        model.facts.shares_run_with(part(&model, "W1")).into_iter().collect::<Vec<_>>(),
        [part(&model, "W2")]
    );
    assert!(matches!(model.facts.zones[0].holds[..], [Entity::Point(_), Entity::Part(_)]));
    assert_eq!(model.facts.slots[&part(&model, "F1")], ("12".to_owned(), "engine bay box".to_owned()));
}

#[test]
fn facts_have_sources_and_a_circuit_is_proven_by_tracing() {
    let unproven = model(
        "source \"drawing 7, page 12\"\nsplice SP1 {\n  traced by \"R. Ambler\" on \"2026-03-14\"\n}\n",
    );
    assert!(!unproven.proven());
    assert_eq!(unproven.facts.sources[0].document, "drawing 7, page 12");
    assert_eq!(unproven.facts.traces[0].item, Some(Entity::Part(part(&unproven, "SP1"))));
    let proven = model("traced by \"R. Ambler\" on \"2026-03-14\"\n");
    assert!(proven.proven());
}

#[test]
fn a_wire_that_is_not_there_is_reported() {
    let mut files = Files::default();
    let text =
        format!("{HEAD}wire W1 G1:30 to stub RD 1 mm2 1 m\ntwisted W1 W2\nzone Z1 {{\n  holds X70\n}}\n");
    let file = files.set("x.circuit".into(), &text);
    let wanted: Vec<&str> = (lower(&files, file).problems.iter())
        .filter_map(|problem| match &problem.kind {
            ProblemKind::UnknownName { wanted, .. } => Some(*wanted),
            _ => None,
        })
        .collect();
    assert_eq!(wanted, ["wire", "item"]);
}

/// `unknown` is a value: a relay whose coil nobody measured switches all the same, and a reading at it says so.
#[test]
fn a_relay_with_an_unknown_coil_still_switches() {
    let body = |coil: &str| {
        format!(
            "relay K1 {{\n coil 86 -> 85 {coil}\n contact 30 -> 87\n}}\n\
             lamp E1 {{\n connector X1 2 cavities\n filament 21 W at 12 V X1:1 -> X1:2\n}}\n\
             wire W1 G1:30 to K1:30 RD 4 mm2 1 m\nwire W2 G1:30 to K1:86 RD 4 mm2 1 m\n\
             wire W3 K1:85 to G1:31 BK 4 mm2 1 m\nwire W4 K1:87 to X1:1 RD 4 mm2 1 m\n\
             wire W5 X1:2 to G1:31 BK 4 mm2 1 m\n"
        )
    };
    for (coil, unknown) in [("90 ohm", false), ("unknown", true)] {
        let model = model(&body(coil));
        assert!(volts(&model, &State::default(), "X1:1") > 11.5, "{coil}");
        let [red, black] = ["K1:86", "G1:31"].map(|pin| model.names.point(pin).unwrap());
        let reading = read(&model.circuit, &State::default(), &[], &Meter::volts(red, black)).unwrap();
        assert_eq!(!reading.unknowns.is_empty(), unknown, "{coil}");
    }
}

/// An option that is absent is no wire that is absent: what hangs free is on the net, and can touch what lies beside it.
#[test]
fn a_wire_with_a_free_end_is_on_the_net() {
    let model = model(
        "splice SP1\nfuse F1 10 A\nwire W1 G1:30 to F1:feed RD 4 mm2 1 m\nwire W2 F1:load to SP1 GY 1 mm2 1 m\n\
         wire W3 SP1 to stub GY 1 mm2 1 m {\n stub because \"prepared for the tow bar\"\n}\n",
    );
    let net =
        halfsplit_circuit::net::net(&model.circuit, &State::default(), model.names.point("SP1").unwrap());
    let wires: Vec<&str> = net
        .branches
        .iter()
        .map(|&id| model.circuit.part(model.circuit.branch(id).part).name.as_str())
        .collect();
    assert_eq!(wires, ["W2", "W3"]);
    near(volts(&model, &State::default(), "SP1"), 12.0);
}
