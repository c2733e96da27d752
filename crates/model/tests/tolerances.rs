//! The spread table of whole example circuits against readings with all their tolerances, solved one by one.

use std::{path::Path, time::Instant};

use halfsplit_base::{Files, disk};
use halfsplit_circuit::{
    Key, Load, Measure, Meter, PointId, Solver, State, faults_of, interval::meter_accuracy,
};
use halfsplit_model::lower;

/// How much further out an end of `read` may lie than the table's, of the width of its interval: tolerances that
/// multiply, and the worst of all together where something sets in.
const SHARE: f64 = 0.2;

#[test]
fn the_examples_lie_where_read_has_them() {
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let (mut cells, mut notable, mut worst) = (0, 0, 0.0_f64);
    let (mut fast_time, mut plain_time, mut read_time) = (0.0, 0.0, 0.0);
    for name in [
        "tern/reference-a",
        "vane/fuel-pump",
        "vane/rear-lamps",
        "vane/starter",
        "lark/sensors-and-fan",
        "haul/mirror-and-heater",
    ] {
        let path = examples.join(name).with_extension("circuit");
        let mut files = Files::default();
        let text = std::fs::read_to_string(&path).unwrap();
        let file = files.set(path, text.as_str());
        halfsplit_model::library::load(&mut files, file, &mut disk::read_in);
        let circuit = lower(&files, file).circuit;
        let solver = Solver::new(&circuit);
        let black = circuit.negative.unwrap();
        let points = (0..circuit.points.len() as u32).step_by(4).map(PointId);
        let meters: Vec<Meter> = points
            .flat_map(|red| [Load::None, Load::Lamp].map(|load| (red, load)))
            .map(|(red, load)| Meter { red, black, measure: Measure::Volts(load) })
            .collect();
        let named = faults_of(&circuit).into_iter().step_by(17).map(|named| named.faults);
        let faults: Vec<_> = std::iter::once(vec![]).chain(named).collect();
        for key in [Key::Run, Key::Crank] {
            let state = State::with_key(key);
            let volts: Vec<Meter> = meters.iter().copied().step_by(2).collect();
            let start = Instant::now();
            solver.table_on(1, &state, &faults, &volts);
            plain_time += start.elapsed().as_secs_f64();
            let start = Instant::now();
            solver.spread_table_on(1, &state, &faults, &volts);
            fast_time += start.elapsed().as_secs_f64();
            let start = Instant::now();
            for (faults, meter) in
                faults.iter().flat_map(|faults| volts.iter().map(move |meter| (faults, meter)))
            {
                let _ = solver.read(&state, faults, meter);
            }
            read_time += start.elapsed().as_secs_f64();
            let plain = solver.table(&state, &faults, &meters);
            let table = solver.spread_table(&state, &faults, &meters);
            for (row, faults) in faults.iter().enumerate() {
                for (column, meter) in meters.iter().enumerate() {
                    let (Ok(fast), Ok(plain)) = (table.at(row, column), plain.at(row, column)) else {
                        continue;
                    };
                    assert_eq!((fast.nominal, fast.floating), (plain.value, plain.floating));
                    assert!(fast.low <= fast.nominal && fast.nominal <= fast.high);
                    let Ok(slow) = solver.read(&state, faults, meter) else { continue };
                    if fast.unsteady || slow.floating {
                        continue;
                    }
                    let low = fast.low - meter_accuracy(slow.quantity, fast.low);
                    let high = fast.high + meter_accuracy(slow.quantity, fast.high);
                    let width = (slow.high - slow.low).max(1e-6);
                    let off = ((low - slow.low).abs()).max((slow.high - high).abs()) / width;
                    cells += 1;
                    notable += usize::from(off > 0.05);
                    worst = off.max(worst);
                    assert!(
                        off <= SHARE,
                        "{name} {key:?} {off:.2}: {fast:?}, {slow:?}, {faults:?} at {meter:?}"
                    );
                }
            }
        }
    }
    let [fast, read] = [fast_time, read_time].map(|time| time / plain_time);
    println!("{cells} cells, {notable} more than 5 % off, the worst {worst:.3}");
    println!("times a nominal table on volts: {fast:.1}, readings one by one {read:.1}");
    assert!(cells > 2000 && notable < cells / 8, "{notable} of {cells}");
}
