//! A walk: a fault is hidden, a complaint comes in, the plan's tree or the case's next steps are followed to an end.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::time::Duration;

use serde_json::Value;

use super::calibration::Mark;
use super::car::{self, Opened};
use super::complaint::{Complaint, Sound};
use super::door::{Answer, Door};
use super::faults::{self, Hidden};
use super::gates::{self, Proved};
use super::hands::{Hands, SLIPS, Seen, Slip};
use super::meter::Hand;
use super::steps;
use super::verdict::{self, End, Verdict};
use crate::outside::random::Random;

/// Steps after which nobody goes on.
const CAP: usize = 60;
/// Faults that are drawn before a circuit counts as one in which nothing can be noticed.
const TRIES: usize = 200;
/// Draws of the same step on the same car after which the case goes in a circle.
const CIRCLES: usize = 3;

/// What is hidden, and how careful the technician is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Kind {
    /// One fault.
    Single,
    /// One, at a place or with a partner that no file names.
    Stray,
    /// Two.
    Pair,
    /// One, and one reading goes wrong.
    Slip,
    /// One that comes and goes.
    Intermittent,
    /// One, and each reading goes wrong with the chance of a careless technician.
    Careless,
}

impl Kind {
    /// Every kind with its word.
    pub const ALL: [(Kind, &'static str); 6] = [
        (Kind::Single, "single"),
        (Kind::Stray, "off-list"),
        (Kind::Pair, "pair"),
        (Kind::Slip, "slip"),
        (Kind::Intermittent, "intermittent"),
        (Kind::Careless, "careless"),
    ];

    /// Its word.
    pub fn word(self) -> &'static str {
        Kind::ALL.iter().find(|(kind, _)| *kind == self).map_or("", |(_, word)| word)
    }
}

/// Which verb is followed first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Verb {
    /// The plan's tree; the case goes on where nothing fits.
    Plan,
    /// The case from the first reading.
    Case,
}

/// Which walk.
#[derive(Clone, Copy, Debug)]
pub struct Order {
    /// Its number.
    pub number: u64,
    /// The circuit's seed.
    pub circuit: u64,
    /// The seed of the run.
    pub seed: u64,
    /// What is hidden.
    pub kind: Kind,
    /// What is followed.
    pub verb: Verb,
}

/// What a walk came to.
#[derive(Clone, Debug)]
pub struct Walk {
    /// Which.
    pub order: Order,
    /// What was hidden.
    pub hidden: Vec<Hidden>,
    /// What was brought in.
    pub complaint: String,
    /// Where it ended.
    pub end: End,
    /// What that is worth.
    pub verdict: Verdict,
    /// Minutes that the steps took, by the plan's own figures.
    pub minutes: f64,
    /// Minutes that the first answer expected.
    pub expected: Option<f64>,
    /// The longest that one answer took.
    pub longest: Duration,
    /// How long all its answers took together.
    pub took: Duration,
    /// What went wrong with a reading, and whether the line was named.
    pub slip: Option<(&'static str, bool)>,
    /// Stated chances after each reading.
    pub marks: Vec<Mark>,
    /// Every step with what it showed.
    pub trail: Vec<String>,
    /// The command line of the first question.
    pub question: Vec<String>,
}

/// Walks; `None` where the circuit cannot be drawn or nothing that fails in it is noticed.
pub fn walk(door: &Door, folder: &Path, order: Order) -> Option<Walk> {
    let opened = car::open(order.circuit).ok()?;
    let sound = Sound::of(&opened);
    let mut random = Random::new(
        order.seed.wrapping_mul(0x9e6c_63d0_876a_68ee) ^ order.number.wrapping_mul(0xd134_2543_de82_ef95),
    );
    let hand = Hand::draw(&mut random);
    let (hidden, complaint) = hide(&sound, order.kind, &hand, &mut random)?;
    let all: Vec<_> = hidden.iter().flat_map(|one| one.faults.clone()).collect();
    let present = if order.kind == Kind::Intermittent { random.between(0.3, 0.9) } else { 1.0 };
    let slip = match order.kind {
        Kind::Slip => Slip::At(1 + random.below(3)),
        Kind::Careless => Slip::Chance(SLIPS),
        _ => Slip::Never,
    };
    let mut follower = Follower {
        door,
        folder,
        file: folder.join("drawn.circuit"),
        hands: Hands::new(&opened, all, complaint.clone(), hand, random, present, slip),
        hidden: &hidden,
        complaint: &complaint,
        opened: &opened,
        steps: 0,
        minutes: 0.0,
        expected: None,
        longest: Duration::ZERO,
        took: Duration::ZERO,
        named_slip: false,
        proved: BTreeSet::new(),
        marks: Vec::new(),
        trail: Vec::new(),
    };
    std::fs::write(&follower.file, &opened.drawn.text).ok()?;
    let end = match order.verb {
        Verb::Plan => follower.plan(),
        Verb::Case => follower.case(),
    };
    let verdict = verdict::judge(&end, &hidden);
    let slip = follower.hands.slipped.map(|(_, how)| (how, follower.named_slip));
    let question = complaint.question(&opened, "drawn.circuit");
    Some(Walk {
        order,
        complaint: complaint.said(),
        end,
        verdict,
        minutes: follower.minutes,
        expected: follower.expected,
        longest: follower.longest,
        took: follower.took,
        slip,
        marks: std::mem::take(&mut follower.marks),
        trail: std::mem::take(&mut follower.trail),
        question,
        hidden,
    })
}

/// A fault that somebody notices; of two, one by itself has to be noticed.
fn hide(sound: &Sound<'_>, kind: Kind, hand: &Hand, random: &mut Random) -> Option<(Vec<Hidden>, Complaint)> {
    let circuit = &sound.opened.model.circuit;
    for _ in 0..TRIES {
        let Some(first) = faults::draw(circuit, random, kind == Kind::Stray) else { continue };
        let mut hidden = vec![first];
        if kind == Kind::Pair {
            match faults::draw(circuit, random, false) {
                Some(second) if second.parts.is_disjoint(&hidden[0].parts) => hidden.push(second),
                _ => continue,
            }
        }
        let all: Vec<_> = hidden.iter().flat_map(|one| one.faults.clone()).collect();
        if let Some(complaint) = sound.complaint(&all, hand, random) {
            return Some((hidden, complaint));
        }
    }
    None
}

struct Follower<'w> {
    door: &'w Door,
    folder: &'w Path,
    file: PathBuf,
    hands: Hands<'w>,
    hidden: &'w [Hidden],
    complaint: &'w Complaint,
    opened: &'w Opened,
    steps: usize,
    minutes: f64,
    expected: Option<f64>,
    longest: Duration,
    took: Duration,
    named_slip: bool,
    proved: BTreeSet<String>,
    marks: Vec<Mark>,
    trail: Vec<String>,
}

