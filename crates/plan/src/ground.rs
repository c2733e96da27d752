//! The ground a hunt is fought on: where the meter rests, what can be parted, what can be read.

use halfsplit_circuit::{
    BranchId, BranchKind, Circuit, ConnectorId, Hazard, Load, PartId, PointId, Step, feed_path, net,
    return_path,
};

use crate::accuse::Accused;
use crate::bench::Bench;
use crate::hunt::{Allowed, Ground, Place, Probe, Seen, Tap};
use crate::legal::{self, Resting};
use crate::looks::{self, Look, Scene};
use crate::plan::{Dropped, Refused};
use crate::request::{PlanError, Request, Suspects};
use crate::suspects::Shape;

/// The most connectors, and the most readings elsewhere, that one plan weighs.
const MOST: usize = 200;

/// Chooses the meter place and lays out what the hunt can do.
pub(crate) fn lay(
    bench: &Bench<'_>,
    request: &Request,
    accused: &[Accused],
    silent: bool,
) -> Result<(Ground, Vec<Refused>, f64), PlanError> {
    if request.complaint.is_some() {
        return Ok(everywhere(bench, request, accused));
    }
    let (circuit, high) = (bench.circuit, bench.high);
    let file_only = request.suspects == Suspects::FileOnly;
    let unplug = !silent;
    let connectors = on_net(bench);
    let inlines: Vec<ConnectorId> = connectors
        .iter()
        .copied()
        .filter(|&c| circuit.connector(c).owner.is_none() && request.splits && unplug)
        .collect();
    let (home, refused) = if silent {
        // The dead net tells nothing more; the readings are taken along the feeds.
        (Resting { point: bench.pin, minutes: 0.0, refused: None }, Vec::new())
    } else {
        rest(bench, request, &inlines)?
    };

    let mut places = Places {
        circuit,
        places: Vec::new(),
        known: Vec::new(),
        unknown: request.costs.unknown_reach,
        cleared: &bench.cleared,
    };
    let home_place = match legal::cavity(circuit, home.point) {
        Some((connector, _)) if !silent => places.of_connector(connector),
        _ => places.push("", home.minutes, ""),
    };
    let source_connector = legal::cavity(circuit, bench.source.point).map(|c| c.0);
    let mut taps = Vec::new();
    let mut source_tap = None;
    for &connector in connectors.iter().take(MOST) {
        let inline = circuit.connector(connector).owner.is_none();
        if inline && !inlines.contains(&connector) || legal::parts_danger(bench, connector).is_some() {
            continue;
        }
        if Some(connector) == source_connector {
            source_tap = Some(taps.len());
        }
        taps.push(Tap { connector, place: places.of_connector(connector), inline });
    }

    let reference = bench.is_reference();
    let breaks = accused.iter().any(|a| matches!(a.shape, Shape::Series { .. } | Shape::Dead { .. }));
    let mut probes = Vec::new();
    if silent || !reference && breaks {
        probes.extend(on_feeds(bench, &mut places, request.costs.load));
    }
    if !silent && breaks && !file_only {
        probes.extend(along_net(bench, home.point, &mut places));
    }
    if !silent && reference && !file_only {
        probes.extend(return_offset(bench, home.point, home_place, request.costs.black));
    }
    // What feeds a wire from outside is found without unplugging what that wire feeds.
    let fuses = if high && !silent { fuses(bench, &mut places) } else { Vec::new() };
    let (looks, mut refused) = if file_only {
        (Vec::new(), refused)
    } else {
        let found = looks::all(scene(bench, request), accused);
        (seen(found.looks, &found.places, &mut places), [refused, found.refused].concat())
    };
    refused.dedup();
    let mut left_out: Vec<Dropped> = connectors
        .iter()
        .skip(MOST)
        .map(|&c| left(&circuit.connector(c).name, "parting it", "connectors"))
        .collect();
    let beyond = probes.split_off(probes.len().min(MOST));
    left_out.extend(beyond.iter().map(|p| left(bench.name(p.red), "a reading there", "readings elsewhere")));
    let allowed = Allowed {
        unplug,
        unplug_live: unplug && !bench.reads_high,
        look: !silent && home.point != bench.pin,
        load: unplug && !bench.reads_high && reference && !file_only,
        inject: unplug && !bench.reads_high && reference && !file_only,
        // No ohms into a squib or a high-voltage part.
        ohms: !silent && legal::leads_to_danger(bench, home.point).is_none(),
    };
    let ground = Ground {
        home: home.point,
        home_place,
        places: places.places,
        taps,
        source_tap,
        blacks: blacks(bench, home.point, accused),
        probes,
        looks,
        fuses,
        allowed,
        costs: request.costs,
        left_out,
    };
    Ok((ground, refused, home.minutes))
}

