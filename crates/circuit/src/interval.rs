//! How far a reading may lie from its nominal value.
//!
//! Every tolerance is taken at its worst, one at a time, and the deviations are added; then all
//! at their worst at once, for where they multiply. The interval is wider than any likely mixture:
//!
//! - **wires** between −20 and +80 °C, **contacts** and joints between half and twice
//!   their value, **loads** ±10 %: each part on its own. Their effects come from the reciprocal
//!   solve (a unit current into the leads), with the safe bound of a change of rank one;
//! - **loads** all together ±10 %, **references** ±0.5 % volts and ±10 % current limit,
//!   **supplies** by the accuracy of the meter that read them, or ±5 % where none did: solved
//!   anew at both ends, because a limiter may set in between;
//! - **filament lamps**, the test lamp too, at the filament law against their hot resistance;
//! - the **meter**: ±(0.5 % + 2 counts) on volts, ±(0.9 % + 2 counts) on ohms
//!   (form and figures as makers' manuals print them, SAW), 6,000 counts on the range that fits; a
//!   clamp ±(2 % + 5 counts of 0.01 A).

use crate::current::{CLAMP_COUNTS, CLAMP_SHARE, carried};
use crate::meter::{Measure, Meter, Quantity, Reading};
use crate::solve::network::{Corner, JOINED};
use crate::solve::{Problem, Solver, Work};
use crate::{BranchKind, Fault, Ohms, PartId, PointId, State, wire};

/// Coldest wire, °C.
pub const COLDEST: f64 = -20.0;
/// Hottest wire, °C.
pub const HOTTEST: f64 = 80.0;
/// Spread of a sound contact about its declared value, as a factor either way.
pub const CONTACT_SPREAD: f64 = 2.0;
/// Spread of a load's draw.
pub const LOAD_SPREAD: f64 = 0.10;
/// Spread of a reference's volts.
pub const REFERENCE_SPREAD: f64 = 0.005;
/// Spread of a reference's current limit.
pub const LIMIT_SPREAD: f64 = 0.10;
/// Spread of a supply that nobody measured.
pub const SUPPLY_SPREAD: f64 = 0.05;

/// How far the meter itself may be off, in the unit of the reading.
pub fn meter_accuracy(quantity: Quantity, value: f64) -> f64 {
    if !value.is_finite() {
        return 0.0;
    }
    let (percent, mut full) = match quantity {
        Quantity::Amps => return value.abs() * CLAMP_SHARE + CLAMP_COUNTS,
        Quantity::Volts => (0.5, 0.6),
        Quantity::Ohms => (0.9, 600.0),
    };
    while value.abs() >= full && full < 1e9 {
        full *= 10.0;
    }
    value.abs() * percent / 100.0 + 2.0 * full / 6000.0
}

/// The lowest and highest deviation found.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Span {
    pub(crate) down: f64,
    pub(crate) up: f64,
}

impl Span {
    pub(crate) fn take(&mut self, deviation: f64) {
        self.down = self.down.min(deviation);
        self.up = self.up.max(deviation);
    }

    pub(crate) fn add(&mut self, other: Span) {
        self.down += other.down;
        self.up += other.up;
    }
}

/// Nominal reading and interval.
pub(crate) fn read(
    solver: &Solver<'_>,
    state: &State,
    faults: &[Fault],
    meter: &Meter,
) -> Result<Reading, Problem> {
    let nominal = solver.measure(state, faults, meter, Corner::NOMINAL)?;
    let quantity = meter.quantity();
    let mut reading = Reading {
        quantity,
        nominal: nominal.value,
        low: nominal.value,
        high: nominal.value,
        floating: nominal.floating,
        unknowns: Vec::new(),
    };
    if nominal.value.is_infinite() {
        return Ok(reading);
    }
    let asked = Asked::of(solver, faults, meter)?;
    let wide = widen(solver, state, nominal.value, &asked, &|corner| {
        solver.at_corner(state, faults, meter, corner)
    })?;
    (reading.low, reading.high, reading.unknowns) = (wide.low, wide.high, wide.unknowns);
    reading.low -= meter_accuracy(quantity, reading.low);
    reading.high += meter_accuracy(quantity, reading.high);
    if quantity == Quantity::Ohms {
        reading.low = reading.low.max(0.0);
    }
    Ok(reading)
}

