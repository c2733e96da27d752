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
    /// | `W7 short to W24 0.5 ohm`, `W7 short at 1.4 m to W24 at 0.3 m` | two wires rubbed through to each other, halfway or so far along |
    /// | `X34:2 short to X34:3 1 ohm`, `W7 short to X34:3` | joined to another pin |
    /// | `F12 open`, `F12 open 40 kohm`, `GP102 open` | a break, or what still leaks across it |
    /// | `W2 at SP10 open 1.2 Mohm`, `X34:2 added 3 ohm` | resistance in a crimp, a contact, a joint |
    /// | `K3 coil open`, `K3 contact added 1.2 ohm`, `K3 contact welded` | one side of a relay |
    /// | `K22 at 87a open`, `S4 at 58 added 2 ohm` | of several contacts the one with this terminal |
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
        let sides = ["coil", "contact"];
        // `K22 contact at 87a open` is as good as `K22 at 87a contact open`.
        let before = sides.into_iter().find(|side| words.take(side));
        let at = match words.take("at") {
            true => Some(words.next().ok_or_else(|| words.wrong("an end after `at`"))?.to_owned()),
            false => None,
        };
        let side = before.or_else(|| sides.into_iter().find(|side| words.take(side)));
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
        let place = |words: &mut Words| match words.take("at") {
            true => {
                words.quantity(Dimension::Metres)?.ok_or_else(|| words.wrong("metres after `at`")).map(Some)
            }
            false => Ok(None),
        };
        let at = place(words)?;
        let (mut to, mut beside) = (None, None);
        if words.take("to") {
            let name = words.next().ok_or_else(|| words.wrong("a pin or wire after `to`"))?;
            match self.wire(name) {
                Some(wire) => beside = Some((wire, self.along(name, wire, place(words)?)?)),
                None => to = Some(self.spot(name)?),
            }
        }
        let ohms = words.ohms()?.unwrap_or(DEAD_SHORT);
        if ohms <= 0.0 {
            return Err(FaultError(
                "a short has more than 0 ohm; leave the value out for a dead short".into(),
            ));
        }
        let own = self.wire(subject.name);
        if at.is_some() && own.is_none() {
            return Err(words.wrong("a wire before `at`"));
        }
        let own = own.map(|wire| Ok((wire, self.along(subject.name, wire, at)?))).transpose()?;
        // Which of the two is named first makes no difference.
        match (own, beside) {
            (Some(one), Some(other)) if one.0 == other.0 => {
                return Err(FaultError(format!("{} can't be shorted to itself", subject.name)));
            }
            (Some(one), Some(other)) => return Ok(FaultKind::Touch { one, other, ohms }),
            (None, Some((branch, along))) => {
                return Ok(FaultKind::Chafe { branch, along, to: self.spot(subject.name)?, ohms });
            }
            _ => {}
        }
        let inside = to.is_none();
        let to = to.or(self.circuit.body).or(self.circuit.negative);
        let to = to.ok_or_else(|| FaultError("the circuit has no ground to short to".into()))?;
        if let Some((branch, along)) = own {
            return Ok(FaultKind::Chafe { branch, along, to, ohms });
        }
        match subject.entity {
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

    /// The copper of a wire with this name.
    fn wire(&self, name: &str) -> Option<BranchId> {
        let Ok(Entity::Part(part)) = self.names.any(name) else { return None };
        let mut pieces = self.circuit.branches_of(part);
        pieces.find(|(_, b)| matches!(b.kind, BranchKind::Wire { .. })).map(|(id, _)| id)
    }

    /// Where along a wire so many metres from its first end are; its middle where nothing is said.
    fn along(&self, name: &str, wire: BranchId, at: Option<f64>) -> Result<f64, FaultError> {
        let metres = match self.circuit.branch(wire).kind {
            BranchKind::Wire { metres, .. } => metres,
            _ => None,
        };
        match (at, metres) {
            (None, _) => Ok(0.5),
            (Some(at), Some(length)) if (0.0..=length).contains(&at) => Ok(at / length),
            (Some(at), Some(length)) => {
                Err(FaultError(format!("{name} is {length} m long; {at} m is beyond its end")))
            }
            (Some(_), None) => Err(FaultError(format!("{name} has no length, so no place along it"))),
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
        let all: Vec<(BranchId, [PointId; 2])> = (self.circuit().branches_of(part))
            .filter(|(_, b)| wanted(&b.kind))
            .map(|(id, b)| (id, [b.a, b.b]))
            .collect();
        let named: Vec<BranchId> = match &self.at {
            None => all.iter().map(|(id, _)| *id).collect(),
            Some(end) => {
                let own =
                    ["{}:{}", "{}.{}"].map(|form| form.replacen("{}", self.name, 1).replacen("{}", end, 1));
                let point = own.iter().find_map(|name| self.model.spot(name).ok());
                let point = point.map_or_else(|| self.model.spot(end), Ok)?;
                let ends = self.both_sides(point);
                let at_it = all.iter().filter(|(_, own)| own.iter().any(|point| ends.contains(point)));
                at_it.map(|(id, _)| *id).collect()
            }
        };
        // Contacts that join the same two terminals, each in positions of its own, have no names to tell them apart.
        let ends = |id: BranchId| all.iter().find(|(other, _)| *other == id).map(|(_, ends)| *ends);
        match named.as_slice() {
            [] if all.is_empty() => Err(FaultError(format!("{} has no contact", self.name))),
            [] => {
                let end = self.at.as_deref().unwrap_or_default();
                Err(FaultError(format!("{} has no contact at {end}: {}", self.name, self.listed(&all))))
            }
            [first, rest @ ..] if rest.iter().all(|other| ends(*other) == ends(*first)) => Ok(*first),
            several => Err(FaultError(format!(
                "{} has {} contacts{}: name one by its terminal, {}",
                self.name,
                several.len(),
                self.at.as_ref().map_or_else(String::new, |end| format!(" at {end}")),
                self.listed(&all)
            ))),
        }
    }

    /// A point, and what a mated cavity joins it to.
    fn both_sides(&self, point: PointId) -> Vec<PointId> {
        let mated = self.circuit().branches().filter(|(_, b)| matches!(b.kind, BranchKind::Mated { .. }));
        let others = mated.filter(|(_, b)| b.a == point || b.b == point);
        let mut both: Vec<PointId> = others.flat_map(|(_, b)| [b.a, b.b]).collect();
        both.push(point);
        both
    }

    /// Contacts by a terminal that is theirs alone: `K22 at 87 (30 to 87)`.
    fn listed(&self, all: &[(BranchId, [PointId; 2])]) -> String {
        let short = |point: PointId| {
            let name = self.circuit().point(point).name.as_str();
            let own = name.strip_prefix(self.name).map_or(name, |rest| rest.trim_start_matches([':', '.']));
            own.replace(".part:", ":")
        };
        let list: Vec<String> = all
            .iter()
            .map(|(id, [a, b])| {
                let alone =
                    |point: &PointId| !all.iter().any(|(other, ends)| other != id && ends.contains(point));
                let own = [*b, *a].into_iter().find(alone).unwrap_or(*b);
                format!("`{} at {}` ({} to {})", self.name, short(own), short(*a), short(*b))
            })
            .collect();
        list.join(", ")
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
