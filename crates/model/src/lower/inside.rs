//! What is inside a part: mated contacts, draws, coils, contacts, references, drivers.

use std::collections::BTreeSet;

use halfsplit_circuit::{BranchId, BranchKind, Key, PartId, PartKind, PointId, PointKind, state::When};
use halfsplit_syntax::Fact;

use super::Lowering;
use crate::{Entity, PinRole};

/// A clean mated cavity or closed contact. Convention of the worked scenarios.
const CONTACT_OHMS: f64 = 0.005;
/// A module's copper between a ground cavity and its electronics. Common practice.
const MODULE_GROUND_OHMS: f64 = 0.000_1;
/// A ribbon of a spiral contact whose resistance the file does not know. MEMORY: a few tenths of an ohm.
const SPIRAL_OHMS: f64 = 0.2;
/// A driver's on-resistance where the file gives only its saturation. Common practice.
pub(super) const DRIVER_OHMS: f64 = 0.01;
/// Share of the system volts that pulls a relay in, and at which it drops out, where the
/// file says nothing. MEMORY: common data-sheet limits; never a reason for an error.
const PULL_IN_SHARE: f64 = 0.65;
const DROP_OUT_SHARE: f64 = 0.15;
/// Share of the system volts from which a module works whose file gives `wakes` nowhere: 6 V of 12. Own estimate,
/// for a module without feed or ground is dead whatever its file leaves out; never a reason for an error.
const WAKES_SHARE: f64 = 0.5;
/// What a relay coil draws at the system volts where its resistance is unknown: it has to pull in all the same.
/// Own estimate, 86 ohm at 12 V; never a reason for an error.
const COIL_AMPS: f64 = 0.14;

impl Lowering {
    /// Joins both sides of every cavity that has two.
    pub(super) fn mate_connectors(&mut self) {
        for index in 0..self.circuit.connectors.len() {
            let id = halfsplit_circuit::ConnectorId(index as u32);
            let connector = self.circuit.connector(id).clone();
            let Some(&place) = self.connector_places.get(&id) else { continue };
            if connector.owner.is_some_and(|owner| self.facts.absent.contains(&owner)) {
                continue;
            }
            for cavity in &connector.cavities {
                if let [Some(a), Some(b)] = cavity.points {
                    let said = |cavity: Option<String>| self.contacts.get(&(id, cavity)).copied();
                    let ohms = said(Some(cavity.name.clone())).or(said(None)).unwrap_or(CONTACT_OHMS);
                    let kind = BranchKind::Mated { connector: id, ohms };
                    self.add_branch_at(connector.part, a, b, kind, place);
                }
            }
        }
    }