/// What a tolerance is asked to move.
#[derive(Clone, Debug)]
pub(crate) enum Asked {
    /// Volts between two points.
    Volts(PointId, PointId),
    /// Ohms between two points.
    Ohms(PointId, PointId),
    /// Current through some edges, each with its sense.
    Amps(Vec<(u32, f64)>),
}

impl Asked {
    /// What a meter reads.
    pub(crate) fn of(solver: &Solver<'_>, faults: &[Fault], meter: &Meter) -> Result<Asked, Problem> {
        Ok(match meter.measure {
            Measure::Ohms => Asked::Ohms(meter.red, meter.black),
            Measure::Amps(branch) => Asked::Amps(carried(solver, faults, branch, meter.black)?.0),
            Measure::Volts(_) | Measure::Inject { .. } => Asked::Volts(meter.red, meter.black),
        })
    }
}

/// What the tolerances make of a nominal figure, the meter's own accuracy left out.
pub(crate) struct Wide {
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) unknowns: Vec<PartId>,
}

/// Takes every tolerance at its worst, from the nominal run that the work buffers hold.
pub(crate) fn widen(
    solver: &Solver<'_>,
    state: &State,
    nominal: f64,
    asked: &Asked,
    ask: &dyn Fn(Corner) -> Result<f64, Problem>,
) -> Result<Wide, Problem> {
    let (each, has) = {
        let work = solver.work();
        (one_at_a_time(solver, &work, asked), Has::of(&work))
    };
    let mut span = each.span;
    let mut worst = Worst { lowest: Corner::NOMINAL, highest: Corner::NOMINAL };
    let mut loads = Span::default();
    for group in Group::ALL.into_iter().filter(|group| has.group(*group)) {
        let mut own = Span::default();
        for corner in group.corners(solver, state).into_iter().filter(|corner| *corner != Corner::NOMINAL) {
            let deviation = ask(corner)? - nominal;
            if deviation < own.down {
                group.adopt(&mut worst.lowest, corner);
            } else if deviation > own.up {
                group.adopt(&mut worst.highest, corner);
            }
            own.take(deviation);
        }
        if group == Group::Loads {
            loads = own;
            own.take(each.loads.down);
            own.take(each.loads.up);
        }
        span.add(own);
    }
    // Tolerances multiply where current and resistance both vary, so the worst of all groups
    // together is solved too, and the single parts are taken at their worst from there.
    let lowest = ask(worst.lowest)?;
    let from_lowest = one_at_a_time(solver, &solver.work(), asked);
    let highest = ask(worst.highest)?;
    let from_highest = one_at_a_time(solver, &solver.work(), asked);
    let alone =
        Span { down: (each.loads.down - loads.down).min(0.0), up: (each.loads.up - loads.up).max(0.0) };
    Ok(Wide {
        low: (nominal + span.down).min(lowest + from_lowest.span.down + alone.down),
        high: (nominal + span.up).max(highest + from_highest.span.up + alone.up),
        unknowns: each.unknowns,
    })
}

/// The corners that make the reading least and most.
struct Worst {
    lowest: Corner,
    highest: Corner,
}

/// What varies together and is solved anew.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Group {
    Loads,
    References,
    Limits,
    Supplies,
    Lamps,
}

impl Group {
    const ALL: [Group; 5] = [Group::Loads, Group::References, Group::Limits, Group::Supplies, Group::Lamps];

    /// Both ends of this group's range, everything else as declared.
    fn corners(self, solver: &Solver<'_>, state: &State) -> [Corner; 2] {
        let base = Corner::NOMINAL;
        match self {
            Group::Loads => {
                [1.0 / (1.0 + LOAD_SPREAD), 1.0 / (1.0 - LOAD_SPREAD)].map(|load| Corner { load, ..base })
            }
            Group::References => {
                [1.0 - REFERENCE_SPREAD, 1.0 + REFERENCE_SPREAD].map(|reference| Corner { reference, ..base })
            }
            Group::Limits => [1.0 - LIMIT_SPREAD, 1.0 + LIMIT_SPREAD].map(|limit| Corner { limit, ..base }),
            Group::Supplies => {
                let off = supply_off(solver, state);
                [-off, off].map(|supply| Corner { supply, ..base })
            }
            // The other end, the hot resistance, is the nominal reading itself.
            Group::Lamps => [Corner { filament: true, ..base }, base],
        }
    }

