//! Parts that are of a kind: before anything is lowered, what the kind says is put into them.
//!
//! What came from a kind stands where the part names it, so that whatever is said of it is said of this
//! part, in this circuit. A kind's own mistakes are found on a part of nothing but the kind, in its file.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use halfsplit_base::{FileId, Span};
use halfsplit_syntax::{Argument, Fact, Slot, Value, shape, taken};

use super::{Lowering, Sources, declare::text};
use crate::{
    Kind, KindUse, Parameter, Place, Problem, ProblemKind,
    names::{Names, look},
};

/// Slots by which one fact of a block is told from another with the same keyword.
const TELLING: [&str; 12] = [
    "name", "cavities", "terminal", "from", "to", "pin", "first", "second", "hazard", "rule", "end", "place",
];

/// What a cavity's line says of the wire in it.
const SAID_OF_WIRE: [&str; 3] = ["colour", "other", "label"];

/// The kinds of all files.
pub(super) struct Known<'s> {
    sources: &'s Sources,
    /// The text and statement of each kind in [`Lowering::kinds`].
    statements: Vec<(usize, &'s Fact)>,
    by_name: HashMap<String, usize>,
    used: BTreeSet<usize>,
}

impl<'s> Known<'s> {
    /// Files of which a kind is used.
    pub(super) fn useful(&self) -> impl Iterator<Item = FileId> + '_ {
        let statement = |kind: &usize| self.statements.get(*kind);
        let texts = self.used.iter().filter_map(statement);
        texts.filter_map(|(text, _)| Some(self.sources.texts.get(*text)?.0))
    }
}