    pub(super) fn inside(&mut self, part: PartId, fact: &Fact) {
        let mut coil = None;
        let mut ground = None;
        // Coils before contacts, grounds before what returns to them: order in the file is free.
        let relay = self.circuit.part(part).kind == PartKind::Relay;
        for inner in fact.all("coil").filter(|_| relay) {
            coil = coil.or(self.coil(part, inner, fact));
        }
        for inner in fact.all("return") {
            self.module_return(part, inner, "pins", &mut ground);
        }
        // A module that names no ground pins of its own has those of its feeds.
        if ground.is_none() {
            for inner in fact.all("feed") {
                self.module_return(part, inner, "return", &mut ground);
            }
        }
        let says = |inner: &Fact| {
            inner
                .first("wakes")
                .and_then(|wakes| wakes.quantity("volts"))
                .is_some_and(|q| q.value.value.is_some())
        };
        let wakes = match fact.all("feed").any(says) {
            true => None,
            false => Some(self.vehicle.system_volts() * WAKES_SHARE),
        };
        for inner in &fact.facts {
            match inner.keyword() {
                "terminal" => self.on_bar(part, inner),
                "contact" => self.contact(part, inner, coil, false),
                "rest-contact" => self.contact(part, inner, coil, true),
                "resistance" | "coil" if !(relay && inner.keyword() == "coil") => {
                    let ohms = inner.quantity("ohms").and_then(|q| q.value.value);
                    self.load(part, inner, ohms);
                }
                "draws" => {
                    let value = |slot| inner.quantity(slot).and_then(|q| q.value.value);
                    let ohms = value("volts").zip(value("current")).map(|(v, i)| v / i);
                    self.load(part, inner, ohms);
                }
                "power" => {
                    let value = |slot| inner.quantity(slot).and_then(|q| q.value.value);
                    let ohms = value("volts").zip(value("watts")).map(|(v, w)| v * v / w);
                    self.load(part, inner, ohms);
                }
                "path" => {
                    let ohms = inner.quantity("ohms").and_then(|q| q.value.value).unwrap_or(SPIRAL_OHMS);
                    if let Some([a, b]) = self.ends(part, inner) {
                        self.add_branch(part, a, b, BranchKind::Joint { ohms }, inner.span);
                    }
                }
                "terminator" | "input" => self.passive(part, inner),
                "pull-up" => self.pull_up(part, inner, &mut ground),
                "pull-down" => self.pull_down(part, inner, &mut ground),
                "bridge" => self.bridge(part, inner, fact, &mut ground),
                "filament" => self.filament(part, inner),
                "diode" => {
                    if let Some([a, b]) = self.ends(part, inner) {
                        let kind = BranchKind::Diode { forward: 0.7, ohms: 0.05 };
                        self.add_branch(part, a, b, kind, inner.span);
                    }
                }
                "signal" => {
                    for pin in inner.words("pins") {
                        if let Some(point) = self.pin(Some(part), pin.value, pin.span) {
                            self.roles.insert(point, PinRole::Signal);
                        }
                    }
                }
                "feed" => self.feed(part, inner, wakes, &mut ground),
                "reference" => self.reference(part, inner, &mut ground),
                "driver" => self.driver(part, inner, &mut ground),
                _ => {}
            }
        }
    }

    /// The points inside the part behind the two pins of a `from -> to` line.
    pub(super) fn ends(&mut self, part: PartId, fact: &Fact) -> Option<[PointId; 2]> {
        let from = self.own_pin(part, fact, "from");
        let to = self.own_pin(part, fact, "to");
        Some([from?, to?])
    }

    pub(super) fn own_pin(&mut self, part: PartId, fact: &Fact, slot: &str) -> Option<PointId> {
        let pin = fact.pin(slot)?;
        let outside = self.pin(Some(part), pin.value, pin.span)?;
        Some(self.part_side(outside))
    }

    /// The part's side of a cavity; a terminal is its own inside.
    fn part_side(&self, point: PointId) -> PointId {
        match self.circuit.point(point).kind {
            PointKind::Cavity { connector, cavity, .. } => {
                self.circuit.connector(connector).cavities[cavity as usize].points[1].unwrap_or(point)
            }
            _ => point,
        }
    }

    pub(super) fn role(&mut self, part: PartId, fact: &Fact, slot: &str, role: PinRole) {
        let Some(pin) = fact.pin(slot) else { return };
        let own = self.circuit.part(part).name.clone();
        let spelled = [format!("{own}.{}", pin.value), format!("{own}:{}", pin.value), pin.value.to_owned()];
        if let Some(point) = spelled.iter().find_map(|name| self.names.find_point(name)) {
            self.roles.entry(point).or_insert(role);
        }
    }

    fn coil(&mut self, part: PartId, fact: &Fact, relay: &Fact) -> Option<BranchId> {
        let [a, b] = self.ends(part, fact)?;
        self.role(part, fact, "from", PinRole::LoadFeed);
        self.role(part, fact, "to", PinRole::LoadReturn);
        let ohms = fact.quantity("ohms")?.value.value;
        let volts = |keyword: &str| relay.first(keyword)?.quantity("volts")?.value.value;
        let system = self.vehicle.system_volts();
        let kind = BranchKind::Coil {
            ohms: ohms.unwrap_or(system / COIL_AMPS),
            assumed: ohms.is_none(),
            pull_in: volts("pull-in").unwrap_or(system * PULL_IN_SHARE),
            drop_out: volts("drop-out").unwrap_or(system * DROP_OUT_SHARE),
        };
        Some(self.add_branch(part, a, b, kind, fact.span))
    }

