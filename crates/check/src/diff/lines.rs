//! Lines compared by what they say.

use std::{
    collections::{BTreeMap, BTreeSet},
    fmt::Write as _,
};

use halfsplit_base::{FileId, Files};
use halfsplit_model::{Place, library};
use halfsplit_syntax::{Fact, Section, Slot, Value};

use super::{
    Change, Side, Told, Topic,
    names::{Renamed, by_words, facts},
};

/// Blocks whose lines are steps: their order says something.
const STEPS: [&str; 2] = ["expect", "case"];
/// Slots by which a reader knows a line again.
const KNOWN_BY: [&str; 5] = ["name", "title", "cavities", "rule", "item"];

/// Lines that say something else, in the order of the new text; those that are gone stand last.
pub(super) fn changes(old: Side, new: Side, names: &Renamed) -> Vec<Change> {
    let mut lines = Lines { old, new, names, changes: Vec::new() };
    lines.compare("", facts(old), facts(new));
    let mut changes = lines.changes;
    let at = |told: &Option<Told>| told.as_ref().and_then(|told| told.place);
    changes.sort_by_key(|change| (change.new.is_none(), at(&change.new), at(&change.old)));
    if changes.is_empty() && (is_unread(old) || is_unread(new)) && text(old) != text(new) {
        changes.push(Change {
            topic: Topic::Line,
            what: "lines that cannot be read".to_owned(),
            old: None,
            new: Told::plain("whether they say the same nobody knows: mend them first"),
        });
    }
    changes
}

/// Files that are used and say something else.
pub(super) fn used(old: Side, new: Side) -> Vec<Change> {
    let both: BTreeSet<String> = spelled(old).into_keys().chain(spelled(new).into_keys()).collect();
    let (before, after) = (spelled(old), spelled(new));
    let state = |side: Side, file: Option<&Option<FileId>>| match file {
        None => None,
        Some(None) => Some("cannot be had".to_owned()),
        Some(Some(file)) => Some(whole(&side.files.get(*file).parse().facts)),
    };
    let mut changes = Vec::new();
    for path in both {
        let (was, is) = (state(old, before.get(&path)), state(new, after.get(&path)));
        if was != is {
            let (old, new) = match (&was, &is) {
                (Some(_), Some(_)) => (None, Told::plain("says something else")),
                (None, _) => (None, Told::plain("used now")),
                (_, None) => (Told::plain("used"), None),
            };
            changes.push(Change { topic: Topic::Use, what: path, old, new });
        }
    }
    changes
}

/// The files that a file uses, each as its library spells it.
fn spelled(side: Side) -> BTreeMap<String, Option<FileId>> {
    let root = side.files.root(side.file);
    let paths = library::uses(side.files, side.file).into_iter().filter(|path| !library::is_std(path));
    paths
        .map(|path| {
            let id = side.files.id(&path);
            (path.strip_prefix(root).unwrap_or(&path).display().to_string(), id)
        })
        .collect()
}

fn is_unread(side: Side) -> bool {
    !side.checked.model.syntax.is_empty()
}

fn text(side: Side<'_>) -> &str {
    &side.files.get(side.file).text
}

struct Lines<'s> {
    old: Side<'s>,
    new: Side<'s>,
    names: &'s Renamed,
    changes: Vec<Change>,
}

impl Lines<'_> {
    /// Compares the lines of a block, whose holder a reader knows as `holder`.
    fn compare(&mut self, holder: &str, old: &[Fact], new: &[Fact]) {
        let now = |word: &str| self.names.now(word);
        let same = |word: &str| word.to_owned();
        let mut groups: BTreeMap<String, (Vec<&Fact>, Vec<&Fact>)> = BTreeMap::new();
        for fact in old {
            groups.entry(known_by(fact, &now)).or_default().0.push(fact);
        }
        for fact in new {
            groups.entry(known_by(fact, &same)).or_default().1.push(fact);
        }
        let mut pairs = Vec::new();
        for (key, (mut was, mut is)) in groups {
            let mut there: BTreeMap<String, usize> = BTreeMap::new();
            is.iter().for_each(|fact| *there.entry(said(fact, &same)).or_default() += 1);
            let mut gone: BTreeMap<String, usize> = BTreeMap::new();
            // What both say is left out of both, once for each time.
            was.retain(|fact| {
                let words = said(fact, &now);
                let Some(count) = there.get_mut(&words).filter(|count| **count > 0) else { return true };
                *count -= 1;
                *gone.entry(words).or_default() += 1;
                false
            });
            is.retain(|fact| {
                let Some(count) = gone.get_mut(&said(fact, &same)).filter(|count| **count > 0) else {
                    return true;
                };
                *count -= 1;
                false
            });
            let count = was.len().max(is.len());
            pairs.extend((0..count).map(|at| (key.clone(), was.get(at).copied(), is.get(at).copied())));
        }
        for (key, was, is) in pairs {
            let what = if holder.is_empty() { key } else { format!("{holder}, {key}") };
            self.pair(what, was, is);
        }
    }

    fn pair(&mut self, what: String, was: Option<&Fact>, is: Option<&Fact>) {
        let own = |fact: &Fact, name: &dyn Fn(&str) -> String| line(fact, name);
        if let (Some(was), Some(is)) = (was, is) {
            if own(was, &|word| self.names.now(word)) == own(is, &|word| word.to_owned()) {
                let before = self.changes.len();
                self.compare(&what, &was.facts, &is.facts);
                if self.changes.len() > before {
                    return;
                }
            } else {
                self.push(&what, Some(was), Some(is));
                return self.compare(&what, &was.facts, &is.facts);
            }
        }
        self.push(&what, was, is);
    }

    fn push(&mut self, what: &str, was: Option<&Fact>, is: Option<&Fact>) {
        let told = |side: Side, fact: Option<&Fact>| {
            fact.and_then(|fact| {
                Told::at(written(side.files, side.file, fact), Place { file: side.file, span: fact.span })
            })
        };
        let (old, new) = (told(self.old, was), told(self.new, is));
        self.changes.push(Change { topic: Topic::Line, what: what.to_owned(), old, new });
    }
}

