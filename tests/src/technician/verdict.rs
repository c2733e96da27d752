//! Where a walk ended, held against what was hidden.

use std::collections::BTreeSet;

use super::faults::Hidden;

/// Where a walk ended.
#[derive(Clone, PartialEq, Debug)]
pub enum End {
    /// A set of repair units; `gated` where only a module is named and its gates are not said to be passed.
    Units {
        /// Their names.
        units: Vec<String>,
        /// Whether gates are still open.
        gated: bool,
    },
    /// "More than one fault", or a contradiction that stays.
    More(String),
    /// No next step, or the same one again and again.
    Dead(String),
    /// A refusal.
    Refused(String),
    /// A breakdown, or a step that cannot be done.
    Broken(String),
    /// No answer in time.
    Late,
    /// More steps than anybody takes.
    Long,
}

/// What a walk came to.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Verdict {
    /// The set holds the truth.
    Truth,
    /// Another unit alone.
    Convicted,
    /// Another set.
    WrongSet,
    /// Another module, not before its gates.
    WrongGated,
    /// More than one fault.
    More,
    /// No end.
    Dead,
    /// Refused at the first question.
    Refused,
    /// Broken or late.
    Broken,
}

impl Verdict {
    /// Every verdict, in the order of the table.
    pub const ALL: [Verdict; 8] = [
        Verdict::Truth,
        Verdict::Convicted,
        Verdict::WrongSet,
        Verdict::WrongGated,
        Verdict::More,
        Verdict::Dead,
        Verdict::Refused,
        Verdict::Broken,
    ];
}

/// What an end is worth with these faults hidden.
pub fn judge(end: &End, hidden: &[Hidden]) -> Verdict {
    match end {
        End::Units { units, gated } => match units.iter().any(|unit| holds(unit, hidden)) {
            true => Verdict::Truth,
            false if *gated => Verdict::WrongGated,
            false if units.len() == 1 => Verdict::Convicted,
            false => Verdict::WrongSet,
        },
        End::More(_) => Verdict::More,
        End::Dead(_) | End::Long => Verdict::Dead,
        End::Refused(_) => Verdict::Refused,
        End::Broken(_) | End::Late => Verdict::Broken,
    }
}

/// Whether a repair unit holds one of the parts at fault: by its name, or as a piece of harness by the wires that its
/// name lists.
pub fn holds(unit: &str, hidden: &[Hidden]) -> bool {
    let (unlisted, named) = match unit.strip_prefix("unlisted equipment") {
        Some(rest) => (true, rest),
        None => (false, unit),
    };
    let names = names(named);
    hidden
        .iter()
        .any(|truth| truth.unlisted == unlisted && truth.parts.iter().any(|part| names.contains(part)))
}

/// Every name in a unit's name, ranges of wires spelled out: `engine harness W3–W6`.
fn names(unit: &str) -> BTreeSet<String> {
    let mut names = BTreeSet::from([unit.trim().to_owned()]);
    for word in unit.split_whitespace() {
        match word.split_once('–') {
            Some((first, last)) => {
                let stem = first.trim_end_matches(|c: char| c.is_ascii_digit());
                let number = |name: &str| name.strip_prefix(stem).and_then(|n| n.parse::<u32>().ok());
                if let (Some(low), Some(high)) = (number(first), number(last)) {
                    names.extend((low..=high).map(|n| format!("{stem}{n}")));
                }
            }
            None => drop(names.insert(word.to_owned())),
        }
    }
    names
}

/// Names of the units that a conclusion's words name, out of those that are known.
pub fn named(conclusion: &str, known: &BTreeSet<String>) -> Vec<String> {
    let is_named = |name: &&String| {
        let at_start = conclusion.strip_prefix(name.as_str());
        at_start.is_some_and(|rest| rest.is_empty() || rest.starts_with(':') || rest.starts_with(','))
            || [": ", ", "].iter().any(|before| {
                conclusion.contains(&format!("{before}{name} ("))
                    || conclusion.ends_with(&format!("{before}{name}"))
            })
    };
    known.iter().filter(is_named).cloned().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hidden(parts: &[&str], unlisted: bool) -> Vec<Hidden> {
        let parts = parts.iter().map(|p| (*p).to_owned()).collect();
        vec![Hidden { faults: Vec::new(), parts, unlisted, words: String::new() }]
    }

    #[test]
    fn a_piece_of_harness_holds_its_wires() {
        let truth = hidden(&["W5"], false);
        assert!(holds("engine harness W3–W6 W9", &truth));
        assert!(!holds("wire W9", &truth));
        assert!(!holds("unlisted equipment on the wire W5", &truth));
        assert!(holds("unlisted equipment on the wire W5", &hidden(&["W5"], true)));
        assert!(holds("X12", &hidden(&["X12"], false)) && !holds("X12", &hidden(&["X1"], false)));
    }

    #[test]
    fn units_are_read_from_a_conclusion() {
        let known = ["B4", "wire W7", "X34"].map(str::to_owned).into();
        assert_eq!(named("B4: shorted inside, X34:2 to X34:1", &known), ["B4"]);
        let several =
            "one of these, which no allowed reading parts: B4 (open inside, X34:2), wire W7 (W7 open)";
        assert_eq!(named(several, &known), ["B4", "wire W7"]);
    }
}
