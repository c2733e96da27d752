//! The log of a job, and the case file that it makes.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use halfsplit_circuit::Key;

use super::car::{Opened, Standing};
use super::steps::Setting;

/// What the car was like at a line of the log.
#[derive(Clone, PartialEq, Debug)]
pub struct Moment {
    /// The key.
    pub key: Key,
    /// Whether the battery was connected.
    pub battery: bool,
    /// What was out.
    pub out: BTreeSet<String>,
}

/// A line of the log.
#[derive(Clone, PartialEq, Debug)]
pub enum Line {
    /// A reading.
    Reading {
        /// Red lead.
        red: String,
        /// Black lead; battery negative if `None`.
        black: Option<String>,
        /// What the meter was set to.
        setting: Setting,
        /// What it showed, as written down.
        text: String,
    },
    /// Something that was seen or heard.
    Fact(String),
}

/// The log so far.
#[derive(Clone, Debug, Default)]
pub struct Log {
    /// Every line with its moment.
    pub lines: Vec<(Moment, Line)>,
    /// Things that were proved without a reading.
    pub checked: Vec<String>,
    /// Places at which trained people dealt with the airbag.
    pub cleared: BTreeSet<String>,
}

impl Line {
    /// As it stands in the case file.
    pub fn words(&self) -> String {
        match self {
            Line::Fact(words) => format!("fact \"{words}\""),
            Line::Reading { red, black, setting, text } => {
                let to = black.as_ref().map(|black| format!(" to {black}")).unwrap_or_default();
                let with = match setting {
                    Setting::Volts | Setting::Ohms => String::new(),
                    Setting::Lamp => " with lamp".to_owned(),
                    Setting::Resistor => " with resistor".to_owned(),
                    Setting::Fed { volts, ohms } => format!(" fed {volts} V through {ohms} ohm"),
                };
                format!("reading {red}{to} {text}{with}")
            }
        }
    }
}

impl Log {
    /// The case file: which car, then every line with what changed before it, then how the car stands now.
    pub fn text(&self, opened: &Opened, standing: &Standing, supply: Option<&str>, now: &Moment) -> String {
        let mut text = "halfsplit 1\n\ncase \"a walk\" on \"drawn.circuit\" {\n".to_owned();
        for (name, there) in &opened.drawn.options {
            let _ = writeln!(text, "  {} {name}", if *there { "fitted" } else { "not-fitted" });
        }
        if let Some(serial) = opened.drawn.serial {
            let _ = writeln!(text, "  serial {serial}");
        }
        for battery in ["G1", "G2"] {
            let here = format!("supply {battery} battery");
            match (opened.drawn.text.contains(&here), opened.drawn.text.contains("supply G2 battery")) {
                (true, true) => drop(writeln!(text, "  rested 12.60 V at {battery}")),
                (true, false) => text.push_str("  rested 12.60 V\n"),
                _ => {}
            }
        }
        if let Some(supply) = supply {
            let _ = writeln!(text, "  supply {supply}");
        }
        let _ = writeln!(text, "  key {}", standing.key.word());
        for (item, position) in &standing.sets {
            let _ = writeln!(text, "  set {item} {position}");
        }
        for what in &self.checked {
            let _ = writeln!(text, "  checked {what} \"as it should be\"");
        }
        for place in &self.cleared {
            let _ = writeln!(text, "  cleared airbag at {place} \"disarmed, waited the maker's time\"");
        }
        let mut before = Moment { key: standing.key, battery: true, out: BTreeSet::new() };
        for (moment, line) in &self.lines {
            change(&mut text, &before, moment);
            let _ = writeln!(text, "  {}", line.words());
            before = moment.clone();
        }
        change(&mut text, &before, now);
        text.push_str("}\n");
        text
    }
}

/// The lines between two moments.
fn change(text: &mut String, before: &Moment, after: &Moment) {
    let list = |names: Vec<&String>| names.into_iter().cloned().collect::<Vec<_>>().join(" ");
    let mated: Vec<&String> = before.out.difference(&after.out).collect();
    if !mated.is_empty() {
        let _ = writeln!(text, "  mated {}", list(mated));
    }
    let out: Vec<&String> = after.out.difference(&before.out).collect();
    if !out.is_empty() {
        let _ = writeln!(text, "  out {}", list(out));
    }
    if before.battery != after.battery {
        let _ = writeln!(text, "  battery {}", if after.battery { "on" } else { "off" });
    }
    if before.key != after.key {
        let _ = writeln!(text, "  key {}", after.key.word());
    }
}
