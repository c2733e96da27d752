//! The first page of a plan: what a person under the bonnet needs, in the order in which it is needed.
//!
//! What reads wrong, the state of the car, dangers, what costs no tool, the meter's place, the steps with a blank
//! each, and what to do at a verdict. Everything else stands on the pages behind it.

use std::collections::BTreeSet;

use halfsplit_circuit::{BranchKind, Circuit, Hazard, Key, PointId, PointKind, State};
use halfsplit_model::Model;
use halfsplit_plan::{Next, Optimality, Plan, Range, Sense, Step, StepOutcome, judge};

use super::{Heading, danger, opening, verdicts};
use crate::{
    minutes,
    page::{Block, Brief, Layout, text},
    value::{span_of_volts, spans_of_ohms, spans_of_volts, volts},
};

/// Columns of the first page, on every terminal and on paper.
pub const WIDTH: usize = 80;

/// Lines that a first page should not exceed.
pub const LINES: usize = 40;

/// Repair units that an outcome names.
const NAMED: usize = 3;

/// The circuit as the file has it, for this car, and the state in which the plan begins.
#[derive(Clone, Copy)]
pub struct Car<'m> {
    /// The circuit with its vehicle, options and serial.
    pub model: &'m Model,
    /// Key, switches, commands, supply and what is out.
    pub state: &'m State,
}

/// How much room a page takes.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Room {
    /// Sections apart, an outcome a line.
    Wide,
    /// Sections close together, an outcome a line.
    Close,
    /// Outcomes side by side, rules of the trade in running words.
    Tight,
    /// As tight, outcomes by the names of what is left alone, on from what to do.
    Tightest,
}

impl Room {
    fn is_tight(self) -> bool {
        matches!(self, Room::Tight | Room::Tightest)
    }
}

/// The first page: as wide as fits its lines, else as tight as it goes.
pub fn first_page(plan: &Plan, heading: &Heading, car: Car<'_>) -> Vec<Block> {
    let drawn = |room| laid(plan, heading, car, room);
    let fits = |page: &Vec<Block>| text(page, WIDTH).lines().count() <= LINES;
    let roomy = [Room::Wide, Room::Close, Room::Tight].into_iter().map(drawn).find(fits);
    roomy.unwrap_or_else(|| drawn(Room::Tightest))
}

fn laid(plan: &Plan, heading: &Heading, car: Car<'_>, room: Room) -> Vec<Block> {
    let mut page = vec![Block::Title(opening::sentence(plan, car))];
    let apart = |page: &mut Vec<Block>| {
        if room == Room::Wide {
            page.push(Block::Gap);
        }
    };
    let note = |label: &str, words: String| Block::Note { label: label.into(), words };
    let untraced = "Nobody traced this circuit on a car";
    let state = state(plan, heading, car);
    match heading.proven {
        true => page.push(note("Car", state)),
        false if room.is_tight() => page.push(note("Car", format!("{state} {untraced}."))),
        false => {
            page.push(note("Car", state));
            page.push(Block::Words(format!("{untraced}: the plan is as good as its drawing.")));
        }
    }
    apart(&mut page);
    page.extend(dangers(plan, room));
    apart(&mut page);
    let words = if room.is_tight() { String::new() } else { before(plan) };
    let label = if room == Room::Tightest { "First" } else { "Before any tool" };
    page.push(Block::Blanks { label: label.into(), words, items: questions(car, room) });
    apart(&mut page);
    page.push(note("Meter", meter(plan, &car.model.circuit)));
    apart(&mut page);
    page.push(note("Steps", manner(plan)));
    if let (true, Next::End(end)) = (plan.steps.is_empty(), &plan.start) {
        page.push(Block::Words(end.words.clone()));
    }
    let mut warned: Vec<String> = Vec::new();
    for step in &plan.steps {
        apart(&mut page);
        let mut brief = brief(plan, step, room);
        let (whole, short) = before_step(plan, step, &car.model.circuit, &mut warned, room);
        brief.dangers = whole;
        match room {
            Room::Tightest => {
                let short = short.into_iter().map(|danger| format!("! {danger}. "));
                brief.words = short.chain([brief.words]).collect();
            }
            _ => brief.dangers.extend(short),
        }
        page.push(Block::Brief(brief));
    }
    apart(&mut page);
    page.extend(
        verdicts::lines(plan, car, room.is_tight()).into_iter().map(|(label, words)| note(&label, words)),
    );
    apart(&mut page);
    page.extend(foot(plan, heading));
    page
}

