//! Faults as people write them: `B4 short 1.8 ohm`, `F12 open 40 kohm`, `A10.REF_A dead`.

use std::fmt;

use halfsplit_circuit::{
    Branch, BranchId, BranchKind, Circuit, Fault, FaultKind, Ohms, PartId, PartKind, PointId, Volts,
};
use halfsplit_syntax::units::Dimension;

use crate::{Entity, Model, names::NameError, quantity::quantity};

/// A dead short where no resistance is given.
const DEAD_SHORT: Ohms = 0.01;

/// Why a fault could not be understood.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct FaultError(String);

impl fmt::Display for FaultError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for FaultError {}

impl Model {
    /// Reads a fault: an item, what is wrong with it, and how many ohms.
    ///
    /// | written | means |
    /// | --- | --- |
    /// | `B4 short 1.8 ohm`, `B4 leak 47 kohm` | a path inside the part, from supply to ground |
    /// | `A10.REF_A short 2 ohm` | the output shorted inside the module |
    /// | `W7 short 0.5 ohm`, `W7 short at 1.4 m 0.5 ohm` | chafed to body, halfway or so far from its first end |
    /// | `W7 short to W24 0.5 ohm`, `X34:2 short to X34:3 1 ohm` | joined to another wire or pin |
    /// | `F12 open`, `F12 open 40 kohm`, `GP102 open` | a break, or what still leaks across it |
    /// | `W2 at SP10 open 1.2 Mohm`, `X34:2 added 3 ohm` | resistance in a crimp, a contact, a joint |
    /// | `K3 coil open`, `K3 contact added 1.2 ohm`, `K3 contact welded` | one side of a relay |
    /// | `A10.REF_A dead`, `A10.MAIN stuck 0.6 ohm` | an output that never acts, or always |
    /// | `SP10 sink 0.15 V behind 4.7 ohm unpowered 47 kohm` | equipment that the file does not know |
    ///
    /// # Errors
    /// In plain words, with what can be written instead.
    pub fn fault(&self, written: &str) -> Result<Fault, FaultError> {
        let words: Vec<&str> = written.split_whitespace().collect();
        let mut words = Words { written, rest: &words };
        let Some(name) = words.next() else {
            return Err(FaultError(
                "a fault names an item and what is wrong with it: `B4 short 1.8 ohm`".into(),
            ));
        };
        let subject = self.names.any(name).map_err(|error| no_such(name, error))?;
        let at = match words.take("at") {
            true => Some(words.next().ok_or_else(|| words.wrong("an end after `at`"))?.to_owned()),
            false => None,
        };
        let side = ["coil", "contact"].into_iter().find(|side| words.take(side));
        let mode = words.next().ok_or_else(|| words.wrong(MODES))?;
        let subject = Subject { model: self, name, entity: subject, side, at };
        let kind = match mode {
            "short" | "leak" => self.bridge(&subject, &mut words)?,
            "open" => subject.series(words.ohms()?.unwrap_or(f64::INFINITY))?,
            "added" => subject.series(words.ohms()?.ok_or_else(|| words.wrong("ohms after `added`"))?)?,
            "dead" => FaultKind::Dead { branch: subject.output()? },
            "welded" | "stuck" => {
                FaultKind::StuckClosed { branch: subject.contact()?, ohms: words.ohms()?.unwrap_or(0.005) }
            }
            "sink" => sink(&subject, &mut words)?,
            _ => return Err(words.wrong(MODES)),
        };
        match words.next() {
            None => Ok(Fault { kind }),
            Some(extra) => Err(words.wrong(&format!("nothing after it, but there is `{extra}`"))),
        }
    }

