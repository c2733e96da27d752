//! What can be looked at, where, in which state and for how many minutes.

mod places;

use std::collections::{BTreeSet, HashMap};

use halfsplit_circuit::{
    BranchId, BranchKind, Circuit, Connector, ConnectorId, Fault, FaultKind, Hazard, Key, Load, Meter,
    Minutes, PartId, PartKind, PointId, Solver, State, touched,
};

use crate::accuse::Accused;
use crate::complaint::Complaint;
use crate::judge::{Drive, loads};
use crate::legal::{self, cavity};
use crate::plan::{Refused, Sense, StepKind};
use crate::request::Costs;
use crate::suspects::output_name;

pub(crate) use places::Place;

/// Time to take a reading or to watch, once there. Own estimates, as are those that follow.
const READ: Minutes = 0.1;
/// To pull a fuse or relay and put it back.
const PULL: Minutes = 0.3;
/// To read an output's command in the live data.
const LIVE_DATA: Minutes = 1.0;
/// To back a terminal out of its connector and lock it in again.
const BACK_OUT: Minutes = 1.0;

/// The most places around suspects that one plan reads at.
const AROUND: usize = 120;

/// Loads and switches in a row behind a fuse whose plugs are parted to find a draw.
const BEHIND: usize = 2;

/// Amperes from which a relay has a hand in what goes on.
const CARRIES: f64 = 0.001;

/// One look.
#[derive(Clone, Debug)]
pub(crate) struct Look {
    pub state: State,
    /// What the technician changes besides: a terminal that is backed out.
    pub held: Vec<Fault>,
    pub sense: Sense,
    pub leads: Meter,
    /// Position in [`Looks::places`].
    pub place: usize,
    /// Minutes on top of the way there.
    pub extra: Minutes,
    pub kind: StepKind,
    pub target: String,
    pub words: String,
}

pub(crate) struct Looks {
    pub places: Vec<Place>,
    pub looks: Vec<Look>,
    /// Places behind a gate.
    pub refused: Vec<Refused>,
}

/// What looks are taken in and for.
#[derive(Clone, Copy)]
pub(crate) struct Scene<'s, 'c> {
    pub circuit: &'c Circuit,
    pub solver: &'s Solver<'c>,
    pub state: &'s State,
    pub negative: PointId,
    pub costs: &'s Costs,
    pub cleared: &'s [(Hazard, String)],
    /// `None` for a pin that reads wrong.
    pub complaint: Option<Complaint>,
}

/// Looks for these suspects.
pub(crate) fn all(scene: Scene<'_, '_>, accused: &[Accused]) -> Looks {
    let here = Place { name: String::new(), reach: 0.0, access: String::new(), words: String::new() };
    let looks = Looks { places: vec![here], looks: Vec::new(), refused: Vec::new() };
    let mut maker = Maker { scene, looks, dangers: HashMap::new() };
    match scene.complaint {
        None => {
            maker.others(None);
            maker.clicks();
            maker.sockets();
            maker.around(accused);
        }
        Some(Complaint::Dead(part) | Complaint::Weak(part)) => {
            maker.points();
            maker.drops();
            maker.others(Some(part));
            maker.clicks();
            maker.sockets();
            maker.across(part);
        }
        Some(Complaint::StaysOn(part)) => {
            maker.with_key_off(part);
            maker.pulled(part);
            maker.commanded(accused);
            maker.backed_out(part);
            maker.parted_and_on(part);
        }
        Some(Complaint::Draws(_)) => {
            let fuses = maker.fuses();
            maker.parted_under_fuses(&fuses);
        }
        Some(Complaint::Blows(fuse)) => maker.lamp_for_fuse(fuse),
        Some(Complaint::Ohms { red, black, .. }) => maker.parted_bus(red, black),
        Some(Complaint::Amps { .. }) => {
            maker.points();
            maker.drops();
            maker.others(None);
            maker.clicks();
            maker.sockets();
            maker.accused_loads(accused);
        }
    }
    maker.looks
}

