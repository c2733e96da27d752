//! Two wires that rub through to each other, each part of the way along.

use halfsplit_circuit::{
    Branch, BranchKind, Builder, Circuit, Fault, FaultKind, Meter, Solver, State, faults_of, touched,
};

/// Two supplies over two wires into two loads; with `spots` the wires are cut in two and bridged instead.
fn circuit(spots: Option<[f64; 2]>) -> Circuit {
    let mut build = Builder::new();
    build.supply("G1", 12.6, 0.008);
    for (name, load, share) in [("1", 10.0, 0), ("2", 40.0, 1)] {
        for point in ["A", "B", "M"] {
            build.inside(&format!("{point}{name}"));
        }
        build.resistor(&format!("R{name}"), "G1:30", &format!("A{name}"), 1.0 + load / 10.0);
        match spots {
            None => {
                build.wire(&format!("W{name}"), &format!("A{name}"), &format!("B{name}"), "RD", 0.5, 40.0);
            }
            Some(along) => {
                let (first, rest) = (40.0 * along[share], 40.0 * (1.0 - along[share]));
                build.wire(&format!("V{name}"), &format!("A{name}"), &format!("M{name}"), "RD", 0.5, first);
                build.wire(&format!("W{name}"), &format!("M{name}"), &format!("B{name}"), "RD", 0.5, rest);
            }
        }
        build.resistor(&format!("L{name}"), &format!("B{name}"), "G1:31", load);
    }
    if spots.is_some() {
        build.resistor("T", "M1", "M2", 0.7);
    }
    build.build().unwrap()
}

fn touch(circuit: &Circuit, names: [&str; 2], along: [f64; 2]) -> Vec<Fault> {
    let [one, other] = [0, 1].map(|at| {
        let part = circuit.part_named(names[at]).unwrap();
        (circuit.branches_of(part).next().unwrap().0, along[at])
    });
    vec![FaultKind::Touch { one, other, ohms: 0.7 }.into()]
}

fn volts(circuit: &Circuit, faults: &[Fault]) -> Vec<f64> {
    let at = |name: &str| circuit.point_named(name).unwrap();
    let meters = ["A1", "B1", "A2", "B2"].map(|name| Meter::volts(at(name), at("G1:31")));
    let (solver, state) = (Solver::new(circuit), State::default());
    let table = solver.table(&state, &[faults.to_vec()], &meters);
    let listed: Vec<f64> = (0..4).map(|meter| table.at(0, meter).unwrap().value).collect();
    for (meter, listed) in meters.iter().zip(&listed) {
        let alone = solver.nominal(&state, faults, meter).unwrap().value;
        assert!((alone - listed).abs() < 1e-9, "{alone} against {listed}");
    }
    listed
}

#[test]
fn it_is_what_two_cut_wires_and_a_bridge_read() {
    let whole = circuit(None);
    for along in [[0.5, 0.5], [0.2, 0.9], [0.7, 0.1]] {
        let cut = volts(&circuit(Some(along)), &[]);
        let touching = volts(&whole, &touch(&whole, ["W1", "W2"], along));
        for (one, other) in cut.iter().zip(&touching) {
            assert!((one - other).abs() < 1e-9, "{along:?}: {cut:?} against {touching:?}");
        }
    }
}

#[test]
fn which_is_named_first_makes_no_difference() {
    let circuit = circuit(None);
    let one = volts(&circuit, &touch(&circuit, ["W1", "W2"], [0.2, 0.9]));
    let other = volts(&circuit, &touch(&circuit, ["W2", "W1"], [0.9, 0.2]));
    for (one, other) in one.iter().zip(&other) {
        assert!((one - other).abs() < 1e-12);
    }
    assert!(volts(&circuit, &[]).iter().zip(&one).any(|(sound, faulty)| (sound - faulty).abs() > 0.1));
}

#[test]
fn it_touches_all_four_ends_and_is_on_the_list() {
    let circuit = circuit(None);
    assert_eq!(touched(&circuit, &touch(&circuit, ["W1", "W2"], [0.5; 2])[0]).len(), 4);
    let mut build = Builder::new();
    build.inline("X1", ["body", "engine"], 2);
    for (name, cavity) in [("W1", "X1.body:1"), ("W2", "X1.body:2")] {
        build.inside(&format!("{name}:far"));
        build.wire(name, &format!("{name}:far"), cavity, "RD", 0.5, 1.0);
    }
    let circuit = build.build().unwrap();
    let is_wire = |branch: &Branch| matches!(branch.kind, BranchKind::Wire { .. });
    assert_eq!(circuit.branches.iter().filter(|branch| is_wire(branch)).count(), 2);
    let touches = faults_of(&circuit).into_iter().filter(|named| named.label.contains("touching W2"));
    let kinds: Vec<FaultKind> = touches.flat_map(|named| named.faults).map(|fault| fault.kind).collect();
    assert!(matches!(kinds.as_slice(), [FaultKind::Touch { one, other, .. }] if one != other), "{kinds:?}");
}
