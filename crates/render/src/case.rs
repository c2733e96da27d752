//! One car's job as a page for the bay, as a write-up, and as JSON for programs.

use halfsplit_circuit::Quantity;
use halfsplit_plan::case::{
    Evidence, FLOOR, GateKind, Line, ModuleItem, Next, Pattern, Posterior, Proof, Report,
};
use halfsplit_plan::{Range, Step};
use serde_json::{Value, json};

use crate::{
    json::{self, SCHEMA},
    minutes,
    page::Block,
    step,
    value::{interval, ohms, volts},
};

/// Suspects under this chance are counted, not listed.
const LEAST_SHOWN: f64 = 0.005;

/// Chance from which a module is spoken of at length.
const AT_STAKE: f64 = 0.05;

/// What the case file says in words, beside what the report holds.
#[derive(Clone, Debug, Default)]
pub struct Words {
    /// The job.
    pub title: String,
    /// The circuit's title.
    pub circuit: String,
    /// The vehicle.
    pub vehicle: String,
    /// Serial and options, where the case says them.
    pub car: String,
    /// Every reading as written, with what was out: in the order of [`Job`](halfsplit_plan::case::Job).
    pub readings: Vec<String>,
    /// Every fact as written.
    pub facts: Vec<String>,
    /// Readings that do not count, because the battery was low when they were taken.
    pub void: Vec<String>,
    /// Dangers that were cleared.
    pub cleared: Vec<String>,
    /// What was checked without a reading.
    pub checked: Vec<String>,
    /// Codes that were stored.
    pub codes: Vec<String>,
    /// The cause.
    pub confirmed: Option<Cause>,
}

/// The confirmed cause.
#[derive(Clone, Debug, Default)]
pub struct Cause {
    /// The part.
    pub name: String,
    /// How it failed.
    pub mode: String,
    /// Minutes that the search took.
    pub minutes: Option<f64>,
    /// Minutes in which the plan ends at it.
    pub plan: Option<f64>,
}

impl Words {
    fn line(&self, line: Line) -> String {
        let known = match line {
            Line::Reading(at) => self.readings.get(at),
            Line::Fact(at) => self.facts.get(at),
        };
        known.cloned().unwrap_or_default()
    }
}

/// The job as a page.
pub fn page(report: &Report, words: &Words) -> Vec<Block> {
    let mut page = vec![Block::Title(format!("Case {}", words.title)), Block::Words(given(report, words))];
    if !report.cautions.is_empty() {
        page.push(Block::Heading("Read first".into()));
        page.push(Block::List(report.cautions.iter().map(|c| format!("{}: {}", c.at, c.words)).collect()));
    }
    page.push(Block::Heading("Gates".into()));
    page.push(Block::List(gates(report)));
    if !words.void.is_empty() {
        page.push(Block::Heading("Readings that do not count: the battery was low".into()));
        page.push(Block::List(words.void.clone()));
    }
    if let Next::Charge { .. } = report.next
        && !words.readings.is_empty()
    {
        page.push(Block::Heading("Readings that do not count yet".into()));
        page.push(Block::List(words.readings.clone()));
    }
    if let Some(contradiction) = &report.contradiction {
        page.push(Block::Heading("Contradiction".into()));
        page.push(Block::Words(contradicts(report, words)));
        page.push(Block::List(contradiction.means.clone()));
    }
    page.extend(suspects(report, words));
    let patterns: Vec<String> = report.patterns.iter().map(|p| pattern(p, words)).collect();
    if !patterns.is_empty() {
        page.push(Block::Heading("What the order of the readings says".into()));
        page.push(Block::List(patterns));
    }
    page.extend(held(report));
    page.extend(module(report, words));
    page.push(Block::Heading("Next".into()));
    page.extend(next(report));
    if !report.remate.is_empty() {
        page.push(Block::Heading("Out now, to be mated again".into()));
        page.push(Block::Boxes(report.remate.clone()));
    }
    page
}

