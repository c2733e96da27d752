//! What is known to work or to be silent, as evidence against suspects.

use halfsplit_circuit::{
    BranchId, BranchKind, Circuit, Fault, Key, PartId, PartKind, ReadError, Solution, Solver, State,
};

use crate::judge::{self, Drive, drives as loads};
use crate::plan::Sense;
use crate::request::PlanError;

/// What can be said, `NAME` standing for a part or an output. Behind each may stand in which state it was
/// seen, where that is another than the plan's: `with key off`, `with S9=on`, `with key run S7=pressed`.
pub const WORDS: [&str; 11] = [
    "NAME communicates",
    "NAME is silent",
    "NAME works",
    "NAME does not work",
    "NAME is as strong as usual",
    "NAME is not as strong as usual",
    "RELAY clicks",
    "RELAY does not click",
    "OUTPUT is good",
    "OUTPUT is zero",
    "OUTPUT is on",
];

/// One thing that is known.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Fact {
    /// As it was given.
    pub words: String,
    subject: Subject,
    holds: bool,
    /// What was set otherwise than in the state of the plan.
    set: Vec<Setting>,
}

/// One thing that was set otherwise.
#[derive(Clone, PartialEq, Debug)]
enum Setting {
    Key(Key),
    Position(PartId, String),
    Command(BranchId, bool),
}

#[derive(Clone, PartialEq, Debug)]
enum Subject {
    /// A module is awake.
    Awake(PartId),
    /// A load gets its volts.
    Works(Drive),
    /// A load gets all its volts.
    Strong(Drive),
    /// A relay pulls in.
    PulledIn(PartId),
    /// An output has its nominal volts.
    Output(BranchId),
    /// A switched output holds what hangs on it, be it by its module or not.
    On(BranchId),
}

impl Fact {
    /// Understands a fact; words are not case-sensitive, names are.
    pub fn parse(circuit: &Circuit, words: &str) -> Result<Fact, PlanError> {
        let unknown = || PlanError::UnknownFact { fact: words.to_owned(), known: sayable(circuit) };
        let (seen, set) = match words.split_once(" with ") {
            Some((seen, set)) => (seen, settings(circuit, set).ok_or_else(unknown)?),
            None => (words, Vec::new()),
        };
        let mut split = seen.split_whitespace();
        let name = split.next().ok_or_else(unknown)?;
        let rest = split.collect::<Vec<_>>().join(" ");
        // `E1 at X1:2 works`: one load of several.
        let (pin, rest) = match rest.strip_prefix("at ").and_then(|rest| rest.split_once(' ')) {
            Some((pin, rest)) => (Some(pin.to_owned()), rest.to_lowercase()),
            None => (None, rest.to_lowercase()),
        };
        let module = || {
            let part = circuit.part_named(name).filter(|&p| circuit.part(p).kind == PartKind::Module);
            part.filter(|&p| wakes(circuit, p).next().is_some())
        };
        let load = || {
            let part = circuit.part_named(name).filter(|&p| loads(circuit, p).next().is_some())?;
            let Some(pin) = &pin else { return Some(Drive::Part(part)) };
            let mut own = loads(circuit, part).map(Drive::Load);
            own.find(|drive| drive.name(circuit) == format!("{name} at {pin}"))
        };
        let relay = || {
            let part = circuit.part_named(name).filter(|&p| circuit.part(p).kind == PartKind::Relay)?;
            coils(circuit, part).next().map(|_| Subject::PulledIn(part))
        };
        let (subject, holds) = match rest.as_str() {
            "communicates" | "answers" | "talks" => (module().map(Subject::Awake), true),
            "silent" | "is silent" | "does not communicate" | "does not answer" => {
                (module().map(Subject::Awake), false)
            }
            // A module works when it talks.
            "works" if module().is_some() => (module().map(Subject::Awake), true),
            "works" => (load().map(Subject::Works), true),
            "is as strong as usual" | "is bright" | "is strong" => (load().map(Subject::Strong), true),
            "is not as strong as usual" => (load().map(Subject::Strong), false),
            "clicks" => (relay(), true),
            "does not click" => (relay(), false),
            "does not work" | "dead" | "is dead" => (load().map(Subject::Works), false),
            "good" | "is good" => (circuit.output_named(name).map(Subject::Output), true),
            "zero" | "is zero" => (circuit.output_named(name).map(Subject::Output), false),
            "on" | "is on" | "is still on" => (circuit.output_named(name).map(Subject::On), true),
            _ => (None, true),
        };
        let subject = subject.ok_or_else(unknown)?;
        Ok(Fact { words: words.to_owned(), subject, holds, set })
    }