/// `Part X92 (boot floor, right). `
fn parted(connector: &Connector) -> String {
    let place = if connector.place.is_empty() { String::new() } else { format!(" ({})", connector.place) };
    format!("Part {}{place}. ", connector.name)
}

struct Maker<'s, 'c> {
    scene: Scene<'s, 'c>,
    looks: Looks,
    /// Why no hand may go to a connector, for those that were asked about.
    dangers: HashMap<ConnectorId, Option<String>>,
}

impl Maker<'_, '_> {
    fn circuit(&self) -> &Circuit {
        self.scene.circuit
    }

    fn state(&self) -> State {
        self.scene.state.clone()
    }

    fn name(&self, point: PointId) -> String {
        let circuit = self.scene.circuit;
        if Some(point) == circuit.negative {
            "battery negative".to_owned()
        } else if Some(point) == circuit.positive {
            "battery positive".to_owned()
        } else {
            circuit.point(point).name.clone()
        }
    }

    fn leads(&self) -> Meter {
        Meter::volts(self.scene.negative, self.scene.negative)
    }

    fn add(&mut self, look: Look) {
        self.looks.looks.push(look);
    }

    fn read(&mut self, red: PointId, black: PointId, place: usize, state: State, before: &str) {
        let (r, b) = (self.name(red), self.name(black));
        let place_words = self.looks.places[place].words.clone();
        let at = if place_words.is_empty() { String::new() } else { format!(" ({place_words})") };
        let words = format!("{before}Read volts from {r}{at} to {b}.");
        self.add(Look {
            state,
            held: Vec::new(),
            sense: Sense::Meter,
            leads: Meter::volts(red, black),
            place,
            extra: READ,
            kind: StepKind::Probe,
            target: r,
            words,
        });
    }

    /// Volts to battery negative wherever a probe can rest.
    fn points(&mut self) {
        for at in 0..self.circuit().points.len() {
            let point = PointId(at as u32);
            if point != self.scene.negative {
                self.over(point, self.scene.negative);
            }
        }
    }

    /// Volts over each thing of which both ends can be reached: a joint, a fuse, a cable, a contact.
    fn drops(&mut self) {
        for at in 0..self.circuit().branches.len() {
            let branch = self.circuit().branch(BranchId(at as u32)).clone();
            let carries = branch.kind.is_copper()
                || matches!(
                    branch.kind,
                    BranchKind::Fuse { .. } | BranchKind::Switch { .. } | BranchKind::Source { .. }
                );
            if carries {
                self.over(branch.a, branch.b);
            }
        }
    }

    /// Volts over one thing, where both its ends can be reached.
    fn over(&mut self, a: PointId, b: PointId) {
        // The supply that was measured need not be read again.
        let posts = Some(a) == self.scene.circuit.positive && Some(b) == self.scene.circuit.negative;
        if posts && self.scene.state.supply().is_some() {
            return;
        }
        let known = self.looks.looks.iter().any(|look| look.leads == Meter::volts(a, b));
        if known {
            return;
        }
        let (Some(one), Some(other)) = (self.of_point(a), self.of_point(b)) else { return };
        // The farther end is the one that is gone to; the lead is long enough for the other.
        let far = if self.looks.places[one].reach >= self.looks.places[other].reach { one } else { other };
        let state = self.state();
        self.read(a, b, far, state, "");
    }

    /// What else works, in the state of the complaint.
    fn others(&mut self, complained: Option<PartId>) {
        for at in 0..self.circuit().parts.len() {
            let part = PartId(at as u32);
            let kind = self.circuit().part(part).kind;
            let seen = matches!(kind, PartKind::Lamp | PartKind::Motor | PartKind::Load);
            if !seen || Some(part) == complained && loads(self.circuit(), part).count() < 2 {
                continue;
            }
            let it = self.circuit().part(part).clone();
            let label = if it.label.is_empty() { String::new() } else { format!(" ({})", it.label) };
            for drive in Drive::of(self.circuit(), part) {
                let state = self.state();
                let name = drive.name(self.circuit());
                // Beside a weak one the question is whether this one is weak too.
                let (sense, words) = match self.scene.complaint {
                    Some(Complaint::Weak(_)) => {
                        (Sense::Strong(drive), format!("Is {name}{label} as strong as usual?"))
                    }
                    _ => (Sense::Works(drive), format!("Does {name}{label} work?")),
                };
                self.watch(sense, state, 0, READ, &it.name, words);
            }
        }
    }

