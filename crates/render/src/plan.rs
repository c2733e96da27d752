//! An isolation plan as pages for the bay and as JSON for programs.

mod danger;
mod first_page;
mod opening;
mod verdicts;

pub use first_page::{Car, LINES, WIDTH, first_page};

use halfsplit_circuit::{Class, Quantity};
use halfsplit_plan::{CautionNote, Doubt, DropRow, Next, Plan, Range, Step, StepOutcome, Suspect, Wiggle};
use serde_json::{Value, json};

use crate::{
    json::{self, SCHEMA, finite},
    minutes,
    page::Block,
    step,
    value::{interval, ohms, volts},
};

/// What the plan was asked for, in words, beside what the plan itself holds.
#[derive(Clone, Debug, Default)]
pub struct Heading {
    /// The circuit's title.
    pub circuit: String,
    /// The vehicle.
    pub vehicle: String,
    /// Whether somebody traced the circuit on a car.
    pub proven: bool,
    /// Unknown facts that would change the first step; `None` where none was tried.
    pub doubts: Option<Vec<Doubt>>,
}

/// What a plan from an unproven circuit says at its head.
const UNPROVEN: &str =
    "Nobody traced this circuit on a car: the plan is as good as the drawing it was written from.";

/// The pages behind the first: read first, meter, steps, tables, proof, remate.
pub fn page(plan: &Plan, heading: &Heading) -> Vec<Block> {
    let mut page = vec![Block::Heading(title(plan)), Block::Words(given(plan, heading))];
    if !heading.proven {
        page.push(Block::Words(UNPROVEN.into()));
    }
    page.push(Block::Heading("Read first".into()));
    page.push(Block::List(plan.cautions.iter().map(caution).collect()));

    page.push(Block::Heading("Meter".into()));
    page.push(Block::Words(match &plan.complaint {
        None => meter(plan),
        Some(_) => {
            "Leads as each step says, the black one on battery negative unless it says otherwise.".into()
        }
    }));
    if !plan.meter.refused.is_empty() {
        let refused = plan.meter.refused.iter();
        page.push(Block::List(
            refused.map(|r| format!("not {} ({}): {}", r.name, minutes(r.minutes), r.reason)).collect(),
        ));
    }

    page.push(Block::Heading("Steps".into()));
    let (with, manner) = match &plan.complaint {
        None => ("the way to the meter place included".to_owned(), "Leave out what you part."),
        Some(complaint) if complaint.set_up > 0.0 => (
            format!("{} of waiting for sleep included", minutes(complaint.set_up)),
            "Put back what you part before the next step.",
        ),
        Some(_) => ("the ways included".to_owned(), "Put back what you part or pull before the next step."),
    };
    page.push(Block::Words(format!(
        "{} expected to one repair unit, {with}; {}. {manner}",
        minutes(plan.expected_minutes),
        plan.optimality
    )));
    if let (true, Next::End(end)) = (plan.steps.is_empty(), &plan.start) {
        page.push(Block::Words(end.words.clone()));
    }
    match &heading.doubts {
        None => page.push(Block::Words(
            "Whether what the file does not know would change the first step was not tried.".into(),
        )),
        Some(doubts) if doubts.is_empty() => {}
        Some(doubts) => {
            page.push(Block::Words("What the file does not know could change the first step:".into()));
            page.push(Block::List(doubts.iter().map(doubt).collect()));
        }
    }
    page.extend(plan.steps.iter().map(block));
    page.extend(nothing_fits(plan));
    page.extend(proof(plan));
    page.extend(wiggle(plan));
    page.extend(dead_wire(plan));
    page.extend(budget(plan));
    page.extend(feeds(plan));
    if !plan.added_equipment.is_empty() {
        page.push(Block::Heading("Added equipment".into()));
        page.push(Block::List(plan.added_equipment.clone()));
    }
    if !plan.module_gates.is_empty() {
        page.push(Block::Heading("The module last: not before each of these has a reading".into()));
        page.push(Block::Boxes(plan.module_gates.clone()));
    }
    if !plan.remate.is_empty() {
        page.push(Block::Heading("Mate again".into()));
        page.push(Block::Boxes(plan.remate.clone()));
    }
    page.extend(suspects(plan));
    page
}

