//! The spread table against readings with all their tolerances, solved one by one.

mod random_circuit;
mod reference_circuit;

use halfsplit_circuit::{
    Circuit, Fault, Load, Measure, Meter, PointId, Quantity, Solver, State, faults_of,
    interval::meter_accuracy,
};
use proptest::prelude::*;
use reference_circuit::{Bench, r5};

/// How much further out than the table's an end of `read` may lie, of the width of its interval: what comes of
/// tolerances that multiply, which the table adds.
const SHARE: f64 = 0.1;

/// How far the table's ends are from those of `read`, as shares of its width.
#[derive(Clone, Copy, Debug, Default)]
struct Off {
    /// Furthest that `read` goes beyond the table.
    short: f64,
    /// Furthest that the table goes beyond `read`.
    over: f64,
    cells: usize,
    /// Cells in which either is more than a twentieth.
    notable: usize,
}

/// Compares every cell; the meter's accuracy, which only `read` counts, is added to the table's.
fn compare(circuit: &Circuit, state: &State, faults: &[Vec<Fault>], meters: &[Meter]) -> Result<Off, String> {
    let solver = Solver::new(circuit);
    let table = solver.spread_table(state, faults, meters);
    let nominal = solver.table(state, faults, meters);
    let mut off = Off::default();
    for (row, faults) in faults.iter().enumerate() {
        for (column, meter) in meters.iter().enumerate() {
            let (fast, plain) = (table.at(row, column), nominal.at(row, column));
            let told = || format!("{faults:?} at {meter:?}");
            let (Ok(fast), Ok(plain)) = (&fast, &plain) else {
                if fast.is_err() != plain.is_err() {
                    return Err(format!("{fast:?} against {plain:?} under {}", told()));
                }
                continue;
            };
            if fast.nominal != plain.value || fast.floating != plain.floating {
                return Err(format!("{fast:?} against {plain:?} under {}", told()));
            }
            if fast.nominal < fast.low || fast.nominal > fast.high {
                return Err(format!("{fast:?} does not hold its nominal, {}", told()));
            }
            // What floats wanders, and a corner without a steady reading has no reading to compare with.
            let Ok(slow) = solver.read(state, faults, meter) else { continue };
            if fast.unsteady || slow.floating || slow.nominal.is_infinite() {
                continue;
            }
            let quantity = meter.quantity();
            let low = fast.low - meter_accuracy(quantity, fast.low);
            let low = if quantity == Quantity::Ohms { low.max(0.0) } else { low };
            let high = fast.high + meter_accuracy(quantity, fast.high);
            let width = (slow.high - slow.low).max(1e-6);
            let (short, over) = (
                (low - slow.low).max(slow.high - high) / width,
                (slow.low - low).max(high - slow.high) / width,
            );
            off.cells += 1;
            off.notable += usize::from(short > 0.05 || over > 0.05);
            (off.short, off.over) = (off.short.max(short), off.over.max(over));
            if short > SHARE || over > SHARE {
                return Err(format!("{fast:?} against {slow:?} under {}", told()));
            }
        }
    }
    Ok(off)
}

fn meters(circuit: &Circuit, measures: &[Measure]) -> Vec<Meter> {
    let black = circuit.negative.unwrap();
    let points = (0..circuit.points.len() as u32).step_by(3).map(PointId);
    points.flat_map(|red| measures.iter().map(move |&measure| Meter { red, black, measure })).collect()
}

fn all_faults(circuit: &Circuit, every: usize) -> Vec<Vec<Fault>> {
    let named = faults_of(circuit).into_iter().step_by(every).map(|named| named.faults);
    std::iter::once(vec![]).chain(named).collect()
}

#[test]
fn the_reference_circuit_under_its_faults() {
    let circuit = r5();
    let bench = Bench::new(&circuit);
    let faults = all_faults(&circuit, 5);
    let volts = [Measure::Volts(Load::None), Measure::Volts(Load::Reference)];
    let mut measured = bench.key_on(&[]);
    measured.set_supply(12.4);
    for state in [bench.key_on(&[]), bench.key_on(&["X21"]), measured] {
        let off = compare(&circuit, &state, &faults, &meters(&circuit, &volts)).unwrap();
        println!("{off:?}");
        assert!(off.cells > 500 && off.notable < off.cells / 20, "{off:?}");
    }
    let off = compare(&circuit, &bench.dead(&["X21"]), &faults, &meters(&circuit, &[Measure::Ohms])).unwrap();
    println!("{off:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    /// Nothing panics, nothing is unlike the nominal table, and everything holds its nominal reading, whatever the
    /// circuit is like.
    #[test]
    fn random_circuits_hold_their_nominal(
        recipes in random_circuit::recipes(6..24),
        faults in random_circuit::recipes(1..6),
        leads in random_circuit::recipes(1..4),
        choice in any::<u8>(),
    ) {
        let circuit = random_circuit::circuit(9, true, &recipes);
        let faults: Vec<Vec<Fault>> = std::iter::once(vec![])
            .chain(faults.iter().map(|recipe| vec![random_circuit::fault(&circuit, recipe)]))
            .collect();
        let meters: Vec<Meter> = leads.iter().map(|recipe| random_circuit::meter(&circuit, recipe)).collect();
        let state = random_circuit::state(choice);
        let solver = Solver::new(&circuit);
        let (table, nominal) =
            (solver.spread_table(&state, &faults, &meters), solver.table(&state, &faults, &meters));
        for row in 0..faults.len() {
            for column in 0..meters.len() {
                match (table.at(row, column), nominal.at(row, column)) {
                    (Ok(fast), Ok(plain)) => {
                        prop_assert_eq!(fast.nominal, plain.value);
                        prop_assert!(fast.low <= fast.nominal && fast.nominal <= fast.high, "{:?}", fast);
                    }
                    (Err(one), Err(other)) => prop_assert_eq!(one, other),
                    (one, other) => prop_assert!(false, "{:?} against {:?}", one, other),
                }
            }
        }
    }
}
