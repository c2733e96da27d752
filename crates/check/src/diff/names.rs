//! Things that have another name and are the same otherwise.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use halfsplit_base::FileId;
use halfsplit_model::Place;
use halfsplit_syntax::Fact;

use super::{Change, Side, Told, Topic, lines::said};

/// With more names gone or new it is another circuit, and nobody asks which is which.
const MOST: usize = 500;
/// Stands for any name that is gone or new.
const ANY: &str = "?";

/// What things are called now, by what they were called.
#[derive(Debug, Default)]
pub(super) struct Renamed(BTreeMap<String, String>);

/// A name where it is declared: the line, and the statement that holds all of it.
struct Declared<'f> {
    fact: &'f Fact,
    whole: &'f Fact,
}

impl Renamed {
    /// Finds what is declared under another name, with the same words, and is named by the same lines.
    pub(super) fn find(old: Side, new: Side) -> Renamed {
        let (before, after) = (facts(old), facts(new));
        let (was, is) = (declared(before), declared(after));
        let gone: BTreeSet<&str> = was.keys().filter(|name| !is.contains_key(*name)).copied().collect();
        let fresh: BTreeSet<&str> = is.keys().filter(|name| !was.contains_key(*name)).copied().collect();
        if gone.is_empty() || fresh.is_empty() || gone.len().max(fresh.len()) > MOST {
            return Renamed::default();
        }
        let hide = |names: &BTreeSet<&str>, fact: &Fact, own: &str| {
            said(fact, &|word| {
                if word == own {
                    "!"
                } else if names.contains(word) {
                    ANY
                } else {
                    word
                }
                .to_owned()
            })
        };
        let mut candidates: HashMap<String, Vec<&str>> = HashMap::new();
        for name in &fresh {
            candidates.entry(hide(&fresh, is[name].whole, name)).or_default().push(name);
        }
        let mut pairs = BTreeMap::new();
        for name in &gone {
            let alike = candidates.get_mut(&hide(&gone, was[name].whole, name));
            // The first of several that are alike: both lists stand in the order of names.
            let Some(alike) = alike.filter(|alike| !alike.is_empty()) else { continue };
            if is[alike[0]].fact.keyword() == was[name].fact.keyword() {
                pairs.insert((*name).to_owned(), alike.remove(0).to_owned());
            }
        }
        let names = Renamed(pairs);
        names.kept_by_lines(before, after)
    }

    /// Leaves out the pairs of which not even half the lines that name the old one name the new one.
    fn kept_by_lines(self, before: &[Fact], after: &[Fact]) -> Renamed {
        let now: HashSet<String> = every(after).map(|fact| said(fact, &|word| word.to_owned())).collect();
        let mut counts: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
        for fact in every(before) {
            let found = now.contains(&said(fact, &|word| self.now(word)));
            let mut words = BTreeSet::new();
            for slot in &fact.slots {
                words.extend(
                    super::lines::words(slot)
                        .flat_map(segments)
                        .filter_map(|word| self.0.get_key_value(word).map(|(name, _)| name.as_str())),
                );
            }
            for word in words {
                let (all, kept) = counts.entry(word).or_default();
                *all += 1;
                *kept += usize::from(found);
            }
        }
        let kept: BTreeSet<String> = counts
            .iter()
            .filter(|(_, (all, kept))| kept * 2 >= *all)
            .map(|(name, _)| (*name).to_owned())
            .collect();
        Renamed(self.0.into_iter().filter(|(name, _)| kept.contains(name)).collect())
    }

    /// What a name is now.
    pub(super) fn now(&self, word: &str) -> String {
        self.0.get(word).cloned().unwrap_or_else(|| word.to_owned())
    }

    /// A text with the names of now: a pin, or a sentence.
    pub(super) fn in_text(&self, text: &str) -> String {
        if self.0.is_empty() {
            return text.to_owned();
        }
        by_words(text, &|word| self.now(word))
    }

    pub(super) fn changes(&self, old: Side, new: Side) -> Vec<Change> {
        let (was, is) = (declared(facts(old)), declared(facts(new)));
        let place = |file: FileId, fact: &Fact| Place { file, span: fact.span };
        let change = |(before, after): (&String, &String)| {
            let (one, two) = (was.get(before.as_str())?, is.get(after.as_str())?);
            Some(Change {
                topic: Topic::Name,
                what: one.fact.keyword().to_owned(),
                old: Told::at(before, place(old.file, one.fact)),
                new: Told::at(after, place(new.file, two.fact)),
            })
        };
        self.0.iter().filter_map(change).collect()
    }
}

/// What the file itself says.
pub(super) fn facts(side: Side<'_>) -> &[Fact] {
    side.files.get(side.file).parse().facts.as_slice()
}

/// A text of which every name is replaced. Names hold letters, digits, `_` and `-`.
pub(super) fn by_words(text: &str, name: &dyn Fn(&str) -> String) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(start) = rest.find(is_of_name) {
        out.push_str(&rest[..start]);
        rest = &rest[start..];
        let end = rest.find(|c| !is_of_name(c)).unwrap_or(rest.len());
        out.push_str(&name(&rest[..end]));
        rest = &rest[end..];
    }
    out.push_str(rest);
    out
}

fn segments(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c| !is_of_name(c)).filter(|word| !word.is_empty())
}

fn is_of_name(c: char) -> bool {
    c.is_alphanumeric() || matches!(c, '_' | '-')
}

fn every(facts: &[Fact]) -> Box<dyn Iterator<Item = &Fact> + '_> {
    Box::new(facts.iter().flat_map(|fact| std::iter::once(fact).chain(every(&fact.facts))))
}

/// Names and where they are declared; of one that is declared twice the first.
fn declared(facts: &[Fact]) -> BTreeMap<&str, Declared<'_>> {
    let mut names = BTreeMap::new();
    for whole in facts {
        for fact in every(std::slice::from_ref(whole)) {
            // A cavity has a name as well, which is its connector's matter.
            let name = fact.name("name").filter(|_| !["cavity", "parameter"].contains(&fact.keyword()));
            if let Some(name) = name {
                names.entry(name.value).or_insert(Declared { fact, whole });
            }
        }
    }
    names
}
