//! Where the meter may rest and what may be parted.

use std::collections::BTreeSet;

use halfsplit_circuit::{
    BranchKind, Caution, Circuit, Connector, ConnectorId, Hazard, Load, Minutes, PartId, PointId, PointKind,
    State, net,
};

use crate::bench::Bench;

/// A place where the meter could rest and whether it may.
#[derive(Clone, Debug)]
pub(crate) struct Resting {
    pub point: PointId,
    pub minutes: Minutes,
    /// Why it may not; `None` if it may.
    pub refused: Option<String>,
}

/// Every place on the net where a probe can rest, cheapest first.
pub(crate) fn resting_places(bench: &Bench<'_>, inlines: &[ConnectorId], unknown: Minutes) -> Vec<Resting> {
    let mut places: Vec<Resting> = bench
        .points
        .iter()
        .filter_map(|&point| {
            let (connector, half) = cavity(bench.circuit, point)?;
            let connector = bench.circuit.connector(connector);
            // The part side of a plug is inside the part; only an inline offers both halves.
            let reachable = connector.owner.is_none() || half == 0;
            reachable.then(|| Resting {
                point,
                minutes: connector.reach.unwrap_or(unknown),
                refused: refusal(bench, point, inlines),
            })
        })
        .collect();
    places.sort_by(|a, b| a.minutes.total_cmp(&b.minutes).then(a.point.cmp(&b.point)));
    places
}

/// Why the meter may not rest at a point while these inline connectors are parted on the way.
pub(crate) fn refusal(bench: &Bench<'_>, point: PointId, inlines: &[ConnectorId]) -> Option<String> {
    let circuit = bench.circuit;
    if let Some((connector, _)) = cavity(circuit, point)
        && let Some(caution) = parts_danger(bench, connector)
    {
        return Some(format!("{} is behind a gate: {}", circuit.connector(connector).name, caution.words));
    }
    let lost: Vec<&str> = inlines
        .iter()
        .filter(|&&inline| !joined(bench, point, &BTreeSet::from([inline])))
        .map(|&inline| circuit.connector(inline).name.as_str())
        .collect();
    if lost.is_empty() {
        return None;
    }
    let names = lost.join(" and ");
    Some(format!("it lies beyond {names}: once {names} is out the meter would watch a dead stub"))
}

/// Whether a point stays joined to the source by copper with these connectors out as well.
pub(crate) fn joined(bench: &Bench<'_>, point: PointId, out: &BTreeSet<ConnectorId>) -> bool {
    net(bench.circuit, &with_out(&bench.state, out), point).contains(bench.source.point)
}

/// The state with these connectors out as well.
pub(crate) fn with_out(state: &State, out: &BTreeSet<ConnectorId>) -> State {
    let mut state = state.clone();
    state.unplugged.extend(out.iter().copied());
    state
}

/// A danger at a connector, or at the part it sits on, that no step may cross.
pub(crate) fn barrier<'c>(circuit: &'c Circuit, connector: &'c Connector) -> Option<&'c Caution> {
    let of_owner = connector.owner.map(|p| circuit.part(p).cautions.as_slice()).unwrap_or_default();
    connector
        .cautions
        .iter()
        .chain(of_owner)
        .find(|c| matches!(c.hazard, Hazard::Airbag | Hazard::HighVoltage))
}

/// The danger at a connector that no step may cross, unless it was cleared.
pub(crate) fn closed<'c>(bench: &Bench<'c>, connector: ConnectorId) -> Option<&'c Caution> {
    let circuit = bench.circuit;
    shut(circuit, circuit.connector(connector), &bench.cleared)
}

/// As [`barrier`], unless trained people have dealt with it at the connector or at the part it sits on.
pub(crate) fn shut<'c>(
    circuit: &'c Circuit,
    connector: &'c Connector,
    cleared: &[(Hazard, String)],
) -> Option<&'c Caution> {
    let caution = barrier(circuit, connector)?;
    let owner = connector.owner.map(|part| circuit.part(part).name.as_str());
    let dealt = |(hazard, at): &(Hazard, String)| {
        *hazard == caution.hazard && (*at == connector.name || owner == Some(at.as_str()))
    };
    (!cleared.iter().any(dealt)).then_some(caution)
}

/// What hangs on the leads to load a wire: the lamp, which proves a power wire, or 470 Ω where a reference or a
/// module's output drives the wire, which the lamp's current would pull down or destroy.
pub(crate) fn proving_load(circuit: &Circuit, state: &State, point: PointId) -> Load {
    let there = net(circuit, state, point);
    let feeds = |module: PartId| {
        let mut own = circuit.branches_of(module);
        own.any(|(_, b)| matches!(b.kind, BranchKind::Feed { .. }) && there.contains(b.a))
    };
    let common = [circuit.negative, circuit.positive, circuit.body];
    if common.into_iter().flatten().any(|p| there.contains(p)) {
        return Load::Lamp;
    }
    let driven = circuit.branches().any(|(_, branch)| match branch.kind {
        BranchKind::Reference { .. } => there.contains(branch.a),
        BranchKind::Driver { .. } => {
            (there.contains(branch.a) || there.contains(branch.b)) && !feeds(branch.part)
        }
        _ => false,
    });
    if driven { Load::Reference } else { Load::Lamp }
}

/// The danger that a wire leads to. Grounds and the battery's own wires lead everywhere and to none.
pub(crate) fn leads_to_danger<'c>(bench: &Bench<'c>, point: PointId) -> Option<&'c Caution> {
    danger_along(bench.circuit, &bench.state, &bench.cleared, point)
}

/// The danger in parting a connector, or in letting a lead rest there: its own, or that of any wire that runs through it.
pub(crate) fn parts_danger<'c>(bench: &Bench<'c>, connector: ConnectorId) -> Option<&'c Caution> {
    danger_in(bench.circuit, &bench.state, &bench.cleared, connector)
}

/// As [`parts_danger`], without a bench.
pub(crate) fn danger_in<'c>(
    circuit: &'c Circuit,
    state: &State,
    cleared: &[(Hazard, String)],
    connector: ConnectorId,
) -> Option<&'c Caution> {
    let it = circuit.connector(connector);
    shut(circuit, it, cleared).or_else(|| {
        let points = it.cavities.iter().flat_map(|c| c.points).flatten();
        points.into_iter().find_map(|point| danger_along(circuit, state, cleared, point))
    })
}

fn danger_along<'c>(
    circuit: &'c Circuit,
    state: &State,
    cleared: &[(Hazard, String)],
    point: PointId,
) -> Option<&'c Caution> {
    let there = net(circuit, state, point);
    let common = [circuit.negative, circuit.positive, circuit.body];
    if common.into_iter().flatten().any(|p| there.contains(p)) {
        return None;
    }
    let connectors = there.points.iter().filter_map(|&p| cavity(circuit, p));
    connectors.into_iter().find_map(|(id, _)| shut(circuit, circuit.connector(id), cleared))
}

/// The connector and half of a cavity.
pub(crate) fn cavity(circuit: &Circuit, point: PointId) -> Option<(ConnectorId, u8)> {
    match circuit.point(point).kind {
        PointKind::Cavity { connector, half, .. } => Some((connector, half)),
        _ => None,
    }
}
