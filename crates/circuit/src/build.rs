//! Building a circuit by hand or from a file.

use std::collections::HashMap;
use std::fmt;

use crate::{
    Amps, Branch, BranchId, BranchKind, Cavity, CavityRole, Circuit, Connector, ConnectorId, Minutes, Ohms,
    Part, PartId, PartKind, Point, PointId, PointKind, View, Volts, state::When, wire,
};

mod kinds;

pub use kinds::{FeedSpec, GeneratorSpec, ReferenceSpec, RelaySpec};

/// Builds a [`Circuit`] step by step.
///
/// Points are written by name. A name that follows a connector's (`X34:2`,
/// `X34.part:2`, `X21.body:6`) makes the cavity's two points and its contact on
/// first use; every other name has to be declared by the part that brings it
/// (`F12:load`, `SP10`, `K3:86`), or with [`Builder::inside`]. The first mistake
/// is kept and comes out of [`Builder::build`], so calls can be written in a row.
#[derive(Clone, Debug, Default)]
pub struct Builder {
    circuit: Circuit,
    points: HashMap<String, PointId>,
    parts: HashMap<String, PartId>,
    connectors: HashMap<String, ConnectorId>,
    /// Cavity-name prefix before the colon: connector and half.
    halves: HashMap<String, (ConnectorId, u8)>,
    contact_ohms: HashMap<ConnectorId, Ohms>,
    problem: Option<BuildError>,
}

/// The first mistake made while building.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum BuildError {
    /// A point that nothing declares.
    UnknownPoint(String),
    /// A part that nothing declares.
    UnknownPart(String),
    /// A cavity that its connector does not have.
    UnknownCavity(String),
    /// A name declared twice.
    Duplicate(String),
}

impl fmt::Display for BuildError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnknownPoint(name) => write!(f, "{name}: no such point"),
            Self::UnknownPart(name) => write!(f, "{name}: no such part"),
            Self::UnknownCavity(name) => write!(f, "{name}: the connector has no such cavity"),
            Self::Duplicate(name) => write!(f, "{name}: declared twice"),
        }
    }
}

impl std::error::Error for BuildError {}

impl Builder {
    /// An empty circuit.
    pub fn new() -> Builder {
        Builder::default()
    }

    /// The finished circuit.
    ///
    /// # Errors
    /// The first mistake made on the way.
    pub fn build(self) -> Result<Circuit, BuildError> {
        match self.problem {
            Some(problem) => Err(problem),
            None => Ok(self.circuit),
        }
    }

    /// The circuit as it stands.
    pub fn circuit(&self) -> &Circuit {
        &self.circuit
    }

    // Points.

    /// Declares a point, or finds it if it is there.
    pub fn point(&mut self, name: &str, kind: PointKind) -> PointId {
        if let Some(&id) = self.points.get(name) {
            return id;
        }
        let id = PointId(self.circuit.points.len() as u32);
        self.circuit.points.push(Point { name: name.to_owned(), kind });
        self.points.insert(name.to_owned(), id);
        id
    }

    /// A node inside a part that no probe reaches: `A10.internal ground`.
    pub fn inside(&mut self, name: &str) -> PointId {
        self.point(name, PointKind::Inside)
    }

    /// The point with this name, made if it is a cavity of a known connector.
    pub fn at(&mut self, name: &str) -> PointId {
        match self.try_at(name) {
            Ok(id) => id,
            Err(problem) => {
                self.problem.get_or_insert(problem);
                PointId(0)
            }
        }
    }

