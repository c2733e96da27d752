//! What a meter shows under many faults, with how far tolerances move it.
//!
//! Every reading is solved at declared values and in two corners, where supply, loads, copper, references and lamps
//! are all at an end of what they can be: with less current and better copper, and with more and worse. The larger
//! deviation counts, either way. All of it comes from tables of low-rank updates: a state is factored once for each.

use halfsplit_circuit::{
    BranchKind, Circuit, Fault, Load, Measure, Meter, Nominal, Quantity, Solver, State, Volts, interval, wire,
};

use crate::judge;

/// Volts of a pin that nothing but the meter holds (own estimate).
const WANDERS: Volts = 0.02;

/// Volts, and a share of the larger reading, by which tolerances have to move a reading for a jump (own estimates).
const JUMPS: [f64; 2] = [0.5, 0.4];

/// Whether so little change cannot move volts so far, but a relay or a module that goes on or off.
pub(crate) fn is_jump(one: Volts, other: Volts) -> bool {
    (one - other).abs() > JUMPS[0] + JUMPS[1] * one.abs().max(other.abs())
}

/// A reading without the meter's own accuracy.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Predicted {
    /// At declared values; infinite ohms is OL.
    pub nominal: f64,
    /// How far tolerances move it, either way.
    pub spread: f64,
    /// What it jumps to within them, where a relay or a module stands at the border of its volts.
    pub jump: Option<f64>,
    /// Whether nothing but the meter joins the leads.
    pub floating: bool,
}

/// The circuit with everything that varies at one end of what it can be, in two mixtures: what cancels in one adds
/// up in the other.
pub struct Corners {
    /// Whether the supply is at its end here; where it was measured the state says so instead.
    unmeasured: [Circuit; 2],
    measured: [Circuit; 2],
}

impl Corners {
    /// The corners of a circuit.
    pub fn of(circuit: &Circuit) -> Corners {
        let corner = |loads: f64, copper: [f64; 2], supply: f64| {
            let mut other = circuit.clone();
            for branch in &mut other.branches {
                match &mut branch.kind {
                    BranchKind::Load { ohms: Some(ohms), .. } | BranchKind::Coil { ohms, .. } => {
                        *ohms *= loads;
                    }
                    BranchKind::Feed { awake, standby, .. } => {
                        for ohms in [awake, standby].into_iter().flatten() {
                            *ohms *= loads;
                        }
                    }
                    BranchKind::Wire { ohms: Some(ohms), .. } | BranchKind::Fuse { ohms, .. } => {
                        *ohms *= copper[0];
                    }
                    BranchKind::Wire { ohms, .. } => {
                        *ohms = Some(halfsplit_circuit::UNKNOWN_WIRE * copper[1].powi(3));
                    }
                    BranchKind::Mated { ohms, .. }
                    | BranchKind::Joint { ohms }
                    | BranchKind::Switch { ohms, .. }
                    | BranchKind::RelayContact { ohms, .. } => *ohms *= copper[1],
                    BranchKind::Reference { volts, limit, .. } => {
                        *volts *= 1.0 + interval::REFERENCE_SPREAD;
                        *limit = limit.map(|amps| amps * (1.0 + interval::LIMIT_SPREAD));
                    }
                    BranchKind::Source { volts, .. } => *volts *= 1.0 + supply,
                    BranchKind::Generator { volts, .. } => *volts *= 1.0 + 0.5 * supply,
                    _ => {}
                }
            }
            other
        };
        let cold = [wire::at_temperature(interval::COLDEST), 1.0 / interval::CONTACT_SPREAD];
        let warm = [wire::at_temperature(interval::HOTTEST), interval::CONTACT_SPREAD];
        let both = |supply: f64| {
            [
                corner(1.0 + interval::LOAD_SPREAD, cold, supply),
                corner(1.0 - interval::LOAD_SPREAD, warm, supply),
            ]
        };
        Corners { unmeasured: both(interval::SUPPLY_SPREAD), measured: both(0.0) }
    }
}

