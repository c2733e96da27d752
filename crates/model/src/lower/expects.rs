//! `expect` blocks.

use halfsplit_circuit::Load;
use halfsplit_syntax::Fact;

use super::{Lowering, declare::text};
use crate::{
    Car, ProblemKind,
    expect::{Band, Expect, Said, Want, WantKind},
};

impl Lowering {
    pub(super) fn expect(&mut self, fact: &Fact) {
        let mut expect = Expect {
            title: text(fact, "title"),
            place: self.place(fact.keyword_span),
            car: Car::default(),
            key: None,
            supply: None,
            battery_off: false,
            settings: Vec::new(),
            out: Vec::new(),
            faults: Vec::new(),
            wants: Vec::new(),
        };
        for inner in &fact.facts {
            match inner.keyword() {
                "key" => expect.key = self.said(inner, "state").pop(),
                "supply" if inner.is_unknown("volts") => {
                    let place = self.place(inner.span);
                    let words = "a supply that is `unknown` leaves no reading to expect";
                    expect.wants.push(Want { place, kind: WantKind::Nothing(words) });
                }
                "supply" => expect.supply = inner.quantity("volts").and_then(|q| q.value.value),
                "battery" => expect.battery_off = inner.word("state").is_some_and(|word| word.value == "off"),
                "set" => expect.settings.extend(self.setting(inner)),
                "out" => expect.out.extend(self.items(inner, "items")),
                "fault" => expect.faults.extend(self.said(inner, "words")),
                "fitted" | "not-fitted" => {
                    let fitted = inner.keyword() == "fitted";
                    for option in self.said(inner, "options") {
                        self.known_option(&option);
                        expect.car.options.insert(option.words, fitted);
                    }
                }
                "serial" => expect.car.serial = inner.integer("number").map(|n| n.value),
                _ => expect.wants.extend(self.want(inner)),
            }
        }
        if expect.wants.is_empty() {
            let kind = WantKind::Nothing("the block says a state, but nothing that has to come out in it");
            expect.wants.push(Want { place: expect.place, kind });
        }
        self.expects.push(expect);
    }

    fn want(&mut self, fact: &Fact) -> Option<Want> {
        let place = self.place(fact.span);
        let unknown = ["value", "low", "high"].into_iter().any(|slot| fact.is_unknown(slot));
        let kind = match fact.keyword() {
            "volts" | "ohms" | "plan" if unknown => WantKind::Nothing("`unknown` can be met by any reading"),
            "plan" if fact.facts.iter().all(|inner| inner.keyword() == "fact") => {
                WantKind::Nothing("neither a first step nor a conclusion is expected of the plan")
            }
            "volts" => WantKind::Volts {
                red: self.pins(fact, "red").pop()?,
                black: self.pins(fact, "black").pop(),
                band: self.band(fact)?,
                load: match fact.word("load").map(|word| word.value) {
                    Some("lamp") => Load::Lamp,
                    Some(_) => Load::Reference,
                    None => Load::None,
                },
            },
            "ohms" => WantKind::Ohms {
                red: self.pins(fact, "red").pop()?,
                black: self.pins(fact, "black").pop(),
                band: self.band(fact)?,
            },
            "net" => WantKind::Net {
                pin: self.pins(fact, "pin").pop()?,
                holds: fact.word("holds")?.value == "holds",
                others: self.pins(fact, "others"),
            },
            "plan" => WantKind::Plan {
                pin: self.pins(fact, "pin").pop()?,
                reads: fact.quantity("value").and_then(|q| q.value.value),
                facts: fact.all("fact").flat_map(|inner| self.said(inner, "words")).collect(),
                first: fact.first("first-step").and_then(|inner| self.items(inner, "item").pop()),
                conclusion: fact.all("conclusion").flat_map(|inner| self.items(inner, "items")).collect(),
            },
            _ => return None,
        };
        Some(Want { place, kind })
    }

    fn band(&self, fact: &Fact) -> Option<Band> {
        let value = |slot| fact.quantity(slot).and_then(|q| Some((q.value.value?, self.place(q.span))));
        if let Some((about, place)) = value("value") {
            return Some(Band::About(about, place));
        }
        if let Some(open) = fact.word("open") {
            return Some(Band::Open(self.place(open.span)));
        }
        let ((low, place), (high, _)) = (value("low")?, value("high")?);
        Some(Band::Between([low.min(high), high.max(low)], place))
    }

    /// The words of a slot.
    fn said(&self, fact: &Fact, slot: &str) -> Vec<Said> {
        let word = fact.words(slot).map(|w| (w.value.to_owned(), w.span));
        let text = fact.text(slot).map(|t| (t.value.to_owned(), t.span));
        word.chain(text).map(|(words, span)| Said { words, place: self.place(span) }).collect()
    }

    /// The pins of a slot; one that nothing declares is reported.
    fn pins(&mut self, fact: &Fact, slot: &str) -> Vec<Said> {
        let pins = self.said(fact, slot);
        for pin in &pins {
            self.pin(None, &pin.words, pin.place.span);
        }
        pins
    }

    /// The connectors and parts of a slot; one that nothing declares is reported.
    fn items(&mut self, fact: &Fact, slot: &str) -> Vec<Said> {
        let items = self.said(fact, slot);
        items.into_iter().filter(|item| self.item(&item.words, item.place.span).is_some()).collect()
    }

    fn setting(&mut self, fact: &Fact) -> Option<Said> {
        let item = self.said(fact, "item").pop()?;
        let position = fact.word("position")?.value.to_owned();
        // A bridge is no item of its own: whether it is known is seen when it is set.
        if let Some(entity) = self.names.find_any(&item.words) {
            self.mention(item.place.span, entity, false);
        }
        Some(Said { words: format!("{}={position}", item.words), place: self.place(fact.span) })
    }

    fn known_option(&mut self, option: &Said) {
        if self.vehicle.options.iter().any(|(name, _)| *name == option.words) {
            return;
        }
        let kind = ProblemKind::UnknownName { written: option.words.clone(), wanted: "option", near: None };
        self.problem(option.place, kind);
    }
}