    /// Readings on both sides of whatever may be at fault, everything mated.
    fn around(&mut self, accused: &[Accused]) {
        let circuit = self.scene.circuit;
        let faults = accused.iter().filter_map(|a| a.variants.first()).flatten();
        for fault in faults.clone().take(AROUND) {
            if let FaultKind::Series { branch, .. } = fault.kind {
                let branch = circuit.branch(branch);
                self.over(branch.a, branch.b);
            }
        }
        let points: BTreeSet<PointId> = faults.flat_map(|fault| touched(circuit, fault)).collect();
        for point in points.into_iter().take(AROUND) {
            if point != self.scene.negative {
                self.over(point, self.scene.negative);
            }
        }
    }

    /// The loads among the suspects, each by itself.
    fn accused_loads(&mut self, accused: &[Accused]) {
        let circuit = self.scene.circuit;
        let faults = accused.iter().filter_map(|a| a.variants.first()).flatten();
        let mut parts = BTreeSet::new();
        for fault in faults {
            match fault.kind {
                FaultKind::Series { branch, .. } => {
                    parts.insert(circuit.branch(branch).part);
                }
                FaultKind::Bridge { a, b, .. } => {
                    let over = circuit.branches().filter(|(_, it)| [it.a, it.b] == [a, b]);
                    parts.extend(over.map(|(_, it)| it.part));
                }
                _ => {}
            }
        }
        for part in parts {
            self.across(part);
        }
    }

    /// The load itself: fed from the battery by two leads, its connector out.
    fn across(&mut self, part: PartId) {
        let circuit = self.scene.circuit;
        for load in loads(circuit, part).collect::<Vec<_>>() {
            let branch = circuit.branch(load);
            for id in (0..circuit.connectors.len() as u32).map(ConnectorId) {
                let connector = circuit.connector(id);
                let ends = [branch.a, branch.b].map(|end| {
                    connector.cavities.iter().find_map(|cavity| {
                        let [Some(wire), Some(own)] = cavity.points else { return None };
                        (own == end && connector.owner == Some(part)).then_some((wire, own))
                    })
                });
                let [Some((_, red)), Some((_, black))] = ends else { continue };
                let Some(place) = self.of_connector(id) else { continue };
                let state = State { battery: false, key: Key::Off, ..self.state() }.unplug(id);
                let name = Drive::Load(load).name(circuit);
                let name =
                    if loads(circuit, part).count() > 1 { name } else { circuit.part(part).name.clone() };
                let extra = READ + self.parting(id) + self.scene.costs.battery_off;
                self.add(Look {
                    state,
                    held: Vec::new(),
                    sense: Sense::Meter,
                    leads: Meter::ohms(red, black),
                    place,
                    extra,
                    kind: StepKind::Ohms,
                    target: connector.name.clone(),
                    words: format!(
                        "Key off, battery negative off. {}Read ohms across {name} itself, at its own pins.",
                        parted(connector)
                    ),
                });
            }
        }
    }

    fn watch(
        &mut self,
        sense: Sense,
        state: State,
        place: usize,
        extra: Minutes,
        target: &str,
        words: String,
    ) {
        let leads = self.leads();
        self.add(Look {
            state,
            held: Vec::new(),
            sense,
            leads,
            place,
            extra,
            kind: StepKind::Watch,
            target: target.to_owned(),
            words,
        });
    }

    /// Relays that can be heard.
    fn clicks(&mut self) {
        for (id, branch) in self.circuit().branches().map(|(id, b)| (id, b.clone())).collect::<Vec<_>>() {
            let part = self.circuit().part(branch.part).clone();
            if matches!(branch.kind, BranchKind::Coil { .. }) && part.kind == PartKind::Relay {
                let state = self.state();
                let words = format!("Listen at {}: does it click?", part.name);
                self.watch(Sense::PulledIn(id), state, 0, READ, &part.name, words);
            }
        }
    }

