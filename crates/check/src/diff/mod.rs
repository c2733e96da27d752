//! What a change of text does to the car: for who reviews it.
//!
//! First every line is compared by what it says, not by how it is laid out or where it stands. Where no line says anything
//! else nothing changed on the car, for the same lines make the same circuit. Else both circuits are computed, and what
//! comes out otherwise is told.

mod computed;
mod lines;
mod names;
mod nets;

use halfsplit_base::{FileId, Files};
use halfsplit_model::Place;

use crate::Checked;

/// One of the two states of a file, checked.
#[derive(Clone, Copy, Debug)]
pub struct Side<'s> {
    /// The file and what it uses.
    pub files: &'s Files,
    /// The file.
    pub file: FileId,
    /// What is known of it.
    pub checked: &'s Checked,
}

/// What a change is about. In the order in which a reviewer wants them.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Topic {
    /// The same thing has another name.
    Name,
    /// A line says something else.
    Line,
    /// A file that is used says something else.
    Use,
    /// Pins are joined that were not, or are no longer.
    Net,
    /// Volts at a load or of a reference, sound, with the key at run.
    Volts,
    /// Current and rating of a fuse, sound, with the key at run.
    Fuse,
    /// Volts that a wire takes, sound, with the key at run.
    Drop,
    /// A finding that is new, or gone.
    Finding,
    /// Somebody traced the circuit before it was changed.
    Trace,
}

impl Topic {
    /// Every topic, in order.
    pub const ALL: [Topic; 9] = [
        Topic::Name,
        Topic::Line,
        Topic::Use,
        Topic::Net,
        Topic::Volts,
        Topic::Fuse,
        Topic::Drop,
        Topic::Finding,
        Topic::Trace,
    ];

    /// Stable plain word for programs.
    pub fn word(self) -> &'static str {
        match self {
            Topic::Name => "name",
            Topic::Line => "line",
            Topic::Use => "use",
            Topic::Net => "net",
            Topic::Volts => "volts",
            Topic::Fuse => "fuse",
            Topic::Drop => "drop",
            Topic::Finding => "finding",
            Topic::Trace => "trace",
        }
    }

    /// What stands above its changes.
    pub fn title(self) -> &'static str {
        match self {
            Topic::Name => "other names for the same things",
            Topic::Line => "lines",
            Topic::Use => "files that it uses",
            Topic::Net => "what is joined",
            Topic::Volts => "volts with the key at run, nothing wrong",
            Topic::Fuse => "fuses with the key at run, nothing wrong",
            Topic::Drop => "volts that wires take with the key at run, nothing wrong",
            Topic::Finding => "what the checker says",
            Topic::Trace => "traced on a car before this change",
        }
    }
}

/// One thing that is not as it was.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Change {
    /// What sort of change it is.
    pub topic: Topic,
    /// What changed: `wire W7`, `net of SP10`.
    pub what: String,
    /// How it was; `None` where it was not there.
    pub old: Option<Told>,
    /// How it is; `None` where it is gone.
    pub new: Option<Told>,
}

/// One state of something.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Told {
    /// In words, as written where it is written.
    pub words: String,
    /// Where the text says it, if it does.
    pub place: Option<Place>,
}

impl Told {
    fn plain(words: impl Into<String>) -> Option<Told> {
        Some(Told { words: words.into(), place: None })
    }

    fn at(words: impl Into<String>, place: Place) -> Option<Told> {
        Some(Told { words: words.into(), place: Some(place) })
    }
}

/// What changed from one state of a file to another, in the order of topics. Empty where nothing changed on the car:
/// where the same is only laid out otherwise, stands in another order, or has other remarks.
pub fn diff(old: Side, new: Side) -> Vec<Change> {
    let names = names::Renamed::find(old, new);
    let mut changes = names.changes(old, new);
    changes.extend(lines::changes(old, new, &names));
    changes.extend(lines::used(old, new));
    if changes.is_empty() {
        return changes;
    }
    let on_the_car = changes.iter().any(is_about_the_car);
    changes.extend(nets::changes(old, new, &names));
    changes.extend(computed::changes(old, new, &names));
    if on_the_car {
        changes.extend(traces(old, new));
    }
    changes.sort_by_key(|change| change.topic);
    changes
}

/// Lines that speak of the file and not of the car.
const OF_THE_FILE: [&str; 7] = ["circuit", "library", "source", "traced", "expect", "allow", "case"];

/// Whether a change makes what somebody traced doubtful: a name or an expectation does not.
fn is_about_the_car(change: &Change) -> bool {
    let keyword = change.what.split(' ').next().unwrap_or_default();
    match change.topic {
        Topic::Name => false,
        Topic::Line => !OF_THE_FILE.contains(&keyword),
        _ => true,
    }
}

/// The claims to have traced it that stand as they stood, and speak of the circuit as it was.
fn traces<'s>(old: Side<'s>, new: Side<'s>) -> impl Iterator<Item = Change> + 's {
    let before = &old.checked.model.facts.traces;
    let stale = (new.checked.model.facts.traces.iter())
        .filter(|trace| before.iter().any(|was| (&was.by, &was.on) == (&trace.by, &trace.on)));
    stale.map(|trace| Change {
        topic: Topic::Trace,
        what: format!("traced by {} on {}", trace.by, trace.on),
        old: None,
        new: Told::at("is this still what stands on the car?", trace.place),
    })
}