    fn bridge(&self, subject: &Subject, words: &mut Words) -> Result<FaultKind, FaultError> {
        let along = match words.take("at") {
            true => Some(words.quantity(Dimension::Metres)?.ok_or_else(|| words.wrong("metres after `at`"))?),
            false => None,
        };
        let to = match words.take("to") {
            true => {
                let name = words.next().ok_or_else(|| words.wrong("a pin or wire after `to`"))?;
                Some(self.spot(name)?)
            }
            false => None,
        };
        let ohms = words.ohms()?.unwrap_or(DEAD_SHORT);
        if ohms <= 0.0 {
            return Err(FaultError(
                "a short has more than 0 ohm; leave the value out for a dead short".into(),
            ));
        }
        let (to, inside) = match to {
            Some(to) => (Some(to), false),
            None => (self.circuit.body.or(self.circuit.negative), true),
        };
        let to = to.ok_or_else(|| FaultError("the circuit has no ground to short to".into()))?;
        match subject.entity {
            Entity::Part(part) if self.circuit.part(part).kind == PartKind::Wire => {
                let (branch, wire) = subject.only_branch(part)?;
                let metres = match wire.kind {
                    BranchKind::Wire { metres, .. } => metres,
                    _ => None,
                };
                let along = match (along, metres) {
                    (None, _) => 0.5,
                    (Some(at), Some(length)) if (0.0..=length).contains(&at) => at / length,
                    (Some(at), Some(length)) => {
                        let name = subject.name;
                        return Err(FaultError(format!(
                            "{name} is {length} m long; {at} m is beyond its end"
                        )));
                    }
                    (Some(_), None) => {
                        return Err(FaultError(format!(
                            "{} has no length, so no place along it",
                            subject.name
                        )));
                    }
                };
                Ok(FaultKind::Chafe { branch, along, to, ohms })
            }
            Entity::Part(part) if inside && self.own_load(part).is_some() => {
                let load = self.own_load(part).map_or((to, to), |b| (b.a, b.b));
                Ok(FaultKind::Bridge { a: load.0, b: load.1, ohms })
            }
            Entity::Output(branch) if inside => {
                let branch = self.circuit.branch(branch);
                Ok(FaultKind::Bridge { a: branch.a, b: branch.b, ohms })
            }
            _ => Ok(FaultKind::Bridge { a: self.spot(subject.name)?, b: to, ohms }),
        }
    }

    /// The branch across which a part shorts: its draw, winding or filament.
    fn own_load(&self, part: PartId) -> Option<&Branch> {
        self.circuit.branches_of(part).map(|(_, b)| b).find(|b| {
            matches!(b.kind, BranchKind::Load { .. } | BranchKind::Lamp { .. } | BranchKind::Coil { .. })
        })
    }

    /// The point a name stands for; a wire stands for its first end.
    fn spot(&self, name: &str) -> Result<PointId, FaultError> {
        if let Ok(point) = self.names.point(name) {
            return Ok(point);
        }
        match self.names.any(name).map_err(|error| no_such(name, error))? {
            Entity::Part(part) if self.circuit.part(part).kind == PartKind::Wire => {
                let wire = self.circuit.branches_of(part).next();
                wire.map(|(_, b)| b.a).ok_or_else(|| FaultError(format!("{name} is joined to nothing")))
            }
            Entity::Output(branch) => Ok(self.circuit.branch(branch).a),
            _ => Err(FaultError(format!("{name} is not one place: name a pin or a wire"))),
        }
    }
}

const MODES: &str = "`short`, `leak`, `open`, `added`, `dead`, `welded`, `stuck` or `sink`";

struct Subject<'a> {
    model: &'a Model,
    name: &'a str,
    entity: Entity,
    side: Option<&'static str>,
    at: Option<String>,
}

