//! `bus-crossed`.

use std::collections::BTreeMap;

use halfsplit_circuit::PointId;
use halfsplit_model::{Entity, Place, facts::Bus};

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("bus-crossed", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for bus in &survey.model.facts.buses {
        let (Some(high), Some(low)) = (main_net(survey, &bus.high), main_net(survey, &bus.low)) else {
            continue;
        };
        if high == low {
            continue;
        }
        let sides = [("high", &bus.high, low, "low"), ("low", &bus.low, high, "high")];
        for (side, pins, wrong, other) in sides {
            for &pin in pins.iter().filter(|&&pin| survey.net_of(pin) == wrong && !survey.doubts(pin)) {
                let name = survey.point_name(pin);
                found
                    .add(named(survey, bus, side, pin), format!("{name} is said to be on the {side} wire of {}, but copper joins it to the {other} one", bus.name))
                    .help("the two pins are swapped here, or the two wires are at that plug");
            }
        }
    }
}

/// The net in which most of some pins are; none where two have the same number.
pub(super) fn main_net(survey: &Survey, pins: &[PointId]) -> Option<usize> {
    let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
    pins.iter().for_each(|&pin| *counts.entry(survey.net_of(pin)).or_default() += 1);
    let most = *counts.values().max()?;
    let mut main = counts.iter().filter(|(_, count)| **count == most).map(|(net, _)| *net);
    main.next().filter(|_| main.next().is_none())
}

/// Where a line of a bus names a pin: its `high`, `low` or `line`.
pub(super) fn named(survey: &Survey, bus: &Bus, keyword: &str, pin: PointId) -> Place {
    let mentions = survey.model.mentions(Entity::Point(pin)).map(|mention| mention.place);
    let mut of_bus = mentions.filter(|place| inside(bus.place, *place));
    of_bus.find(|place| survey.line(*place).trim_start().starts_with(keyword)).unwrap_or(bus.place)
}

fn inside(outer: Place, place: Place) -> bool {
    outer.file == place.file && outer.span.start <= place.span.start && place.span.end <= outer.span.end
}