/// A line and its block in one spelling: the same for what says the same. `name` gives the name to take for a name.
pub(super) fn said(fact: &Fact, name: &dyn Fn(&str) -> String) -> String {
    let mut out = line(fact, name);
    if !fact.facts.is_empty() {
        let mut block: Vec<String> = fact.facts.iter().map(|fact| said(fact, name)).collect();
        if !STEPS.contains(&fact.keyword()) {
            block.sort_unstable();
        }
        let _ = write!(out, " {{{}}}", block.join("; "));
    }
    out
}

fn whole(facts: &[Fact]) -> String {
    let mut all: Vec<String> = facts.iter().map(|fact| said(fact, &|word| word.to_owned())).collect();
    all.sort_unstable();
    all.join("\n")
}

/// The words of a line without its block, in one spelling.
fn line(fact: &Fact, name: &dyn Fn(&str) -> String) -> String {
    let mut out = fact.keyword().to_owned();
    for slot in &fact.slots {
        let _ = write!(out, " {}=", slot.name);
        let _ = match &slot.value {
            Value::Word(word) => write!(out, "{}", by_words(word, name)),
            Value::Text(text) => write!(out, "{:?}", text.as_str()),
            Value::Colour(colour) => write!(out, "{}", colour.as_str()),
            Value::Number(number) => write!(out, "{}", digits(*number)),
            Value::Integer(number) => write!(out, "{number}"),
            Value::Range(range) => write!(out, "{}..{}", range.first, range.last),
            Value::Quantity(quantity) => match quantity.value {
                Some(value) => write!(out, "{} {:?}", digits(value), quantity.dimension),
                None => write!(out, "unknown"),
            },
            Value::Section(Section::Area(area)) => write!(out, "{} mm2", digits(*area)),
            Value::Section(section) => write!(out, "{section:?}"),
            Value::Unknown => write!(out, "unknown"),
        };
    }
    out
}

/// The words of a slot in which names can stand.
pub(super) fn words(slot: &Slot) -> impl Iterator<Item = &str> {
    match &slot.value {
        Value::Word(word) => Some(word.as_str()),
        _ => None,
    }
    .into_iter()
}

/// A number in one spelling, whichever unit it was written in: `300 mohm` is `0.3 ohm`.
fn digits(value: f64) -> String {
    format!("{value:.9e}")
}

/// What a reader knows a line by: `wire W7`, `cavity 14`, `inner`.
fn known_by(fact: &Fact, name: &dyn Fn(&str) -> String) -> String {
    let keyword = fact.keyword();
    let slot = fact.slots.first().filter(|slot| KNOWN_BY.contains(&slot.name));
    match slot.map(|slot| &slot.value) {
        Some(Value::Word(word)) => format!("{keyword} {}", by_words(word, name)),
        Some(Value::Text(text)) => format!("{keyword} \"{}\"", text.as_str()),
        Some(Value::Range(range)) if range.first == range.last => format!("{keyword} {}", range.first),
        Some(Value::Range(range)) => format!("{keyword} {}..{}", range.first, range.last),
        _ => keyword.to_owned(),
    }
}

/// A line as it is written, without its block, its remark and the blanks of its layout.
fn written(files: &Files, file: FileId, fact: &Fact) -> String {
    let text = files.get(file).text.get(fact.span.range()).unwrap_or_default();
    let mut inside = false;
    let end = text.find(|c| {
        inside ^= c == '"';
        !inside && matches!(c, '{' | '#' | '\n')
    });
    let words: Vec<&str> = text[..end.unwrap_or(text.len())].split_whitespace().collect();
    words.join(" ")
}