impl Subject<'_> {
    fn circuit(&self) -> &Circuit {
        &self.model.circuit
    }

    fn series(&self, ohms: Ohms) -> Result<FaultKind, FaultError> {
        Ok(FaultKind::Series { branch: self.in_series()?, ohms })
    }

    fn in_series(&self) -> Result<BranchId, FaultError> {
        match self.entity {
            Entity::Output(branch) => Ok(branch),
            Entity::Point(point) => self.contact_of(point),
            Entity::Part(part) => match self.circuit().part(part).kind {
                PartKind::Relay | PartKind::Switch => self.contact(),
                PartKind::Splice | PartKind::Bar => self.contact_of(self.model.spot(self.name)?),
                PartKind::Wire => {
                    let (branch, wire) = self.only_branch(part)?;
                    let Some(end) = &self.at else { return Ok(branch) };
                    let end = self.model.spot(end)?;
                    // With an eyelet between, the joint is what opens.
                    let mut pieces = self.circuit().branches_of(part);
                    if let Some((piece, _)) = pieces.find(|(_, b)| b.a == end || b.b == end) {
                        return Ok(piece);
                    }
                    let [a, b] = [wire.a, wire.b].map(|p| &self.circuit().point(p).name);
                    Err(FaultError(format!("{} runs from {a} to {b}", self.name)))
                }
                _ => Ok(self.only_branch(part)?.0),
            },
            Entity::Connector(_) => {
                Err(FaultError(format!("{0} has many contacts: name one, `{0}:1 open`", self.name)))
            }
        }
    }

    /// The mated contact of a cavity, or the only conductor at any other point.
    fn contact_of(&self, point: PointId) -> Result<BranchId, FaultError> {
        let mut at = self.circuit().branches().filter(|(_, b)| b.a == point || b.b == point);
        let mated = self
            .circuit()
            .branches()
            .find(|(_, b)| matches!(b.kind, BranchKind::Mated { .. }) && (b.a == point || b.b == point));
        match (mated, at.next(), at.next()) {
            (Some((id, _)), ..) | (None, Some((id, _)), None) => Ok(id),
            _ => Err(FaultError(format!(
                "{0} joins several conductors: name the one that is open, `W2 at {0} open`",
                self.name
            ))),
        }
    }

    fn only_branch(&self, part: PartId) -> Result<(BranchId, &Branch), FaultError> {
        self.circuit()
            .branches_of(part)
            .next()
            .ok_or_else(|| FaultError(format!("{} conducts nothing in this circuit", self.name)))
    }

    /// A relay's coil or contact, a switch's contact, a driver.
    fn contact(&self) -> Result<BranchId, FaultError> {
        let Entity::Part(part) = self.entity else { return self.output() };
        let wanted = |kind: &BranchKind| match self.side {
            Some("coil") => matches!(kind, BranchKind::Coil { .. }),
            _ => matches!(kind, BranchKind::RelayContact { .. } | BranchKind::Switch { .. }),
        };
        let found = self.circuit().branches_of(part).find(|(_, b)| wanted(&b.kind));
        found.map(|(id, _)| id).ok_or_else(|| FaultError(format!("{} has no contact", self.name)))
    }

    fn output(&self) -> Result<BranchId, FaultError> {
        match self.entity {
            Entity::Output(branch) => Ok(branch),
            _ => {
                let prefix = format!("{}.", self.name);
                let names: Vec<&str> = (self.circuit().outputs.iter())
                    .map(|(name, _)| name.as_str())
                    .filter(|name| name.starts_with(&prefix))
                    .collect();
                Err(FaultError(match names.is_empty() {
                    true => format!("{} is not a module's output", self.name),
                    false => format!("name an output of {}: {}", self.name, names.join(", ")),
                }))
            }
        }
    }
}

fn sink(subject: &Subject, words: &mut Words) -> Result<FaultKind, FaultError> {
    let point = subject.model.spot(subject.name)?;
    let shape = "`sink 0.15 V behind 4.7 ohm`";
    let volts: Volts = words.quantity(Dimension::Volts)?.ok_or_else(|| words.wrong(shape))?;
    if !words.take("behind") {
        return Err(words.wrong(shape));
    }
    let ohms = words.ohms()?.ok_or_else(|| words.wrong(shape))?;
    let unpowered = match words.take("unpowered") {
        true => words.ohms()?.ok_or_else(|| words.wrong("ohms after `unpowered`"))?,
        false => f64::INFINITY,
    };
    Ok(FaultKind::Sink { point, volts, ohms, unpowered })
}

fn no_such(name: &str, error: NameError) -> FaultError {
    FaultError(match error {
        NameError::Unknown { near: Some(near) } => {
            format!("nothing is called `{name}`; did you mean `{near}`?")
        }
        NameError::Unknown { near: None } => format!("nothing is called `{name}`"),
        NameError::Ambiguous { candidates } => {
            format!("`{name}` could be {}: write the whole name", candidates.join(" or "))
        }
    })
}

struct Words<'a> {
    written: &'a str,
    rest: &'a [&'a str],
}

impl<'a> Words<'a> {
    fn next(&mut self) -> Option<&'a str> {
        let (first, rest) = self.rest.split_first()?;
        self.rest = rest;
        Some(first)
    }

    fn take(&mut self, word: &str) -> bool {
        let there = self.rest.first() == Some(&word);
        if there {
            self.rest = &self.rest[1..];
        }
        there
    }

    fn ohms(&mut self) -> Result<Option<f64>, FaultError> {
        self.quantity(Dimension::Ohms)
    }

    /// A number with its unit, in one word or two, if a number comes next.
    fn quantity(&mut self, dimension: Dimension) -> Result<Option<f64>, FaultError> {
        let Some(first) = self.rest.first().filter(|w| w.starts_with(|c: char| c.is_ascii_digit())) else {
            return Ok(None);
        };
        let mut text = (*first).to_owned();
        self.rest = &self.rest[1..];
        if !text.ends_with(char::is_alphabetic) {
            text.push(' ');
            text.push_str(self.next().unwrap_or_default());
        }
        quantity(&text, dimension).map(Some).map_err(FaultError)
    }

    fn wrong(&self, wanted: &str) -> FaultError {
        FaultError(format!("`{}`: expected {wanted}", self.written))
    }
}