/// The ground of a complaint: nothing stays parted, and readings are taken where they are cheapest.
fn everywhere(bench: &Bench<'_>, request: &Request, accused: &[Accused]) -> (Ground, Vec<Refused>, f64) {
    let mut places = Places {
        circuit: bench.circuit,
        places: Vec::new(),
        known: Vec::new(),
        unknown: request.costs.unknown_reach,
        cleared: &bench.cleared,
    };
    let home_place = places.push("", 0.0, "");
    let found = looks::all(scene(bench, request), accused);
    let looks = seen(found.looks, &found.places, &mut places);
    let nothing =
        Allowed { unplug: false, unplug_live: false, look: false, load: false, inject: false, ohms: false };
    let ground = Ground {
        home: bench.pin,
        home_place,
        places: places.places,
        taps: Vec::new(),
        source_tap: None,
        blacks: vec![bench.black],
        probes: Vec::new(),
        looks,
        fuses: Vec::new(),
        allowed: nothing,
        costs: request.costs,
        left_out: Vec::new(),
    };
    (ground, found.refused, 0.0)
}

fn scene<'s, 'c>(bench: &'s Bench<'c>, request: &'s Request) -> Scene<'s, 'c> {
    Scene {
        circuit: bench.circuit,
        solver: &bench.solver,
        state: &bench.state,
        negative: bench.circuit.negative.unwrap_or(bench.black),
        costs: &request.costs,
        cleared: &bench.cleared,
        complaint: request.complaint,
    }
}

/// Looks with their places on this ground.
fn seen(looks: Vec<Look>, from: &[looks::Place], places: &mut Places<'_>) -> Vec<Seen> {
    let mut met: Vec<Option<usize>> = vec![None; from.len()];
    looks
        .into_iter()
        .map(|look| {
            let it = &from[look.place];
            let place = *met[look.place].get_or_insert_with(|| places.named(&it.name, it.reach, &it.access));
            Seen { look, place }
        })
        .collect()
}

/// Every fuse that pulls by hand, with its place.
fn fuses(bench: &Bench<'_>, places: &mut Places<'_>) -> Vec<(PartId, usize)> {
    let mut found: Vec<(PartId, usize)> = Vec::new();
    for (_, branch) in bench.circuit.branches() {
        let pulls = bench.circuit.part(branch.part).pulls;
        let known = found.iter().any(|fuse| fuse.0 == branch.part);
        if matches!(branch.kind, BranchKind::Fuse { .. }) && pulls && !known {
            found.push((branch.part, places.of_part(branch.part)));
        }
    }
    found.truncate(MOST);
    found
}