fn given(report: &Report, words: &Words) -> String {
    let parts: Vec<&str> = [&words.vehicle, &words.circuit, &words.car]
        .into_iter()
        .map(String::as_str)
        .filter(|w| !w.is_empty())
        .collect();
    let class = report.class.map(|class| format!(", {class}")).unwrap_or_default();
    let complaint = report.complaint.map(|line| words.line(line));
    let complaint = complaint.map(|line| format!(" The complaint: {line}{class}.")).unwrap_or_default();
    format!("{}.{complaint}", parts.join(", "))
}

fn gates(report: &Report) -> Vec<String> {
    let mut lines: Vec<String> = report
        .gates
        .iter()
        .map(|gate| {
            format!(
                "{}, {}: {}",
                gate_word(gate.kind),
                if gate.passed { "passed" } else { "open" },
                gate.words
            )
        })
        .collect();
    if let Some(module) = &report.module {
        let missing = module.missing().count();
        lines.push(match module.may_be_named() {
            true => format!("module last, passed: everything about {} has a reading", module.name),
            false => format!("module last, open: {missing} things about {} have no reading", module.name),
        });
    }
    lines
}

fn gate_word(kind: GateKind) -> &'static str {
    match kind {
        GateKind::Battery => "battery",
        GateKind::Safety => "safety",
        GateKind::DeadCircuit => "dead circuit",
        GateKind::ModuleLast => "module last",
    }
}

fn contradicts(report: &Report, words: &Words) -> String {
    let Some(contradiction) = &report.contradiction else { return String::new() };
    let quantity = report
        .suspects
        .iter()
        .flat_map(|s| &s.evidence)
        .find(|e| e.line == contradiction.line)
        .map_or(Quantity::Volts, |e| e.quantity);
    let sound = match &contradiction.sound {
        Some(sound) => format!(" A sound circuit reads {}.", span(sound, quantity)),
        None => String::new(),
    };
    format!(
        "{}: nothing that the circuit draws explains it.{sound} It can mean:",
        words.line(contradiction.line)
    )
}

fn suspects(report: &Report, words: &Words) -> Vec<Block> {
    if report.suspects.is_empty() {
        return Vec::new();
    }
    let (shown, rest): (Vec<&Posterior>, Vec<&Posterior>) =
        report.suspects.iter().partition(|s| s.probability >= LEAST_SHOWN);
    let mut blocks = vec![
        Block::Heading("Suspects".into()),
        Block::Table {
            head: ["now", "before", "what", "how"].map(String::from).into(),
            rows: shown
                .iter()
                .map(|s| vec![percent(s.probability), percent(s.prior), s.name.clone(), s.mode.clone()])
                .collect(),
        },
    ];
    let cleared = cleared(report);
    if !cleared.is_empty() {
        blocks.push(Block::Words(format!("Cleared by the readings: {}.", cleared.join(", "))));
    }
    let left: f64 = rest.iter().map(|s| s.probability).sum();
    if !rest.is_empty() {
        blocks.push(Block::Words(format!("{} more share {}.", rest.len(), percent(left))));
    }
    blocks.push(Block::Heading("Evidence, line by line".into()));
    for suspect in shown.iter().filter(|s| s.drawn || s.evidence.iter().any(|e| e.predicted.is_some())) {
        blocks.push(Block::Words(format!("{}: {}", suspect.name, suspect.mode)));
        blocks.push(Block::List(suspect.evidence.iter().map(|e| evidence(e, words)).collect()));
    }
    blocks
}

/// Repair units that were likely before and are not now: what parts of them are still in doubt is not said cleared.
fn cleared(report: &Report) -> Vec<String> {
    let unlikely = report.suspects.iter().filter(|s| s.drawn && s.probability < LEAST_SHOWN);
    let unlikely = unlikely.map(|s| (&s.name, &s.mode));
    let gone = report.cleared.iter().map(|(name, mode)| (name, mode));
    let (whole, halves): (Vec<_>, Vec<_>) =
        unlikely.chain(gone).partition(|(name, _)| report.chance(name) < LEAST_SHOWN);
    let mut names: Vec<String> = whole.into_iter().map(|(name, _)| name.clone()).collect();
    names.sort();
    names.dedup();
    names.extend(halves.into_iter().map(|(name, mode)| format!("{name} {mode}")));
    names
}

