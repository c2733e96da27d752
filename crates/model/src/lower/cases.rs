//! Case files: the circuit of one car, and the log of its job.

use halfsplit_base::{FileId, Files, Refused, library};
use halfsplit_circuit::{Load, Measure, Meter, State};
use halfsplit_syntax::Fact;

use super::{Sources, declare::text, lower_sources};
use crate::{
    Car, Entity, Mention, Model, NameError, Place, Problem, ProblemKind,
    case::{self, Case, Cleared, Confirmed, Observation, Proved},
    expect::Said,
};

/// The model of a case file: the circuit of its car, with the case. `None` for a file that is no case.
///
/// What does not add up in the circuit's own files is left to them; the problems are the case's.
pub(super) fn lower_case(files: &Files, file: FileId) -> Option<Model> {
    let parse = files.get(file).parse();
    let fact = parse.facts.iter().find(|fact| fact.keyword() == "case")?;
    let mut problems = Vec::new();
    let mut find = |slot: &Fact, wanted: &str| {
        let written = slot.text(wanted)?;
        let place = Place { file, span: written.span };
        match named(files, file, written.value) {
            Ok(id) => Some(id),
            Err(kind) => {
                problems.push(Problem { place, kind });
                None
            }
        }
    };
    let circuit = find(fact, "file");
    let added: Vec<FileId> = fact.all("added").filter_map(|added| find(added, "file")).collect();
    let mut car = Car::default();
    for inner in &fact.facts {
        match inner.keyword() {
            "fitted" | "not-fitted" => {
                let there = inner.keyword() == "fitted";
                car.options.extend(inner.words("options").map(|word| (word.value.to_owned(), there)));
            }
            "serial" => car.serial = inner.integer("number").map(|n| n.value),
            _ => {}
        }
    }
    let own: Vec<FileId> = circuit.into_iter().chain(added.iter().copied()).collect();
    let own = if own.is_empty() { vec![file] } else { own };
    let mut model = lower_sources(Sources::of(files, &own), &car);
    // The circuit's own slips are told where it is checked itself.
    model.file = file;
    model.library = false;
    model.syntax = parse.errors.clone();
    model.overlay_syntax.clear();
    model.allows.clear();
    model.expects.clear();
    model.problems = problems;
    let mut reading = Reading { files, file, model, now: State::with_key(halfsplit_circuit::Key::Run) };
    let case = reading.case(fact, circuit, added, car);
    let mut model = reading.model;
    model.mentions.sort_by_key(|m| (m.place.file, m.place.span.start));
    model.problems.sort_by_key(|p| p.place);
    model.case = Some(Box::new(case));
    Some(model)
}

/// The file that a case names.
fn named(files: &Files, file: FileId, written: &str) -> Result<FileId, ProblemKind> {
    let root = files.root(file);
    let path = library::path(root, written)
        .map_err(|why| ProblemKind::UseOutside { written: written.to_owned(), why })?;
    files.id(&path).ok_or_else(|| ProblemKind::UseNotFound {
        written: written.to_owned(),
        root: root.display().to_string(),
        why: files.refused(&path).cloned().unwrap_or(Refused::Missing),
    })
}

/// A case while its lines are read.
struct Reading<'f> {
    files: &'f Files,
    file: FileId,
    model: Model,
    now: State,
}

