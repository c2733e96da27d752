//! Second pass: everything that joins, from the battery to the loads.

use halfsplit_circuit::{
    BranchKind, Key, PartId, PartKind, PointId, PointKind, State, net::net, state::When, wire::fuse_ohms,
};
use halfsplit_syntax::Fact;

use super::{Lowering, declare::text, inside::when};
use crate::{Allow, Entity, ProblemKind, SupplyKind};

/// A rigid bar's joint, a bolted lug: never zero, and far below any wire. Common practice.
const BAR_JOINT_OHMS: f64 = 0.000_05;
/// A clean ground eyelet where the file gives no `joint`. Common practice.
const GROUND_JOINT_OHMS: f64 = 0.000_5;
/// A battery's inside where the file gives no `inner`. Common practice.
const BATTERY_INNER_OHMS: f64 = 0.01;

/// A regulator's sense terminal, and the shares of its volts at which it gives sensing up and beyond
/// which it never goes, where the file says nothing. MEMORY; never a reason for an error.
const SENSE_OHMS: f64 = 10_000.0;
const SENSE_LOST_SHARE: f64 = 0.55;
const CEILING_SHARE: f64 = 1.1;

impl Lowering {
    pub(super) fn connect_all(&mut self, facts: &[Fact]) {
        for (item, fact) in std::mem::take(&mut self.waiting) {
            self.allow(&fact, Some(item));
        }
        for fact in facts {
            if fact.keyword() == "allow" {
                self.allow(fact, None);
            } else if let Some(&part) = self.declared.get(&(self.file, fact.span.start)) {
                self.connect(part, fact);
                for allow in fact.all("allow") {
                    self.allow(allow, Some(Entity::Part(part)));
                }
            }
        }
    }

    fn connect(&mut self, part: PartId, fact: &Fact) {
        if self.facts.absent.contains(&part) {
            return;
        }
        match self.circuit.part(part).kind {
            PartKind::Wire => self.wire(part, fact),
            PartKind::Supply => self.supply(part, fact),
            PartKind::GroundPoint => self.ground_point(part, fact),
            PartKind::Fuse | PartKind::Link => self.fuse(part, fact),
            PartKind::Splice if fact.keyword() == "shield" => self.shield(part, fact),
            PartKind::Splice | PartKind::Bar => {}
            _ => self.inside(part, fact),
        }
    }

    fn supply(&mut self, part: PartId, fact: &Fact) {
        let value = |keyword: &str, slot: &str| fact.first(keyword)?.quantity(slot)?.value.value;
        let Some(terminals) = fact.first("terminals") else { return };
        let ends: Vec<_> =
            terminals.words("terminals").map(|pin| self.pin(Some(part), pin.value, pin.span)).collect();
        let [Some(positive), Some(negative)] = ends[..] else { return };
        let volts = value("volts", "volts").unwrap_or_else(|| self.vehicle.system_volts());
        let inner = value("inner", "ohms").unwrap_or(BATTERY_INNER_OHMS);
        if let Some(kind) = self.regulator(part, fact, volts, inner, negative) {
            self.add_branch(part, positive, negative, kind, fact.span);
            return;
        }
        self.add_branch(part, positive, negative, BranchKind::Source { volts, inner }, fact.span);
        self.circuit.positive.get_or_insert(positive);
        self.circuit.negative.get_or_insert(negative);
    }

    /// A generator that says where it senses; one that does not is a plain source.
    fn regulator(
        &mut self,
        part: PartId,
        fact: &Fact,
        volts: f64,
        inner: f64,
        negative: PointId,
    ) -> Option<BranchKind> {
        let line =
            fact.first("sense").filter(|_| self.supplies.get(&part) == Some(&SupplyKind::Generator))?;
        let terminal = line.word("terminal")?;
        let sense = self.pin(Some(part), terminal.value, terminal.span)?;
        let ohms = line.quantity("ohms").and_then(|q| q.value.value).unwrap_or(SENSE_OHMS);
        let load = BranchKind::Load { ohms: Some(ohms), active: When::always() };
        let load = self.add_branch(part, sense, negative, load, line.span);
        self.facts.passive.insert(load);
        let said = |keyword: &str, slot: &str| fact.first(keyword)?.quantity(slot)?.value.value;
        let turning = match line.has("keys") {
            true => when(line),
            false => When::keys(&[Key::Run]),
        };
        Some(BranchKind::Generator {
            volts,
            inner,
            limit: said("limit", "current"),
            sense,
            lost: said("sense-lost", "volts").unwrap_or(volts * SENSE_LOST_SHARE),
            fallback: said("fallback", "volts").unwrap_or(volts),
            ceiling: said("ceiling", "volts").unwrap_or(volts * CEILING_SHARE),
            turning,
        })
    }