    fn contact(&mut self, part: PartId, fact: &Fact, coil: Option<BranchId>, closed_at_rest: bool) {
        let Some([a, b]) = self.ends(part, fact) else { return };
        self.role(part, fact, "from", PinRole::Switching);
        self.role(part, fact, "to", PinRole::Switching);
        let ohms = fact.quantity("ohms").and_then(|q| q.value.value).unwrap_or(CONTACT_OHMS);
        let kind = match (self.circuit.part(part).kind, coil) {
            (PartKind::Relay, Some(coil)) => BranchKind::RelayContact { ohms, coil, closed_at_rest },
            (PartKind::Relay, None) => return,
            _ => BranchKind::Switch { ohms, closed: when(fact) },
        };
        self.add_branch(part, a, b, kind, fact.span);
    }

    fn load(&mut self, part: PartId, fact: &Fact, ohms: Option<f64>) {
        let Some([a, b]) = self.ends(part, fact) else { return };
        self.role(part, fact, "from", PinRole::LoadFeed);
        self.role(part, fact, "to", PinRole::LoadReturn);
        let kind = BranchKind::Load { ohms, active: when(fact) };
        let branch = self.add_branch(part, a, b, kind, fact.span);
        if let Some(volts) = fact.quantity("volts").and_then(|q| q.value.value) {
            self.rated.insert(branch, volts);
        }
    }

    fn filament(&mut self, part: PartId, fact: &Fact) {
        let Some([a, b]) = self.ends(part, fact) else { return };
        self.role(part, fact, "from", PinRole::LoadFeed);
        self.role(part, fact, "to", PinRole::LoadReturn);
        let value = |slot| fact.quantity(slot).and_then(|q| q.value.value);
        let kind = match (value("power"), value("volts")) {
            (Some(watts), Some(volts)) => BranchKind::Lamp { hot: volts * volts / watts, rated: volts },
            _ => BranchKind::Load { ohms: None, active: When::default() },
        };
        self.add_branch(part, a, b, kind, fact.span);
    }

    /// The node inside a module that its electronics call ground.
    pub(super) fn module_ground(&mut self, part: PartId, ground: &mut Option<PointId>) -> PointId {
        *ground.get_or_insert_with(|| {
            let name = format!("{} internal ground", self.circuit.part(part).name);
            self.add_inside(name)
        })
    }

    fn module_return(&mut self, part: PartId, fact: &Fact, slot: &str, ground: &mut Option<PointId>) {
        for pin in fact.words(slot) {
            let Some(outside) = self.pin(Some(part), pin.value, pin.span) else { continue };
            self.roles.insert(outside, PinRole::Return);
            let inside = self.part_side(outside);
            let ground = self.module_ground(part, ground);
            let kind = BranchKind::Joint { ohms: MODULE_GROUND_OHMS };
            self.add_branch(part, inside, ground, kind, fact.span);
        }
    }

    /// Where a module's current goes: the pin behind the arrow, else the module's own ground.
    pub(super) fn sink(
        &mut self,
        part: PartId,
        fact: &Fact,
        ground: &mut Option<PointId>,
    ) -> Option<PointId> {
        let slot = if fact.has("return") { "return" } else { "to" };
        match fact.pin(slot) {
            Some(_) => self.own_pin(part, fact, slot),
            None => Some(self.module_ground(part, ground)),
        }
    }

