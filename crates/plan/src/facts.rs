//! What is known to work or to be silent, as evidence against suspects.

use halfsplit_circuit::{BranchId, BranchKind, Circuit, PartId, PartKind, Solution};

use crate::complaint::WEAK;
use crate::request::PlanError;

/// What can be said, `NAME` standing for a part or an output.
pub const WORDS: [&str; 8] = [
    "NAME communicates",
    "NAME is silent",
    "NAME works",
    "NAME does not work",
    "NAME is as strong as usual",
    "OUTPUT is good",
    "OUTPUT is zero",
    "OUTPUT is on",
];

/// Share of its sound volts that a load must get to count as working (design figure: 60 %).
const WORKS: f64 = 0.6;
/// Share of its nominal volts within which an output is good (5 V: 4.75 to 5.25).
const GOOD: f64 = 0.05;

/// One thing that is known.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Fact {
    /// As it was given.
    pub words: String,
    subject: Subject,
    holds: bool,
}

#[derive(Clone, PartialEq, Debug)]
enum Subject {
    /// A module is awake.
    Awake(PartId),
    /// A load gets its volts.
    Works(PartId),
    /// A load gets all its volts.
    Strong(PartId),
    /// An output has its nominal volts.
    Output(BranchId),
    /// A switched output holds what hangs on it, be it by its module or not.
    On(BranchId),
}

impl Fact {
    /// Understands a fact; words are not case-sensitive, names are.
    pub fn parse(circuit: &Circuit, words: &str) -> Result<Fact, PlanError> {
        let unknown = || PlanError::UnknownFact { fact: words.to_owned(), known: sayable(circuit) };
        let mut split = words.split_whitespace();
        let name = split.next().ok_or_else(unknown)?;
        let rest = split.collect::<Vec<_>>().join(" ").to_lowercase();
        let module = || {
            let part = circuit.part_named(name).filter(|&p| circuit.part(p).kind == PartKind::Module);
            part.filter(|&p| wakes(circuit, p).next().is_some())
        };
        let load = || circuit.part_named(name).filter(|&p| loads(circuit, p).next().is_some());
        let (subject, holds) = match rest.as_str() {
            "communicates" | "answers" | "talks" => (module().map(Subject::Awake), true),
            "silent" | "is silent" | "does not communicate" | "does not answer" => {
                (module().map(Subject::Awake), false)
            }
            "works" => (load().map(Subject::Works), true),
            "is as strong as usual" | "is bright" | "is strong" => (load().map(Subject::Strong), true),
            "does not work" | "dead" | "is dead" => (load().map(Subject::Works), false),
            "good" | "is good" => (circuit.output_named(name).map(Subject::Output), true),
            "zero" | "is zero" => (circuit.output_named(name).map(Subject::Output), false),
            "on" | "is on" | "is still on" => (circuit.output_named(name).map(Subject::On), true),
            _ => (None, true),
        };
        let subject = subject.ok_or_else(unknown)?;
        Ok(Fact { words: words.to_owned(), subject, holds })
    }

    /// Whether a module is said not to answer.
    pub fn is_silence(&self) -> Option<PartId> {
        match self.subject {
            Subject::Awake(module) if !self.holds => Some(module),
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

    /// Whether the fact agrees with a solved circuit; `sound` is the one without fault.
    pub fn agrees(&self, circuit: &Circuit, found: &Solution, sound: &Solution) -> bool {
        let truth = match self.subject {
            Subject::Awake(module) => found.awake(module),
            Subject::Works(part) | Subject::Strong(part) => loads(circuit, part).all(|id| {
                let share = if matches!(self.subject, Subject::Strong(_)) { WEAK } else { WORKS };
                let branch = circuit.branch(id);
                let due = sound.volts(branch.a, branch.b);
                found.volts(branch.a, branch.b).abs() >= share * due.abs()
            }),
            Subject::Output(id) => {
                let branch = circuit.branch(id);
                let due = sound.volts(branch.a, branch.b);
                let now = found.volts(branch.a, branch.b);
                if !self.holds {
                    return now.abs() < 0.1 * due.abs();
                }
                (now - due).abs() <= GOOD * due.abs()
            }
            // Many things hold an output beside its module: no suspect is excluded by it.
            Subject::On(_) => true,
        };
        truth == self.holds
    }
}

/// Whether a circuit can use these words.
///
/// # Errors
/// If they say nothing that it can use, with what can be said.
pub fn understood(circuit: &Circuit, words: &str) -> Result<(), PlanError> {
    Fact::parse(circuit, words).map(|_| ())
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
        if loads(circuit, part).next().is_some() {
            words.push(format!("{name} works"));
        }
    }
    words.extend(circuit.outputs.iter().map(|(name, _)| format!("{name} is good")));
    words
}

/// Feeds that wake a module.
fn wakes(circuit: &Circuit, module: PartId) -> impl Iterator<Item = BranchId> + '_ {
    circuit.branches_of(module).filter_map(|(id, b)| match b.kind {
        BranchKind::Feed { wakes: Some(_), .. } => Some(id),
        _ => None,
    })
}

fn loads(circuit: &Circuit, part: PartId) -> impl Iterator<Item = BranchId> + '_ {
    circuit
        .branches_of(part)
        .filter(|(_, b)| {
            matches!(b.kind, BranchKind::Load { .. } | BranchKind::Lamp { .. } | BranchKind::Coil { .. })
        })
        .map(|(id, _)| id)
}