/// The car and the state it must be in.
fn state(plan: &Plan, heading: &Heading, car: Car<'_>) -> String {
    let (model, circuit, now) = (car.model, &car.model.circuit, car.state);
    let mut parts: Vec<String> = Vec::new();
    let named: Vec<&str> = [heading.vehicle.as_str(), heading.circuit.as_str()]
        .into_iter()
        .filter(|words| !words.is_empty())
        .collect();
    if !named.is_empty() {
        parts.push(format!("{}.", named.join(", ")));
    }
    let key = match now.key {
        Key::Off => "Key off",
        Key::Accessory => "Key in accessory",
        Key::Run if turns(circuit, now) => "Key in run, engine running",
        Key::Run => "Key in run, engine stopped",
        Key::Crank => "Key held in crank",
    };
    let mut held: Vec<String> = vec![key.to_owned()];
    held.extend(now.positions.iter().map(|(&id, position)| {
        let part = circuit.part(id);
        match part.label.is_empty() {
            true => format!("{} held in {position}", part.name),
            false => format!("{} ({}) held in {position}", part.name, part.label),
        }
    }));
    if now.positions.is_empty() && circuit.parts.iter().any(|part| !part.positions.is_empty()) {
        held.push("every switch at rest".into());
    }
    held.extend(now.commands.iter().map(|(&id, &on)| {
        let named = circuit.outputs.iter().find(|(_, branch)| *branch == id);
        let name = named.map_or(circuit.part(circuit.branch(id).part).name.as_str(), |(name, _)| name);
        format!("{name} commanded {}", if on { "on" } else { "off" })
    }));
    if !now.battery {
        held.push("battery disconnected".into());
    }
    let out = crate::state::unplugged(circuit, now);
    held.push(if out.is_empty() { "everything mated".into() } else { format!("{} out", out.join(", ")) });
    held.extend(plan.supply.map(|supply| format!("supply {}", volts(supply))));
    parts.push(format!("{}.", held.join(", ")));
    parts.extend(options(model));
    if !plan.facts.is_empty() {
        let known: Vec<&str> = plan.facts.iter().map(|fact| fact.words.as_str()).collect();
        parts.push(format!("Known: {}.", known.join(", ")));
    }
    parts.join(" ")
}

/// Whether a generator turns in this state.
fn turns(circuit: &Circuit, state: &State) -> bool {
    circuit.branches.iter().any(|branch| match &branch.kind {
        BranchKind::Generator { turning, .. } => circuit.holds(turning, branch.part, state),
        _ => false,
    })
}

/// Serial and options, as far as the file asks for them.
fn options(model: &Model) -> Vec<String> {
    let mut said: Vec<String> = model.car.serial.iter().map(|serial| format!("serial {serial}")).collect();
    said.extend(
        model
            .car
            .options
            .iter()
            .map(|(name, &there)| format!("{} {name}", if there { "with" } else { "without" })),
    );
    let open = model.vehicle.options.iter().filter(|(name, _)| !model.car.options.contains_key(name));
    let open: Vec<&str> = open.map(|(name, _)| name.as_str()).collect();
    let mut parts: Vec<String> = Vec::new();
    if !said.is_empty() {
        parts.push(format!("This car: {}.", said.join(", ")));
    }
    if !open.is_empty() {
        parts.push(format!("Taken as fitted: {}.", open.join(", ")));
    }
    parts
}