    /// The looks that give this fact in the plan's own state.
    pub fn senses(&self, circuit: &Circuit) -> Vec<Sense> {
        match self.subject {
            _ if !self.set.is_empty() => Vec::new(),
            Subject::Works(drive) => vec![Sense::Works(drive)],
            Subject::Strong(drive) => vec![Sense::Strong(drive)],
            Subject::PulledIn(relay) => coils(circuit, relay).map(Sense::PulledIn).collect(),
            Subject::Awake(_) | Subject::Output(_) | Subject::On(_) => Vec::new(),
        }
    }

    /// The loads whose volts decide it; `None` where more does.
    pub fn loads(&self, circuit: &Circuit) -> Option<Vec<BranchId>> {
        match self.subject {
            _ if !self.set.is_empty() => None,
            Subject::Works(drive) | Subject::Strong(drive) => Some(drive.loads(circuit)),
            Subject::PulledIn(relay) => Some(coils(circuit, relay).collect()),
            Subject::Output(output) => Some(vec![output]),
            Subject::Awake(_) | Subject::On(_) => None,
        }
    }

    /// Whether a module is said not to answer.
    pub fn is_silence(&self) -> Option<PartId> {
        match self.subject {
            Subject::Awake(module) if !self.holds && self.set.is_empty() => Some(module),
            _ => None,
        }
    }

    /// The output that is said to be on.
    pub fn is_on(&self) -> Option<BranchId> {
        match self.subject {
            Subject::On(output) => Some(output),
            _ => None,
        }
    }

    /// Whether the fact agrees with these faults; `found` and `sound` are the circuit with and without them in
    /// the plan's own state. Where the fact was seen in another, that is solved; one without a steady state
    /// contradicts nothing.
    ///
    /// # Errors
    /// [`ReadError`] where the circuit cannot be computed.
    pub fn agrees(
        &self,
        solver: &Solver<'_>,
        state: &State,
        faults: &[Fault],
        found: &Solution,
        sound: &Solution,
    ) -> Result<bool, ReadError> {
        let supply = state.supply().unwrap_or(12.0);
        if self.set.is_empty() {
            return Ok(self.agrees_with(solver.circuit(), (found, faults), sound, supply));
        }
        let mut state = state.clone();
        for setting in &self.set {
            match setting {
                Setting::Key(key) => state.key = *key,
                Setting::Position(part, position) => drop(state.positions.insert(*part, position.clone())),
                Setting::Command(output, on) => drop(state.commands.insert(*output, *on)),
            }
        }
        match (solver.solve(&state, faults), solver.solve(&state, &[])) {
            (Ok(found), Ok(sound)) => {
                Ok(self.agrees_with(solver.circuit(), (&found, faults), &sound, supply))
            }
            (Err(ReadError::NoStableState { .. } | ReadError::TwoStableStates { .. }), _) => Ok(true),
            (Err(error), _) | (_, Err(error)) => Err(error),
        }
    }

