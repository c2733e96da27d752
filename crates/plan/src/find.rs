//! Finding the wire: which of a connector's wires is the one, for somebody who cannot read the cavity numbers.
//!
//! The shortest description that is unique in its connector and view, the mirrored twin that it must not be taken for,
//! and a cheap reading that confirms it.

use halfsplit_circuit::{
    BranchKind, Cavity, CavityRole, Circuit, Connector, ConnectorId, Hazard, Key, Meter, Minutes, PointId,
    PointKind, ReadError, Solver, State, View, net,
};

use crate::legal::cavity;
use crate::plan::Range;

/// What helps to find one wire.
#[derive(Clone, PartialEq, Debug)]
pub struct Find {
    /// The cavity's pin.
    pub pin: String,
    /// Connector and cavity.
    pub connector: String,
    /// Cavity number or letter.
    pub cavity: String,
    /// Where the connector is.
    pub place: String,
    /// The face that the description is seen from.
    pub view: View,
    /// Colour of the wire, empty where the file does not say.
    pub colour: String,
    /// Cavities with a wire of this colour, the asked one included.
    pub same_colour: Vec<String>,
    /// The shortest unique description; `None` where only counting works.
    pub description: Option<Description>,
    /// Cavities that look the same from the other face.
    pub twins: Vec<String>,
    /// Cavities whose colour is mistaken for this one when it has faded or under cold light.
    pub doubts: Vec<String>,
    /// Where it is counted: row and place in it, both from 1, and how many there are in the row.
    pub counted: (usize, usize, usize),
    /// A reading that confirms it; `None` where no cheap one tells it from the others.
    pub confirm: Option<Confirm>,
    /// Dangers at the connector.
    pub cautions: Vec<String>,
}

/// A description: colour, and what makes it unique.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Description {
    /// What is on its left.
    pub left: Option<Neighbour>,
    /// What is on its right.
    pub right: Option<Neighbour>,
    /// Its row, from 1, where that is needed.
    pub row: Option<usize>,
}

/// What is beside a cavity.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Neighbour {
    /// A wire of this colour.
    Wire(String),
    /// A blank plug or an empty cavity.
    Empty,
    /// The end of the row.
    End,
}

/// A reading that tells the wire from the others of its colour.
#[derive(Clone, PartialEq, Debug)]
pub struct Confirm {
    /// Red lead, at the far end of the wire.
    pub red: String,
    /// Minutes to get there.
    pub minutes: Minutes,
    /// Connectors that are out.
    pub out: Vec<String>,
    /// Ohms to the right cavity, with all tolerances.
    pub ohms: Range,
    /// Cavities that must read OL.
    pub others: Vec<String>,
}

/// Base colours that are taken for each other when faded or under LED light. Common practice.
const ALIKE: [[&str; 2]; 2] = [["GY", "WH"], ["BU", "VT"]];

/// Looks at the connector of a pin; `None` where the pin is in none.
///
/// # Errors
/// [`ReadError`] where the confirming reading cannot be computed.
pub fn find(circuit: &Circuit, pin: PointId, unknown: Minutes) -> Result<Option<Find>, ReadError> {
    let PointKind::Cavity { connector: id, half, cavity: at } = circuit.point(pin).kind else {
        return Ok(None);
    };
    let connector = circuit.connector(id);
    let face = Face { circuit, connector, half: usize::from(half) };
    let at = usize::from(at);
    let colour = face.colour(at);
    let same = |other: &usize| !colour.is_empty() && face.colour(*other) == colour;
    let all: Vec<usize> = (0..connector.cavities.len()).collect();
    let same_colour: Vec<usize> = all.iter().copied().filter(same).collect();
    let name = |other: &usize| connector.cavities[*other].name.clone();
    let twins = all.iter().copied().filter(|&other| other != at && face.is_twin(at, other));
    let doubts = all.iter().copied().filter(|&other| is_doubtful(&colour, &face.colour(other)));
    let (row, column) = face.position(at);
    Ok(Some(Find {
        pin: circuit.point(pin).name.clone(),
        connector: connector.name.clone(),
        cavity: connector.cavities[at].name.clone(),
        place: connector.place.clone(),
        view: connector.view,
        description: face.describe(at, &same_colour),
        twins: twins.map(|other| name(&other)).collect(),
        doubts: doubts.map(|other| name(&other)).collect(),
        counted: (row + 1, column + 1, face.in_row(row)),
        confirm: confirm(circuit, pin, id, &face, &same_colour, unknown)?,
        cautions: cautions(circuit, connector),
        same_colour: same_colour.iter().map(name).collect(),
        colour,
    }))
}