fn evidence(evidence: &Evidence, words: &Words) -> String {
    let line = words.line(evidence.line);
    let verdict = match evidence.factor {
        f if f >= 1.0 => "likely".to_owned(),
        f if f <= FLOOR => format!("not so: × {f}"),
        f => format!("× {f:.2}"),
    };
    match &evidence.predicted {
        Some(range) => format!("{line}; this predicts {}: {verdict}", span(range, evidence.quantity)),
        None => format!("{line}: {verdict}"),
    }
}

fn pattern(pattern: &Pattern, words: &Words) -> String {
    let line = |at: &usize| words.line(Line::Reading(*at));
    match pattern {
        Pattern::Partial { reading, parted } => format!(
            "{}: it rose in part when {} went out, so that is one of several ways down",
            line(reading),
            parted.join(", ")
        ),
        Pattern::Recovered { reading, parted, proved: false } => format!(
            "{}: recovered with {} out; blame what lies there, everything beyond it, and the contact itself; mate it again: it has to fail again",
            line(reading),
            parted.join(", ")
        ),
        Pattern::Recovered { reading, parted, proved: true } => format!(
            "{}: recovered with {} out, and failed again when it was mated: off, on, off",
            line(reading),
            parted.join(", ")
        ),
        Pattern::StaysGood { reading, mated } => format!(
            "{}: stays good although {} is mated again: a contact there, mended by the parting",
            line(reading),
            mated.join(", ")
        ),
    }
}

fn held(report: &Report) -> Vec<Block> {
    let mut blocks = Vec::new();
    for held in &report.held {
        blocks.push(Block::Heading(format!("{} is on while {} is silent", held.output, held.module)));
        blocks.push(Block::Words(format!(
            "That does not prove {} alive: with no supply at all in it, each of these alone gives {} its volts.",
            held.module,
            held.feeds.join(", ")
        )));
        blocks.push(Block::List(held.by.clone()));
    }
    blocks
}

fn module(report: &Report, words: &Words) -> Vec<Block> {
    let Some(module) = &report.module else { return Vec::new() };
    let share = percent(module.probability);
    let name = &module.name;
    let said = match module.may_be_named() {
        true => format!("{name}, {share}: every gate has its reading."),
        false => format!(
            "{name}, {share}, is not convicted. \"Replace {name}\" is refused while these are missing:"
        ),
    };
    let mut blocks = vec![Block::Heading("The module last".into()), Block::Words(said)];
    let missing: Vec<String> = module.missing().map(|i| i.what.clone()).collect();
    if module.probability < AT_STAKE && !missing.is_empty() {
        // Where the readings point elsewhere the list is not for today.
        blocks = vec![
            Block::Heading("The module last".into()),
            Block::Words(format!(
                "{name}, {share}, is not convicted; \"Replace {name}\" is refused: {} things have no reading, its feeds and grounds under load first.",
                missing.len()
            )),
        ];
    } else if !missing.is_empty() {
        blocks.push(Block::Boxes(missing));
    }
    let done: Vec<String> = module
        .items
        .iter()
        .filter_map(|item| match item.proof {
            Proof::Missing => None,
            Proof::Sound(at) => Some(format!("done: {}: {}", item.what, words.line(Line::Reading(at)))),
            Proof::Checked => Some(format!("done: {}", item.what)),
            Proof::Wrong(at) => Some(format!(
                "WRONG, and so the first finding: {}: {}",
                item.what,
                words.line(Line::Reading(at))
            )),
        })
        .collect();
    if !done.is_empty() {
        blocks.push(Block::List(done));
    }
    blocks
}