    fn agrees_with(
        &self,
        circuit: &Circuit,
        found: (&Solution, &[Fault]),
        sound: &Solution,
        supply: f64,
    ) -> bool {
        let truth = match self.subject {
            Subject::Awake(module) => found.0.awake(module),
            Subject::Works(drive) => judge::at_least(circuit, drive, judge::WORKS, found, sound, supply),
            Subject::Strong(drive) => judge::at_least(circuit, drive, judge::STRONG, found, sound, supply),
            Subject::PulledIn(relay) => coils(circuit, relay).any(|coil| found.0.pulled_in(coil)),
            Subject::Output(id) => {
                let branch = circuit.branch(id);
                let due = sound.volts(branch.a, branch.b);
                let now = found.0.volts(branch.a, branch.b);
                if !self.holds {
                    return now.abs() < judge::ZERO * due.abs();
                }
                (now - due).abs() <= judge::GOOD * due.abs()
            }
            // Many things hold an output beside its module: no suspect is excluded by it.
            Subject::On(_) => true,
        };
        truth == self.holds
    }
}

/// `key off`, `S9=on`, `A10.PUMP=on`, one behind the other; `None` where one of them can be set nowhere.
fn settings(circuit: &Circuit, words: &str) -> Option<Vec<Setting>> {
    let mut settings = Vec::new();
    let mut words = words.split_whitespace();
    while let Some(word) = words.next() {
        settings.push(match word.split_once('=') {
            None if word == "key" => Setting::Key(Key::from_word(words.next()?)?),
            named => {
                // `S9=on` and `S9 on` are the same.
                let (name, position) = match named {
                    Some(named) => named,
                    None => (word, words.next()?),
                };
                let part = circuit
                    .part_named(name)
                    .filter(|&p| circuit.part(p).positions.iter().any(|known| known == position));
                let output = circuit
                    .output_named(name)
                    .filter(|&id| matches!(circuit.branch(id).kind, BranchKind::Driver { .. }));
                match (part, output, position) {
                    (Some(part), ..) => Setting::Position(part, position.to_owned()),
                    (None, Some(output), "on") => Setting::Command(output, true),
                    (None, Some(output), "off") => Setting::Command(output, false),
                    _ => return None,
                }
            }
        });
    }
    (!settings.is_empty()).then_some(settings)
}

/// Everything that can be said about a circuit.
pub fn sayable(circuit: &Circuit) -> Vec<String> {
    let mut words = Vec::new();
    for at in 0..circuit.parts.len() {
        let part = PartId(at as u32);
        let name = &circuit.part(part).name;
        if wakes(circuit, part).next().is_some() {
            words.push(format!("{name} communicates"));
            words.push(format!("{name} is silent"));
        }
        if circuit.part(part).kind == PartKind::Relay && coils(circuit, part).next().is_some() {
            words.push(format!("{name} clicks"));
            words.push(format!("{name} does not click"));
        }
        if loads(circuit, part).next().is_some() {
            words.push(format!("{name} works"));
            let several = Drive::of(circuit, part);
            if several.len() > 1 {
                words.extend(several.iter().map(|drive| format!("{} works", drive.name(circuit))));
            }
        }
    }
    words.extend(circuit.outputs.iter().map(|(name, _)| format!("{name} is good")));
    words.push(
        "and where it was seen in another state, behind it `with key off` or `with SWITCH=POSITION`".into(),
    );
    words
}

/// Coils of a part.
fn coils(circuit: &Circuit, part: PartId) -> impl Iterator<Item = BranchId> + '_ {
    let coil = |(id, b): (BranchId, &halfsplit_circuit::Branch)| {
        matches!(b.kind, BranchKind::Coil { .. }).then_some(id)
    };
    circuit.branches_of(part).filter_map(coil)
}

/// Feeds that wake a module.
fn wakes(circuit: &Circuit, module: PartId) -> impl Iterator<Item = BranchId> + '_ {
    circuit.branches_of(module).filter_map(|(id, b)| match b.kind {
        BranchKind::Feed { wakes: Some(_), .. } => Some(id),
        _ => None,
    })
}
