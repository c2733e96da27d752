//! Where a look is taken from, what it costs to get there, and where no hand may go.

use halfsplit_circuit::{BranchKind, ConnectorId, Hazard, Minutes, PartId, PartKind, PointId, PointKind};

use super::Maker;
use crate::legal;
use crate::plan::Refused;
use crate::priors::BATTERY_CABLE_SECTION;

/// A place that is reached once; the first is where the technician stands.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Place {
    pub name: String,
    pub reach: Minutes,
    /// A shared way in; empty for none.
    pub access: String,
    pub words: String,
}

impl Maker<'_, '_> {
    fn place(&mut self, place: Place) -> usize {
        self.looks.places.iter().position(|known| *known == place).unwrap_or_else(|| {
            self.looks.places.push(place);
            self.looks.places.len() - 1
        })
    }

    /// A danger at a part, which no look may go to.
    fn gate(&mut self, parts: &[PartId], name: &str, reach: Minutes) -> bool {
        let circuit = self.scene.circuit;
        let hard = [Hazard::Airbag, Hazard::HighVoltage, Hazard::Fuel];
        let dealt = |hazard: Hazard, part: PartId| {
            let at = &circuit.part(part).name;
            let mut cleared = self.scene.cleared.iter();
            cleared.any(|(what, place)| *what == hazard && (place == at || place == name))
        };
        let mut cautions =
            parts.iter().flat_map(|&part| circuit.part(part).cautions.iter().map(move |c| (part, c)));
        let Some((_, caution)) =
            cautions.find(|&(part, c)| hard.contains(&c.hazard) && !dealt(c.hazard, part))
        else {
            return false;
        };
        self.refuse(name, reach, &caution.words);
        true
    }

    fn refuse(&mut self, name: &str, minutes: Minutes, words: &str) {
        let refused = Refused { name: name.to_owned(), minutes, reason: format!("behind a gate: {words}") };
        if !self.looks.refused.contains(&refused) {
            self.looks.refused.push(refused);
        }
    }

    pub(super) fn of_connector(&mut self, id: ConnectorId) -> Option<usize> {
        let connector = self.circuit().connector(id).clone();
        let reach = connector.reach.unwrap_or(self.scene.costs.unknown_reach);
        let parts: Vec<PartId> = connector.owner.into_iter().chain([connector.part]).collect();
        if self.gate(&parts, &connector.name, reach) {
            return None;
        }
        let scene = self.scene;
        let danger = self.dangers.entry(id).or_insert_with(|| {
            legal::danger_in(scene.circuit, scene.state, scene.cleared, id).map(|danger| danger.words.clone())
        });
        if let Some(words) = danger.clone() {
            self.refuse(&connector.name, reach, &words);
            return None;
        }
        let access = connector.access.clone();
        Some(self.place(Place { name: connector.name, reach, access, words: connector.place }))
    }

    pub(super) fn of_part(&mut self, id: PartId) -> Option<usize> {
        let part = self.circuit().part(id).clone();
        let reach = part.reach.unwrap_or(self.scene.costs.unknown_reach);
        if self.gate(&[id], &part.name, reach) {
            return None;
        }
        Some(self.place(Place { name: part.name, reach, access: String::new(), words: part.place }))
    }

    /// Where a probe can rest, with everything in its place: the wire side of a plug, a terminal, a joint;
    /// the terminals of what sits in a socket are covered.
    pub(super) fn of_point(&mut self, point: PointId) -> Option<usize> {
        let circuit = self.circuit();
        if Some(point) == circuit.negative || Some(point) == circuit.positive {
            return Some(0);
        }
        let owner = circuit.part_named(circuit.point(point).name.split(':').next()?);
        match circuit.point(point).kind {
            PointKind::Cavity { connector, half, .. } => {
                let reachable = circuit.connector(connector).owner.is_none() || half == 0;
                if reachable { self.of_connector(connector) } else { None }
            }
            PointKind::Terminal => {
                let owner = owner?;
                match circuit.part(owner).kind {
                    // An eyelet is where it is bolted on.
                    PartKind::Wire => {
                        let bolted = circuit.branches_of(owner).find_map(|(_, b)| match b.kind {
                            BranchKind::Joint { .. } if b.a == point => Some(b.b),
                            BranchKind::Joint { .. } if b.b == point => Some(b.a),
                            _ => None,
                        });
                        self.of_point(bolted?)
                    }
                    PartKind::Relay if !self.is_stud(point) => None,
                    _ => self.of_part(owner),
                }
            }
            PointKind::Ground => self.of_part(owner?),
            _ => None,
        }
    }

    /// Whether a heavy cable is bolted on: what it leads to is no socket (own estimate of the section).
    pub(super) fn is_stud(&self, point: PointId) -> bool {
        self.circuit().branches().any(|(_, b)| {
            (b.a == point || b.b == point)
                && matches!(b.kind, BranchKind::Wire { section: Some(mm2), .. } if mm2 >= BATTERY_CABLE_SECTION)
        })
    }
}
