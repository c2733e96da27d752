//! What is together: pairs, shields, buses, runs, zones; and where facts come from.

use halfsplit_circuit::{BranchKind, Caution, PartId, PartKind, PointId, wire::wire_ohms};
use halfsplit_syntax::Fact;

use super::{Lowering, declare::text, wires::mm2};
use crate::{
    Entity, ProblemKind,
    facts::{Bus, Run, Shield, Source, Trace, Twisted, Zone},
};

impl Lowering {
    /// Statements outside all blocks that make no part of their own.
    pub(super) fn together(&mut self, fact: &Fact) {
        match fact.keyword() {
            "twisted" => self.twisted(fact),
            "bus" => self.bus(fact),
            "run" => self.run(fact),
            "zone" => self.zone(fact),
            "expect" => self.expect(fact),
            "source" | "traced" => self.knowledge(fact, None),
            _ => {}
        }
    }

    /// Where the facts of an item, or of the whole file, come from.
    pub(super) fn knowledge(&mut self, fact: &Fact, item: Option<Entity>) {
        let place = self.place(fact.span);
        match fact.keyword() {
            "source" => self.facts.sources.push(Source { document: text(fact, "document"), item, place }),
            "traced" => {
                let (by, on) = (text(fact, "who"), text(fact, "date"));
                self.facts.traces.push(Trace { by, on, item, place });
            }
            _ => {}
        }
    }

    fn twisted(&mut self, fact: &Fact) {
        let wires = [self.wires_named(fact, "first"), self.wires_named(fact, "second")];
        let [Some(&first), Some(&second)] = [wires[0].first(), wires[1].first()] else { return };
        let (label, place) = (text(fact, "label"), self.place(fact.span));
        self.facts.twisted.push(Twisted { wires: [first, second], label, place });
    }

    fn bus(&mut self, fact: &Fact) {
        let Some(name) = fact.name("name") else { return };
        if !self.claim(name.value, name.span) {
            return;
        }
        let [high, low, line] = ["high", "low", "line"].map(|keyword| {
            let pins = fact.all(keyword).flat_map(|wire| wire.words("pins"));
            pins.filter_map(|pin| self.pin(None, pin.value, pin.span)).collect::<Vec<PointId>>()
        });
        self.facts.buses.push(Bus {
            name: name.value.to_owned(),
            kind: fact.word("kind").map(|w| w.value.to_owned()).unwrap_or_default(),
            rate: fact.quantity("rate").and_then(|q| q.value.value),
            label: text(fact, "label"),
            high,
            low,
            line,
            place: self.place(fact.span),
        });
    }

    fn run(&mut self, fact: &Fact) {
        let Some(name) = fact.name("name") else { return };
        if !self.claim(name.value, name.span) {
            return;
        }
        let wires: Vec<PartId> =
            fact.all("wires").flat_map(|inner| self.wires_named(inner, "wires")).collect();
        let cautions = Self::cautions(&fact.facts);
        for &wire in &wires {
            self.warn(Entity::Part(wire), &cautions);
        }
        let (name, at, place) = (name.value.to_owned(), text(fact, "place"), self.place(fact.span));
        self.facts.runs.push(Run { name, at, wires, cautions, place });
    }

    fn zone(&mut self, fact: &Fact) {
        let Some(name) = fact.name("name") else { return };
        if !self.claim(name.value, name.span) {
            return;
        }
        let cautions = Self::cautions(&fact.facts);
        let holds: Vec<Entity> = fact
            .all("holds")
            .flat_map(|inner| inner.words("items"))
            .filter_map(|item| self.item(item.value, item.span))
            .collect();
        for &item in &holds {
            self.warn(item, &cautions);
        }
        let (name, label, place) = (name.value.to_owned(), text(fact, "label"), self.place(fact.span));
        self.facts.zones.push(Zone { name, label, cautions, holds, place });
    }

