//! The reference circuit, lowered: what its names stand for, and what can be said about it.

use halfsplit_base::{FileId, Files};
use halfsplit_circuit::{BranchKind, FaultKind, Key, State};
use halfsplit_model::{Entity, Model, NameError, PinRole, lower};

const TEXT: &str = include_str!("../../../examples/tern/reference-a.circuit");

fn model() -> Model {
    model_of(TEXT).0
}

fn model_of(text: &str) -> (Model, FileId) {
    let mut files = Files::default();
    let file = files.set("reference-a.circuit".into(), text);
    (lower(&files, file), file)
}

#[test]
fn everything_adds_up() {
    let model = model();
    assert_eq!(model.syntax, []);
    assert_eq!(model.problems, []);
    assert_eq!(model.title, "reference A, five sensors");
    assert_eq!(model.vehicle.years, Some((2014, 2019)));
    assert!(model.wires.iter().all(|wire| wire.branch.is_some()));
}

#[test]
fn printed_milliohms() {
    let model = model();
    let milliohms = |name: &str| {
        let part = model.names.part(name).unwrap();
        let (_, branch) = model.circuit.branches_of(part).next().unwrap();
        match branch.kind {
            BranchKind::Wire { ohms: Some(ohms), .. } => ohms * 1000.0,
            _ => panic!("{name} is a wire with ohms"),
        }
    };
    // The table of R5; W25 and W31 stand for their kind.
    for (wire, printed) in [
        ("W1", 14.8),
        ("W2", 33.4),
        ("W7", 81.6),
        ("W25", 44.5),
        ("W31", 59.4),
        ("W102", 51.9),
        ("W108", 11.4),
    ] {
        assert!((milliohms(wire) - printed).abs() <= 0.06, "{wire}: {} against {printed}", milliohms(wire));
    }
}

#[test]
fn a_pin_has_one_name_and_several_spellings() {
    let model = model();
    let name = |written| model.names.point(written).map(|id| model.circuit.point(id).name.clone());
    assert_eq!(name("X34:2").as_deref(), Ok("X34:2"));
    assert_eq!(name("B4.X34:2").as_deref(), Ok("X34:2"));
    assert_eq!(name("X34.part:2").as_deref(), Ok("X34.part:2"));
    assert_eq!(name("X2:14").as_deref(), Ok("A10.X2:14"));
    assert!(matches!(name("X21:6"), Err(NameError::Ambiguous { .. })));
    assert_eq!(name("X34:4"), Err(NameError::Unknown { near: Some("X34:1".into()) }));
}

#[test]
fn a_name_under_the_cursor_leads_to_its_declaration() {
    let (model, file) = model_of(TEXT);
    let offset = TEXT.find("to X34:2").unwrap() as u32 + 4;
    let (entity, span) = model.entity_at(file, offset).unwrap();
    assert_eq!(&TEXT[span.range()], "X34:2");
    let Entity::Point(_) = entity else { panic!("a pin is a point") };
    let place = model.declaration(entity).unwrap();
    assert_eq!(&TEXT[place.span.range()], "2");
    assert!(TEXT[..place.span.range().start].contains("connector X34"));
    assert_eq!(model.mentions(entity).count(), 5, "the wire's end, the sensor's draw and three proofs");
}

#[test]
fn pins_have_roles() {
    let model = model();
    let role = |written| model.roles.get(&model.names.point(written).unwrap()).copied();
    assert_eq!(role("A10.X2:14"), Some(PinRole::Reference));
    assert_eq!(role("A10.X2:29"), Some(PinRole::ReferenceReturn));
    assert_eq!(role("A10.X1:1"), Some(PinRole::Feed));
    assert_eq!(role("X34:3"), Some(PinRole::Signal));
    assert_eq!(role("X34:2"), Some(PinRole::LoadFeed));
    assert_eq!(role("A10.X2:15"), None);
}