impl Lowering {
    /// Reads which kinds there are.
    pub(super) fn kinds<'s>(&mut self, sources: &'s Sources) -> Known<'s> {
        let (statements, by_name, used) = (Vec::new(), HashMap::new(), BTreeSet::new());
        let mut known = Known { sources, statements, by_name, used };
        let mut looks: HashMap<String, (String, Place)> = HashMap::new();
        for (at, (file, source)) in sources.texts.iter().enumerate() {
            for fact in source.parse().facts.iter().filter(|fact| fact.keyword() == "kind") {
                let Some(name) = fact.name("name") else { continue };
                let place = Place { file: *file, span: name.span };
                let written = name.value.to_owned();
                if let Some((other, first)) = looks.get(&look(&written)) {
                    let kind =
                        ProblemKind::DuplicateName { name: written, other: other.clone(), first: *first };
                    self.problem(place, kind);
                    continue;
                }
                looks.insert(look(&written), (written.clone(), place));
                known.by_name.insert(written.clone(), self.kinds.len());
                known.statements.push((at, fact));
                self.parameters(*file, fact);
                let tree = &source.parse().tree;
                let parameters = fact.all("parameter").filter_map(|parameter| {
                    let default = parameter.slot("default")?;
                    Some(Parameter {
                        name: parameter.name("name")?.value.to_owned(),
                        default: tree.slice(default.span).to_owned(),
                        about: text(parameter, "about"),
                    })
                });
                self.kinds.push(Kind {
                    name: written,
                    sort: fact.word("sort").map(|sort| sort.value.to_owned()).unwrap_or_default(),
                    label: text(fact, "label"),
                    parameters: parameters.collect(),
                    place,
                });
            }
        }
        known
    }

    /// Looks at the names of a kind's parameters: in its block such a word is nothing else any more.
    fn parameters(&mut self, file: FileId, kind: &Fact) {
        let mut firsts: HashMap<&str, Place> = HashMap::new();
        for name in kind.all("parameter").filter_map(|parameter| parameter.name("name")) {
            let place = Place { file, span: name.span };
            if let Some(first) = firsts.get(name.value) {
                let (name, first) = (name.value.to_owned(), *first);
                self.problem(place, ProblemKind::ParameterTwice { name, first });
                continue;
            }
            firsts.insert(name.value, place);
            let Some(means) = taken(name.value) else { continue };
            self.problem(place, ProblemKind::ParameterName { name: name.value.to_owned(), means });
        }
    }

    /// Puts into every part of a file what its kind says.
    pub(super) fn expand(&mut self, known: &mut Known, facts: &mut Vec<Fact>) {
        facts.retain(|fact| fact.keyword() != "kind");
        for fact in facts {
            self.fill(known, fact);
        }
    }

    fn fill(&mut self, known: &mut Known, fact: &mut Fact) {
        let named = fact.word("as").map(|name| (name.value.to_owned(), name.span));
        if let Some((name, span)) = named {
            self.fill_from(known, fact, &name, span);
        } else if let Some(with) = fact.first("with") {
            let place = self.place(with.span);
            self.problem(place, ProblemKind::WithoutKind);
        }
        fact.facts.retain(|inner| inner.keyword() != "with");
        for inner in fact.facts.iter_mut().filter(|inner| inner.keyword() == "connector") {
            self.fill(known, inner);
        }
    }

    fn fill_from(&mut self, known: &mut Known, fact: &mut Fact, name: &str, span: Span) {
        let place = self.place(span);
        let Some((&number, kind)) = known.by_name.get(name).and_then(|at| Some((at, self.kinds.get(*at)?)))
        else {
            let near = self.kinds.iter().find(|kind| look(&kind.name) == look(name));
            let near = near.map(|kind| kind.name.clone());
            let near = near.or_else(|| Names::near(name, self.kinds.iter().map(|kind| kind.name.as_str())));
            let kind = ProblemKind::UnknownName { written: name.to_owned(), wanted: "kind", near };
            return self.problem(place, kind);
        };
        let declared = kind.place;
        if kind.sort != fact.keyword() {
            let (name, sort, part) = (name.to_owned(), kind.sort.clone(), fact.keyword());
            return self.problem(place, ProblemKind::WrongKind { name, sort, part, declared });
        }
        let Some(&(text, statement)) = known.statements.get(number) else { return };
        let Some((_, file)) = known.sources.texts.get(text) else { return };
        // A kind's own connectors may be of kinds; the place is that of the outer one.
        if self.kind_places.insert(place) {
            self.kind_uses.push(KindUse { place, kind: number });
        }
        known.used.insert(number);
        let arguments = self.arguments(fact, number, declared);
        let mut instance = file.parse().instance(statement, &arguments);
        let mistakes = match arguments.is_empty() {
            true => Vec::new(),
            false => std::mem::take(&mut instance.errors),
        };
        self.misfits(&mistakes, instance.beyond, &arguments, number, file.parse().errors.is_empty());
        for inner in &mut instance.facts {
            settle(inner, span, instance.beyond);
        }
        for inner in instance.facts.iter_mut().filter(|inner| inner.keyword() == "connector") {
            self.fill(known, inner);
        }
        inherit(fact, &statement.slots, Some(span));
        let own = std::mem::take(&mut fact.facts);
        fact.facts = merged(instance.facts, own);
    }

    /// What a part sets its kind's parameters to.
    fn arguments(&mut self, fact: &Fact, number: usize, declared: Place) -> Vec<Argument> {
        let mut arguments = Vec::new();
        let mut firsts: HashMap<&str, Span> = HashMap::new();
        for with in fact.all("with") {
            let names = with.slots.iter().filter(|slot| slot.name == "parameter");
            let values = with.slots.iter().filter(|slot| slot.name == "value");
            for (name, value) in names.zip(values) {
                let Value::Word(written) = &name.value else { continue };
                let Some(kind) = self.kinds.get(number) else { continue };
                if let Some(first) = firsts.get(written.as_str()) {
                    let (place, first) = (self.place(name.span), self.place(*first));
                    let name = written.as_str().to_owned();
                    self.problem(place, ProblemKind::ParameterTwice { name, first });
                    continue;
                }
                firsts.insert(written.as_str(), name.span);
                if kind.parameters.iter().any(|known| known.name == written.as_str()) {
                    arguments.push(Argument::new(written.as_str(), &value.value, value.span));
                    continue;
                }
                let known = kind.parameters.iter().map(|known| known.name.clone()).collect();
                let (name, kind, place) =
                    (written.as_str().to_owned(), kind.name.clone(), self.place(name.span));
                self.problem(place, ProblemKind::UnknownParameter { name, kind, known, declared });
            }
        }
        arguments
    }

    /// Says which of the values that a part gives do not fit; what is wrong without them is said of the kind.
    fn misfits(
        &mut self,
        mistakes: &[halfsplit_syntax::SyntaxError],
        beyond: u32,
        arguments: &[Argument],
        number: usize,
        sound: bool,
    ) {
        let Some(kind) = self.kinds.get(number) else { return };
        let (name, declared) = (kind.name.clone(), kind.place);
        let mut said: BTreeSet<Span> = BTreeSet::new();
        for mistake in mistakes {
            let start = mistake.span.start.checked_sub(beyond);
            let at = start.and_then(|start| {
                arguments.iter().find(|given| given.span.start <= start && start <= given.span.end)
            });
            let (parameter, span) = match at {
                Some(argument) => (argument.name.clone(), argument.span),
                // Which one it was cannot be told; without any the kind reads well.
                None if sound => match arguments {
                    [one] => (one.name.clone(), one.span),
                    [first, ..] => (String::new(), first.span),
                    [] => continue,
                },
                None => continue,
            };
            if said.insert(span) {
                let place = self.place(span);
                let (kind, message) = (name.clone(), mistake.message.clone());
                self.problem(place, ProblemKind::WrongArgument { name: parameter, kind, message, declared });
            }
        }
    }

    /// Holds each kind to what it says, on a part that says nothing itself: the kinds of the root file, and
    /// those that its parts are of.
    pub(super) fn try_kinds(&mut self, known: &mut Known) {
        let mut faulty: BTreeSet<usize> = BTreeSet::new();
        for number in 0..self.kinds.len() {
            let Some(&(text, statement)) = known.statements.get(number) else { continue };
            let Some((file, _)) = known.sources.texts.get(text) else { continue };
            if *file != self.file && !known.used.contains(&number) {
                continue;
            }
            let problems = self.try_kind(known, number, *file, statement);
            if !problems.is_empty() {
                faulty.insert(number);
            }
            self.problems.extend(problems);
        }
        self.faulty_uses =
            self.kind_uses.iter().filter(|used| faulty.contains(&used.kind)).map(|used| used.place).collect();
    }

    fn try_kind(&mut self, known: &mut Known, number: usize, file: FileId, statement: &Fact) -> Vec<Problem> {
        let Some(part) = self.kinds.get(number).and_then(|kind| bare(statement, &kind.sort)) else {
            return Vec::new();
        };
        let mut alone = Lowering::new(file);
        alone.kinds = self.kinds.clone();
        let mut facts = vec![part];
        for fact in &mut facts {
            for inner in fact.facts.iter_mut().filter(|inner| inner.keyword() == "connector") {
                alone.fill(known, inner);
            }
        }
        let inner = alone.kind_uses.iter().filter(|used| self.kind_places.insert(used.place));
        self.kind_uses.extend(inner);
        alone.declare_all(&facts);
        alone.mate_connectors();
        alone.connect_all(&facts);
        let source = known.sources.texts.iter().find(|(other, _)| *other == file).map(|(_, text)| &text.text);
        let own = |place: Place, written: &str| {
            place.file == file && source.and_then(|text| text.get(place.span.range())) == Some(written)
        };
        alone.problems.retain(|problem| match &problem.kind {
            // A bar or splice is the circuit's, and so may be what a parameter stands for.
            ProblemKind::UnknownName { written, wanted: "pin", .. } => {
                written.contains(':') && own(problem.place, written)
            }
            ProblemKind::UnknownName { wanted, .. } => *wanted == "kind",
            _ => true,
        });
        alone.problems
    }
}