fn title(plan: &Plan) -> String {
    if let Some(complaint) = &plan.complaint {
        return format!("Isolation plan: {}: {}", complaint.words, complaint.class);
    }
    match (plan.reads, plan.class) {
        (None, Some(Class::Floating)) => format!("Isolation plan: {} floats, the meter wanders", plan.pin),
        (Some(reads), Some(class)) => format!("Isolation plan: {} reads {}, {class}", plan.pin, volts(reads)),
        _ => format!("Isolation plan: {}", plan.pin),
    }
}

fn given(plan: &Plan, heading: &Heading) -> String {
    let mut parts: Vec<String> =
        [&heading.vehicle, &heading.circuit].into_iter().filter(|w| !w.is_empty()).cloned().collect();
    parts.push(format!("key {}", plan.key.word()));
    parts.extend(plan.supply.map(|supply| format!("supply {}", volts(supply))));
    parts.extend(plan.facts.iter().map(|fact| {
        let noun = if fact.excluded == 1 { "suspect" } else { "suspects" };
        format!("{} (clears {} {noun})", fact.words, fact.excluded)
    }));
    if plan.complaint.is_some() {
        return format!("{}.", parts.join(", "));
    }
    format!("{}. A sound circuit reads {} at {}.", parts.join(", "), span(&plan.healthy, "V"), plan.pin)
}

/// An unknown fact and what it would lead to.
fn doubt(doubt: &Doubt) -> String {
    let unit = if doubt.unit == "ohm" { "Ω" } else { doubt.unit };
    format!("{}: with {} {unit} the first step is at {}", doubt.fact, doubt.value, doubt.first)
}

/// A danger with its place; rules of the trade have none.
fn caution(note: &CautionNote) -> String {
    match note.at.is_empty() {
        true => note.words.clone(),
        false => format!("{}: {}", note.at, note.words),
    }
}

fn meter(plan: &Plan) -> String {
    let meter = &plan.meter;
    let described: Vec<&str> =
        [meter.colour.as_str(), meter.place.as_str()].into_iter().filter(|w| !w.is_empty()).collect();
    let described = if described.is_empty() { String::new() } else { format!(", {},", described.join(", ")) };
    format!(
        "Red lead at {}{described} {}; black lead on {}. It stays there. Sound: {}.",
        meter.name,
        minutes(meter.minutes),
        meter.black,
        span(&meter.healthy, "V")
    )
}

fn block(step: &Step) -> Block {
    let outcomes = step.outcomes.iter().map(|outcome| (reads(outcome, step.unit), leads(outcome))).collect();
    Block::Step {
        number: step.id,
        words: step.instruction.clone(),
        minutes: minutes(step.minutes),
        lines: Vec::new(),
        outcomes,
    }
}

fn reads(outcome: &StepOutcome, unit: &str) -> String {
    match &outcome.range {
        Some(_) if unit.is_empty() => outcome.class.clone(),
        Some(range) if outcome.floats => format!("{} or wandering, {}", span(range, unit), outcome.class),
        Some(range) => format!("{}, {}", span(range, unit), outcome.class),
        None => outcome.class.clone(),
    }
}

fn leads(outcome: &StepOutcome) -> String {
    match &outcome.next {
        Next::End(_) if outcome.range.is_none() => "stop: see \"If nothing fits\"".into(),
        Next::Step(id) => format!("step {id}: {}", outcome.units.join(", ")),
        Next::End(end) => end.words.clone(),
    }
}

/// What every step says of a reading that no suspect gives, once for all of them.
fn nothing_fits(plan: &Plan) -> Vec<Block> {
    let mut lines: Vec<String> = Vec::new();
    for step in &plan.steps {
        for outcome in step.outcomes.iter().filter(|o| o.range.is_none()) {
            if let Next::End(end) = &outcome.next {
                let line = match (&plan.complaint, step.unit) {
                    (Some(_), _) => end.words.clone(),
                    (None, "V") => format!("Volts: {}", end.words),
                    (None, _) => format!("Ohms: {}", end.words),
                };
                if !lines.contains(&line) {
                    lines.push(line);
                }
            }
        }
    }
    match lines.is_empty() {
        true => Vec::new(),
        false => vec![Block::Heading("If nothing fits".into()), Block::List(lines)],
    }
}