    /// As [`Builder::at`], telling the mistake at once instead of keeping it.
    pub fn try_at(&mut self, name: &str) -> Result<PointId, BuildError> {
        if let Some(&id) = self.points.get(name) {
            return Ok(id);
        }
        let half = name.rsplit_once(':').and_then(|(owner, cavity)| {
            self.halves.get(owner).map(|&(connector, half)| (connector, half, cavity))
        });
        let Some((connector, half, cavity)) = half else {
            return Err(BuildError::UnknownPoint(name.to_owned()));
        };
        let place = self.circuit.connectors[connector.index()].cavities.iter().position(|c| c.name == cavity);
        let Some(place) = place else {
            return Err(BuildError::UnknownCavity(name.to_owned()));
        };
        self.fill(connector, place);
        let made = self.circuit.connectors[connector.index()].cavities[place].points[usize::from(half)];
        made.ok_or_else(|| BuildError::UnknownPoint(name.to_owned()))
    }

    /// Gives a cavity its two points and the contact between them.
    fn fill(&mut self, connector: ConnectorId, place: usize) {
        let it = &self.circuit.connectors[connector.index()];
        let (part, cavity) = (it.part, it.cavities[place].name.clone());
        let prefixes = prefixes(&it.name, it.owner.is_some(), &it.halves);
        let points: Vec<PointId> = (0u8..2)
            .zip(prefixes)
            .map(|(half, prefix)| {
                let kind = PointKind::Cavity { connector, half, cavity: place as u16 };
                self.point(&format!("{prefix}:{cavity}"), kind)
            })
            .collect();
        self.circuit.connectors[connector.index()].cavities[place].points =
            [Some(points[0]), Some(points[1])];
        let ohms = self.contact_ohms.get(&connector).copied().unwrap_or(wire::CONTACT);
        self.branch(part, points[0], points[1], BranchKind::Mated { connector, ohms });
    }

    // Parts and branches.

    /// Declares a part.
    pub fn part(&mut self, name: &str, label: &str, kind: PartKind) -> PartId {
        let id = PartId(self.circuit.parts.len() as u32);
        if self.parts.insert(name.to_owned(), id).is_some() {
            self.problem.get_or_insert(BuildError::Duplicate(name.to_owned()));
        }
        self.circuit.parts.push(Part::new(name, label, kind));
        id
    }

    /// The part with this name.
    pub fn part_named(&mut self, name: &str) -> PartId {
        self.parts.get(name).copied().unwrap_or_else(|| {
            self.problem.get_or_insert(BuildError::UnknownPart(name.to_owned()));
            PartId(0)
        })
    }

    /// A part's facts, to change; ids come from this builder.
    pub fn part_mut(&mut self, part: PartId) -> &mut Part {
        &mut self.circuit.parts[part.index()]
    }

    /// Sets the suspicion weight of a part.
    pub fn suspicion(&mut self, part: PartId, weight: f64) -> &mut Builder {
        self.part_mut(part).suspicion = Some(weight);
        self
    }

    /// Adds a branch of a part.
    pub fn branch(&mut self, part: PartId, a: PointId, b: PointId, kind: BranchKind) -> BranchId {
        let id = BranchId(self.circuit.branches.len() as u32);
        self.circuit.branches.push(Branch { part, a, b, kind });
        id
    }

    /// Adds a branch of a part between named points.
    pub fn between(&mut self, part: PartId, a: &str, b: &str, kind: BranchKind) -> BranchId {
        let (a, b) = (self.at(a), self.at(b));
        self.branch(part, a, b, kind)
    }

    // Connectors.

    /// A connector on a part, cavities `1` to `count`.
    pub fn connector(&mut self, owner: PartId, name: &str, count: usize) -> ConnectorId {
        let cavities: Vec<String> = (1..=count).map(|n| n.to_string()).collect();
        self.connector_with(Some(owner), name, ["wire", "part"], &cavities)
    }

    /// An inline connector with two named halves, cavities `1` to `count`.
    pub fn inline(&mut self, name: &str, halves: [&str; 2], count: usize) -> ConnectorId {
        let cavities: Vec<String> = (1..=count).map(|n| n.to_string()).collect();
        self.connector_with(None, name, halves, &cavities)
    }

