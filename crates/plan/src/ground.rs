//! The ground a hunt is fought on: where the meter rests, what can be parted, what can be read.

use halfsplit_circuit::{
    BranchKind, Circuit, ConnectorId, Load, PartId, PointId, feed_path, net, return_path,
};

use crate::accuse::Accused;
use crate::bench::Bench;
use crate::hunt::{Allowed, Ground, Place, Probe, Tap};
use crate::legal::{self, Resting};
use crate::plan::Refused;
use crate::request::{PlanError, Request, Suspects};
use crate::suspects::Shape;

/// The most connectors, places and probes that one plan weighs.
const MOST: usize = 60;

/// Chooses the meter place and lays out what the hunt can do.
pub(crate) fn lay(
    bench: &Bench<'_>,
    request: &Request,
    accused: &[Accused],
    silent: bool,
    high: bool,
) -> Result<(Ground, Vec<Refused>, f64), PlanError> {
    let circuit = bench.circuit;
    let file_only = request.suspects == Suspects::FileOnly;
    let unplug = !silent && !high;
    let connectors = on_net(bench);
    let inlines: Vec<ConnectorId> = connectors
        .iter()
        .copied()
        .filter(|&c| circuit.connector(c).owner.is_none() && request.splits && unplug)
        .collect();
    let (home, refused) = rest(bench, request, &inlines)?;

    let mut places =
        Places { circuit, places: Vec::new(), known: Vec::new(), unknown: request.costs.unknown_reach };
    let home_place = match legal::cavity(circuit, home.point) {
        Some((connector, _)) => places.of_connector(connector),
        None => places.push(home.minutes, ""),
    };
    let source_connector = legal::cavity(circuit, bench.source.point).map(|c| c.0);
    let mut taps = Vec::new();
    let mut source_tap = None;
    for &connector in connectors.iter().take(MOST) {
        let inline = circuit.connector(connector).owner.is_none();
        if inline && !inlines.contains(&connector)
            || legal::barrier(circuit, circuit.connector(connector)).is_some()
        {
            continue;
        }
        if Some(connector) == source_connector {
            source_tap = Some(taps.len());
        }
        taps.push(Tap { connector, place: places.of_connector(connector), inline });
    }

    let breaks = accused.iter().any(|a| matches!(a.shape, Shape::Series { .. } | Shape::Dead { .. }));
    let mut probes = Vec::new();
    if silent {
        probes.extend(on_feeds(bench, &mut places));
    } else if breaks && !file_only {
        probes.extend(along_net(bench, home.point, &mut places, request.costs.load));
    }
    probes.truncate(MOST);
    let reference = matches!(circuit.branch(bench.source.branch).kind, BranchKind::Reference { .. });
    let allowed = Allowed {
        unplug,
        load: unplug && reference && !file_only,
        inject: unplug && reference && !file_only,
        ohms: !silent,
    };
    let ground = Ground {
        home: home.point,
        home_place,
        places: places.places,
        taps,
        source_tap,
        blacks: blacks(bench, home.point, accused),
        probes,
        allowed,
        costs: request.costs,
    };
    Ok((ground, refused, home.minutes))
}

/// The asked, or else the cheapest legal, place for the meter.
fn rest(
    bench: &Bench<'_>,
    request: &Request,
    inlines: &[ConnectorId],
) -> Result<(Resting, Vec<Refused>), PlanError> {
    let places = legal::resting_places(bench, inlines, request.costs.unknown_reach);
    if let Some(asked) = request.meter {
        let point = bench.name(asked).to_owned();
        let Some(place) = places.into_iter().find(|p| p.point == asked) else {
            let reason =
                format!("it is no place on the net of {} where a probe can rest", bench.name(bench.pin));
            return Err(PlanError::MeterPlace { point, reason });
        };
        return match place.refused {
            Some(reason) => Err(PlanError::MeterPlace { point, reason }),
            None => Ok((place, Vec::new())),
        };
    }
    let legal = places.iter().find(|p| p.refused.is_none()).cloned();
    // A net without any connector is read where it was read.
    let home = legal.unwrap_or(Resting { point: bench.pin, minutes: 0.0, refused: None });
    let refused = places
        .into_iter()
        .filter_map(|p| {
            let reason = p.refused?;
            Some(Refused { name: bench.name(p.point).to_owned(), minutes: p.minutes, reason })
        })
        .collect();
    Ok((home, refused))
}

/// Connectors with a mated cavity on the net, in order of declaration.
fn on_net(bench: &Bench<'_>) -> Vec<ConnectorId> {
    let mut found: Vec<ConnectorId> = bench
        .net
        .branches
        .iter()
        .filter_map(|&id| match bench.circuit.branch(id).kind {
            BranchKind::Mated { connector, .. } => Some(connector),
            _ => None,
        })
        .collect();
    found.sort_unstable();
    found.dedup();
    found
}