/// Predicts readings.
pub(crate) struct Predictor<'c> {
    nominal: Solver<'c>,
    unmeasured: [Solver<'c>; 2],
    measured: [Solver<'c>; 2],
    /// Whether a lamp can be dim.
    lamps: bool,
}

impl<'c> Predictor<'c> {
    pub fn new(circuit: &'c Circuit, corners: &'c Corners) -> Predictor<'c> {
        Predictor {
            nominal: Solver::new(circuit),
            unmeasured: [0, 1].map(|at| Solver::new(&corners.unmeasured[at])),
            measured: [0, 1].map(|at| Solver::new(&corners.measured[at])),
            lamps: circuit.branches.iter().any(|branch| matches!(branch.kind, BranchKind::Lamp { .. })),
        }
    }

    pub fn solver(&self) -> &Solver<'c> {
        &self.nominal
    }

    /// At declared values, row by row of faults; `None` where no steady state comes.
    pub fn nominal(&self, state: &State, rows: &[Vec<Fault>], meters: &[Meter]) -> Vec<Option<Predicted>> {
        values(&self.nominal, state, rows, meters, false)
            .into_iter()
            .map(|cell| {
                cell.map(|(nominal, floating)| Predicted { nominal, spread: 0.0, jump: None, floating })
            })
            .collect()
    }

    /// With how far tolerances move it.
    pub fn spread(&self, state: &State, rows: &[Vec<Fault>], meters: &[Meter]) -> Vec<Option<Predicted>> {
        let mut found = self.nominal(state, rows, meters);
        let mut state = state.clone();
        let corners = match state.supply() {
            Some(read) => {
                state.set_supply(read + off_supply(read));
                &self.measured
            }
            None => &self.unmeasured,
        };
        let tested = meters.iter().any(|meter| meter.measure == Measure::Volts(Load::Lamp));
        for (nth, corner) in corners.iter().enumerate() {
            let dim = nth == 1 && (self.lamps || tested);
            for (at, (cell, moved)) in
                found.iter_mut().zip(values(corner, &state, rows, meters, dim)).enumerate()
            {
                if let (Some(cell), Some((moved, _))) = (cell, moved)
                    && cell.nominal.is_finite()
                    && moved.is_finite()
                {
                    let off = (moved - cell.nominal).abs();
                    let volts = meters[at % meters.len()].quantity() == Quantity::Volts;
                    if volts && is_jump(moved, cell.nominal) {
                        cell.jump = Some(moved);
                    } else {
                        cell.spread = cell.spread.max(off);
                    }
                }
            }
        }
        found
    }
}

impl Predictor<'_> {
    /// What a hand meter shows with these faults; `None` where no steady state comes.
    pub fn span(&self, state: &State, faults: &[Fault], leads: Meter) -> Option<Span> {
        self.span_of(state, &[faults.to_vec()], leads)
    }

    /// As [`Predictor::span`], over everything that one thing can be.
    pub fn span_of(&self, state: &State, variants: &[Vec<Fault>], leads: Meter) -> Option<Span> {
        self.spans(state, &[variants], &[leads]).pop().flatten()
    }

    /// As [`Predictor::span_of`], for many things and many meters at once, thing by thing: one table serves all.
    pub fn spans(&self, state: &State, groups: &[&[Vec<Fault>]], meters: &[Meter]) -> Vec<Option<Span>> {
        let cells = self.spread(state, &groups.concat(), meters);
        let mut spans = Vec::with_capacity(groups.len() * meters.len());
        let mut row = 0;
        for group in groups {
            let rows = row..row + group.len();
            row = rows.end;
            for (at, meter) in meters.iter().enumerate() {
                let own = rows.clone().filter_map(|row| cells[row * meters.len() + at]);
                spans.push(own.map(|cell| Span::of(cell, *meter)).reduce(Span::join));
            }
        }
        spans
    }
}

