//! Wires.

use halfsplit_circuit::wire::{awg_section, sae_section, wire_ohms};
use halfsplit_circuit::{BranchKind, PartId};
use halfsplit_syntax::{Fact, Section};

use super::Lowering;
use crate::{Wire, WireEnd};

impl Lowering {
    pub(super) fn wire(&mut self, part: PartId, fact: &Fact) {
        let ends = [self.wire_end(fact, "from"), self.wire_end(fact, "to")];
        let colour = fact.colour("colour").map(|c| (c.value.to_owned(), self.place(c.span)));
        let section = fact.section("section").map(|s| (mm2(s.value), self.place(s.span)));
        let length = fact.quantity("length").map(|q| (q.value.value, self.place(q.span)));
        let known = |slot: &Option<(Option<f64>, _)>| slot.as_ref().and_then(|(value, _)| *value);
        let (section_mm2, metres) = (known(&section), known(&length));
        let kind = BranchKind::Wire {
            ohms: section_mm2.zip(metres).and_then(|(mm2, metres)| wire_ohms(mm2, metres)),
            section: section_mm2,
            metres,
            colour: colour.as_ref().map(|(c, _)| c.clone()).unwrap_or_default(),
        };
        let branch = match ends {
            [WireEnd::Point(a, _), WireEnd::Point(b, _)] => {
                Some(self.add_branch(part, a, b, kind, fact.span))
            }
            _ => None,
        };
        let place = self.place(fact.span);
        self.wires.push(Wire { part, branch, ends, place, colour, section, length });
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

/// A section in square millimetres.
fn mm2(section: Section) -> Option<f64> {
    match section {
        Section::Area(mm2) => Some(mm2),
        Section::Awg(gauge) => Some(awg_section(gauge)),
        Section::Sae(size) => sae_section(size),
        Section::Unknown => None,
    }
}
