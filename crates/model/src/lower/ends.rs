//! What stands on a module's pins besides feeds and outputs: bus ends, inputs, pull-ups, H-bridges.

use halfsplit_circuit::{BranchId, BranchKind, PartId, PointId, state::When};
use halfsplit_syntax::Fact;

use super::{Lowering, inside::DRIVER_OHMS};
use crate::{Entity, PinRole, facts::Bridge};

/// A rail inside a module, stiff against any pull-up on it. Common practice.
const RAIL_OHMS: f64 = 1.0;
/// The same rail against ground while the module has no power. Common practice.
const RAIL_UNPOWERED_OHMS: f64 = 10_000.0;
/// No part stands in this position: an output with this condition is on only when commanded.
const COMMANDED: &str = "commanded";

impl Lowering {
    /// A terminator or an input: a resistance that is always there.
    pub(super) fn passive(&mut self, part: PartId, fact: &Fact) {
        let Some([a, b]) = self.ends(part, fact) else { return };
        self.role(part, fact, "from", PinRole::Signal);
        self.role(part, fact, "to", PinRole::Signal);
        self.resistor(part, fact, a, b);
    }

    pub(super) fn pull_up(&mut self, part: PartId, fact: &Fact, ground: &mut Option<PointId>) {
        let Some(pin) = self.own_pin(part, fact, "pin") else { return };
        self.role(part, fact, "pin", PinRole::Signal);
        let from = match fact.quantity("supply").and_then(|q| q.value.value) {
            Some(volts) => self.rail(part, volts, fact, ground),
            None => match self.own_pin(part, fact, "feed") {
                Some(feed) => feed,
                None => return,
            },
        };
        self.resistor(part, fact, from, pin);
    }

    pub(super) fn pull_down(&mut self, part: PartId, fact: &Fact, ground: &mut Option<PointId>) {
        let Some(pin) = self.own_pin(part, fact, "pin") else { return };
        let Some(to) = self.sink(part, fact, ground) else { return };
        self.role(part, fact, "pin", PinRole::Signal);
        self.resistor(part, fact, pin, to);
    }

    fn resistor(&mut self, part: PartId, fact: &Fact, a: PointId, b: PointId) {
        let ohms = fact.quantity("ohms").and_then(|q| q.value.value);
        let kind = BranchKind::Load { ohms, active: When::always() };
        let branch = self.add_branch(part, a, b, kind, fact.span);
        self.facts.passive.insert(branch);
    }

    /// A supply inside a module, one for each voltage, there while the module is awake.
    fn rail(&mut self, part: PartId, volts: f64, fact: &Fact, ground: &mut Option<PointId>) -> PointId {
        let name = format!("{} internal {volts} V", self.circuit.part(part).name);
        if let Some(point) = self.circuit.point_named(&name) {
            return point;
        }
        let (rail, ground) = (self.add_inside(name), self.module_ground(part, ground));
        let kind = BranchKind::Reference {
            volts,
            inner: RAIL_OHMS,
            limit: None,
            unpowered: RAIL_UNPOWERED_OHMS,
            sinks: true,
            latches: false,
        };
        self.add_branch(part, rail, ground, kind, fact.span);
        rail
    }

    /// Four outputs: each of two pins to the feed and to ground, on only when commanded.
    pub(super) fn bridge(&mut self, part: PartId, fact: &Fact, module: &Fact, ground: &mut Option<PointId>) {
        let Some(name) = fact.name("name") else { return };
        let [first, second] = ["first", "second"].map(|slot| {
            self.role(part, fact, slot, PinRole::Driver);
            self.own_pin(part, fact, slot)
        });
        let feed = match fact.has("feed") {
            true => self.own_pin(part, fact, "feed"),
            false => module.first("feed").and_then(|feed| self.own_pin(part, feed, "pin")),
        };
        let (Some(first), Some(second), Some(feed)) = (first, second, feed) else { return };
        let Some(ground) = self.sink(part, fact, ground) else { return };
        let full = format!("{}.{}", self.circuit.part(part).name, name.value);
        if !self.claim(&full, name.span) {
            return;
        }
        let mut output = |what: &str, a: PointId, b: PointId| {
            let quantity = |keyword: &str, slot: &str| fact.first(keyword)?.quantity(slot)?.value.value;
            let kind = BranchKind::Driver {
                saturation: quantity("saturation", "volts").unwrap_or(0.0),
                ohms: quantity("inner", "ohms").unwrap_or(DRIVER_OHMS),
                on: When::positions(&[COMMANDED]),
            };
            let branch = self.add_branch(part, a, b, kind, fact.span);
            let output = format!("{full}.{what}");
            self.circuit.outputs.push((output.clone(), branch));
            self.names.add_output(&output, &format!("{}.{what}", name.value), branch);
            branch
        };
        let first_feeds: BranchId = output("first-feeds", feed, first);
        let second_grounds = output("second-grounds", second, ground);
        let second_feeds = output("second-feeds", feed, second);
        let first_grounds = output("first-grounds", first, ground);
        self.mention(name.span, Entity::Output(first_feeds), true);
        let (forward, reverse) = ([first_feeds, second_grounds], [second_feeds, first_grounds]);
        self.facts.bridges.push(Bridge { name: full, forward, reverse });
    }
}
