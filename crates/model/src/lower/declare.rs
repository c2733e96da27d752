//! First pass: everything that has a name.

use halfsplit_circuit::{PartId, PartKind, PointKind};
use halfsplit_syntax::Fact;

use super::Lowering;
use crate::{Entity, SupplyKind};

impl Lowering {
    pub(super) fn declare_all(&mut self, facts: &[Fact]) {
        for fact in facts {
            self.declare(fact);
        }
    }

    fn declare(&mut self, fact: &Fact) {
        let kind = match fact.keyword() {
            "circuit" => {
                self.title.get_or_insert(text(fact, "title"));
                return;
            }
            "vehicle" => return self.vehicle(fact),
            "inline" => return self.inline(fact),
            "supply" => PartKind::Supply,
            "ground-point" => PartKind::GroundPoint,
            "bar" => PartKind::Bar,
            "fuse" => PartKind::Fuse,
            "link" => PartKind::Link,
            "relay" => PartKind::Relay,
            "switch" => PartKind::Switch,
            "module" => PartKind::Module,
            "sensor" => PartKind::Sensor,
            "lamp" => PartKind::Lamp,
            "motor" => PartKind::Motor,
            "load" | "heater" => PartKind::Load,
            "wire" => PartKind::Wire,
            "splice" | "shield" => PartKind::Splice,
            "spiral-contact" => PartKind::Connector,
            _ => return,
        };
        let Some(part) = self.declare_part(fact, kind) else { return };
        let name = self.circuit.part(part).name.clone();
        match kind {
            PartKind::Supply => {
                let kind = match fact.word("kind").map(|w| w.value) {
                    Some("generator") => SupplyKind::Generator,
                    Some("bench") => SupplyKind::Bench,
                    _ => SupplyKind::Battery,
                };
                self.supplies.insert(part, kind);
                let posts = fact.all("terminals").flat_map(|f| f.words("terminals"));
                for pin in posts.chain(fact.all("sense").flat_map(|f| f.words("terminal"))) {
                    self.terminal(&name, pin.value, pin.span);
                }
            }
            PartKind::Fuse | PartKind::Link => {
                for side in ["feed", "load"] {
                    self.terminal(&name, side, fact.span);
                }
            }
            PartKind::Bar => self.whole_point(&name, PointKind::Bar, fact),
            PartKind::GroundPoint => self.whole_point(&name, PointKind::Ground, fact),
            PartKind::Splice => self.whole_point(&name, PointKind::Splice, fact),
            PartKind::Wire => self.eyelets(&name, fact),
            _ => {
                let count = fact.all("connector").count();
                for connector in fact.all("connector") {
                    self.part_connector(part, connector, count > 1);
                }
                self.loose_terminals(&name, part, fact);
            }
        }
    }

    fn vehicle(&mut self, fact: &Fact) {
        // The circuit's own word goes before that of a file it uses.
        if *self.vehicle_file.get_or_insert(self.file) != self.file {
            return;
        }
        self.vehicle.name = text(fact, "title");
        for inner in &fact.facts {
            match inner.keyword() {
                "system" => self.vehicle.system = inner.quantity("volts").and_then(|q| q.value.value),
                "years" => self.vehicle.years = inner.range("years").map(|r| (r.value.first, r.value.last)),
                _ => {}
            }
        }
    }

    fn declare_part(&mut self, fact: &Fact, kind: PartKind) -> Option<PartId> {
        let name = fact.name("name")?;
        if !self.claim(name.value, name.span) {
            return None;
        }
        let label = text(fact, "label");
        let id = self.add_part(name.value, kind, &label);
        self.describe(id, &fact.facts);
        let place = self.place(fact.span);
        self.part_places.insert(id, place);
        self.declared.insert((self.file, fact.span.start), id);
        if self.lacking.contains(&(self.file, fact.span.start)) {
            self.facts.absent.insert(id);
        }
        self.mention(name.span, Entity::Part(id), true);
        Some(id)
    }

    /// The facts that any part may carry.
    pub(super) fn describe(&mut self, id: PartId, facts: &[Fact]) {
        let cautions = Self::cautions(facts);
        for fact in facts {
            self.say(Entity::Part(id), fact);
            self.knowledge(fact, Some(Entity::Part(id)));
            match fact.keyword() {
                "drawing" => drop(self.facts.drawings.insert(id, text(fact, "page"))),
                "circuit-number" => drop(self.facts.circuit_numbers.insert(id, text(fact, "number"))),
                "slot" => drop(self.facts.slots.insert(id, (text(fact, "number"), text(fact, "box")))),
                _ => {}
            }
        }
        let part = &mut self.circuit.parts[id.index()];
        part.cautions.extend(cautions);
        for fact in facts {
            match fact.keyword() {
                "suspicion" => part.suspicion = fact.number("weight").map(|n| n.value),
                "reach" => part.reach = fact.quantity("minutes").and_then(|q| q.value.value),
                "place" => part.place = text(fact, "text"),
                "note" => part.note = text(fact, "text"),
                "position" => part.positions.extend(fact.words("positions").map(|w| w.value.to_owned())),
                _ => {}
            }
        }
    }

    /// Eyelets on the ends of a wire, where a probe can rest: `W1403:to`.
    fn eyelets(&mut self, name: &str, fact: &Fact) {
        for eyelet in fact.all("eyelet") {
            if let Some(end) = eyelet.word("end") {
                self.terminal(name, end.value, end.span);
            }
        }
    }

    fn whole_point(&mut self, name: &str, kind: PointKind, fact: &Fact) {
        let point = self.add_point(name, &[name.to_owned()], kind);
        let place = self.place(fact.span);
        self.point_places.insert(point, place);
    }

    /// Terminals that a part names without a connector: `86`, `30`.
    fn loose_terminals(&mut self, name: &str, part: PartId, fact: &Fact) {
        let slots = ["terminal", "from", "to"];
        for inner in &fact.facts {
            let pins = slots.into_iter().filter_map(|slot| inner.pin(slot));
            for pin in pins.filter(|pin| !pin.value.contains(':')).collect::<Vec<_>>() {
                if !self.has_cavity(part, pin.value) {
                    self.terminal(name, pin.value, pin.span);
                }
            }
        }
    }

    fn terminal(&mut self, part: &str, terminal: &str, span: halfsplit_base::Span) {
        let name = format!("{part}:{terminal}");
        if self.names.points_called(&name).is_empty() {
            let point = self.add_point(&name, std::slice::from_ref(&name), PointKind::Terminal);
            let place = self.place(span);
            self.point_places.insert(point, place);
        }
    }
}

/// A text slot, empty where nothing was written.
pub(super) fn text(fact: &Fact, slot: &str) -> String {
    fact.text(slot).map(|t| t.value.to_owned()).unwrap_or_default()
}