fn next(report: &Report) -> Vec<Block> {
    let to_go = report.to_go.map(|m| format!(" {} expected from here to one repair unit.", minutes(m)));
    match &report.next {
        Next::Charge { words } => vec![Block::Words(format!("{words}. Nothing else counts before."))],
        Next::FirstReading => vec![Block::Words(
            "nothing wrong was read yet: read the supply, then the pin that the complaint is about".into(),
        )],
        Next::Stop { then } => vec![Block::List(then.clone())],
        Next::Gates { then } => vec![
            Block::Words("In this order; each reading goes into the case:".into()),
            Block::List(then.clone()),
        ],
        Next::Step(step) => {
            let words =
                format!("{}, {}.{}", step.instruction, minutes(step.minutes), to_go.unwrap_or_default());
            let outcomes = step.outcomes.iter().map(|outcome| match &outcome.range {
                Some(range) => format!("{}: {}", span(range, quantity(step)), outcome.units.join(", ")),
                None => format!("{}: stop and look", outcome.class),
            });
            vec![Block::Words(words), Block::List(outcomes.collect())]
        }
        Next::End(end) => {
            let mut blocks = vec![Block::Words(end.words.clone())];
            if !end.prove.is_empty() {
                blocks.push(Block::List(end.prove.clone()));
            }
            blocks
        }
    }
}

fn quantity(step: &Step) -> Quantity {
    match step.unit {
        "ohm" => Quantity::Ohms,
        "A" => Quantity::Amps,
        _ => Quantity::Volts,
    }
}

/// The write-up of a job whose cause is confirmed; nothing before that.
pub fn write_up(report: &Report, words: &Words) -> Vec<Block> {
    let Some(cause) = &words.confirmed else { return Vec::new() };
    let mut page = vec![Block::Title(format!("Write-up: {}", words.title))];
    page.push(Block::Words(given(report, words)));
    page.push(Block::Heading("Cause".into()));
    let mode = if cause.mode.is_empty() { String::new() } else { format!(": {}", cause.mode) };
    page.push(Block::Words(format!("{}{mode}.", cause.name)));
    page.push(Block::Heading("Proof".into()));
    let chance = report.chance(&cause.name);
    let mut proof = vec![match chance >= 0.5 {
        true => format!("the readings leave {} with {}", cause.name, percent(chance)),
        false => format!(
            "the readings by themselves leave {} with {} only: say what proved it",
            cause.name,
            percent(chance)
        ),
    }];
    proof.extend(report.patterns.iter().map(|p| pattern(p, words)));
    if !report.patterns.iter().any(|p| matches!(p, Pattern::Recovered { proved: true, .. })) {
        proof.push("no reading shows off, on, off: mate it again, it has to fail again".into());
    }
    page.push(Block::List(proof));
    page.push(Block::Heading("Readings".into()));
    page.push(Block::List(words.readings.clone()));
    if !words.checked.is_empty() || !words.cleared.is_empty() {
        page.push(Block::Heading("Checked and cleared".into()));
        page.push(Block::List(words.checked.iter().chain(&words.cleared).cloned().collect()));
    }
    page.push(Block::Heading("Mate again".into()));
    page.push(match report.remate.is_empty() {
        true => Block::Words("Nothing is out by the log.".into()),
        false => Block::Boxes(report.remate.clone()),
    });
    page.push(Block::Heading("Clear, and look for again".into()));
    page.push(match words.codes.is_empty() {
        true => Block::Words("No code was noted; parting a plug may have stored some.".into()),
        false => Block::Boxes(words.codes.clone()),
    });
    page.push(Block::Heading("Minutes".into()));
    page.push(Block::Words(against_plan(report, cause)));
    page
}

fn against_plan(report: &Report, cause: &Cause) -> String {
    let took = cause.minutes.map_or_else(|| "not noted".to_owned(), minutes);
    let plan = match (cause.plan, &report.plan) {
        (Some(this), Some(plan)) => format!(
            "the plan takes {} to this cause, {} on the average over all suspects",
            minutes(this),
            minutes(plan.expected_minutes)
        ),
        (None, Some(plan)) => format!(
            "the plan takes {} on the average over all suspects; this cause is not among them",
            minutes(plan.expected_minutes)
        ),
        _ => "there is no plan to hold it against".to_owned(),
    };
    format!("The search took {took}; {plan}.")
}