/// Dangers with their kind, then the rules of the trade.
fn dangers(plan: &Plan, room: Room) -> Vec<Block> {
    let mut hurts: Vec<(&'static str, &str, Vec<&str>)> = Vec::new();
    for note in &plan.cautions {
        let Some(hazard) = note.hazard else { continue };
        let kind = danger::word(hazard);
        match hurts.iter_mut().find(|(known, words, _)| *known == kind && *words == note.words) {
            Some((.., at)) if at.contains(&note.at.as_str()) => {}
            Some((.., at)) => at.push(&note.at),
            None => hurts.push((kind, &note.words, vec![&note.at])),
        }
    }
    let mut blocks: Vec<Block> = hurts
        .into_iter()
        .map(|(kind, words, at)| Block::Note {
            label: format!("{} at {}", kind.to_uppercase(), at.join(", ")),
            words: words.to_owned(),
        })
        .collect();
    let rules = plan.cautions.iter().filter(|note| note.hazard.is_none()).map(|note| note.words.clone());
    let rules: Vec<String> = rules.collect();
    let label = "Rules".to_owned();
    match room {
        _ if room.is_tight() => blocks.push(Block::Note { label, words: rules.join(" ") }),
        _ => {
            blocks.push(Block::Note { label, words: rules.first().cloned().unwrap_or_default() });
            blocks.push(Block::List(rules.into_iter().skip(1).collect()));
        }
    }
    blocks
}

fn before(plan: &Plan) -> String {
    let options = if plan.complaint.is_some() { "" } else { ", --option" };
    format!("Answers go back into the plan: --supply, --fact{options}.")
}

/// What costs no tool but the battery's two posts.
fn questions(car: Car<'_>, room: Room) -> Vec<String> {
    let circuit = &car.model.circuit;
    let batteries =
        circuit.branches.iter().filter(|branch| matches!(branch.kind, BranchKind::Source { .. })).count();
    let battery = match batteries {
        0 | 1 if room == Room::Tightest => "battery ____ V".to_owned(),
        0 | 1 => {
            let least = judge::REST * car.model.vehicle.system_volts() / 12.0;
            format!("battery ____ V at rest, min {least:.1}")
        }
        several => format!("{several} batteries at rest {}", vec!["____ V"; several].join(" ")),
    };
    let blank = if room.is_tight() { "____" } else { "________" };
    let asked =
        ["codes of all modules", "recent work", "options/serial", "wet or loose plugs", "added equipment"];
    std::iter::once(battery).chain(asked.map(|what| format!("{what} {blank}"))).collect()
}

fn meter(plan: &Plan, circuit: &Circuit) -> String {
    if plan.complaint.is_some() {
        return "Leads as each step says; black on battery negative where none is said.".into();
    }
    let meter = &plan.meter;
    let described: Vec<&str> =
        [meter.colour.as_str(), meter.place.as_str()].into_iter().filter(|w| !w.is_empty()).collect();
    let described = if described.is_empty() { String::new() } else { format!(" ({})", described.join(", ")) };
    // The place may stand beyond a contact of the pin that was read.
    let sound = match meter.name == plan.pin {
        true => String::new(),
        false => format!(" Sound there: {}.", span_of_volts(meter.healthy.low, meter.healthy.high)),
    };
    let near = touched(circuit, "", &[meter.red]);
    let hurts = plan.cautions.iter().filter(|note| near.contains(&note.at.as_str()));
    let kinds: BTreeSet<String> = hurts
        .filter_map(|note| {
            Some(format!(" ! {} at {}, as above.", danger::word(note.hazard?).to_uppercase(), note.at))
        })
        .collect();
    let kinds: String = kinds.into_iter().collect();
    format!("Red stays at {}{described}, black on {}.{sound}{kinds}", meter.name, meter.black)
}

/// How long it takes, what was proved of that, and what is done with a plug that was parted.
fn manner(plan: &Plan) -> String {
    let proved = match plan.optimality {
        Optimality::Optimal => "optimal".to_owned(),
        Optimality::Within { ratio, .. } if ratio <= 2.0 => format!("within {ratio:.2} of the bound"),
        _ => "best found".to_owned(),
    };
    let manner = match &plan.complaint {
        None => "Leave out what you part.",
        Some(complaint) if complaint.set_up > 0.0 => {
            return format!(
                "{}, {} of them for sleep, {proved}. Put back what you part.",
                minutes(plan.expected_minutes),
                minutes(complaint.set_up)
            );
        }
        Some(_) => "Put back what you part or pull.",
    };
    format!("{}, {proved}. {manner}", minutes(plan.expected_minutes))
}

/// What stands on the pages behind, and what binds before a module is named.
fn foot(plan: &Plan, heading: &Heading) -> Vec<Block> {
    let mut notes: Vec<(&str, &str)> = Vec::new();
    if heading.doubts.as_ref().is_some_and(|doubts| !doubts.is_empty()) {
        notes.push(("Unknown", "what the file does not know could change step 1: see --full."));
    }
    let gated = |next: &Next| matches!(next, Next::End(end) if end.gated && !end.suspects.is_empty());
    let ends = plan.steps.iter().flat_map(|step| &step.outcomes).map(|outcome| &outcome.next);
    let module = !plan.module_gates.is_empty() || ends.chain([&plan.start]).any(gated);
    notes.push(match (plan.steps.is_empty(), module) {
        (true, false) => ("--full", "prints everything else: every suspect, tables, proofs."),
        (true, true) => ("--full", "prints the rest. A module is convicted only after its gates there."),
        (false, false) => ("No row fits", "stop, read again; it stays: --full, which prints all the rest."),
        (false, true) => {
            ("No row fits", "stop: --full. A module is convicted only after its gates (--full).")
        }
    });
    notes.into_iter().map(|(label, words)| Block::Note { label: label.into(), words: words.into() }).collect()
}

fn brief(plan: &Plan, step: &Step, room: Room) -> Brief {
    // Whoever writes a reading writes its unit: a meter changes its range.
    let blank = match step.sense {
        Sense::Meter if room == Room::Tightest => "______",
        Sense::Meter => "read ______",
        _ => "seen ______",
    };
    Brief {
        number: step.id,
        dangers: Vec::new(),
        words: step.instruction.clone(),
        minutes: minutes(step.minutes),
        blank: blank.into(),
        rows: rows(plan, step, room),
        layout: match room {
            Room::Wide | Room::Close => Layout::Rows,
            Room::Tight => Layout::Beside,
            Room::Tightest => Layout::RunOn,
        },
    }
}

/// Dangers of what a step goes to: the plug or part, the part it sits on, and both leads' places. In full, and in short
/// what was said before an earlier step, or at the page's head where room is scarce; a gate is said in full once more.
fn before_step(
    plan: &Plan,
    step: &Step,
    circuit: &Circuit,
    warned: &mut Vec<String>,
    room: Room,
) -> (Vec<String>, Vec<String>) {
    let mut points: Vec<PointId> = circuit.point_named(&step.target).into_iter().collect();
    if step.sense == Sense::Meter {
        // Where the meter rests for the whole plan is said once, at the meter.
        let rests = |point: &PointId| plan.complaint.is_none() && *point == plan.meter.red;
        points.extend([step.leads.red, step.leads.black].into_iter().filter(|point| !rests(point)));
    }
    let touched = touched(circuit, &step.target, &points);
    let (mut whole, mut short): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
    for note in plan.cautions.iter().filter(|note| touched.contains(&note.at.as_str())) {
        let Some(hazard) = note.hazard else { continue };
        let kind = danger::word(hazard).to_uppercase();
        let line = format!("{kind}: {}", note.words);
        let gate = matches!(hazard, Hazard::Airbag | Hazard::HighVoltage | Hazard::Fuel);
        let said = warned.contains(&line) || room == Room::Tightest && !gate;
        let (lines, line) = match said {
            true => (&mut short, format!("{kind} at {}, as above", note.at)),
            false => {
                warned.push(line.clone());
                (&mut whole, line)
            }
        };
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    (whole, short)
}

/// Names of what a hand comes near at these points and at a plug or part: with the part that a plug sits on.
fn touched<'p>(circuit: &'p Circuit, target: &'p str, points: &[PointId]) -> Vec<&'p str> {
    let mut touched: Vec<&str> = vec![target];
    for &point in points {
        if let PointKind::Cavity { connector, .. } = circuit.point(point).kind {
            touched.push(&circuit.connector(connector).name);
            continue;
        }
        let here = circuit.branches.iter().filter(|branch| branch.a == point || branch.b == point);
        let parts = here.filter(|branch| !branch.kind.is_copper());
        touched.extend(parts.map(|branch| circuit.part(branch.part).name.as_str()));
    }
    let owners = touched.iter().filter_map(|name| circuit.connector_named(name));
    let owners = owners.filter_map(|id| circuit.connector(id).owner);
    let owners: Vec<&str> = owners.map(|part| circuit.part(part).name.as_str()).collect();
    touched.extend(owners);
    touched
}

/// A row: outcomes that lead to the same end, or that the page says in the same words.
struct Row<'p> {
    spans: Vec<Range>,
    words: Vec<&'p str>,
    outcome: &'p StepOutcome,
    means: Vec<String>,
}

/// What a meter does that nothing else holds.
const WANDERS: &str = "wanders";

/// Every outcome but "fits none of these", which the page says once.
fn rows(plan: &Plan, step: &Step, room: Room) -> Vec<(String, Vec<String>)> {
    let mut rows: Vec<Row<'_>> = Vec::new();
    for outcome in step.outcomes.iter().filter(|outcome| outcome.range.is_some() || outcome.wanders) {
        let means = meanings(plan, outcome, room);
        let last = rows.len().checked_sub(1);
        let known = rows.iter().position(|row| same_end(row.outcome, outcome) || row.means == means);
        let at = known.unwrap_or_else(|| {
            rows.push(Row { spans: Vec::new(), words: Vec::new(), outcome, means });
            rows.len() - 1
        });
        let row = &mut rows[at];
        if outcome.floats && !row.words.contains(&WANDERS) {
            row.words.push(WANDERS);
        }
        match (outcome.range, row.spans.last_mut()) {
            // Neighbours take in what lies between them.
            (Some(range), Some(before)) if !step.unit.is_empty() && last == Some(at) => {
                before.high = before.high.max(range.high);
            }
            (Some(range), _) if !step.unit.is_empty() => row.spans.push(range),
            _ if outcome.wanders => row.words.push("unsteady"),
            _ if !row.words.contains(&outcome.class.as_str()) => row.words.push(&outcome.class),
            _ => {}
        }
    }
    let low = |row: &Row<'_>| row.spans.first().map_or(f64::INFINITY, |range| range.low);
    let least = rows.iter().map(low).fold(f64::INFINITY, f64::min);
    rows.iter().map(|row| (shown(row, step.unit, low(row) <= least), row.means.clone())).collect()
}

/// Whether two outcomes lead to the same step, or leave the same repair units.
fn same_end(one: &StepOutcome, other: &StepOutcome) -> bool {
    match (&one.next, &other.next) {
        (Next::Step(one), Next::Step(other)) => one == other,
        (Next::End(one), Next::End(other)) => {
            let units = |names: &[String]| names.iter().cloned().collect::<BTreeSet<_>>();
            units(&one.units) == units(&other.units)
        }
        _ => false,
    }
}

fn shown(row: &Row<'_>, unit: &str, lowest: bool) -> String {
    let spans: Vec<[f64; 2]> = row.spans.iter().map(|range| [range.low, range.high]).collect();
    let numbers = match (spans.is_empty(), unit) {
        (true, _) => None,
        (_, "ohm") => Some(spans_of_ohms(&spans, lowest)),
        _ => Some(spans_of_volts(&spans, lowest)),
    };
    let words = row.words.iter().map(|word| (*word).to_owned());
    numbers.into_iter().chain(words).collect::<Vec<_>>().join(" or ")
}

/// What an outcome means, in fewer and fewer words.
fn meanings(plan: &Plan, outcome: &StepOutcome, room: Room) -> Vec<String> {
    let left = |most: usize| some_of(&outcome.units, most);
    match &outcome.next {
        Next::Step(id) if room.is_tight() => vec![format!("→ {id}")],
        Next::Step(id) => (1..=NAMED).rev().map(|most| format!("→ step {id}: {}", left(most))).collect(),
        Next::End(end) if end.units.is_empty() => vec!["stop: --full".into()],
        Next::End(end) => {
            let mut words = Vec::new();
            if let ([_], true) = (&end.units[..], room != Room::Tightest) {
                words.extend(verdicts::how(plan, &end.suspects));
            }
            words.extend((1..=NAMED).rev().map(left));
            words
        }
    }
}

/// `B4`, `B4 or B3`, `B4, B3, B2 …+11 more`.
pub(super) fn some_of(names: &[String], most: usize) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] if names.len() <= most => format!("{} or {last}", first.join(", ")),
        _ => format!("{} …+{} more", names[..most].join(", "), names.len() - most),
    }
}