fn proof(plan: &Plan) -> Vec<Block> {
    let mut lines: Vec<String> = Vec::new();
    for outcome in plan.steps.iter().flat_map(|s| &s.outcomes) {
        if let Next::End(end) = &outcome.next {
            for line in &end.prove {
                if !lines.contains(line) {
                    lines.push(line.clone());
                }
            }
        }
    }
    match lines.is_empty() {
        true => Vec::new(),
        false => vec![Block::Heading("Prove it before you repair".into()), Block::List(lines)],
    }
}

fn dead_wire(plan: &Plan) -> Vec<Block> {
    let Some(dead) = &plan.dead_wire else { return Vec::new() };
    let words = format!(
        "Battery disconnected, leads nulled, out: {}. Red lead at {}.",
        dead.out.join(", "),
        dead.red
    );
    let rows = dead
        .rows
        .iter()
        .map(|row| vec![row.black.clone(), row.what.clone(), span(&row.expected, "ohm"), String::new()]);
    vec![
        Block::Heading("The wire, dead: ohms".into()),
        Block::Words(words),
        Block::Table {
            head: ["black lead", "what is there", "sound", "read"].map(String::from).into(),
            rows: rows.collect(),
        },
    ]
}

fn wiggle(plan: &Plan) -> Vec<Block> {
    if plan.wiggle.is_empty() {
        return Vec::new();
    }
    let words = "The meter records least and most at its place, everything mated. Move these one hand-width at a time, in \
                 this order, then try warmth within what the insulation bears, cold, mist, load and a drive. A jump names \
                 the place. No jump is a result too: write \"not reproduced\", never \"good\".";
    let line = |item: &Wiggle| {
        let place = if item.place.is_empty() { String::new() } else { format!("{}, ", item.place) };
        format!("{} ({place}{})", item.name, minutes(item.minutes))
    };
    vec![
        Block::Heading("If it comes and goes".into()),
        Block::Words(words.into()),
        Block::List(plan.wiggle.iter().map(line).collect()),
    ]
}

fn budget(plan: &Plan) -> Vec<Block> {
    let Some(budget) = &plan.budget else { return Vec::new() };
    let words = format!(
        "Sound, from post to post {}: what {} gets and the drops on the way there and back add up to it. A budget that does \
         not close means a missed joint or a moved probe.",
        volts(budget.total),
        budget.load
    );
    let row = |row: &DropRow| {
        vec![row.from.clone(), row.to.clone(), row.part.clone(), volts(row.volts), String::new()]
    };
    vec![
        Block::Heading("Drop budget".into()),
        Block::Words(words),
        Block::Table {
            head: ["from", "to", "over", "sound", "read"].map(String::from).into(),
            rows: budget.rows.iter().map(row).collect(),
        },
    ]
}

fn feeds(plan: &Plan) -> Vec<Block> {
    if plan.feeds.is_empty() {
        return Vec::new();
    }
    let rows = plan.feeds.iter().map(|check| {
        let limit = format!("at least {}", volts(check.at_least));
        let sound = span(&check.expected, "V");
        vec![
            check.cavity.clone(),
            [check.role, check.what.as_str()].join(", "),
            format!("{} to {}", check.red, check.black),
            format!(
                "{limit}, sound {sound}{}",
                if check.note.is_empty() { String::new() } else { format!("; {}", check.note) }
            ),
        ]
    });
    let mut out: Vec<&str> = plan.feeds.iter().map(|check| check.out.as_str()).collect();
    out.dedup();
    vec![
        Block::Heading("Feeds and grounds of the module, under a 21 W lamp".into()),
        Block::Words(format!("{} out, the lamp across the leads, harness side.", out.join(", "))),
        Block::Table {
            head: ["cavity", "what it is", "leads", "volts"].map(String::from).into(),
            rows: rows.collect(),
        },
    ]
}

