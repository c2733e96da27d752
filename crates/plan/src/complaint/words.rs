//! Complaints in words, both ways.

use halfsplit_circuit::{BranchKind, Circuit, Key, PartId, PartKind, Solver, State};

use super::Complaint;
use crate::draw::ohms;
use crate::judge::loads;
use crate::request::PlanError;

/// What can be complained of, `NAME` standing for a lamp, motor or other load.
pub const WORDS: [&str; 6] = [
    "NAME does not work",
    "NAME is weak",
    "NAME is dim",
    "NAME stays on",
    "FUSE blows",
    "draws 460 mA asleep",
];

impl Complaint {
    /// Understands a complaint; words are not case-sensitive, names are.
    ///
    /// # Errors
    /// [`PlanError::UnknownFact`] with what can be said about this circuit.
    pub fn parse(circuit: &Circuit, words: &str) -> Result<Complaint, PlanError> {
        let unknown = || PlanError::UnknownFact { fact: words.to_owned(), known: sayable(circuit) };
        let mut split = words.split_whitespace();
        let first = split.next().ok_or_else(unknown)?;
        let rest = split.collect::<Vec<_>>().join(" ").to_lowercase();
        if first.eq_ignore_ascii_case("draws") {
            return current(&rest).map(Complaint::Draws).ok_or_else(unknown);
        }
        if rest == "blows" || rest == "is blown" {
            let fuse = circuit.part_named(first).filter(|&part| {
                circuit.branches_of(part).any(|(_, b)| matches!(b.kind, BranchKind::Fuse { .. }))
            });
            return fuse.map(Complaint::Blows).ok_or_else(unknown);
        }
        let part = circuit.part_named(first).filter(|&part| loads(circuit, part).next().is_some());
        let part = part.ok_or_else(unknown)?;
        Ok(match rest.as_str() {
            "does not work" | "is dead" | "is silent" => Complaint::Dead(part),
            "is weak" | "is dim" | "is slow" | "cranks slowly" => Complaint::Weak(part),
            "stays on" | "runs on" | "does not go off" => Complaint::StaysOn(part),
            _ => return Err(unknown()),
        })
    }
}

/// `460 mA asleep`, in amperes.
fn current(words: &str) -> Option<f64> {
    let words = words.strip_suffix("asleep").unwrap_or(words).trim();
    let (number, factor) = match words.strip_suffix("ma") {
        Some(number) => (number, 1e-3),
        None => (words.strip_suffix('a')?, 1.0),
    };
    let amps = number.trim().parse::<f64>().ok()? * factor;
    (amps > 0.0).then_some(amps)
}

fn sayable(circuit: &Circuit) -> Vec<String> {
    let mut known: Vec<String> = (0..circuit.parts.len())
        .map(|at| PartId(at as u32))
        .filter(|&part| loads(circuit, part).next().is_some())
        .filter(|&part| !matches!(circuit.part(part).kind, PartKind::Module | PartKind::Relay))
        .map(|part| format!("{} does not work", circuit.part(part).name))
        .collect();
    known.extend(WORDS.iter().skip(1).map(|words| (*words).to_owned()));
    known
}

/// A complaint in words.
pub(crate) fn said(circuit: &Circuit, state: &State, complaint: Complaint) -> String {
    let named = |part: PartId| {
        let part = circuit.part(part);
        let label = if part.label.is_empty() { String::new() } else { format!(" ({})", part.label) };
        format!("{}{label}", part.name)
    };
    match complaint {
        Complaint::Dead(part) => format!("{} does not work", named(part)),
        Complaint::Weak(part) if state.key == Key::Crank => format!("{} cranks slowly", named(part)),
        Complaint::Weak(part) => format!("{} is weak", named(part)),
        Complaint::StaysOn(part) => format!("{} stays on", named(part)),
        Complaint::Blows(fuse) => format!("{} blows", named(fuse)),
        Complaint::Draws(amps) => format!("{:.0} mA asleep", amps * 1e3),
        Complaint::Ohms { red, black, reads } => {
            let name = |point| &circuit.point(point).name;
            format!("{} between {} and {}", ohms(reads), name(red), name(black))
        }
        Complaint::Amps { clamp, reads } => {
            let at = &circuit.point(clamp.black).name;
            format!("{} by a clamp at {at}", amps(0.5 * (reads[0] + reads[1])))
        }
    }
}

/// What sort of complaint it is.
pub(crate) fn class(solver: &Solver<'_>, state: &State, complaint: Complaint) -> &'static str {
    match complaint {
        Complaint::Dead(_) => "one function dead",
        Complaint::Weak(_) if state.key == Key::Crank => "slow crank: drop budget",
        Complaint::Weak(_) => "weak function: drop on the way or in a shared ground",
        Complaint::StaysOn(_) => "function that stays on",
        Complaint::Blows(_) => "blown fuse",
        Complaint::Draws(_) => "draw asleep",
        Complaint::Ohms { .. } => "ohms of a dead bus",
        Complaint::Amps { clamp, reads } => match solver.nominal(state, &[], &clamp) {
            Ok(sound) if reads[1] < sound.value.abs() => {
                "current below the sound one: resistance, or a way open"
            }
            Ok(_) => "current above the sound one: a second way, or a load that takes more",
            Err(_) => "current that is not the sound one",
        },
    }
}

/// Amperes as they are written: `4.1 A`, `60 mA`.
fn amps(amps: f64) -> String {
    match amps < 0.1 {
        true => format!("{} mA", (amps * 1e4).round() / 10.0),
        false => format!("{} A", (amps * 1e3).round() / 1e3),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn currents_are_read_with_their_unit() {
        assert_eq!(current("460 ma asleep"), Some(0.46));
        assert_eq!(current("0.5 a"), Some(0.5));
        assert_eq!(current("460"), None);
        assert_eq!(current("-3 a asleep"), None);
    }
}