/// What a sound circuit shows a hand meter: its reading's own interval, each tolerance weighed for itself.
pub(crate) fn sound(solver: &Solver<'_>, state: &State, leads: Meter) -> Option<Span> {
    let read = solver.read(state, &[], &leads).ok()?;
    let wanders = if read.floating && leads.quantity() == Quantity::Volts { WANDERS } else { 0.0 };
    let off = judge::meter_off(leads.quantity(), read.nominal) + wanders;
    let (low, high) = (read.low - off, read.high + off);
    Some(match leads.quantity() {
        Quantity::Amps if low < 0.0 => {
            Span::between(read.nominal.abs(), if high > 0.0 { 0.0 } else { -high }, high.max(-low))
        }
        _ => Span::between(read.nominal, low, high),
    })
}

/// What counts of a reading: of a current the amount, because the arrow of a clamp is soon turned round.
fn counts(quantity: Quantity, value: f64) -> f64 {
    if quantity == Quantity::Amps { value.abs() } else { value }
}

/// How far the supply may be from what was read at the posts.
fn off_supply(read: Volts) -> Volts {
    // The same meter read both: its share is off at either alike.
    judge::SUPPLY_WANDERS + judge::meter_off(Quantity::Volts, read) - judge::METER_SHARE * read.abs()
}

fn values(
    solver: &Solver<'_>,
    state: &State,
    rows: &[Vec<Fault>],
    meters: &[Meter],
    dim: bool,
) -> Vec<Option<(f64, bool)>> {
    if rows.is_empty() || meters.is_empty() {
        return Vec::new();
    }
    let table = match dim {
        true => solver.filament_table(state, rows, meters),
        false => solver.table(state, rows, meters),
    };
    let cells = (0..rows.len()).flat_map(|row| table.row(row).iter().zip(meters));
    // A source holds what the circuit does not.
    let value = |found: &Nominal, meter: &Meter| {
        let held = matches!(meter.measure, Measure::Inject { .. });
        (counts(meter.quantity(), found.value), found.floating && !held)
    };
    cells.map(|(cell, meter)| cell.as_ref().ok().map(|found| value(found, meter))).collect()
}

/// A predicted reading as a hand meter shows it, least and most.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Span {
    pub nominal: f64,
    pub low: f64,
    pub high: f64,
    /// The most that all resistances but the highest reading one give.
    pub body: f64,
    /// Whether any of it is what the meter alone holds.
    pub floats: bool,
}

impl Span {
    /// Any reading at all: what is said of a circuit that finds no steady state.
    pub const ANY: Span = Span {
        nominal: f64::NAN,
        low: f64::NEG_INFINITY,
        high: f64::INFINITY,
        body: f64::INFINITY,
        floats: false,
    };

    pub fn of(predicted: Predicted, leads: Meter) -> Span {
        let quantity = leads.quantity();
        let nominal = predicted.nominal;
        if !nominal.is_finite() {
            return Span::exactly(nominal);
        }
        let wide = predicted.spread
            + judge::meter_off(quantity, nominal)
            + if predicted.floating && quantity == Quantity::Volts { WANDERS } else { 0.0 };
        let other = predicted.jump.unwrap_or(nominal);
        let low = nominal.min(other) - wide;
        Span {
            nominal,
            low: if quantity == Quantity::Volts { low } else { low.max(0.0) },
            high: nominal.max(other) + wide,
            body: f64::NEG_INFINITY,
            // A load across the leads keeps them still.
            floats: predicted.floating && leads.measure == Measure::Volts(Load::None),
        }
    }

    /// A reading with its own interval.
    pub fn between(nominal: f64, low: f64, high: f64) -> Span {
        Span { nominal, low, high, body: high, floats: false }
    }

    /// One value.
    pub fn exactly(value: f64) -> Span {
        Span { nominal: value, low: value, high: value, body: f64::NEG_INFINITY, floats: false }
    }

    /// Whether a reading may be of this, as the interval that its digits leave open.
    pub fn meets(self, [low, high]: [f64; 2]) -> bool {
        low <= self.high && self.low <= high
    }

    /// Whether no steady state comes.
    pub fn wanders(self) -> bool {
        self.nominal.is_nan()
    }

    pub fn join(self, other: Span) -> Span {
        Span {
            nominal: self.nominal,
            low: self.low.min(other.low),
            high: self.high.max(other.high),
            body: self.body.max(other.body).max(self.high.min(other.high)),
            floats: self.floats || other.floats,
        }
    }
}
