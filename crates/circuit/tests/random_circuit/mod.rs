//! Random circuits with every kind of part, random faults and random meters.
#![allow(dead_code)] // Each test binary uses its own part of it.

use halfsplit_circuit::{
    Branch, BranchId, BranchKind, Builder, Circuit, Fault, FaultKind, Key, Load, Measure, Meter, PartKind,
    PointId, State, When,
};
use proptest::prelude::*;

/// A part before its points and coil exist: kind, two ends, a size between 0 and 1, a choice.
pub type Recipe = (u8, usize, usize, f64, usize);

/// A circuit of these parts on so many points, point 0 battery negative. `tied` joins every point
/// to an earlier one, so that the circuit is one piece.
pub fn circuit(points: usize, tied: bool, recipes: &[Recipe]) -> Circuit {
    let mut build = Builder::new();
    let points: Vec<PointId> = (0..points).map(|p| build.inside(&format!("P{p}"))).collect();
    let modules = [build.part("A1", "", PartKind::Module), build.part("A2", "", PartKind::Module)];
    let mut coils: Vec<BranchId> = Vec::new();
    let at = |place: usize| points[place % points.len()];
    let ohms = |size: f64| 10f64.powf(size * 6.0 - 3.0);
    if tied {
        for place in 1..points.len() {
            let (_, _, _, size, choice) = recipes[place % recipes.len()];
            let part = build.part(&format!("T{place}"), "", PartKind::Load);
            let kind = BranchKind::Load { ohms: Some(ohms(size)), active: When::always() };
            build.branch(part, at(place), at(choice % place), kind);
        }
    }
    for (index, &(kind, a, b, size, choice)) in recipes.iter().enumerate() {
        let part = build.part(&format!("R{index}"), "", PartKind::Load);
        let module = modules[choice % 2];
        let run = || When::keys(&[Key::Run]);
        let limit = if choice % 3 == 0 { None } else { Some(0.05 + size) };
        let (part, kind) = match kind % 15 {
            0 | 1 => (part, BranchKind::Source { volts: 5.0 + 8.0 * size, inner: 0.01 + size }),
            2 => (part, BranchKind::Diode { forward: 0.7, ohms: 0.05 + size }),
            3 => {
                let (sinks, latches) = (choice % 5 == 0, choice % 7 == 0);
                let kind = BranchKind::Reference {
                    volts: 5.0,
                    inner: 0.2,
                    limit,
                    unpowered: 4700.0,
                    sinks,
                    latches,
                };
                (module, kind)
            }
            4 => {
                let wakes = (choice % 3 != 0).then_some(3.0);
                let awake = (choice % 4 != 0).then_some(24.0 + size);
                (module, BranchKind::Feed { awake, standby: Some(6000.0), wakes, when: run() })
            }
            5 => (module, BranchKind::Driver { saturation: 0.1, ohms: 0.1 + size, on: When::always() }),
            6 => {
                let coil = BranchKind::Coil {
                    ohms: 60.0 + 40.0 * size,
                    assumed: false,
                    pull_in: 6.0,
                    drop_out: 2.5,
                };
                coils.push(build.branch(part, at(a), at(b), coil));
                continue;
            }
            7 => match coils.get(choice % coils.len().max(1)) {
                Some(&coil) => {
                    let closed_at_rest = size < 0.2;
                    (part, BranchKind::RelayContact { ohms: 0.005, coil, closed_at_rest })
                }
                None => continue,
            },
            8 => (part, BranchKind::Lamp { hot: 6.0 + size, rated: 12.0 }),
            9 => (part, BranchKind::Switch { ohms: 0.005, closed: run() }),
            10 => (part, BranchKind::Fuse { ohms: 0.005, rating: 10.0 }),
            11 | 12 => {
                let colour = String::new();
                let ohms = (choice % 9 != 0).then_some(0.002 + 0.05 * size);
                (part, BranchKind::Wire { ohms, section: None, metres: None, colour })
            }
            // A generator with nothing on it follows whatever its sense point floats to.
            13 if tied && choice % 4 == 0 => {
                let sense = at(choice);
                let (volts, fallback, ceiling) = (14.2, 14.6, 15.5);
                let (inner, turning, lost) = (0.02 + 0.1 * size, run(), 8.0);
                (part, BranchKind::Generator { volts, inner, limit, sense, lost, fallback, ceiling, turning })
            }
            _ => (part, BranchKind::Load { ohms: Some(ohms(size)), active: When::always() }),
        };
        build.branch(part, at(a), at(b), kind);
    }
    let mut circuit = build.build().unwrap();
    circuit.negative = Some(points[0]);
    circuit
}

