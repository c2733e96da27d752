//! What a fault table reads is what a fresh solve reads, also where an open leaves an output with nothing but the meter.

use std::path::Path;

use halfsplit_circuit::{BranchId, Fault, FaultKind, Key, Meter, PointId, PointKind, Solver, State};
use halfsplit_tests::replay::open;

#[test]
fn opens_read_alike_in_a_table_and_alone() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    let mut compared = 0;
    for (file, setting) in [("vane/fuel-pump.circuit", Some("A10.PUMP=on")), ("vane/horn.circuit", None)] {
        let model = open(&folder.join(file)).unwrap();
        let circuit = &model.circuit;
        let mut state = State::with_key(Key::Run);
        state.set_supply(12.4);
        setting.iter().for_each(|setting| model.set(&mut state, setting).unwrap());
        let opens = (0..circuit.branches.len()).map(|at| BranchId(at as u32));
        let opens = opens.filter(|&id| circuit.branch(id).kind.is_copper());
        let series = |branch| vec![Fault::from(FaultKind::Series { branch, ohms: f64::INFINITY })];
        let rows: Vec<Vec<Fault>> = opens.map(series).collect();
        let negative = circuit.negative.unwrap();
        let terminals = (0..circuit.points.len()).map(|at| PointId(at as u32));
        let terminals = terminals.filter(|&at| matches!(circuit.point(at).kind, PointKind::Terminal));
        let meters: Vec<Meter> = terminals.map(|red| Meter::volts(red, negative)).collect();
        let solver = Solver::new(circuit);
        let table = solver.table(&state, &rows, &meters);
        for (at, faults) in rows.iter().enumerate() {
            for (cell, meter) in table.row(at).iter().zip(&meters) {
                let alone = solver.nominal(&state, faults, meter).map(|reading| reading.value).ok();
                let value = cell.as_ref().map(|reading| reading.value).ok();
                let same = match (value, alone) {
                    (Some(one), Some(other)) => (one - other).abs() <= 1e-6 * other.abs().max(1.0),
                    (one, other) => one == other,
                };
                let red = &circuit.point(meter.red).name;
                assert!(same, "{file}, {faults:?} at {red}: table {value:?}, alone {alone:?}");
                compared += 1;
            }
        }
    }
    assert!(compared > 500, "{compared}");
}