/// A part that has nothing but what its kind says.
fn bare(kind: &Fact, sort: &str) -> Option<Fact> {
    let mut part = kind.clone();
    part.shape = shape::part(sort)?;
    part.slots.retain(|slot| slot.name != "sort");
    part.facts.retain(|inner| inner.keyword() != "parameter");
    if sort != "connector" {
        return Some(part);
    }
    let mut owner = Fact { shape: shape::part("module")?, ..kind.clone() };
    owner.slots.retain(|slot| slot.name == "name");
    owner.facts = vec![part];
    Some(owner)
}

/// Puts a fact of a kind where a part names the kind, and what the part gives where the part gives it.
fn settle(fact: &mut Fact, at: Span, beyond: u32) {
    (fact.span, fact.keyword_span) = (at, at);
    for slot in &mut fact.slots {
        slot.span = match slot.span.start.checked_sub(beyond) {
            Some(start) => Span::new(start, slot.span.end.saturating_sub(beyond)),
            None => at,
        };
    }
    for inner in &mut fact.facts {
        settle(inner, at, beyond);
    }
}

/// Takes over the slots that a fact does not have.
fn inherit(fact: &mut Fact, slots: &[Slot], at: Option<Span>) {
    let missing: Vec<Slot> = slots
        .iter()
        .filter(|slot| !["name", "sort", "as"].contains(&slot.name) && !fact.has(slot.name))
        .map(|slot| Slot { span: at.unwrap_or(slot.span), ..slot.clone() })
        .collect();
    fact.slots.extend(missing);
}