impl Reading<'_> {
    fn case(&mut self, fact: &Fact, circuit: Option<FileId>, added: Vec<FileId>, car: Car) -> Case {
        let mut case = Case {
            title: text(fact, "title"),
            place: self.place(fact.keyword_span),
            on: self
                .said(fact, "file")
                .pop()
                .unwrap_or(Said { words: String::new(), place: self.place(fact.keyword_span) }),
            circuit,
            added,
            car,
            rested: None,
            rests: Vec::new(),
            was_low: false,
            void: 0,
            facts: Vec::new(),
            fact_states: Vec::new(),
            log: Vec::new(),
            checked: Vec::new(),
            cleared: Vec::new(),
            confirmed: None,
            codes: Vec::new(),
            notes: Vec::new(),
            now: State::default(),
        };
        // Without its circuit no line of the log can be understood.
        if circuit.is_some() {
            fact.facts.iter().for_each(|inner| self.line(&mut case, inner));
        }
        case.now = self.now.clone();
        case
    }

    fn line(&mut self, case: &mut Case, fact: &Fact) {
        let place = self.place(fact.span);
        let volts = || fact.quantity("volts").and_then(|q| q.value.value);
        match fact.keyword() {
            "rested" => self.rested(case, fact, volts()),
            "supply" => {
                if let Some(volts) = volts() {
                    self.now.set_supply(volts);
                }
            }
            "battery" => self.now.battery = fact.word("state").is_none_or(|word| word.value == "on"),
            "key" => {
                if let Some(word) = fact.word("state") {
                    match self.model.key(word.value) {
                        Ok(key) => self.now.key = key,
                        Err(error) => self.unclear(self.place(word.span), error.to_string()),
                    }
                }
            }
            "set" => {
                if let Some((item, position)) = fact.word("item").zip(fact.word("position")) {
                    let written = format!("{}={}", item.value, position.value);
                    if let Err(error) = self.model.set(&mut self.now, &written) {
                        self.unclear(place, error.to_string());
                    }
                }
            }
            "out" | "mated" => {
                for item in self.said(fact, "items") {
                    self.move_item(&item, fact.keyword() == "out");
                }
            }
            "fitted" | "not-fitted" => {
                for option in self.said(fact, "options") {
                    if !self.model.vehicle.options.iter().any(|(name, _)| *name == option.words) {
                        self.unknown(&option, "option", None);
                    }
                }
            }
            "fact" => {
                case.facts.extend(self.said(fact, "words"));
                case.fact_states.resize(case.facts.len(), self.now.clone());
            }
            "reading" => case.log.extend(self.observation(fact)),
            "checked" => case.checked.push(Proved {
                what: fact.word("what").map(|word| word.value.to_owned()).unwrap_or_default(),
                words: text(fact, "result"),
                place,
            }),
            "cleared" => {
                let hazard = fact.word("hazard").map(|word| word.value.to_owned()).unwrap_or_default();
                if let Some((item, entity)) = self.item(fact) {
                    case.cleared.push(Cleared { hazard, item, entity, words: text(fact, "words") });
                }
            }
            "confirmed" => {
                if let Some((item, entity)) = self.item(fact) {
                    let minutes = fact.quantity("minutes").and_then(|q| q.value.value);
                    case.confirmed = Some(Confirmed { item, entity, mode: text(fact, "mode"), minutes });
                }
            }
            "codes" => case.codes.push(text(fact, "words")),
            "note" => case.notes.push(text(fact, "text")),
            _ => {}
        }
    }

    fn move_item(&mut self, item: &Said, out: bool) {
        let mut parted = State::default();
        if let Err(error) = self.model.unplug(&mut parted, &item.words) {
            return self.unclear(item.place, error.to_string());
        }
        if let Ok(entity) = self.model.names.any(&item.words) {
            self.mention(item.place, entity);
        }
        if out {
            self.now.unplugged.extend(&parted.unplugged);
            self.now.pulled.extend(&parted.pulled);
        } else {
            self.now.unplugged.retain(|connector| !parted.unplugged.contains(connector));
            self.now.pulled.retain(|part| !parted.pulled.contains(part));
        }
    }

    fn observation(&mut self, fact: &Fact) -> Option<Observation> {
        let said = self.said(fact, "red").pop()?;
        let black = self.said(fact, "black").pop();
        if let Some(amps) = fact.quantity("amps").and_then(|q| q.value.value) {
            return self.clamped(fact, &said, amps);
        }
        let red = self.pin(&said)?;
        let black = match black {
            Some(black) => self.pin(&black)?,
            None => self.model.circuit.negative?,
        };
        let load = match fact.word("load").map(|word| word.value) {
            Some("lamp") => Load::Lamp,
            Some(_) => Load::Reference,
            None => Load::None,
        };
        let value = |slot| fact.quantity(slot).and_then(|q| q.value.value);
        if let (Some(volts), Some(through)) = (value("source"), value("series")) {
            let (low, high) = (value("low").or(value("volts"))?, value("high").or(value("volts"))?);
            let measure = Measure::Inject { volts, through };
            return Some(self.observed(fact, Meter { red, black, measure }, [low.min(high), high.max(low)]));
        }
        if let (Some(low), Some(high)) = (value("low"), value("high")) {
            let leads = Meter { red, black, measure: Measure::Volts(load) };
            return Some(self.observed(fact, leads, [low.min(high), high.max(low)]));
        }
        let (measure, reads, half) = match (value("volts"), value("ohms")) {
            (Some(volts), _) => (Measure::Volts(load), volts, self.half_digit(fact, "volts")),
            (None, Some(ohms)) => (Measure::Ohms, ohms, self.half_digit(fact, "ohms")),
            (None, None) => (Measure::Ohms, fact.has("open").then_some(f64::INFINITY)?, 0.0),
        };
        Some(self.observed(fact, Meter { red, black, measure }, [reads - half, reads + half]))
    }

    /// A current by a clamp, which has neither a black lead nor a load on its leads.
    fn clamped(&mut self, fact: &Fact, said: &Said, amps: f64) -> Option<Observation> {
        let besides = ["black", "load", "source"]
            .into_iter()
            .any(|slot| !fact.words(slot).collect::<Vec<_>>().is_empty() || fact.quantity(slot).is_some());
        if besides {
            let words =
                "a clamp goes around one wire: it has no black lead, no load and no source".to_owned();
            self.unclear(self.place(fact.span), words);
            return None;
        }
        let half = self.half_digit(fact, "amps");
        let clamp = match self.model.names.any(&said.words) {
            Ok(entity @ Entity::Part(_)) => {
                let point = self.model.names.point(&said.words);
                let unknown = || point.map_err(|_| format!("`{}` is no pin and no wire", said.words));
                let found = self.model.clamp(&said.words, unknown);
                self.mention(said.place, entity);
                found
            }
            _ => {
                let at = self.pin(said)?;
                self.model.clamp(&said.words, || Ok(at))
            }
        };
        match clamp {
            Ok(clamp) => Some(self.observed(fact, clamp, [amps - half, amps + half])),
            Err(words) => {
                self.unclear(said.place, words);
                None
            }
        }
    }

    /// Half of the last digit of a quantity as written.
    fn half_digit(&self, fact: &Fact, slot: &str) -> f64 {
        let Some(quantity) = fact.quantity(slot) else { return 0.0 };
        let written = self.files.get(self.file).text.get(quantity.span.range()).unwrap_or_default();
        crate::quantity::half_digit(written, quantity.value.dimension)
    }

    fn observed(&self, fact: &Fact, leads: Meter, spread: [f64; 2]) -> Observation {
        let line = self.files.get(self.file).text.get(fact.span.range()).unwrap_or_default();
        let line = line.split('#').next().unwrap_or_default();
        Observation {
            place: self.place(fact.span),
            words: line.split_whitespace().skip(1).collect::<Vec<_>>().join(" "),
            state: self.now.clone(),
            leads,
            reads: if spread[0].is_finite() { 0.5 * (spread[0] + spread[1]) } else { spread[0] },
            spread,
        }
    }

    /// A battery that was low voids what was read until it is charged: those readings were of another car.
    fn rested(&mut self, case: &mut Case, fact: &Fact, volts: Option<f64>) {
        let Some(volts) = volts else { return };
        case.rested = Some((volts, self.place(fact.span)));
        let battery = self.said(fact, "battery").pop();
        if let Some(battery) = &battery {
            match self.model.names.any(&battery.words) {
                Ok(entity) => self.mention(battery.place, entity),
                Err(NameError::Unknown { near }) => self.unknown(battery, "battery", near),
                Err(NameError::Ambiguous { .. }) => {}
            }
        }
        let name = battery.map(|said| said.words).unwrap_or_default();
        let before = case.rests.iter().position(|(known, _)| *known == name);
        match before.and_then(|at| case.rests.get_mut(at)) {
            Some((_, last)) => {
                if *last < case::CHARGE_BELOW && volts >= case::CHARGE_BELOW {
                    case.void = case.log.len();
                }
                *last = volts;
            }
            None => case.rests.push((name, volts)),
        }
        case.was_low |= volts < case::CHARGE_BELOW;
    }

    fn pin(&mut self, said: &Said) -> Option<halfsplit_circuit::PointId> {
        let kind = match self.model.names.point(&said.words) {
            Ok(point) => {
                self.mention(said.place, Entity::Point(point));
                return Some(point);
            }
            Err(NameError::Ambiguous { candidates }) => {
                ProblemKind::AmbiguousName { written: said.words.clone(), candidates }
            }
            Err(NameError::Unknown { near }) => {
                self.unknown(said, "pin", near);
                return None;
            }
        };
        self.model.problems.push(Problem { place: said.place, kind });
        None
    }

    fn item(&mut self, fact: &Fact) -> Option<(Said, Entity)> {
        let said = self.said(fact, "item").pop()?;
        match self.model.names.any(&said.words) {
            Ok(entity) => {
                self.mention(said.place, entity);
                Some((said, entity))
            }
            Err(error) => {
                let near = if let NameError::Unknown { near } = error { near } else { None };
                self.unknown(&said, "item", near);
                None
            }
        }
    }

    fn said(&self, fact: &Fact, slot: &str) -> Vec<Said> {
        let word = fact.words(slot).map(|w| (w.value.to_owned(), w.span));
        let text = fact.text(slot).map(|t| (t.value.to_owned(), t.span));
        word.chain(text).map(|(words, span)| Said { words, place: self.place(span) }).collect()
    }

    fn place(&self, span: halfsplit_base::Span) -> Place {
        Place { file: self.file, span }
    }

    fn mention(&mut self, place: Place, entity: Entity) {
        self.model.mentions.push(Mention { place, entity, declares: false });
    }

    fn unknown(&mut self, said: &Said, wanted: &'static str, near: Option<String>) {
        let kind = ProblemKind::UnknownName { written: said.words.clone(), wanted, near };
        self.model.problems.push(Problem { place: said.place, kind });
    }

    fn unclear(&mut self, place: Place, words: String) {
        self.model.problems.push(Problem { place, kind: ProblemKind::Unclear { words } });
    }
}