    /// A feed; `wakes` is what every feed of a module wakes it at that gives no volts anywhere.
    fn feed(&mut self, part: PartId, fact: &Fact, wakes: Option<f64>, ground: &mut Option<PointId>) {
        let Some(a) = self.own_pin(part, fact, "pin") else { return };
        let Some(b) = self.sink(part, fact, ground) else { return };
        self.role(part, fact, "pin", PinRole::Feed);
        self.role(part, fact, "return", PinRole::Return);
        let inner = |keyword: &str, slot: &str| fact.first(keyword)?.quantity(slot)?.value.value;
        let system = self.vehicle.system_volts();
        let amps = fact.quantity("current").and_then(|q| q.value.value);
        let kind = BranchKind::Feed {
            awake: amps.filter(|&amps| amps > 0.0).map(|amps| system / amps),
            standby: inner("standby", "ohms"),
            wakes: inner("wakes", "volts").or(wakes),
            when: when(fact),
        };
        self.add_branch(part, a, b, kind, fact.span);
    }

    fn reference(&mut self, part: PartId, fact: &Fact, ground: &mut Option<PointId>) {
        let Some(a) = self.own_pin(part, fact, "pin") else { return };
        let Some(b) = self.sink(part, fact, ground) else { return };
        self.role(part, fact, "pin", PinRole::Reference);
        self.role(part, fact, "return", PinRole::ReferenceReturn);
        let quantity = |keyword: &str, slot: &str| fact.first(keyword)?.quantity(slot)?.value.value;
        let word = |keyword: &str, slot: &str| Some(fact.first(keyword)?.word(slot)?.value);
        let kind = BranchKind::Reference {
            volts: fact.quantity("volts").and_then(|q| q.value.value).unwrap_or(5.0),
            inner: quantity("inner", "ohms").unwrap_or(0.2),
            limit: quantity("limit", "current"),
            unpowered: quantity("unpowered", "ohms").unwrap_or(1e6),
            sinks: word("sinks", "answer") == Some("yes"),
            latches: word("after-short", "response") == Some("latches"),
        };
        let branch = self.add_branch(part, a, b, kind, fact.span);
        if fact.has("return") {
            let ground = self.module_ground(part, ground);
            let kind = BranchKind::Joint { ohms: MODULE_GROUND_OHMS };
            self.add_branch(part, b, ground, kind, fact.span);
        }
        self.output(part, fact, branch);
    }

    fn driver(&mut self, part: PartId, fact: &Fact, ground: &mut Option<PointId>) {
        let Some(a) = self.own_pin(part, fact, "from") else { return };
        let Some(b) = self.sink(part, fact, ground) else { return };
        let roles = match fact.word("side").map(|w| w.value) {
            // A high side passes on what its feed pin brings.
            Some("high-side") => [PinRole::Feed, PinRole::Driver],
            _ => [PinRole::Driver, PinRole::Return],
        };
        self.role(part, fact, "from", roles[0]);
        self.role(part, fact, "to", roles[1]);
        let quantity = |keyword: &str, slot: &str| fact.first(keyword)?.quantity(slot)?.value.value;
        let kind = BranchKind::Driver {
            saturation: quantity("saturation", "volts").unwrap_or(0.0),
            ohms: quantity("inner", "ohms").unwrap_or(DRIVER_OHMS),
            on: when(fact),
        };
        let branch = self.add_branch(part, a, b, kind, fact.span);
        self.output(part, fact, branch);
    }

    fn output(&mut self, part: PartId, fact: &Fact, branch: BranchId) {
        let Some(name) = fact.name("name") else { return };
        let full = format!("{}.{}", self.circuit.part(part).name, name.value);
        for inner in &fact.facts {
            self.say(Entity::Output(branch), inner);
        }
        if !self.claim(&full, name.span) {
            return;
        }
        self.circuit.outputs.push((full.clone(), branch));
        self.names.add_output(&full, name.value, branch);
        self.mention(name.span, Entity::Output(branch), true);
    }
}

/// `key run crank`, `in on`; nothing said is always.
pub(super) fn when(fact: &Fact) -> When {
    When {
        keys: fact.words("keys").filter_map(|w| Key::from_word(w.value)).collect(),
        positions: fact.words("positions").map(|w| w.value.to_owned()).collect::<BTreeSet<_>>(),
    }
}