#[test]
fn faults_are_read_as_people_write_them() {
    let model = model();
    let kind = |written| model.fault(written).map(|fault| fault.kind);
    let point = |name| model.names.point(name).unwrap();
    assert_eq!(
        kind("B4 short 1.8 ohm"),
        Ok(FaultKind::Bridge { a: point("X34.part:2"), b: point("X34.part:1"), ohms: 1.8 })
    );
    assert!(matches!(kind("F12 open 40 kohm"), Ok(FaultKind::Series { ohms: 40_000.0, .. })));
    assert!(matches!(kind("GP102 open"), Ok(FaultKind::Series { ohms, .. }) if ohms.is_infinite()));
    assert!(matches!(kind("A10.REF_A dead"), Ok(FaultKind::Dead { .. })));
    assert!(matches!(kind("K3 contact welded"), Ok(FaultKind::StuckClosed { .. })));
    assert!(matches!(kind("W7 short at 1.1 m 0.5 ohm"), Ok(FaultKind::Chafe { along, .. }) if along == 0.5));
    assert!(matches!(kind("X34:2 added 3ohm"), Ok(FaultKind::Series { ohms: 3.0, .. })));
    let along = |written| match kind(written) {
        Ok(FaultKind::Touch { one, other, .. }) => (one.1, other.1),
        other => panic!("{written}: {other:?}"),
    };
    assert_eq!(along("W7 short to W24"), (0.5, 0.5));
    assert_eq!(along("W7 short at 0.55 m to W24 at 1.3 m 2 ohm"), (0.25, 0.5));
    let chafed = |written| matches!(kind(written), Ok(FaultKind::Chafe { to, .. }) if to == point("X34:3"));
    assert!(chafed("W7 short to X34:3") && chafed("X34:3 short to W7"));
}

#[test]
fn a_fault_that_cannot_be_read_says_what_can_be_written() {
    let model = model();
    let refused = |written| model.fault(written).unwrap_err().to_string();
    assert_eq!(refused("B44 short"), "nothing is called `B44`; did you mean `B4`?");
    assert_eq!(refused("A10 dead"), "name an output of A10: A10.MAIN, A10.REF_A, A10.REF_B");
    assert_eq!(refused("W7 short at 3 m"), "W7 is 2.2 m long; 3 m is beyond its end");
    assert_eq!(refused("W24 short to W7 at 3 m"), "W7 is 2.2 m long; 3 m is beyond its end");
    assert_eq!(refused("W7 short to W7"), "W7 can't be shorted to itself");
    assert_eq!(refused("W2 at X34:2 open"), "W2 runs from SP10 to X21.body:6");
    assert_eq!(
        refused("SP10 open"),
        "SP10 joins several conductors: name the one that is open, `W2 at SP10 open`"
    );
    assert_eq!(
        refused("B4 broken"),
        "`B4 broken`: expected `short`, `leak`, `open`, `added`, `dead`, `welded`, `stuck` or `sink`"
    );
    assert_eq!(
        refused("B4 short 1.8"),
        "`1.8` has no unit; a resistance is written in ohm, mohm, kohm, Mohm, for instance `1.5 ohm`"
    );
}

#[test]
fn states_are_read_as_people_write_them() {
    let model = model();
    let mut state = State::with_key(Key::Run);
    model.unplug(&mut state, "X35").unwrap();
    model.unplug(&mut state, "K3").unwrap();
    model.set(&mut state, "A10.MAIN=off").unwrap();
    assert_eq!((state.unplugged.len(), state.pulled.len(), state.commands.len()), (1, 1, 1));
    let refused = |name| model.unplug(&mut State::default(), name).unwrap_err().to_string();
    assert_eq!(refused("B4"), "B4 is parted at its connector: X34");
    assert_eq!(refused("X44"), "no connector, fuse or relay is called `X44`; did you mean `X34`?");
    assert_eq!(
        model.key("on").unwrap_err().to_string(),
        "the key is in one of off, accessory, run, crank; `on` is none of them"
    );
}