    /// Takes over this group's value from another corner.
    fn adopt(self, into: &mut Corner, from: Corner) {
        match self {
            Group::Loads => into.load = from.load,
            Group::References => into.reference = from.reference,
            Group::Limits => into.limit = from.limit,
            Group::Supplies => into.supply = from.supply,
            Group::Lamps => into.filament = from.filament,
        }
    }
}

/// What kinds of part a network holds.
#[derive(Clone, Copy)]
struct Has {
    outputs: bool,
    supplies: bool,
    lamps: bool,
}

impl Has {
    fn of(work: &Work) -> Has {
        let network = &work.network;
        Has {
            outputs: network.devices.iter().any(|d| d.most > 0.0),
            supplies: !network.sources.is_empty(),
            lamps: !network.lamps.is_empty(),
        }
    }

    fn group(self, group: Group) -> bool {
        match group {
            Group::Loads => true,
            Group::References | Group::Limits => self.outputs,
            Group::Supplies => self.supplies,
            Group::Lamps => self.lamps,
        }
    }
}

/// By how much the supply may be off: what its meter may, or a share of what is declared.
pub(crate) fn supply_off(solver: &Solver<'_>, state: &State) -> f64 {
    match state.supply() {
        // Volts behind the posts are as far off as those at the posts, in proportion.
        Some(read) => {
            let open = solver.supply(state).map_or(read, |supply| supply.open);
            meter_accuracy(Quantity::Volts, read) * if read > 0.0 { (open / read).max(1.0) } else { 1.0 }
        }
        None => SUPPLY_SPREAD * highest_supply(solver),
    }
}

fn highest_supply(solver: &Solver<'_>) -> f64 {
    let volts = solver.circuit().branches.iter().map(|branch| match branch.kind {
        BranchKind::Source { volts, .. } => volts,
        _ => 0.0,
    });
    volts.fold(0.0, f64::max)
}

/// Deviations from parts that vary each on its own.
#[derive(Clone, Debug, Default)]
pub(crate) struct Each {
    /// Of conductors.
    pub(crate) span: Span,
    /// Of loads, which may vary together too.
    pub(crate) loads: Span,
    pub(crate) unknowns: Vec<PartId>,
}

/// By which factors the resistance of one part varies about its declared value, and whether all of its kind
/// may do so together.
pub(crate) fn spread(kind: &BranchKind) -> Option<((f64, f64), bool)> {
    match kind {
        BranchKind::Wire { .. } | BranchKind::Fuse { .. } => {
            Some(((wire::at_temperature(COLDEST), wire::at_temperature(HOTTEST)), false))
        }
        BranchKind::Mated { .. }
        | BranchKind::Joint { .. }
        | BranchKind::Switch { .. }
        | BranchKind::RelayContact { .. } => Some(((1.0 / CONTACT_SPREAD, CONTACT_SPREAD), false)),
        BranchKind::Load { .. } | BranchKind::Coil { .. } | BranchKind::Feed { .. } => {
            Some(((1.0 / (1.0 + LOAD_SPREAD), 1.0 / (1.0 - LOAD_SPREAD)), true))
        }
        _ => None,
    }
}

/// Declared resistance of what conducts in one piece, where it is known.
fn sound_ohms(kind: &BranchKind) -> Option<Ohms> {
    match kind {
        BranchKind::Wire { ohms, .. } => *ohms,
        BranchKind::Fuse { ohms, .. }
        | BranchKind::Mated { ohms, .. }
        | BranchKind::Joint { ohms }
        | BranchKind::Switch { ohms, .. }
        | BranchKind::RelayContact { ohms, .. } => Some(*ohms),
        _ => None,
    }
}

/// Deviations from parts that vary each on its own, from the network that the work buffers hold.
fn one_at_a_time(solver: &Solver<'_>, work: &Work, asked: &Asked) -> Each {
    let (network, settled) = (&work.network, &work.settled);
    let mut unit = Vec::new();
    match asked {
        Asked::Volts(red, black) | Asked::Ohms(red, black) => {
            work.unit_current(&[(work.place(*red), work.place(*black), 1.0)], &mut unit);
        }
        Asked::Amps(edges) => {
            let drives = edges.iter().map(|&(edge, sense)| {
                let (a, b) = settled.ends[edge as usize];
                (a as usize, b as usize, sense * network.conductance[edge as usize])
            });
            work.unit_current(&drives.collect::<Vec<_>>(), &mut unit);
        }
    }
    let between = |volts: &[f64], index: usize| {
        let (a, b) = settled.ends[index];
        volts[a as usize] - volts[b as usize]
    };
    let whole = match asked {
        Asked::Volts(red, black) | Asked::Ohms(red, black) => {
            (unit[work.place(*red)] - unit[work.place(*black)]).abs()
        }
        // As a share: what the loop leaves to one edge's own resistance.
        Asked::Amps(_) => 1.0,
    };
    Sweep {
        solver,
        conductance: &network.conductance,
        whole,
        through: &|index| between(&unit, index),
        across: &|index| between(&settled.volts, index),
    }
    .each(asked)
}