    /// Gives dangers to an item. Who opens a connector has its neighbours in hand, so a pin's danger
    /// is its whole connector's, and a part's that of its connectors.
    fn warn(&mut self, item: Entity, cautions: &[Caution]) {
        let connectors: Vec<_> = match item {
            Entity::Connector(id) => vec![id],
            Entity::Part(part) => {
                self.caution_part(part, cautions);
                let all = self.circuit.connectors.iter().enumerate();
                all.filter(|(_, c)| c.owner == Some(part) || c.part == part)
                    .map(|(index, _)| halfsplit_circuit::ConnectorId(index as u32))
                    .collect()
            }
            Entity::Point(point) => match self.circuit.point(point).kind {
                halfsplit_circuit::PointKind::Cavity { connector, .. } => vec![connector],
                _ => {
                    let name = &self.circuit.point(point).name;
                    let part = name.split_once(':').map_or(name.as_str(), |(part, _)| part);
                    if let Some(part) = self.names.find_part(part) {
                        self.caution_part(part, cautions);
                    }
                    Vec::new()
                }
            },
            Entity::Output(branch) => {
                self.caution_part(self.circuit.branch(branch).part, cautions);
                Vec::new()
            }
        };
        for id in connectors {
            let part = self.circuit.connector(id).part;
            self.caution_part(part, cautions);
            add(&mut self.circuit.connectors[id.index()].cautions, cautions);
        }
    }

    fn caution_part(&mut self, part: PartId, cautions: &[Caution]) {
        add(&mut self.circuit.parts[part.index()].cautions, cautions);
    }

    /// A shield: a point that its drains and wires end on.
    pub(super) fn shield(&mut self, part: PartId, fact: &Fact) {
        let name = self.circuit.part(part).name.clone();
        let Some(point) = self.names.find_point(&name) else { return };
        let wires = fact.all("over").flat_map(|inner| self.wires_named(inner, "wires")).collect();
        let mut drains = Vec::new();
        for drain in fact.all("drain") {
            let Some(end) = drain.pin("end") else { continue };
            let Some(end) = self.pin(None, end.value, end.span) else { continue };
            let section = drain.section("section").and_then(|s| mm2(s.value));
            let metres = drain.quantity("length").and_then(|q| q.value.value);
            let kind = BranchKind::Wire {
                ohms: section.zip(metres).and_then(|(mm2, metres)| wire_ohms(mm2, metres)),
                section,
                metres,
                colour: String::new(),
            };
            self.add_branch(part, point, end, kind, drain.span);
            drains.push(end);
        }
        let place = self.place(fact.span);
        self.facts.shields.push(Shield { part, wires, drains, place });
    }

    /// The wires that a slot names; others are reported.
    fn wires_named(&mut self, fact: &Fact, slot: &str) -> Vec<PartId> {
        let mut wires = Vec::new();
        for written in fact.words(slot) {
            match self.names.find_part(written.value) {
                Some(part) if self.circuit.part(part).kind == PartKind::Wire => {
                    self.mention(written.span, Entity::Part(part), false);
                    wires.push(part);
                }
                _ => self.unknown(written.value, written.span, "wire"),
            }
        }
        wires
    }

    pub(super) fn item(&mut self, written: &str, span: halfsplit_base::Span) -> Option<Entity> {
        match self.names.find_any(written) {
            Some(entity) => {
                self.mention(span, entity, false);
                Some(entity)
            }
            None => {
                self.unknown(written, span, "item");
                None
            }
        }
    }

    fn unknown(&mut self, written: &str, span: halfsplit_base::Span, wanted: &'static str) {
        let near = self.near(|names| names.any(written).err());
        let place = self.place(span);
        self.problem(place, ProblemKind::UnknownName { written: written.to_owned(), wanted, near });
    }
}

fn add(cautions: &mut Vec<Caution>, more: &[Caution]) {
    for caution in more {
        if !cautions.contains(caution) {
            cautions.push(caution.clone());
        }
    }
}