fn suspects(plan: &Plan) -> Vec<Block> {
    let whole: f64 = plan.suspects.iter().chain(&plan.always).map(|s| s.weight).sum();
    // A suspect that was parted by how bad it is is one line all the same.
    let mut lines: Vec<(f64, f64, &str, String)> = Vec::new();
    for suspect in plan.suspects.iter().chain(&plan.always) {
        let split = |other: &&Suspect| other.name == suspect.name && other.mode == suspect.mode;
        let implied = match suspect.ohms {
            Some(value) if value.is_finite() && plan.suspects.iter().filter(split).count() == 1 => {
                format!(", {}", ohms(value))
            }
            _ => String::new(),
        };
        let how = format!("{}{implied}", suspect.mode);
        let from = suspect.weight * suspect.from_cases;
        match lines.iter_mut().find(|(_, _, name, known)| *name == suspect.name && *known == how) {
            Some((weight, cases, ..)) => {
                *weight += suspect.weight;
                *cases += from;
            }
            None => lines.push((suspect.weight, from, suspect.name.as_str(), how)),
        }
    }
    let row = |(weight, cases, name, how): (f64, f64, &str, String)| {
        let mut cells = vec![format!("{:.1} %", 100.0 * weight / whole)];
        if plan.learned.is_some() {
            cells.push(format!("{:.0} %", 100.0 * cases / weight));
        }
        cells.extend([name.to_owned(), how]);
        cells
    };
    let from = plan.learned.is_some().then_some("of that from cases");
    let head = std::iter::once("share").chain(from).chain(["what", "how"]);
    let mut blocks = vec![
        Block::Heading("Suspects that explain the reading".into()),
        Block::Table { head: head.map(String::from).collect(), rows: lines.into_iter().map(row).collect() },
    ];
    if let Some(learned) = plan.learned {
        let causes = if learned.cases == 1 { "confirmed cause" } else { "confirmed causes" };
        blocks.insert(
            1,
            Block::Words(format!(
                "{} {causes} on this circuit in the library: {:.0} % of all these weights came from there.",
                learned.cases,
                100.0 * learned.share
            )),
        );
    }
    if !plan.dropped.is_empty() {
        blocks.push(Block::Heading("Considered, but they do not give this reading".into()));
        blocks.push(Block::List(dropped(plan)));
    }
    blocks
}

/// What was dropped, one line a unit; the readings that rule each out stand in the JSON.
fn dropped(plan: &Plan) -> Vec<String> {
    let mut lines: Vec<(&str, Vec<&str>)> = Vec::new();
    for dropped in &plan.dropped {
        match lines.iter_mut().find(|(name, _)| *name == dropped.name) {
            Some((_, modes)) => modes.push(&dropped.mode),
            None => lines.push((&dropped.name, vec![&dropped.mode])),
        }
    }
    lines.into_iter().map(|(name, modes)| format!("{name}: {}", modes.join("; "))).collect()
}

/// The interval of a reading: `0.203 to 0.270 V`, or one value where both ends show alike.
fn span(range: &Range, unit: &str) -> String {
    if unit == "V" { interval(range.low, range.high, volts) } else { interval(range.low, range.high, ohms) }
}