    /// Battery posts of batteries in series: the lowest negative and the highest positive. A battery
    /// whose negative post is joined to another's positive stands on that one.
    pub(super) fn posts(&mut self) {
        let batteries: Vec<[PointId; 2]> = (self.circuit.branches.iter())
            .filter(|b| matches!(b.kind, BranchKind::Source { .. }))
            .filter(|b| self.supplies.get(&b.part) == Some(&SupplyKind::Battery))
            .map(|b| [b.a, b.b])
            .collect();
        if batteries.len() < 2 {
            return;
        }
        let joined = |a: PointId, b: PointId| net(&self.circuit, &State::default(), a).contains(b);
        let [Some(mut top), Some(mut bottom)] = [self.circuit.positive, self.circuit.negative] else {
            return;
        };
        for _ in 0..batteries.len() {
            if let Some([upper, _]) = batteries.iter().find(|[_, negative]| joined(top, *negative)) {
                top = *upper;
            }
            if let Some([_, lower]) = batteries.iter().find(|[positive, _]| joined(bottom, *positive)) {
                bottom = *lower;
            }
        }
        (self.circuit.positive, self.circuit.negative) = (Some(top), Some(bottom));
    }

    fn ground_point(&mut self, part: PartId, fact: &Fact) {
        let name = self.circuit.part(part).name.clone();
        let Some(point) = self.names.find_point(&name) else { return };
        let ohms =
            fact.first("joint").and_then(|f| f.quantity("ohms")?.value.value).unwrap_or(GROUND_JOINT_OHMS);
        let body = self.body();
        self.add_branch(part, point, body, BranchKind::Joint { ohms }, fact.span);
    }

    /// The vehicle body: one piece of metal that every ground point is bolted to.
    fn body(&mut self) -> PointId {
        match self.circuit.body {
            Some(body) => body,
            None => {
                let body = self.add_inside("body".into());
                self.circuit.points[body.index()].kind = PointKind::Ground;
                self.circuit.body = Some(body);
                body
            }
        }
    }

    fn fuse(&mut self, part: PartId, fact: &Fact) {
        let name = self.circuit.part(part).name.clone();
        let side = |side: &str| self.names.find_point(&format!("{name}:{side}"));
        let (Some(feed), Some(load)) = (side("feed"), side("load")) else { return };
        let rating = fact.quantity("rating").and_then(|q| q.value.value);
        let cold = fact.first("cold").and_then(|cold| cold.quantity("ohms")?.value.value);
        let kind = BranchKind::Fuse {
            ohms: cold.or_else(|| rating.and_then(fuse_ohms)).unwrap_or(0.005),
            rating: rating.unwrap_or(f64::NAN),
        };
        self.add_branch(part, feed, load, kind, fact.span);
        self.on_bar(part, fact);
    }

    /// `PIN on BAR`, on the statement itself or on a line of its block.
    pub(super) fn on_bar(&mut self, part: PartId, fact: &Fact) {
        let slot = if fact.keyword() == "terminal" { "terminal" } else { "pin" };
        for (pin, bar) in fact.words(slot).zip(fact.words("bar")) {
            let terminal = self.pin(Some(part), pin.value, pin.span);
            let point = match self.names.find_point(bar.value) {
                Some(point) if self.circuit.point(point).kind == PointKind::Bar => {
                    self.mention(bar.span, Entity::Point(point), false);
                    point
                }
                _ => {
                    let near = self.near(|names| names.point(bar.value).err());
                    let place = self.place(bar.span);
                    let kind =
                        ProblemKind::UnknownName { written: bar.value.to_owned(), wanted: "bar", near };
                    self.problem(place, kind);
                    continue;
                }
            };
            if let Some(terminal) = terminal {
                let bar_part = self.names.find_part(bar.value).unwrap_or(part);
                let joint = fact.quantity("joint").and_then(|q| q.value.value);
                let kind = BranchKind::Joint { ohms: joint.unwrap_or(BAR_JOINT_OHMS) };
                self.add_branch(bar_part, terminal, point, kind, fact.span);
            }
        }
    }

    fn allow(&mut self, fact: &Fact, block: Option<Entity>) {
        let Some(rule) = fact.word("rule") else { return };
        let on = fact.pin("item").and_then(|item| match self.names.find_any(item.value) {
            Some(entity) => {
                self.mention(item.span, entity, false);
                Some(entity)
            }
            None => {
                let near = self.near(|names| names.any(item.value).err());
                let place = self.place(item.span);
                self.problem(
                    place,
                    ProblemKind::UnknownName { written: item.value.to_owned(), wanted: "item", near },
                );
                None
            }
        });
        if on.is_none() && fact.has("item") {
            return;
        }
        let on = on.or(block);
        self.allows.push(Allow {
            rule: rule.value.to_owned(),
            reason: text(fact, "reason"),
            on,
            place: self.place(fact.span),
            rule_place: self.place(rule.span),
        });
    }
}
