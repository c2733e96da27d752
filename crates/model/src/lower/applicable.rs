//! Before lowering: which lines hold for this car.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use halfsplit_syntax::{Fact, Value};

use super::{Lowering, declare::text};
use crate::{
    Car, Condition, Place, ProblemKind,
    car::{Term, exclude, serials, terms},
};

/// Statements that keep their connectors on the loom where the part itself is not fitted.
const PLUGGED: [&str; 9] =
    ["module", "sensor", "lamp", "motor", "heater", "load", "relay", "switch", "spiral-contact"];

/// First and last serial of an item, all it demands, and where it is named.
type Ranged = (u64, u64, Vec<Term>, Place);

impl Lowering {
    /// Leaves of a file's facts what holds for the car. A part that the car lacks stays if the loom
    /// still has its plug: the wire is fitted, and nothing hangs on it.
    pub(super) fn applicable(&mut self, facts: &mut Vec<Fact>, car: &Car) {
        let options = self.vehicle.options.iter().map(|(name, _)| name.clone()).collect();
        self.conditions_in(facts, &options);
        if self.conditions.is_empty() {
            return;
        }
        self.ranges(facts);
        let newest = newest(facts, car);
        let kept: HashSet<String> = facts
            .iter()
            .filter(|fact| car.meets(&terms(fact)) && !newest.superseded(fact))
            .filter_map(|fact| Some(fact.name("name")?.value.to_owned()))
            .collect();
        let mut hanging: HashSet<String> = HashSet::new();
        facts.retain(|fact| {
            if car.meets(&terms(fact)) {
                return !newest.superseded(fact);
            }
            let Some(name) = fact.name("name").map(|n| n.value) else { return false };
            let hangs = PLUGGED.contains(&fact.keyword())
                && fact.first("connector").is_some()
                && !kept.contains(name)
                && hanging.insert(name.to_owned());
            if hangs {
                self.lacking.insert((self.file, fact.span.start));
            }
            hangs
        });
        for fact in facts {
            blocks(fact, car);
        }
    }

    /// The options that the vehicle can have.
    pub(super) fn options(&mut self, facts: &[Fact]) {
        for option in facts.iter().filter(|f| f.keyword() == "vehicle").flat_map(|f| f.all("option")) {
            if let Some(name) = option.name("name") {
                self.vehicle.options.push((name.value.to_owned(), text(option, "label")));
            }
        }
    }

    fn conditions_in(&mut self, facts: &[Fact], options: &BTreeSet<String>) {
        for fact in facts {
            let terms = terms(fact);
            for slot in fact.words("present").chain(fact.words("absent")) {
                if !options.contains(slot.value) {
                    let place = self.place(slot.span);
                    let near =
                        options.iter().find(|o| crate::names::look(o) == crate::names::look(slot.value));
                    let kind = ProblemKind::UnknownName {
                        written: slot.value.to_owned(),
                        wanted: "option",
                        near: near.cloned(),
                    };
                    self.problem(place, kind);
                }
            }
            if !terms.is_empty() {
                let place = self.place(fact.span);
                self.conditions.push(Condition { terms, place });
            }
            self.conditions_in(&fact.facts, options);
        }
    }

    /// Build serials of items with one name must neither overlap nor leave a gap.
    fn ranges(&mut self, facts: &[Fact]) {
        let mut named: BTreeMap<String, Vec<Ranged>> = BTreeMap::new();
        for fact in facts {
            let terms = terms(fact);
            if let (Some(name), Some((first, last))) = (fact.name("name"), serials(&terms)) {
                let place = self.place(name.span);
                named.entry(name.value.to_owned()).or_default().push((first, last, terms, place));
            }
        }
        for (name, mut items) in named {
            items.sort_by_key(|(first, last, ..)| (*first, *last));
            for pair in items.windows(2) {
                let [(_, last, terms, before), (first, end, others, after)] = pair else { continue };
                if exclude(terms, others) {
                    continue;
                }
                let name = name.clone();
                if first <= last {
                    let (from, to) = (*first, (*last).min(*end));
                    self.problem(*after, ProblemKind::SerialOverlap { name, first: *before, from, to });
                } else if *first > last.saturating_add(1) {
                    let (from, to) = (last + 1, first - 1);
                    self.problem(*after, ProblemKind::SerialGap { name, first: *before, from, to });
                }
            }
        }
    }
}

/// Leaves in the blocks of a fact what holds for the car.
fn blocks(fact: &mut Fact, car: &Car) {
    let newest = newest(&fact.facts, car);
    fact.facts.retain(|inner| car.meets(&terms(inner)) && !newest.superseded(inner));
    for inner in &mut fact.facts {
        blocks(inner, car);
    }
}

/// With the serial unknown, of lines that follow each other for one thing only the last stands.
struct Newest(BTreeMap<String, u64>);

impl Newest {
    fn superseded(&self, fact: &Fact) -> bool {
        let Some((first, _)) = serials(&terms(fact)) else { return false };
        self.0.get(&thing(fact)).is_some_and(|newest| first < *newest)
    }
}

fn newest(facts: &[Fact], car: &Car) -> Newest {
    let mut newest: BTreeMap<String, u64> = BTreeMap::new();
    if car.serial.is_none() {
        for fact in facts {
            let terms = terms(fact);
            if let (Some((first, _)), true) = (serials(&terms), car.meets(&terms)) {
                let known = newest.entry(thing(fact)).or_default();
                *known = first.max(*known);
            }
        }
    }
    Newest(newest)
}

/// What a line speaks of: the name or cavity that it opens with, else what its keyword says.
fn thing(fact: &Fact) -> String {
    match fact.slots.first().map(|slot| &slot.value) {
        Some(Value::Word(name)) => name.as_str().to_owned(),
        Some(Value::Range(range)) => format!("{}..{}", range.first, range.last),
        _ => format!(" {}", fact.keyword()),
    }
}
