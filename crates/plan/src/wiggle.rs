//! Where to move what, when a fault comes and goes.

use std::collections::BTreeSet;

use halfsplit_circuit::{Circuit, ConnectorId, Hazard, Minutes, PartKind, PointId, State};

use crate::legal;
use crate::plan::{Suspect, Wiggle};
use crate::search::order_by_chance;
use crate::suspects::{Unit, UnitKind};

/// To move one thing by hand-widths while the meter records (own estimate).
const MOVE: Minutes = 1.0;

/// What can be moved among the suspects, most chance per minute first. A thing behind a gate is left out; the inside of a
/// part cannot be moved.
pub(crate) fn order(
    circuit: &Circuit,
    state: &State,
    cleared: &[(Hazard, String)],
    units: &[Unit],
    suspects: &[Suspect],
    unknown: Minutes,
) -> Vec<Wiggle> {
    let mut found: Vec<(Wiggle, f64)> = Vec::new();
    for (at, unit) in units.iter().enumerate() {
        let weight: f64 = suspects.iter().filter(|s| s.unit == Some(at)).map(|s| s.weight).sum();
        let moves = matches!(
            unit.kind,
            UnitKind::Harness
                | UnitKind::Part(
                    PartKind::Connector | PartKind::Splice | PartKind::GroundPoint | PartKind::Wire
                )
        );
        if weight <= 0.0 || !moves {
            continue;
        }
        let own = |id: &ConnectorId| unit.parts.contains(&circuit.connector(*id).part);
        let connector = (0..circuit.connectors.len() as u32).map(ConnectorId).find(own);
        // A wire is reached at the nearer of the plugs that it ends in.
        let ends: BTreeSet<PointId> = unit.parts.iter().flat_map(|&part| circuit.branches_of(part)).fold(
            BTreeSet::new(),
            |mut ends, (_, branch)| {
                ends.extend([branch.a, branch.b]);
                ends
            },
        );
        let plugs: BTreeSet<ConnectorId> =
            ends.iter().filter_map(|&end| Some(legal::cavity(circuit, end)?.0)).collect();
        let gated = |id: &ConnectorId| legal::danger_in(circuit, state, cleared, *id).is_some();
        if connector.iter().chain(&plugs).any(gated) {
            continue;
        }
        let parts = unit.parts.iter().filter_map(|&part| circuit.part(part).reach);
        let near = plugs.iter().filter_map(|&id| circuit.connector(id).reach);
        let reach =
            connector.and_then(|id| circuit.connector(id).reach).or(parts.chain(near).reduce(f64::min));
        let place = connector.map_or(String::new(), |id| circuit.connector(id).place.clone());
        let minutes = reach.unwrap_or(unknown) + MOVE;
        found.push((Wiggle { name: unit.name.clone(), place, minutes }, weight));
    }
    let chances: Vec<f64> = found.iter().map(|f| f.1).collect();
    let minutes: Vec<Minutes> = found.iter().map(|f| f.0.minutes).collect();
    order_by_chance(&chances, &minutes).into_iter().map(|at| found[at].0.clone()).collect()
}