fn percent(share: f64) -> String {
    match 100.0 * share {
        p if p >= 99.95 => "100 %".into(),
        p if p < 0.05 => "< 0.1 %".into(),
        p => format!("{p:.1} %"),
    }
}

fn span(range: &Range, quantity: Quantity) -> String {
    match quantity {
        Quantity::Volts => interval(range.low, range.high, volts),
        Quantity::Ohms => interval(range.low, range.high, ohms),
        Quantity::Amps => interval(range.low, range.high, crate::value::amps),
    }
}

/// The job for programs.
pub fn json(report: &Report, words: &Words) -> Value {
    let range =
        |range: &Range, quantity: Quantity| json::span(quantity, [range.nominal, range.low, range.high]);
    let evidence = |e: &Evidence| {
        json!({
            "line": words.line(e.line),
            "kind": match e.line { Line::Reading(_) => "reading", Line::Fact(_) => "fact" },
            "predicted": e.predicted.as_ref().map(|r| range(r, e.quantity)),
            "factor": e.factor,
        })
    };
    let item = |item: &ModuleItem| {
        let (state, line) = match item.proof {
            Proof::Missing => ("missing", None),
            Proof::Sound(at) => ("done", Some(at)),
            Proof::Checked => ("done", None),
            Proof::Wrong(at) => ("wrong", Some(at)),
        };
        json!({ "what": item.what, "state": state, "line": line.map(|at| words.line(Line::Reading(at))) })
    };
    let mut gates: Vec<Value> = report
        .gates
        .iter()
        .map(|gate| json!({ "gate": gate_word(gate.kind), "passed": gate.passed, "words": gate.words }))
        .collect();
    if let Some(module) = &report.module {
        gates.push(json!({
            "gate": gate_word(GateKind::ModuleLast),
            "passed": module.may_be_named(),
            "module": module.name,
            "probability": module.probability,
            "items": module.items.iter().map(item).collect::<Vec<_>>(),
        }));
    }
    let next = match &report.next {
        Next::Charge { words } => json!({ "kind": "charge", "do": words }),
        Next::FirstReading => json!({ "kind": "first-reading" }),
        Next::Stop { then } => json!({ "kind": "stop", "then": then }),
        Next::Gates { then } => json!({ "kind": "gates", "then": then }),
        Next::Step(step) => step::with(
            step,
            json!({
                "kind": "step",
                "to_go": report.to_go,
                "outcomes": step.outcomes.iter().map(|o| json!({
                    "reading": o.range.as_ref().map(|r| range(r, quantity(step))),
                    "class": o.class,
                    "suspects": o.units,
                })).collect::<Vec<_>>(),
            }),
        ),
        Next::End(end) => json!({
            "kind": "end", "conclusion": end.words, "suspects": end.units, "prove": end.prove,
        }),
    };
    json!({
        "schema": SCHEMA,
        "case": words.title,
        "suspects": report.suspects.iter().map(|s| json!({
            "name": s.name,
            "mode": s.mode,
            "prior": s.prior,
            "probability": s.probability,
            "drawn": s.drawn,
            "evidence": s.evidence.iter().map(evidence).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "cleared": cleared(report),
        "patterns": report.patterns.iter().map(|p| pattern(p, words)).collect::<Vec<_>>(),
        "next": next,
        "gates": gates,
        "contradiction": report.contradiction.as_ref().map(|c| json!({
            "line": words.line(c.line), "means": c.means,
        })),
        "held": report.held.iter().map(|h| json!({
            "module": h.module, "output": h.output, "feeds": h.feeds, "by": h.by,
        })).collect::<Vec<_>>(),
        "void": words.void,
        "remate": report.remate,
        "confirmed": words.confirmed.as_ref().map(|c| json!({
            "name": c.name, "mode": c.mode, "minutes": c.minutes, "plan_minutes": c.plan,
            "probability": report.chance(&c.name),
        })),
    })
}