/// The facts of a kind and those of a part, which go before.
fn merged(kind: Vec<Fact>, own: Vec<Fact>) -> Vec<Fact> {
    let mut at: BTreeMap<String, usize> = BTreeMap::new();
    for (number, fact) in own.iter().enumerate() {
        at.entry(tell(fact)).or_insert(number);
    }
    let taken: BTreeSet<u32> =
        own.iter().filter_map(cavities).flat_map(|(a, z)| a..=z.min(a + 1000)).collect();
    let mut own = own;
    let mut out = Vec::new();
    for fact in kind {
        if let Some((first, last)) = cavities(&fact).filter(|(a, z)| taken.range(*a..=*z).next().is_some()) {
            out.extend(rest(&fact, first, last, &taken));
            for own in own.iter_mut().filter(|own| !own.has("role")) {
                // A part that only gives a cavity its colour keeps what the kind calls it.
                if cavities(own).is_some_and(|(at, end)| at == end && (first..=last).contains(&at)) {
                    let said: Vec<Slot> =
                        fact.slots.iter().filter(|slot| SAID_OF_WIRE.contains(&slot.name)).cloned().collect();
                    inherit(own, &said, None);
                }
            }
            continue;
        }
        match at.get(&tell(&fact)).and_then(|number| own.get_mut(*number)) {
            None => out.push(fact),
            Some(own) if !own.shape.inside().is_empty() => {
                inherit(own, &fact.slots, None);
                let facts = std::mem::take(&mut own.facts);
                own.facts = merged(fact.facts, facts);
            }
            Some(_) => {}
        }
    }
    out.extend(own);
    out
}

/// What remains of a line about several cavities when a part speaks of some of them itself.
fn rest(fact: &Fact, first: u32, last: u32, taken: &BTreeSet<u32>) -> Vec<Fact> {
    let mut out: Vec<Fact> = Vec::new();
    for cavity in (first..=last).take(1000).filter(|cavity| !taken.contains(cavity)) {
        let mut line = fact.clone();
        for slot in line.slots.iter_mut().filter(|slot| slot.name == "cavities") {
            slot.value = Value::Range(halfsplit_syntax::Range { first: cavity, last: cavity });
        }
        out.push(line);
    }
    out
}

fn cavities(fact: &Fact) -> Option<(u32, u32)> {
    let range = fact.range("cavities").filter(|_| fact.keyword() == "cavity")?.value;
    Some((range.first, range.last))
}

/// What a line speaks of, so that a part's line replaces the kind's.
fn tell(fact: &Fact) -> String {
    let mut out = fact.keyword().to_owned();
    for slot in fact.slots.iter().filter(|slot| TELLING.contains(&slot.name)) {
        match &slot.value {
            Value::Word(word) => out += &format!(" {}={}", slot.name, word.as_str()),
            Value::Range(range) => out += &format!(" {}={}..{}", slot.name, range.first, range.last),
            _ => {}
        }
    }
    out
}