impl Follower<'_> {
    fn ask(&mut self, words: &[String]) -> Result<Value, End> {
        let (answer, took) = self.door.ask(words);
        self.longest = self.longest.max(took);
        self.took += took;
        match answer {
            Answer::Json(json) => Ok(json),
            Answer::Refused(why) => Err(End::Refused(why)),
            Answer::Broken(why) => Err(End::Broken(why)),
            Answer::Late => Err(End::Late),
        }
    }

    /// The tree of a plan.
    fn plan(&mut self) -> End {
        let question = self.complaint.question(self.opened, &self.file.display().to_string());
        let plan = match self.ask(&question) {
            Ok(plan) => plan,
            Err(end) => return end,
        };
        self.expected = plan["expected_minutes"].as_f64();
        self.minutes += plan["meter"]["minutes"].as_f64().unwrap_or(0.0);
        self.marks.extend(Mark::of(&plan["suspects"], "weight", 0, self.hidden));
        let rests = plan["meter"]["black"].as_str().unwrap_or("battery negative").to_owned();
        let Some(mut step) = by_id(&plan, 1) else {
            return End::Units { units: drawn_units(&plan["suspects"]), gated: false };
        };
        loop {
            self.steps += 1;
            if self.steps > CAP {
                return End::Long;
            }
            self.minutes += step["minutes"].as_f64().unwrap_or(0.0);
            let doing = steps::read(step);
            let out: Option<Vec<String>> = step["out"].as_array().map(|names| strings(names));
            let seen = match self.hands.look(&doing, out.as_deref(), &rests) {
                Ok(seen) => seen,
                Err(why) => return End::Broken(format!("{why}: {}", step["do"])),
            };
            self.trail.push(format!("{}: {}", step["do"].as_str().unwrap_or_default(), seen.words));
            let outcome = met(step, &seen);
            let next = outcome.and_then(|o| o["next"].as_u64()).and_then(|id| by_id(&plan, id));
            match (next, outcome) {
                (Some(next), _) => step = next,
                (None, Some(outcome)) if !outcome["low"].is_null() || !is_none(outcome) => {
                    let units =
                        outcome["suspects"].as_array().map(|names| strings(names)).unwrap_or_default();
                    match self.still_there(&plan["recheck"]) {
                        Ok(true) => {}
                        Ok(false) => return self.case(),
                        Err(why) => return End::Broken(why),
                    }
                    let module = units.len() == 1 && self.is_module(&units[0]);
                    return End::Units { units, gated: module };
                }
                _ => {
                    self.trail.push("fits none of these: on with the case".to_owned());
                    return self.case();
                }
            }
        }
    }

    /// What the plan set out from, once more with everything mated: whether it is still wrong.
    fn still_there(&mut self, recheck: &Value) -> Result<bool, String> {
        if recheck.is_null() {
            return Ok(true);
        }
        let seen = self.hands.look(&steps::read(recheck), Some(&[]), "battery negative")?;
        self.trail.push(format!("once more: {}", seen.words));
        let bound = |end: &str| recheck["sound"][end].as_f64().unwrap_or(f64::NAN);
        let sound = seen.within.0 <= bound("high") && seen.within.1 >= bound("low");
        Ok(seen.floats || !sound)
    }

    fn is_module(&self, unit: &str) -> bool {
        let circuit = &self.opened.model.circuit;
        let part = circuit.part_named(unit);
        part.is_some_and(|p| circuit.part(p).kind == halfsplit_circuit::PartKind::Module)
    }

    /// The next steps of a case.
    fn case(&mut self) -> End {
        let path = self.folder.join("walk.case");
        let mut circles: Vec<String> = Vec::new();
        let mut first_pins = self.hands.first_pins();
        let mut again: BTreeSet<usize> = BTreeSet::new();
        loop {
            if self.steps > CAP {
                return End::Long;
            }
            let text = self.hands.case();
            if std::fs::write(&path, &text).is_err() {
                return End::Broken("no case file".to_owned());
            }
            let report = match self.ask(&["case".to_owned(), path.display().to_string()]) {
                Ok(report) => report,
                // What is complained of, in words that a case does not know, is left out of it.
                Err(End::Refused(why)) if self.drop_fact(&why) => continue,
                Err(end) => return end,
            };
            let readings = self.hands.log.lines.len();
            self.marks.extend(Mark::of(&report["suspects"], "probability", readings, self.hidden));
            if self.expected.is_none() {
                self.expected = report["next"]["to_go"].as_f64();
            }
            if let Some(line) = report["contradiction"]["line"].as_str() {
                self.note_named(line);
            }
            let next = &report["next"];
            match next["kind"].as_str() {
                Some("step") => {
                    let words = next["do"].as_str().unwrap_or_default().to_owned();
                    let here = format!("{words} {:?}", self.hands.out);
                    circles.push(here.clone());
                    if circles.iter().filter(|known| **known == here).count() > CIRCLES {
                        return End::Dead(format!("the same step again: {words}"));
                    }
                    self.steps += 1;
                    self.minutes += next["minutes"].as_f64().unwrap_or(0.0);
                    let out: Option<Vec<String>> = next["out"].as_array().map(|names| strings(names));
                    match self.hands.look(&steps::read(next), out.as_deref(), "battery negative") {
                        Ok(seen) => self.trail.push(format!("{words}: {}", seen.words)),
                        Err(why) => return End::Broken(format!("{why}: {words}")),
                    }
                }
                Some("end") => {
                    let known = names(&report["suspects"]);
                    let conclusion = next["conclusion"].as_str().unwrap_or_default();
                    let units = match next["suspects"].as_array() {
                        Some(units) => strings(units),
                        None => verdict::named(conclusion, &known),
                    };
                    return match units.is_empty() {
                        true if conclusion.contains("two faults") || conclusion.contains("more than one") => {
                            End::More(conclusion.to_owned())
                        }
                        true => End::Dead(format!("a conclusion without a unit: {conclusion}")),
                        false => End::Units { units, gated: false },
                    };
                }
                Some("gates") => {
                    let items = next["then"].as_array().map(|items| strings(items)).unwrap_or_default();
                    self.steps += 1;
                    match self.prove(&items) {
                        Proved::Done => {}
                        Proved::Found => {
                            let units = vec![format!("unlisted equipment on {}", self.truth())];
                            return End::Units { units, gated: false };
                        }
                        Proved::Not => {
                            return End::Units { units: likely(&report["suspects"], 0.01), gated: true };
                        }
                    }
                }
                Some("stop") => {
                    let line = report["contradiction"]["line"].as_str().unwrap_or_default().to_owned();
                    self.trail.push(format!("stop; read again: {line}"));
                    if !self.hands.again(&line).is_ok_and(|at| again.insert(at)) {
                        return End::More(format!("contradiction at {line}"));
                    }
                    self.steps += 1;
                }
                Some("first-reading") => {
                    let Some(pin) = first_pins.pop() else {
                        return End::Dead(
                            "nothing wrong was read, and no pin is left to read first".to_owned(),
                        );
                    };
                    let words = format!("Read volts at {pin}.");
                    let doing = steps::read(&serde_json::json!({ "do": words }));
                    match self.hands.look(&doing, None, "battery negative") {
                        Ok(seen) => self.trail.push(format!("first: {}", seen.words)),
                        Err(why) => return End::Broken(why),
                    }
                    self.steps += 1;
                }
                other => return End::Dead(format!("next is {other:?}: {next}")),
            }
        }
    }

    /// Does the first of these that is understood.
    fn prove(&mut self, items: &[String]) -> Proved {
        for item in items.iter().filter(|item| !item.starts_with("follow what is wrong")) {
            if !self.proved.insert(item.clone()) {
                continue;
            }
            let proved = gates::prove(item, &mut self.hands, self.complaint, self.hidden);
            self.trail.push(format!("gate: {item}: {proved:?}"));
            if proved != Proved::Not {
                return proved;
            }
        }
        Proved::Not
    }

    /// The part at which unlisted equipment is tapped on.
    fn truth(&self) -> String {
        let tapped = self.hidden.iter().filter(|one| one.unlisted).flat_map(|one| &one.parts);
        tapped.cloned().collect::<Vec<_>>().join(" ")
    }

    /// Leaves out a fact that was refused by its words.
    fn drop_fact(&mut self, why: &str) -> bool {
        let lines = &mut self.hands.log.lines;
        let at = lines.iter().position(|(_, line)| match line {
            super::log::Line::Fact(words) => why.contains(words.as_str()),
            super::log::Line::Reading { .. } => false,
        });
        at.map(|at| lines.remove(at)).is_some()
    }

    fn note_named(&mut self, line: &str) {
        let Some((at, _)) = self.hands.slipped else { return };
        let wrong = self.hands.log.lines.get(at).map(|(_, line)| line.words());
        self.named_slip |= wrong.is_some_and(|words| words.strip_prefix("reading ") == Some(line));
    }
}