/// One half of a connector, as somebody sees it.
struct Face<'c> {
    circuit: &'c Circuit,
    connector: &'c Connector,
    half: usize,
}

impl Face<'_> {
    fn columns(&self) -> usize {
        self.connector.cavities.len().div_ceil(usize::from(self.connector.rows.max(1))).max(1)
    }

    /// Row and column, both from 0; rows are filled one after the other in numbering order.
    fn position(&self, at: usize) -> (usize, usize) {
        (at / self.columns(), at % self.columns())
    }

    fn in_row(&self, row: usize) -> usize {
        self.columns().min(self.connector.cavities.len() - row * self.columns())
    }

    /// What the cavity's line says, or the wire that is in it.
    fn colour(&self, at: usize) -> String {
        let cavity = &self.connector.cavities[at];
        if !cavity.colours[self.half].is_empty() {
            return cavity.colours[self.half].clone();
        }
        let point = cavity.points[self.half];
        let wire = self.circuit.branches().find_map(|(_, b)| match &b.kind {
            BranchKind::Wire { colour, .. } if Some(b.a) == point || Some(b.b) == point => {
                Some(colour.clone())
            }
            _ => None,
        });
        wire.unwrap_or_default()
    }

    /// What is at a place in a row; `None` where the file does not say.
    fn seen(&self, at: Option<usize>) -> Option<Neighbour> {
        let Some(at) = at else { return Some(Neighbour::End) };
        let colour = self.colour(at);
        match self.connector.cavities[at] {
            Cavity { role: CavityRole::Blank, .. } => Some(Neighbour::Empty),
            _ if !colour.is_empty() => Some(Neighbour::Wire(colour)),
            Cavity { role: CavityRole::Spare, .. } => Some(Neighbour::Empty),
            _ => None,
        }
    }

    fn left(&self, at: usize) -> Option<Neighbour> {
        self.seen((self.position(at).1 > 0).then(|| at - 1))
    }

    fn right(&self, at: usize) -> Option<Neighbour> {
        let (row, column) = self.position(at);
        self.seen((column + 1 < self.in_row(row)).then_some(at + 1))
    }

    /// Whether another cavity, seen from the other face, looks as this one does from its own.
    fn is_twin(&self, at: usize, other: usize) -> bool {
        let mirrored = (self.left(at), self.right(at)) == (self.right(other), self.left(other));
        mirrored
            && self.colour(at) == self.colour(other)
            && self.left(at).is_some()
            && self.right(at).is_some()
    }

    /// The shortest words that fit this cavity alone. A neighbour of which nothing is known might fit any words.
    fn describe(&self, at: usize, same: &[usize]) -> Option<Description> {
        let (left, right) = (self.left(at), self.right(at));
        let row = Some(self.position(at).0 + 1);
        let rows = usize::from(self.connector.rows.max(1));
        let none = Description::default;
        // From the shortest to the longest; a row is seen at once, but has to be found in the hand.
        let ways = [
            none(),
            Description { left: left.clone(), ..none() },
            Description { right: right.clone(), ..none() },
            Description { row: row.filter(|_| rows > 1), ..none() },
            Description { left: left.clone(), right: right.clone(), ..none() },
            Description { left: left.clone(), row: row.filter(|_| rows > 1), ..none() },
            Description { right: right.clone(), row: row.filter(|_| rows > 1), ..none() },
            Description { left, right, row: row.filter(|_| rows > 1) },
        ];
        ways.into_iter().find_map(|way| {
            let fits = |beside: &Option<Neighbour>, seen: Option<Neighbour>| match (beside, seen) {
                (Some(wanted), Some(seen)) => *wanted == seen,
                _ => true,
            };
            let hits = same.iter().filter(|&&other| {
                fits(&way.left, self.left(other))
                    && fits(&way.right, self.right(other))
                    && way.row.is_none_or(|row| self.position(other).0 + 1 == row)
            });
            (hits.count() == 1).then(|| way.clone())
        })
    }
}

