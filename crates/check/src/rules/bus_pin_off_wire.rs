//! `bus-pin-off-wire`.

use crate::{Rule, rule::Found, survey::Survey};

use super::bus_crossed::{main_net, named};

pub(super) const RULE: Rule = rule!("bus-pin-off-wire", Warning, Sound, check);

fn check(survey: &Survey, found: &mut Found) {
    for bus in &survey.model.facts.buses {
        for (side, pins) in [("high", &bus.high), ("low", &bus.low), ("line", &bus.line)] {
            let Some(main) = main_net(survey, pins) else { continue };
            for &pin in pins.iter().filter(|&&pin| survey.net_of(pin) != main) {
                if survey.doubts(pin) || survey.is_elsewhere(pin) {
                    continue;
                }
                let name = survey.point_name(pin);
                let why = match survey.wire_count(pin) {
                    0 => "no wire ends there",
                    _ => "the wire there is joined to none of the others",
                };
                found
                    .add(named(survey, bus, side, pin), format!("{name} is said to be on the {side} of {}, but {why}", bus.name))
                    .help("name the right pin, or draw the wire; where it is in another file, mark the cavity `elsewhere`");
            }
        }
    }
}