fn left(name: &str, mode: &str, kind: &str) -> Dropped {
    let why = format!("one plan weighs no more than {MOST} {kind}");
    Dropped { name: name.to_owned(), mode: mode.to_owned(), why }
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
                // No ohms into a squib or a high-voltage part.
                && legal::leads_to_danger(bench, point).is_none()
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

/// The circuit's own ground beside the meter place, against battery negative: its millivolts tell
/// whether the current comes back by the return wire, as it does through a sensor, or by the body.
fn return_offset(bench: &Bench<'_>, home: PointId, place: usize, minutes: f64) -> Option<Probe> {
    let (connector, half) = legal::cavity(bench.circuit, home)?;
    let back = return_net(bench);
    let cavities = &bench.circuit.connector(connector).cavities;
    let red = cavities.iter().find_map(|c| c.points[usize::from(half)].filter(|&p| back.contains(p)))?;
    Some(Probe { red, black: bench.black, load: Load::None, place, extra: minutes, returns: true })
}

/// Other places on the same net.
fn along_net(bench: &Bench<'_>, home: PointId, places: &mut Places<'_>) -> Vec<Probe> {
    let mut probes = Vec::new();
    for &point in &bench.points {
        let Some((connector, half)) = legal::cavity(bench.circuit, point) else { continue };
        let it = bench.circuit.connector(connector);
        let reachable = it.owner.is_none() || half == 0;
        if point == home || !reachable || legal::parts_danger(bench, connector).is_some() {
            continue;
        }
        let place = places.of_connector(connector);
        probes.push(Probe {
            red: point,
            black: bench.black,
            load: Load::None,
            place,
            extra: 0.0,
            returns: false,
        });
    }
    probes
}

/// Places on the way from the battery to the source and back: feeds loaded with the lamp, because
/// a cracked fuse shows full volts to a meter alone; grounds as they stand and with the lamp
/// from battery positive; relay coils without any load.
fn on_feeds(bench: &Bench<'_>, places: &mut Places<'_>, load: f64) -> Vec<Probe> {
    let circuit = bench.circuit;
    let (mut feeds, mut coils, mut grounds) = (Vec::new(), Vec::new(), Vec::new());
    let ends = |id: BranchId| [circuit.branch(id).a, circuit.branch(id).b];
    let starts = bench.module_feeds();
    let mut ways: Vec<Vec<Step>> = Vec::new();
    for &feed in &starts {
        let branch = circuit.branch(feed);
        ways.push(feed_path(circuit, &bench.state, branch.a));
        grounds.extend(return_path(circuit, &bench.state, branch.b).iter().flat_map(|s| ends(s.branch)));
    }
    if starts.is_empty() {
        ways.push(feed_path(circuit, &bench.state, bench.source.point));
    }
    for step in ways.iter().flatten() {
        feeds.extend(ends(step.branch));
        if let BranchKind::RelayContact { coil, .. } = circuit.branch(step.branch).kind {
            coils.extend(ends(coil));
        }
    }
    let mut probes: Vec<Probe> = Vec::new();
    let mut push = |red, black, load, place, extra| {
        let same = |p: &Probe| p.red == red && p.black == black && p.load == load;
        if !probes.iter().any(same) {
            probes.push(Probe { red, black, load, place, extra, returns: false });
        }
    };
    for point in feeds {
        if let Some(place) = places.of_probe(point) {
            push(point, bench.black, legal::proving_load(circuit, &bench.state, point), place, 0.0);
        }
    }
    for point in coils {
        if let Some(place) = places.of_probe(point) {
            push(point, bench.black, Load::None, place, 0.0);
        }
    }
    for point in grounds {
        if let Some(place) = places.of_probe(point) {
            push(point, bench.black, Load::None, place, 0.0);
            if let Some(positive) = circuit.positive {
                push(positive, point, legal::proving_load(circuit, &bench.state, point), place, load);
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
    cleared: &'c [(Hazard, String)],
}

#[derive(Clone, Copy, PartialEq)]
enum Owner {
    Connector(ConnectorId),
    Part(PartId),
}

impl Places<'_> {
    fn push(&mut self, name: &str, reach: f64, access: &str) -> usize {
        self.places.push(Place { name: name.to_owned(), reach, access: access.to_owned() });
        self.places.len() - 1
    }

    /// The place of this name, or where the technician stands.
    fn named(&mut self, name: &str, reach: f64, access: &str) -> usize {
        let known = self.places.iter().position(|place| place.name == name);
        known.unwrap_or_else(|| self.push(name, reach, access))
    }

    fn of_connector(&mut self, connector: ConnectorId) -> usize {
        let owner = Owner::Connector(connector);
        if let Some(known) = self.known.iter().find(|k| k.0 == owner) {
            return known.1;
        }
        let it = self.circuit.connector(connector);
        let place = self.push(&it.name, it.reach.unwrap_or(self.unknown), &it.access);
        self.known.push((owner, place));
        place
    }

    /// The place where a probe can rest on a point; `None` where none can.
    fn of_probe(&mut self, point: PointId) -> Option<usize> {
        match legal::cavity(self.circuit, point) {
            Some((connector, half)) => {
                let it = self.circuit.connector(connector);
                let reachable = it.owner.is_none() || half == 0;
                (reachable && legal::shut(self.circuit, it, self.cleared).is_none())
                    .then(|| self.of_connector(connector))
            }
            None => self.of_point(point),
        }
    }

    /// The place of a fuse, whether its minutes are stated or not.
    fn of_part(&mut self, part: PartId) -> usize {
        let owner = Owner::Part(part);
        if let Some(known) = self.known.iter().find(|k| k.0 == owner) {
            return known.1;
        }
        let it = self.circuit.part(part);
        let place = self.push(&it.name, it.reach.unwrap_or(self.unknown), "");
        self.known.push((owner, place));
        place
    }

    /// The place of a fuse, relay or ground point with stated minutes.
    fn of_point(&mut self, point: PointId) -> Option<usize> {
        let name = &self.circuit.point(point).name;
        let part = self.circuit.part_named(name.split(':').next().unwrap_or(name))?;
        self.circuit.part(part).reach?;
        Some(self.of_part(part))
    }
}

/// What lies on the return side of the source.
pub(crate) fn return_net(bench: &Bench<'_>) -> halfsplit_circuit::Net {
    let behind = bench.source.branch.map_or(bench.black, |id| bench.circuit.branch(id).b);
    net(bench.circuit, &bench.state, behind)
}