    /// The sockets of relays, with the relay out: each terminal to battery negative and to battery positive
    /// under a load, so that damp and ghosts do not count.
    fn sockets(&mut self) {
        // Only relays that have a hand in the complained function.
        let Ok(sound) = self.scene.solver.solve(self.scene.state, &[]) else { return };
        let carries = |relay: PartId| {
            self.circuit().branches_of(relay).any(|(id, _)| sound.current(id).abs() > CARRIES)
        };
        let relays: Vec<PartId> = (0..self.circuit().parts.len())
            .map(|at| PartId(at as u32))
            .filter(|&part| {
                self.circuit().part(part).kind == PartKind::Relay && self.circuit().part(part).pulls
            })
            .filter(|&part| carries(part))
            .filter(|&part| {
                !self.circuit().branches_of(part).any(|(_, b)| self.is_stud(b.a) || self.is_stud(b.b))
            })
            .collect();
        let positive = self.circuit().positive;
        for relay in relays {
            let Some(place) = self.of_part(relay) else { continue };
            let name = self.circuit().part(relay).name.clone();
            let prefix = format!("{name}:");
            let terminals: Vec<PointId> = (0..self.circuit().points.len())
                .map(|at| PointId(at as u32))
                .filter(|&point| self.circuit().point(point).name.starts_with(&prefix))
                .collect();
            for terminal in terminals {
                let state = self.state().pull(relay);
                let load = legal::proving_load(self.circuit(), &state, terminal);
                let hung = if load == Load::Lamp { "a 21 W lamp" } else { "470 Ω, no lamp" };
                let out = format!("{name} out of its socket. Under {hung}: ");
                let ends = [(terminal, self.scene.negative), (positive.unwrap_or(terminal), terminal)];
                for (red, black) in ends.into_iter().filter(|(red, black)| red != black) {
                    self.read(red, black, place, state.clone(), &out);
                    if let Some(last) = self.looks.looks.last_mut() {
                        last.leads = Meter::loaded(red, black, load);
                        last.extra += PULL;
                        last.target = self.scene.circuit.point(terminal).name.clone();
                    }
                }
            }
        }
    }

    fn with_key_off(&mut self, part: PartId) {
        let mut state = self.state();
        state.key = Key::Off;
        let name = self.circuit().part(part).name.clone();
        self.watch(
            Sense::Works(Drive::Part(part)),
            state,
            0,
            0.0,
            &name,
            format!("Key off and listen: is {name} still on?"),
        );
    }

    fn pulled(&mut self, part: PartId) {
        let name = self.circuit().part(part).name.clone();
        for at in 0..self.circuit().parts.len() {
            let pulled = PartId(at as u32);
            if !self.circuit().part(pulled).pulls || self.circuit().part(pulled).kind != PartKind::Relay {
                continue;
            }
            let Some(place) = self.of_part(pulled) else { continue };
            let it = self.circuit().part(pulled).name.clone();
            let state = self.state().pull(pulled);
            self.watch(
                Sense::Works(Drive::Part(part)),
                state,
                place,
                PULL,
                &it,
                format!("Pull {it}: is {name} still on?"),
            );
        }
    }

    fn commanded(&mut self, accused: &[Accused]) {
        let outputs: BTreeSet<BranchId> = accused.iter().filter_map(|a| a.commanded).collect();
        for output in outputs {
            let name = output_name(self.scene.circuit, output);
            let state = self.state();
            let words = format!("Live data: does the module command {name} on?");
            self.watch(Sense::Commanded(output), state, 0, LIVE_DATA, &name, words);
        }
    }