    /// A connector with named cavities. It brings a part of its own name, of
    /// kind [`PartKind::Connector`], as the thing whose contacts can fail.
    pub fn connector_with(
        &mut self,
        owner: Option<PartId>,
        name: &str,
        halves: [&str; 2],
        cavities: &[String],
    ) -> ConnectorId {
        let id = ConnectorId(self.circuit.connectors.len() as u32);
        let part = self.part(name, "", PartKind::Connector);
        self.connectors.insert(name.to_owned(), id);
        let halves = halves.map(str::to_owned);
        for (half, prefix) in (0u8..).zip(prefixes(name, owner.is_some(), &halves)) {
            self.halves.insert(prefix, (id, half));
        }
        let cavities = cavities
            .iter()
            .map(|cavity| Cavity {
                name: cavity.clone(),
                colours: [String::new(), String::new()],
                label: String::new(),
                role: CavityRole::Plain,
                points: [None, None],
            })
            .collect();
        self.circuit.connectors.push(Connector {
            name: name.to_owned(),
            owner,
            part,
            halves,
            cavities,
            place: String::new(),
            reach: None,
            parting: None,
            repart: None,
            access: String::new(),
            view: View::Unknown,
            rows: 1,
            cautions: Vec::new(),
        });
        id
    }

    /// A connector's facts, to change; ids come from this builder.
    pub fn connector_mut(&mut self, connector: ConnectorId) -> &mut Connector {
        &mut self.circuit.connectors[connector.index()]
    }

    /// Sets what every contact of a connector has, for cavities used from here on.
    pub fn contact_ohms(&mut self, connector: ConnectorId, ohms: Ohms) -> &mut Builder {
        self.contact_ohms.insert(connector, ohms);
        self
    }

    /// Sets place and minutes of a connector.
    pub fn reach(
        &mut self,
        connector: ConnectorId,
        place: &str,
        reach: Minutes,
        parting: Option<Minutes>,
    ) -> &mut Builder {
        let it = self.connector_mut(connector);
        (it.place, it.reach, it.parting) = (place.to_owned(), Some(reach), parting);
        self
    }
}

/// What stands before the colon in the names of a connector's two halves.
fn prefixes(name: &str, on_a_part: bool, halves: &[String; 2]) -> [String; 2] {
    if on_a_part {
        [name.to_owned(), format!("{name}.part")]
    } else {
        [format!("{name}.{}", halves[0]), format!("{name}.{}", halves[1])]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cavity_comes_into_being_on_first_use() {
        let mut build = Builder::new();
        let sensor = build.sensor("B1", "pressure");
        build.connector(sensor, "X31", 3);
        build.inline("X21", ["body", "engine"], 10);
        build.wire("W1", "X31:1", "X21.engine:6", "GY/YE", 0.5, 0.4);
        let circuit = build.build().unwrap();
        let names: Vec<&str> = circuit.points.iter().map(|p| p.name.as_str()).collect();
        assert_eq!(names, ["X31:1", "X31.part:1", "X21.body:6", "X21.engine:6"]);
        assert_eq!(circuit.connectors[0].cavities[0].colours, ["GY/YE", ""]);
        assert_eq!(circuit.connectors[1].cavities[5].colours, ["", "GY/YE"]);
        assert_eq!(circuit.connectors[0].cavities[1].points, [None, None]);
        let contacts = circuit.branches.iter().filter(|b| matches!(b.kind, BranchKind::Mated { .. }));
        assert_eq!(contacts.count(), 2);
    }

    #[test]
    fn the_first_mistake_comes_out_at_the_end() {
        let mut build = Builder::new();
        let sensor = build.sensor("B1", "");
        build.connector(sensor, "X31", 3);
        build.wire("W1", "X31:4", "SP9", "RD", 0.5, 1.0);
        let error = build.build().unwrap_err();
        assert_eq!(error, BuildError::UnknownCavity("X31:4".to_owned()));
        assert_eq!(error.to_string(), "X31:4: the connector has no such cavity");
        let mut build = Builder::new();
        build.splice("SP1");
        build.splice("SP1");
        assert_eq!(build.build().unwrap_err(), BuildError::Duplicate("SP1".to_owned()));
    }
}