/// A fault of any kind; what does not fit its branch is wanted too.
pub fn fault(circuit: &Circuit, &(kind, a, b, size, choice): &Recipe) -> Fault {
    let point = |place: usize| PointId((place % circuit.points.len()) as u32);
    let branch = BranchId((choice % circuit.branches.len().max(1)) as u32);
    let ohms = 10f64.powf(size * 5.0 - 2.0);
    let kind = match kind % 8 {
        0 | 1 => FaultKind::Bridge { a: point(a), b: point(b), ohms },
        2 => {
            let wires: Vec<BranchId> = circuit
                .branches()
                .filter(|(_, b)| matches!(b.kind, BranchKind::Wire { .. }))
                .map(|(id, _)| id)
                .collect();
            match wires.get(choice % wires.len().max(1)) {
                Some(&branch) => FaultKind::Chafe { branch, along: size, to: point(a), ohms },
                None => FaultKind::Series { branch, ohms: f64::INFINITY },
            }
        }
        3 if choice % 4 == 0 => {
            let wires: Vec<BranchId> = circuit
                .branches()
                .filter(|(_, b)| matches!(b.kind, BranchKind::Wire { .. }))
                .map(|(id, _)| id)
                .collect();
            match (wires.first(), wires.last()) {
                (Some(&one), Some(&other)) if one != other => {
                    FaultKind::Touch { one: (one, size), other: (other, 0.3), ohms }
                }
                _ => FaultKind::Series { branch, ohms: f64::INFINITY },
            }
        }
        3 => FaultKind::Series { branch, ohms: f64::INFINITY },
        4 => FaultKind::Series { branch, ohms },
        5 => FaultKind::Dead { branch },
        6 => FaultKind::StuckClosed { branch, ohms: 0.01 + size },
        _ => FaultKind::Sink { point: point(a), volts: 0.15, ohms: 10.0 + ohms, unpowered: 47e3 },
    };
    kind.into()
}

/// A meter on any two points, set to anything, or a clamp around any branch.
pub fn meter(circuit: &Circuit, &(kind, a, b, size, choice): &Recipe) -> Meter {
    if kind % 8 == 4 && !circuit.branches.is_empty() {
        let branch = BranchId((choice % circuit.branches.len()) as u32);
        let it = circuit.branch(branch);
        return Meter::clamp(circuit, branch, if size < 0.5 { it.a } else { it.b });
    }
    let point = |place: usize| PointId((place % circuit.points.len()) as u32);
    let measure = match kind % 8 {
        0 => Measure::Ohms,
        1 => Measure::Volts(Load::Lamp),
        2 => Measure::Volts(Load::Reference),
        3 => Measure::Inject { volts: 12.0, through: 100.0 + size },
        _ => Measure::Volts(Load::None),
    };
    Meter { red: point(a), black: point(b), measure }
}

/// Recipes of any kind.
pub fn recipes(count: std::ops::Range<usize>) -> impl Strategy<Value = Vec<Recipe>> {
    prop::collection::vec((any::<u8>(), 0usize..64, 0usize..64, 0.0..1.0f64, 0usize..1000), count)
}

/// Key run or off, battery on or off.
pub fn state(choice: u8) -> State {
    let mut state = State::with_key(if choice % 4 == 0 { Key::Off } else { Key::Run });
    state.battery = choice % 5 != 0;
    state
}

/// A branch's two ends.
pub fn ends(branch: &Branch) -> [PointId; 2] {
    [branch.a, branch.b]
}
