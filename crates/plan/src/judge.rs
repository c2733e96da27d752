//! What works, what is strong, what a person with a meter tells apart: each limit once.
//!
//! Facts, outcomes of steps, gates, cases and replay all ask here, so that an answer to a plan's own question means
//! the same when it is given back.

use halfsplit_circuit::{
    Branch, BranchId, BranchKind, Circuit, Fault, FaultKind, PartId, Quantity, Solution, Volts,
};

/// A load that gets less than this share of its sound volts does not work (design figure: 60 %).
pub const WORKS: f64 = 0.6;
/// A load that gets less than this share is weak (own estimate; a lamp's light goes roughly as volts to the
/// power 3.4, so 7 % fewer volts are a fifth less light).
pub const STRONG: f64 = 0.93;
/// Below this share it is out rather than weak (own estimate).
pub const OUT: f64 = 0.1;
/// A load with fewer volts than this when sound is off (own estimate).
pub const DUE: Volts = 1.0;
/// Share of its nominal volts within which an output is good (5 V: 4.75 to 5.25).
pub const GOOD: f64 = 0.05;
/// Share of its nominal volts under which an output is zero.
pub const ZERO: f64 = 0.1;
/// Share of its rating from which a blade fuse is sure to open: 135 % within ten minutes, ISO 8820-3 by way of
/// published component sheets (SAW-2nd).
pub const BLOWS: f64 = 1.35;
/// Volts of a 12 V battery at rest below which it is charged first (job card "Battery first"; own shop rule, MEMORY:
/// it gates a job and is never an error of a circuit).
pub const REST: Volts = 12.2;

/// A current beyond the sound one that burns a wire which no fuse guards (own estimate).
pub const BURNS: halfsplit_circuit::Amps = 100.0;

/// Accuracy of a hand meter as a share of its reading (own estimate of a common meter: ±1 %).
pub const METER_SHARE: f64 = 0.01;
/// And beside that, in last digits.
pub const METER_DIGITS: f64 = 2.0;
/// Volts by which the supply wanders between readings of one job (own estimate).
pub const SUPPLY_WANDERS: Volts = 0.1;

/// How far a hand meter may be off at a reading, either way: 3½ digits, so 2,000 counts on the range that fits.
pub fn meter_off(quantity: Quantity, value: f64) -> f64 {
    if !value.is_finite() {
        return 0.0;
    }
    let mut full = match quantity {
        Quantity::Amps => return halfsplit_circuit::interval::meter_accuracy(quantity, value),
        Quantity::Ohms => 200.0,
        _ => 0.2,
    };
    while value.abs() >= full && full < 1e9 {
        full *= 10.0;
    }
    METER_SHARE * value.abs() + METER_DIGITS * full / 2000.0
}

/// How far apart two readings have to be for a person to tell them apart, on top of what the meter may be off
/// (own estimates; millivolts are read on a finer range).
pub fn gap(reading: f64, quantity: Quantity) -> f64 {
    match quantity {
        Quantity::Ohms => 0.3 + 0.1 * reading.abs(),
        Quantity::Amps => 0.05 + 0.05 * reading.abs(),
        Quantity::Volts => 0.02 + 0.02 * reading.abs(),
    }
}

/// The same where millivolts are looked for (own estimate).
pub fn fine_gap(reading: f64) -> f64 {
    0.001 + 0.05 * reading.abs()
}

/// Volts below which a reading counts as millivolts.
pub const MILLIVOLTS: Volts = 0.05;

/// The branches by which a part does its work.
pub fn loads(circuit: &Circuit, part: PartId) -> impl Iterator<Item = BranchId> + '_ {
    circuit
        .branches_of(part)
        .filter(|(_, b)| matches!(b.kind, BranchKind::Load { .. } | BranchKind::Lamp { .. }))
        .map(|(id, _)| id)
}

/// As [`loads`], coils among them: what a person can see or hear at work.
pub fn drives(circuit: &Circuit, part: PartId) -> impl Iterator<Item = BranchId> + '_ {
    circuit
        .branches_of(part)
        .filter(|(_, b)| {
            matches!(b.kind, BranchKind::Load { .. } | BranchKind::Lamp { .. } | BranchKind::Coil { .. })
        })
        .map(|(id, _)| id)
}

/// Volts that do work in a load: across its own resistance, so that none are left where it is broken inside.
pub fn working_volts(circuit: &Circuit, load: BranchId, solution: &Solution, faults: &[Fault]) -> Volts {
    let branch = circuit.branch(load);
    solution.volts(branch.a, branch.b).abs() * own_share(load, branch, faults)
}

/// Share of the volts across a load's pins that falls over its own resistance.
fn own_share(load: BranchId, branch: &Branch, faults: &[Fault]) -> f64 {
    let own = match branch.kind {
        BranchKind::Load { ohms: Some(ohms), .. } | BranchKind::Coil { ohms, .. } => ohms,
        BranchKind::Lamp { hot, .. } => hot,
        _ => return 1.0,
    };
    let added: f64 = faults
        .iter()
        .map(|fault| match fault.kind {
            FaultKind::Series { branch, ohms } if branch == load => ohms,
            _ => 0.0,
        })
        .sum();
    own / (own + added)
}

/// Something that is seen or heard to work.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Drive {
    /// A part, with all its loads.
    Part(PartId),
    /// One load of a part that has several: a filament.
    Load(BranchId),
}

impl Drive {
    /// What a person can watch on a part: itself, or each of its loads where it has several.
    pub fn of(circuit: &Circuit, part: PartId) -> Vec<Drive> {
        match loads(circuit, part).collect::<Vec<_>>()[..] {
            [] => Vec::new(),
            [_] => vec![Drive::Part(part)],
            ref several => several.iter().map(|&load| Drive::Load(load)).collect(),
        }
    }

    /// The part.
    pub fn part(self, circuit: &Circuit) -> PartId {
        match self {
            Drive::Part(part) => part,
            Drive::Load(load) => circuit.branch(load).part,
        }
    }

    /// Its loads.
    pub fn loads(self, circuit: &Circuit) -> Vec<BranchId> {
        match self {
            Drive::Part(part) => drives(circuit, part).collect(),
            Drive::Load(load) => vec![load],
        }
    }

    /// `E1`, or `E1 at X1:2` where it is one load of several.
    pub fn name(self, circuit: &Circuit) -> String {
        let part = &circuit.part(self.part(circuit)).name;
        match self {
            Drive::Part(_) => part.clone(),
            Drive::Load(load) => {
                let pin = circuit.point(circuit.branch(load).a).name.replace(".part:", ":");
                format!("{part} at {pin}")
            }
        }
    }
}

/// Whether every load of a thing that works when sound gets at least this share of its sound volts; where none
/// works when sound, whether any gets that share of the supply.
pub fn at_least(
    circuit: &Circuit,
    drive: Drive,
    share: f64,
    found: (&Solution, &[Fault]),
    sound: &Solution,
    supply: Volts,
) -> bool {
    let now = |id| working_volts(circuit, id, found.0, found.1);
    let due = |id| working_volts(circuit, id, sound, &[]);
    let loads = drive.loads(circuit);
    let mut wanted = loads.iter().copied().filter(|&id| due(id) > DUE).peekable();
    if wanted.peek().is_some() {
        return wanted.all(|id| now(id) >= share * due(id));
    }
    loads.into_iter().any(|id| now(id) >= share * supply)
}