/// Where the black lead goes on the dead wire: battery negative, the other wires at the meter
/// place, and battery positive where something could touch it.
fn blacks(bench: &Bench<'_>, home: PointId, accused: &[Accused]) -> Vec<PointId> {
    let mut blacks = vec![bench.black];
    if let Some((connector, half)) = legal::cavity(bench.circuit, home) {
        for cavity in &bench.circuit.connector(connector).cavities {
            if let Some(point) = cavity.points[usize::from(half)]
                && point != home
                && blacks.len() < 6
            {
                blacks.push(point);
            }
        }
    }
    if let Some(positive) = bench.circuit.positive
        && accused.iter().any(|a| matches!(a.shape, Shape::Chafe { to, .. } if to == positive))
    {
        blacks.push(positive);
    }
    blacks
}

/// Other places on the same net.
fn along_net(bench: &Bench<'_>, home: PointId, places: &mut Places<'_>, load: f64) -> Vec<Probe> {
    let mut probes = Vec::new();
    for &point in &bench.points {
        let Some((connector, half)) = legal::cavity(bench.circuit, point) else { continue };
        let it = bench.circuit.connector(connector);
        let reachable = it.owner.is_none() || half == 0;
        if point == home || !reachable || legal::barrier(bench.circuit, it).is_some() {
            continue;
        }
        let place = places.of_connector(connector);
        probes.push(Probe { red: point, load: Load::None, out: None, place, extra: 0.0 });
    }
    let _ = load;
    probes
}

/// Places on the feeds and returns of a module that is silent, with the module plugged and,
/// at its own connectors, with a lamp in its stead.
fn on_feeds(bench: &Bench<'_>, places: &mut Places<'_>) -> Vec<Probe> {
    let circuit = bench.circuit;
    let mut points: Vec<PointId> = Vec::new();
    for feed in bench.module_feeds() {
        let branch = circuit.branch(feed);
        let up = feed_path(circuit, &bench.state, branch.a);
        let down = return_path(circuit, &bench.state, branch.b);
        for step in up.iter().chain(&down) {
            let ends = [circuit.branch(step.branch).a, circuit.branch(step.branch).b];
            points.extend(ends);
        }
        for step in &up {
            if let BranchKind::RelayContact { coil, .. } = circuit.branch(step.branch).kind {
                points.extend([circuit.branch(coil).a, circuit.branch(coil).b]);
            }
        }
    }
    points.sort_unstable();
    points.dedup();
    let mut probes = Vec::new();
    for point in points {
        match legal::cavity(circuit, point) {
            Some((connector, half)) => {
                let it = circuit.connector(connector);
                if it.owner.is_some() && half != 0 || legal::barrier(circuit, it).is_some() {
                    continue;
                }
                let place = places.of_connector(connector);
                probes.push(Probe { red: point, load: Load::None, out: None, place, extra: 0.0 });
                if it.owner == bench.source.module {
                    let out = Some(connector);
                    probes.push(Probe {
                        red: point,
                        load: Load::Lamp,
                        out,
                        place,
                        extra: places.unknown.min(0.5),
                    });
                }
            }
            None => {
                let Some(place) = places.of_point(point) else { continue };
                probes.push(Probe { red: point, load: Load::None, out: None, place, extra: 0.0 });
            }
        }
    }
    probes
}

/// Places by what they belong to.
struct Places<'c> {
    circuit: &'c Circuit,
    places: Vec<Place>,
    known: Vec<(Owner, usize)>,
    unknown: f64,
}

#[derive(Clone, Copy, PartialEq)]
enum Owner {
    Connector(ConnectorId),
    Part(PartId),
}

impl Places<'_> {
    fn push(&mut self, reach: f64, access: &str) -> usize {
        self.places.push(Place { reach, access: access.to_owned() });
        self.places.len() - 1
    }

    fn of_connector(&mut self, connector: ConnectorId) -> usize {
        let owner = Owner::Connector(connector);
        if let Some(known) = self.known.iter().find(|k| k.0 == owner) {
            return known.1;
        }
        let it = self.circuit.connector(connector);
        let place = self.push(it.reach.unwrap_or(self.unknown), &it.access);
        self.known.push((owner, place));
        place
    }

    /// The place of a fuse, relay or ground point with stated minutes.
    fn of_point(&mut self, point: PointId) -> Option<usize> {
        let name = &self.circuit.point(point).name;
        let part = self.circuit.part_named(name.split(':').next().unwrap_or(name))?;
        let reach = self.circuit.part(part).reach?;
        let owner = Owner::Part(part);
        if let Some(known) = self.known.iter().find(|k| k.0 == owner) {
            return Some(known.1);
        }
        let place = self.push(reach, "");
        self.known.push((owner, place));
        Some(place)
    }
}

/// What lies on the return side of the source.
pub(crate) fn return_net(bench: &Bench<'_>) -> halfsplit_circuit::Net {
    let behind = bench.circuit.branch(bench.source.branch).b;
    net(bench.circuit, &bench.state, behind)
}
