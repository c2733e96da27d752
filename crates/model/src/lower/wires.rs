//! Wires.

use halfsplit_circuit::wire::{awg_section, sae_section, wire_ohms};
use halfsplit_circuit::{BranchKind, PartId, PointId};
use halfsplit_syntax::{Fact, Section};

use super::{Lowering, declare::text};
use crate::{Repair, Wire, WireEnd};

/// A sound crimped eyelet whose resistance the file leaves `unknown`. Common practice.
const EYELET_OHMS: f64 = 0.000_1;

impl Lowering {
    pub(super) fn wire(&mut self, part: PartId, fact: &Fact) {
        let ends = [self.wire_end(fact, "from"), self.wire_end(fact, "to")];
        let colour = fact.colour("colour").map(|c| (c.value.to_owned(), self.place(c.span)));
        let section = fact.section("section").map(|s| (mm2(s.value), self.place(s.span)));
        let length = fact.quantity("length").map(|q| (q.value.value, self.place(q.span)));
        let known = |slot: &Option<(Option<f64>, _)>| slot.as_ref().and_then(|(value, _)| *value);
        let (section_mm2, metres) = (known(&section), known(&length));
        let repairs: Vec<Repair> = fact.all("repair").map(|inner| self.repair(inner)).collect();
        let kind = BranchKind::Wire {
            ohms: section_mm2.zip(metres).and_then(|(mm2, metres)| repaired_ohms(mm2, metres, &repairs)),
            section: section_mm2,
            metres,
            colour: colour.as_ref().map(|(c, _)| c.clone()).unwrap_or_default(),
        };
        let branch = match ends {
            [WireEnd::Point(a, _), WireEnd::Point(b, _)] => {
                let [inner_a, inner_b] = [self.eyelet(part, "from", a), self.eyelet(part, "to", b)];
                let branch = self.add_branch(part, inner_a, inner_b, kind, fact.span);
                for eyelet in fact.all("eyelet") {
                    let (inner, outer) = if eyelet.word("end").is_some_and(|w| w.value == "from") {
                        (inner_a, a)
                    } else {
                        (inner_b, b)
                    };
                    let ohms = eyelet.quantity("ohms").and_then(|q| q.value.value).unwrap_or(EYELET_OHMS);
                    if inner != outer {
                        self.add_branch(part, inner, outer, BranchKind::Joint { ohms }, eyelet.span);
                    }
                }
                Some(branch)
            }
            // The free end is on the net as the wire is: it can touch what it lies beside.
            [WireEnd::Point(a, _), WireEnd::Stub(_)] | [WireEnd::Stub(_), WireEnd::Point(a, _)] => {
                let free = self.add_inside(format!("{} free end", self.circuit.part(part).name));

                Some(self.add_branch(part, a, free, kind, fact.span))
            }
            _ => None,
        };
        let stub = fact.first("stub").map(|inner| text(inner, "reason"));
        let place = self.place(fact.span);
        self.wires.push(Wire { part, branch, ends, place, colour, section, length, repairs, stub });
    }

    /// The eyelet at an end of a wire; the end itself where it has none.
    fn eyelet(&self, wire: PartId, end: &str, point: PointId) -> PointId {
        self.names.find_point(&format!("{}:{end}", self.circuit.part(wire).name)).unwrap_or(point)
    }

    fn repair(&self, fact: &Fact) -> Repair {
        Repair {
            at: fact.quantity("place").and_then(|q| q.value.value),
            length: fact.quantity("length").and_then(|q| q.value.value),
            section: fact.section("section").and_then(|s| mm2(s.value)),
            colour: fact.colour("colour").map(|c| c.value.to_owned()).unwrap_or_default(),
            label: text(fact, "label"),
            place: self.place(fact.span),
        }
    }

    fn wire_end(&mut self, fact: &Fact, slot: &str) -> WireEnd {
        let Some(end) = fact.pin(slot) else { return WireEnd::Lost };
        let place = self.place(end.span);
        if end.value == "stub" {
            return WireEnd::Stub(place);
        }
        match self.pin(None, end.value, end.span) {
            Some(point) => WireEnd::Point(point, place),
            None => WireEnd::Lost,
        }
    }
}

/// A wire with pieces of other section let in.
fn repaired_ohms(mm2: f64, metres: f64, repairs: &[Repair]) -> Option<f64> {
    let mut left = metres;
    let mut ohms = 0.0;
    for repair in repairs {
        if let (Some(section), Some(length)) = (repair.section, repair.length) {
            left -= length;
            ohms += wire_ohms(section, length)?;
        }
    }
    match left {
        left if left > 0.0 => Some(ohms + wire_ohms(mm2, left)?),
        _ => wire_ohms(mm2, metres),
    }
}

/// A section in square millimetres.
pub(super) fn mm2(section: Section) -> Option<f64> {
    match section {
        Section::Area(mm2) => Some(mm2),
        Section::Awg(gauge) => Some(awg_section(gauge)),
        Section::Sae(size) => sae_section(size),
        Section::Unknown => None,
    }
}