/// The plan for programs.
pub fn json(plan: &Plan, heading: &Heading) -> Value {
    let next = |next: &Next| match next {
        Next::Step(id) => (json!(id), Value::Null),
        Next::End(end) => (Value::Null, json!(end.words)),
    };
    let outcome = |outcome: &StepOutcome| {
        let (step, conclusion) = next(&outcome.next);
        json!({
            "low": outcome.range.map_or(Value::Null, |r| finite(r.low)),
            "high": outcome.range.map_or(Value::Null, |r| finite(r.high)),
            "class": outcome.class,
            "floats": outcome.floats,
            "suspects": outcome.units,
            "next": step,
            "conclusion": conclusion,
        })
    };
    let suspect = |suspect: &Suspect| {
        json!({
            "name": suspect.name,
            "mode": suspect.mode,
            "weight": suspect.weight,
            "from_cases": suspect.from_cases,
            "ohms": suspect.ohms.map_or(Value::Null, finite),
        })
    };
    let range =
        |range: &Range, quantity: Quantity| json::span(quantity, [range.nominal, range.low, range.high]);
    json!({
        "schema": SCHEMA,
        "proven": heading.proven,
        "unknowns": heading.doubts.as_ref().map(|doubts| doubts.iter().map(|d| json!({
            "fact": d.fact, "value": d.value, "unit": d.unit, "first": d.first,
        })).collect::<Vec<_>>()),
        "pin": plan.complaint.is_none().then_some(&plan.pin),
        "complaint": plan.complaint.as_ref().map(|c| json!({
            "words": c.words, "class": c.class, "set_up_minutes": c.set_up,
        })),
        "reads": plan.reads,
        "class": plan.class.map(|class| class.to_string()),
        "recheck": plan.recheck.as_ref().map(|recheck| json!({
            "do": format!(
                "Everything mated, read volts at {} once more. What a sound circuit shows means that the fault comes and goes, or that parting mended a contact.",
                recheck.red
            ),
            "red": recheck.red, "black": recheck.black, "measure": "volts",
            "key": plan.key.word(), "battery": true, "out": [], "sound": range(&recheck.sound, Quantity::Volts),
        })),
        "key": plan.key.word(),
        "supply": plan.supply,
        "meter": {
            "red": plan.meter.name,
            "black": plan.meter.black,
            "place": plan.meter.place,
            "colour": plan.meter.colour,
            "minutes": plan.meter.minutes,
            "healthy": range(&plan.meter.healthy, Quantity::Volts),
            "refused": plan.meter.refused.iter().map(|r| json!({
                "name": r.name, "minutes": r.minutes, "reason": r.reason,
            })).collect::<Vec<_>>(),
        },
        "expected_minutes": plan.expected_minutes,
        "optimality": plan.optimality.to_string(),
        "steps": plan.steps.iter().map(|step| step::with(step, json!({
            "id": step.id,
            "outcomes": step.outcomes.iter().map(outcome).collect::<Vec<_>>(),
        }))).collect::<Vec<_>>(),
        "suspects": plan.suspects.iter().chain(&plan.always).map(suspect).collect::<Vec<_>>(),
        "learned": plan.learned.map(|l| json!({ "cases": l.cases, "share": l.share })),
        "dropped": plan.dropped.iter().map(|d| json!({
            "name": d.name, "mode": d.mode, "why": d.why,
        })).collect::<Vec<_>>(),
        "wiggle": plan.wiggle.iter().map(|item| json!({
            "name": item.name, "place": item.place, "minutes": item.minutes,
        })).collect::<Vec<_>>(),
        "budget": plan.budget.as_ref().map(|budget| json!({
            "load": budget.load,
            "total": budget.total,
            "rows": budget.rows.iter().map(|row| json!({
                "from": row.from, "to": row.to, "part": row.part, "volts": row.volts,
            })).collect::<Vec<_>>(),
        })),
        "dead_wire": plan.dead_wire.as_ref().map(|dead| json!({
            "red": dead.red,
            "out": dead.out,
            "rows": dead.rows.iter().map(|row| json!({
                "black": row.black, "what": row.what, "expected": range(&row.expected, Quantity::Ohms),
            })).collect::<Vec<_>>(),
        })),
        "feeds": plan.feeds.iter().map(|check| json!({
            "cavity": check.cavity, "what": check.what, "role": check.role, "red": check.red, "black": check.black,
            "out": check.out, "expected": range(&check.expected, Quantity::Volts), "at_least": check.at_least,
        })).collect::<Vec<_>>(),
        "added_equipment": plan.added_equipment,
        "module_gates": plan.module_gates,
        "cautions": plan.cautions.iter().map(|note| json!({
            "at": note.at, "words": note.words,
        })).collect::<Vec<_>>(),
        "remate": plan.remate,
    })
}