/// Whether a colour is one that people take for another.
fn is_doubtful(colour: &str, other: &str) -> bool {
    let base = |colour: &str| colour.split('/').next().unwrap_or_default().to_owned();
    let (one, two) = (base(colour), base(other));
    one != two && ALIKE.iter().any(|pair| pair.contains(&one.as_str()) && pair.contains(&two.as_str()))
}

/// Ohms on the dead wire from its cheapest far end where it is the only one of its colour.
fn confirm(
    circuit: &Circuit,
    pin: PointId,
    own: ConnectorId,
    face: &Face<'_>,
    same: &[usize],
    unknown: Minutes,
) -> Result<Option<Confirm>, ReadError> {
    let live = State::with_key(Key::Off);
    let mut ends: Vec<(Minutes, PointId, ConnectorId)> = net(circuit, &live, pin)
        .points
        .into_iter()
        .filter_map(|point| {
            let (id, half) = cavity(circuit, point)?;
            let there = circuit.connector(id);
            let PointKind::Cavity { cavity: at, .. } = circuit.point(point).kind else { return None };
            let other = Face { circuit, connector: there, half: usize::from(half) };
            let colour = other.colour(usize::from(at));
            let alone = (0..there.cavities.len()).filter(|&at| other.colour(at) == colour).count() == 1;
            let reachable = there.owner.is_none() || half == 0;
            let gated = crate::legal::barrier(circuit, there).is_some();
            (id != own && alone && reachable && !gated && !colour.is_empty())
                .then(|| (there.reach.unwrap_or(unknown), point, id))
        })
        .collect();
    ends.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let Some(&(minutes, red, end)) = ends.first() else { return Ok(None) };
    let solver = Solver::new(circuit);
    let mut state = live;
    state.battery = false;
    state.unplugged.insert(end);
    let ohms = |state: &State, black: PointId| solver.read(state, &[], &Meter::ohms(red, black));
    let reading = match ohms(&state, pin) {
        Err(ReadError::LiveCircuit { .. }) => {
            state.unplugged.insert(own);
            ohms(&state, pin)?
        }
        reading => reading?,
    };
    let mut others = Vec::new();
    for &at in same {
        let Some(point) = face.connector.cavities[at].points[face.half].filter(|point| *point != pin) else {
            continue;
        };
        // One that does not read open would not be told from it.
        if ohms(&state, point)?.low <= 10.0 * reading.high.max(1.0) {
            return Ok(None);
        }
        others.push(face.connector.cavities[at].name.clone());
    }
    Ok(Some(Confirm {
        red: circuit.point(red).name.clone(),
        minutes,
        out: state.unplugged.iter().map(|&id| circuit.connector(id).name.clone()).collect(),
        ohms: Range { nominal: reading.nominal, low: reading.low, high: reading.high },
        others,
    }))
}

fn cautions(circuit: &Circuit, connector: &Connector) -> Vec<String> {
    let of_owner = connector.owner.map(|part| circuit.part(part).cautions.as_slice()).unwrap_or_default();
    let all = connector.cautions.iter().chain(of_owner);
    let word = |hazard: Hazard| match hazard {
        Hazard::Airbag => "airbag",
        Hazard::HighVoltage => "high voltage",
        Hazard::Fuel => "fuel",
        Hazard::Hot => "hot",
        Hazard::Fan => "fan",
        Hazard::Moving => "moving parts",
    };
    let mut words: Vec<String> = all.map(|c| format!("{}: {}", word(c.hazard), c.words)).collect();
    words.dedup();
    words
}