fn by_id(plan: &Value, id: u64) -> Option<&Value> {
    plan["steps"].as_array()?.iter().find(|step| step["id"].as_u64() == Some(id))
}

fn strings(values: &[Value]) -> Vec<String> {
    values.iter().filter_map(|value| value.as_str().map(str::to_owned)).collect()
}

/// Whether an outcome is the one that no suspect gives.
fn is_none(outcome: &Value) -> bool {
    outcome["suspects"].as_array().is_none_or(Vec::is_empty)
}

/// The outcome that a reading falls into by its written digits, or by its class where the meter wanders.
fn met<'v>(step: &'v Value, seen: &Seen) -> Option<&'v Value> {
    let outcomes = step["outcomes"].as_array()?;
    if seen.floats
        && let Some(floating) = outcomes.iter().find(|o| o["floats"] == true)
    {
        return Some(floating);
    }
    let ends = |o: &Value| {
        let open =
            |value: &Value, other: f64| if value.is_null() { other } else { value.as_f64().unwrap_or(other) };
        // "Fits none" has neither end; OL has a low end that JSON cannot hold, so its class tells.
        let none = o["low"].is_null() && o["high"].is_null();
        match none {
            true if !is_none(o) => Some((f64::INFINITY, f64::INFINITY)),
            true => None,
            false => Some((open(&o["low"], f64::NEG_INFINITY), open(&o["high"], f64::INFINITY))),
        }
    };
    let digit = (1e-9 + 0.002 * seen.value.abs()).min(0.005 * (1.0 + seen.value.abs()));
    let digit = if seen.value.is_finite() { digit } else { 0.0 };
    outcomes
        .iter()
        .find(|o| ends(o).is_some_and(|(low, high)| low - digit <= seen.value && seen.value <= high + digit))
}

/// Names of every suspect.
fn names(suspects: &Value) -> BTreeSet<String> {
    let all = suspects.as_array().into_iter().flatten();
    all.filter_map(|suspect| suspect["name"].as_str().map(str::to_owned)).collect()
}

/// Units of a plan without a step: what is always possible is no unit to mend.
fn drawn_units(suspects: &Value) -> Vec<String> {
    let never = ["wrong variant", "wrong wire", "two faults", "unlisted equipment"];
    names(suspects).into_iter().filter(|name| !never.iter().any(|n| name.starts_with(n))).collect()
}

/// Units with at least this chance, all their modes together.
fn likely(suspects: &Value, least: f64) -> Vec<String> {
    let chance = |name: &str| -> f64 {
        let all = suspects.as_array().into_iter().flatten();
        all.filter(|s| s["name"].as_str() == Some(name)).filter_map(|s| s["probability"].as_f64()).sum()
    };
    drawn_units(suspects).into_iter().filter(|name| chance(name) >= least).collect()
}