    /// A single terminal out of a module's connector, the others left in: parting the whole connector can take
    /// the feed of the very coil that is looked at.
    fn backed_out(&mut self, part: PartId) {
        let name = self.circuit().part(part).name.clone();
        let mates: Vec<(BranchId, ConnectorId, PointId)> = self
            .circuit()
            .branches()
            .filter_map(|(id, b)| match b.kind {
                BranchKind::Mated { connector, .. } => Some((id, connector, b.a)),
                _ => None,
            })
            .collect();
        for (mate, connector, point) in mates {
            let owner = self.circuit().connector(connector).owner;
            if owner.is_none_or(|owner| self.circuit().part(owner).kind != PartKind::Module) {
                continue;
            }
            let Some(place) = self.of_connector(connector) else { continue };
            let cavity = self.circuit().point(point).name.replace(".part:", ":");
            let leads = self.leads();
            let state = self.state();
            self.add(Look {
                state,
                held: vec![Fault { kind: FaultKind::Series { branch: mate, ohms: f64::INFINITY } }],
                sense: Sense::Works(Drive::Part(part)),
                leads,
                place,
                extra: BACK_OUT,
                kind: StepKind::Watch,
                target: cavity.clone(),
                words: format!(
                    "Back the terminal of {cavity} out, leave the connector mated: is {name} still on?"
                ),
            });
        }
    }

    fn parted_and_on(&mut self, part: PartId) {
        let name = self.circuit().part(part).name.clone();
        for at in 0..self.circuit().connectors.len() {
            let id = ConnectorId(at as u32);
            // The whole connector of a module takes too much away at once.
            let owner = self.circuit().connector(id).owner;
            if owner.is_some_and(|owner| owner == part || self.circuit().part(owner).kind == PartKind::Module)
            {
                continue;
            }
            let Some(place) = self.of_connector(id) else { continue };
            let it = self.circuit().connector(id).name.clone();
            let state = self.state().unplug(id);
            let extra = self.parting(id);
            self.watch(
                Sense::Works(Drive::Part(part)),
                state,
                place,
                extra,
                &it,
                format!("Part {it}: is {name} still on?"),
            );
        }
    }

    fn parting(&self, id: ConnectorId) -> Minutes {
        let connector = self.circuit().connector(id);
        let again = connector.repart.unwrap_or(self.scene.costs.repart);
        connector.parting.unwrap_or(0.0) + again
    }

    /// Millivolts over fuses, nothing unplugged and nothing pulled.
    fn fuses(&mut self) -> Vec<(PartId, PointId, PointId, usize)> {
        let mut fuses = Vec::new();
        for (_, branch) in self.circuit().branches().map(|(id, b)| (id, b.clone())).collect::<Vec<_>>() {
            if !matches!(branch.kind, BranchKind::Fuse { .. }) {
                continue;
            }
            let Some(place) = self.of_part(branch.part) else { continue };
            fuses.push((branch.part, branch.a, branch.b, place));
            let state = self.state();
            self.read(branch.a, branch.b, place, state, "Nothing pulled, nothing woken: ");
        }
        fuses
    }

    /// The meter stays over a fuse while one connector behind it is parted.
    /// Points that a fuse's current may pass on its way back: its net, and those behind the loads and switches on it,
    /// up to ground and up to another supply.
    fn behind(&self, load: PointId) -> BTreeSet<PointId> {
        let circuit = self.circuit();
        let net = |point| halfsplit_circuit::net(circuit, self.scene.state, point);
        let mut known: BTreeSet<PointId> = net(load).points.iter().copied().collect();
        let ends = |points: &BTreeSet<PointId>| -> Vec<PointId> {
            let through = circuit.branches.iter().filter(|b| !b.kind.is_copper());
            let other = |b: &halfsplit_circuit::Branch| match (points.contains(&b.a), points.contains(&b.b)) {
                (true, false) => Some(b.b),
                (false, true) => Some(b.a),
                _ => None,
            };
            through
                .filter(|b| !matches!(b.kind, BranchKind::Fuse { .. } | BranchKind::Source { .. }))
                .filter_map(other)
                .collect()
        };
        let is_end = |points: &BTreeSet<PointId>| {
            let posts = [circuit.negative, circuit.positive, circuit.body];
            posts.into_iter().flatten().any(|post| points.contains(&post))
        };
        for _ in 0..BEHIND {
            let mut more = BTreeSet::new();
            for end in ends(&known) {
                let points: BTreeSet<PointId> = net(end).points.iter().copied().collect();
                if !is_end(&points) {
                    more.extend(points);
                }
            }
            known.extend(more);
        }
        known
    }