/// A settled network with its meter, and what is asked about driven the other way round: one ampere through the leads,
/// or through every edge that a clamp goes around as much as it conducts.
pub(crate) struct Sweep<'s, 'c> {
    pub(crate) solver: &'s Solver<'c>,
    /// Of every branch.
    pub(crate) conductance: &'s [f64],
    /// What the network shows between the leads.
    pub(crate) whole: Ohms,
    /// Volts across a branch for one ampere through the leads.
    pub(crate) through: &'s dyn Fn(usize) -> f64,
    /// Volts across a branch as it stands.
    pub(crate) across: &'s dyn Fn(usize) -> f64,
}

impl Sweep<'_, '_> {
    /// Deviations from parts that vary each on its own.
    pub(crate) fn each(&self, asked: &Asked) -> Each {
        let whole = self.whole;
        let mut each = Each::default();
        for (index, branch) in self.solver.circuit().branches.iter().enumerate() {
            let Some((whole_range, is_load)) = spread(&branch.kind) else { continue };
            let through = (self.through)(index);
            let unknown = matches!(
                branch.kind,
                BranchKind::Feed { awake: None, .. }
                    | BranchKind::Load { ohms: None, .. }
                    | BranchKind::Coil { assumed: true, .. }
            );
            if unknown && through.abs() > 0.02 * whole {
                each.unknowns.push(branch.part);
            }
            let conductance = self.conductance[index];
            if conductance < JOINED {
                continue;
            }
            // What a fault adds has the resistance that it has; only the part's own varies.
            let sound = sound_ohms(&branch.kind).map_or(1.0, |ohms| (ohms * conductance).min(1.0));
            let range = (1.0 + (whole_range.0 - 1.0) * sound, 1.0 + (whole_range.1 - 1.0) * sound);
            let share = conductance * through;
            if matches!(branch.kind, BranchKind::Wire { ohms: None, .. }) && share.abs() > 1e-3 {
                each.unknowns.push(branch.part);
            }
            let across = match asked {
                Asked::Ohms(..) => through,
                _ => (self.across)(index),
            };
            let mut own = Span::default();
            let sense = match asked {
                Asked::Amps(edges) => edges.iter().find(|(edge, _)| *edge as usize == index).map(|e| e.1),
                _ => None,
            };
            if let Some(sense) = sense {
                // Its current through its own resistance and the rest's, of which it shows the parallel.
                let amps = sense * across * conductance;
                let rest = 1.0 - (sense * through).clamp(0.0, 1.0);
                for factor in [range.0, range.1] {
                    own.take(amps * (1.0 / (factor * rest + (1.0 - rest)) - 1.0));
                }
            } else {
                let drop = across * share;
                own.take(drop * (range.1 - 1.0));
                own.take(-drop * (1.0 / range.0 - 1.0));
            }
            if is_load {
                each.loads.add(own);
            } else {
                each.span.add(own);
            }
        }
        each.unknowns.sort_unstable();
        each.unknowns.dedup();
        each
    }
}

impl Work {
    /// Position of a point in the last run.
    pub(crate) fn place(&self, point: PointId) -> usize {
        self.pattern.as_ref().map_or(0, |pattern| pattern.position(point.0))
    }

    /// Volts by position for so much current into the first and out of the second of every pair, no other
    /// source acting.
    pub(crate) fn unit_current(&self, drives: &[(usize, usize, f64)], volts: &mut Vec<f64>) {
        volts.clear();
        volts.resize(self.settled.volts.len(), 0.0);
        if let Some(pattern) = &self.pattern {
            for &(red, black, amps) in drives {
                if self.settled.values.joined(red, black) && red != black {
                    volts[red] += amps;
                    volts[black] -= amps;
                }
            }
            pattern.solve(&self.settled.values, volts);
        }
    }
}
