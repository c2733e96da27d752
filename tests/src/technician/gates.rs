//! What has to be proved before a module is named: done item by item, as far as its words are understood.

use std::collections::BTreeSet;

use super::complaint::{Complaint, What};
use super::faults::Hidden;
use super::hands::Hands;
use super::steps::{Act, Doing, Setting};

/// What came of an item.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Proved {
    /// It was done, and is in the log.
    Done,
    /// Equipment was found that no file draws.
    Found,
    /// Its words are not understood, or it cannot be done.
    Not,
}

/// Words that a gate may begin with, and what the log then says was checked.
const CHECKED: [(&str, &str); 4] = [
    ("network", "network"),
    ("configuration", "configuration"),
    ("key cycle", "latch"),
    ("software", "software"),
];

/// Does one item.
pub fn prove(item: &str, hands: &mut Hands<'_>, complaint: &Complaint, hidden: &[Hidden]) -> Proved {
    if let Some((_, what)) = CHECKED.iter().find(|(words, _)| item.starts_with(words)) {
        return checked(hands, what);
    }
    if item.starts_with("added equipment") {
        // Whoever looks for it finds it where it is.
        return match hidden.iter().any(|one| one.unlisted) {
            true => Proved::Found,
            false => checked(hands, "equipment"),
        };
    }
    if let Some((_, places)) = item.split_once("by the maker's procedure: ") {
        let at: BTreeSet<&str> = places.split("; ").filter_map(|place| place.split(':').next()).collect();
        let fresh = at.iter().filter(|place| hands.log.cleared.insert((**place).to_owned())).count();
        return if fresh > 0 { Proved::Done } else { Proved::Not };
    }
    let Some(doing) = doing(item, complaint) else { return Proved::Not };
    match hands.look(&doing, None, "battery negative") {
        Ok(_) => Proved::Done,
        Err(_) => Proved::Not,
    }
}

fn checked(hands: &mut Hands<'_>, what: &str) -> Proved {
    if hands.log.checked.iter().any(|known| known == what) {
        return Proved::Not;
    }
    hands.log.checked.push(what.to_owned());
    Proved::Done
}

/// The reading that an item asks for.
fn doing(item: &str, complaint: &Complaint) -> Option<Doing> {
    let read = |red: &str, black: &str, setting| Act::Read {
        red: red.to_owned(),
        black: Some(black.to_owned()),
        setting,
    };
    if let Some((role, rest)) = item.split_once(' ').filter(|(role, _)| ["feed", "ground"].contains(role)) {
        let (cavity, rest) = rest.split_once(',')?;
        let out = rest.rsplit_once(", ")?.1.strip_suffix(" out")?;
        let act = match role {
            "feed" => read(cavity, "battery negative", Setting::Lamp),
            _ => read("battery positive", cavity, Setting::Lamp),
        };
        return Some(Doing { meanwhile: vec![out.to_owned()], act, ..Doing::default() });
    }
    let What::Pin { pin, .. } = &complaint.what else { return None };
    if item.starts_with("the reference with all its loads off") {
        return Some(Doing { act: read(pin, "battery negative", Setting::Volts), ..Doing::default() });
    }
    let to = item.strip_prefix("the wire, dead, to ")?;
    let black = match to {
        to if to.starts_with("ground") => "battery negative",
        to if to.starts_with("power") => "battery positive",
        to => to.strip_prefix("its neighbour ")?.split(',').next()?,
    };
    Some(Doing { dead: true, act: read(pin, black, Setting::Ohms), ..Doing::default() })
}