    fn parted_under_fuses(&mut self, fuses: &[(PartId, PointId, PointId, usize)]) {
        for at in 0..self.circuit().connectors.len() {
            let id = ConnectorId(at as u32);
            let Some(place) = self.of_connector(id) else { continue };
            for &(fuse, feed, load, _) in fuses {
                let own = self.behind(load);
                if !own.iter().any(|&p| cavity(self.circuit(), p).is_some_and(|(c, _)| c == id)) {
                    continue;
                }
                let state = self.state().unplug(id);
                let fuse = self.circuit().part(fuse).name.clone();
                let connector = self.circuit().connector(id);
                let (target, part) = (connector.name.clone(), parted(connector));
                let extra = READ + self.parting(id);
                self.add(Look {
                    state,
                    held: Vec::new(),
                    sense: Sense::Meter,
                    leads: Meter::volts(feed, load),
                    place,
                    extra,
                    kind: StepKind::Part,
                    target,
                    words: format!("The meter stays over {fuse}. {part}Read millivolts over {fuse}."),
                });
            }
        }
    }

    /// A lamp across the fuse's socket takes the current that the fuse could not: while the short is there it
    /// stays bright, whatever is parted beside it.
    fn lamp_for_fuse(&mut self, fuse: PartId) {
        let ends = self.circuit().branches_of(fuse).find_map(|(_, b)| match b.kind {
            BranchKind::Fuse { .. } => Some((b.a, b.b)),
            _ => None,
        });
        let Some((feed, load)) = ends else { return };
        let name = self.circuit().part(fuse).name.clone();
        let pulled = self.state().pull(fuse);
        let hung = legal::proving_load(self.circuit(), &pulled, load);
        let lamp = if hung == Load::Lamp { "a 21 W lamp" } else { "470 Ω, no lamp," };
        let Some(own) = self.of_part(fuse) else { return };
        let read = |maker: &mut Self, place, state: State, part: &str, target: &str, extra, kind| {
            maker.add(Look {
                state,
                held: Vec::new(),
                sense: Sense::Meter,
                leads: Meter::loaded(feed, load, hung),
                place,
                extra: READ + extra,
                kind,
                target: target.to_owned(),
                words: format!("{name} out of its socket, {lamp} across it. {part}Read volts across it."),
            });
        };
        read(self, own, pulled.clone(), "", &name, PULL, StepKind::Probe);
        for at in 0..self.circuit().connectors.len() {
            let id = ConnectorId(at as u32);
            let Some(place) = self.of_connector(id) else { continue };
            let connector = self.circuit().connector(id);
            let (target, part) = (connector.name.clone(), parted(connector));
            let extra = self.parting(id);
            read(self, place, pulled.clone().unplug(id), &part, &target, extra, StepKind::Part);
        }
    }

    /// Ohms at the same two points with one connector parted.
    fn parted_bus(&mut self, red: PointId, black: PointId) {
        for at in 0..self.circuit().connectors.len() {
            let id = ConnectorId(at as u32);
            let here = [red, black].iter().any(|&p| cavity(self.circuit(), p).is_some_and(|(c, _)| c == id));
            let Some(place) = self.of_connector(id).filter(|_| !here) else { continue };
            let connector = self.circuit().connector(id).clone();
            let (r, b) = (self.name(red), self.name(black));
            let extra = self.parting(id);
            let state = self.state().unplug(id);
            self.add(Look {
                state,
                held: Vec::new(),
                sense: Sense::Meter,
                leads: Meter::ohms(red, black),
                place,
                extra,
                kind: StepKind::Part,
                target: connector.name.clone(),
                words: format!("Part {}. Read ohms from {r} to {b}, then mate it again.", connector.name),
            });
        }
    }
}
