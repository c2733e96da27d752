//! A contact is named by its terminal where a part has several.

use halfsplit_base::Files;
use halfsplit_circuit::{BranchId, FaultKind};
use halfsplit_model::{Model, lower};

const TEXT: &str = "halfsplit 1
circuit \"changeover\"
supply G1 battery {
  volts 12.6 V
  terminals 30 31
}
relay K22 {
  coil 86 -> 85 85 ohm
  contact 30 -> 87
  rest-contact 30 -> 87a
}
relay K1 {
  coil 86 -> 85 85 ohm
  contact 30 -> 87
}
switch S4 {
  positions off side head
  connector X4 3 cavities
  contact X4:1 -> X4:2 in side head
  contact X4:1 -> X4:3 in head
}
";

fn model() -> Model {
    let mut files = Files::default();
    let file = files.set("x.circuit".into(), TEXT);
    lower(&files, file)
}

/// The ends of the branch that a fault changes.
fn ends(model: &Model, written: &str) -> String {
    let name = |branch: BranchId| {
        let branch = model.circuit.branch(branch);
        [branch.a, branch.b].map(|point| model.circuit.point(point).name.clone()).join(" ")
    };
    match model.fault(written).unwrap().kind {
        FaultKind::Series { branch, .. } | FaultKind::StuckClosed { branch, .. } => name(branch),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_terminal_names_its_contact() {
    let model = model();
    assert_eq!(ends(&model, "K22 at 87a open"), "K22:30 K22:87a");
    assert_eq!(ends(&model, "K22 at 87 open"), "K22:30 K22:87");
    assert_eq!(ends(&model, "K22 contact at 87a added 2 ohm"), "K22:30 K22:87a");
    assert_eq!(ends(&model, "K22 at 87a contact welded"), "K22:30 K22:87a");
    assert_eq!(ends(&model, "S4 at X4:3 open"), "X4.part:1 X4.part:3");
    assert_eq!(ends(&model, "K1 contact open"), "K1:30 K1:87");
    assert_eq!(ends(&model, "K22 coil open"), "K22:86 K22:85");
}

#[test]
fn without_one_the_contacts_are_listed() {
    let model = model();
    let refused = |written| model.fault(written).unwrap_err().to_string();
    let all = "name one by its terminal, `K22 at 87` (30 to 87), `K22 at 87a` (30 to 87a)";
    for written in ["K22 contact open", "K22 open", "K22 welded"] {
        assert_eq!(refused(written), format!("K22 has 2 contacts: {all}"), "{written}");
    }
    assert_eq!(refused("K22 at 30 open"), format!("K22 has 2 contacts at 30: {all}"));
    assert_eq!(
        refused("K22 at 86 open"),
        "K22 has no contact at 86: `K22 at 87` (30 to 87), `K22 at 87a` (30 to 87a)"
    );
    assert_eq!(
        refused("S4 open"),
        "S4 has 2 contacts: name one by its terminal, `S4 at X4:2` (X4:1 to X4:2), `S4 at X4:3` (X4:1 to X4:3)"
    );
}
