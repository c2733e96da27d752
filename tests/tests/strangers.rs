//! Thirty circuits that nobody tuned the tool to. Their figures were worked out by a solver of its own
//! (`strangers/solve.py`) from netlists written by hand, and committed before the engine read one of the files.

use std::path::{Path, PathBuf};

use halfsplit_base::{Files, Severity, disk};
use halfsplit_circuit::{Fault, Hazard, Meter, PointId, Reading, Solver, State};
use halfsplit_model::{Model, quantity, reading};
use halfsplit_plan::{Complaint, Inquiry, Request, plan, plan_complaint, replay::Replay};
use halfsplit_syntax::units::Dimension;
use serde_json::Value;

/// How far a figure may be off: a share of itself, or one unit of its last digit, whichever is more.
const SHARE: f64 = 0.05;
/// Volts or ohms that count as one unit where a reading says no other.
const UNIT: f64 = 0.01;
/// Above this an ohmmeter shows OL.
const OVERLOAD: f64 = 60e6;

/// A stranger's folder, its circuit as the engine has it, and what was worked out.
struct Stranger {
    name: String,
    model: Model,
    expected: Value,
}

fn folders() -> Vec<PathBuf> {
    let home = Path::new(env!("CARGO_MANIFEST_DIR")).join("strangers");
    let mut folders: Vec<PathBuf> = std::fs::read_dir(home)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.join("expect.json").exists())
        .collect();
    folders.sort();
    folders
}

impl Stranger {
    fn open(folder: &Path) -> Stranger {
        let name = folder.file_name().unwrap().to_string_lossy().into_owned();
        let text = std::fs::read_to_string(folder.join("expect.json")).unwrap();
        let expected: Value = serde_json::from_str(&text).unwrap();
        let path = folder.join(text_of(&expected["file"]));
        let mut files = Files::default();
        let file = files.set(path.clone(), &disk::read(&path).unwrap());
        files.set_root(file, disk::library_root(&path));
        halfsplit_model::library::load(&mut files, file, &mut disk::read_in);
        let checked = halfsplit_check::check(&files, file);
        let loud: Vec<&str> = checked
            .findings
            .iter()
            .filter(|finding| matches!(finding.severity, Severity::Error | Severity::Warning))
            .map(|finding| finding.message.as_str())
            .collect();
        assert!(loud.is_empty(), "{name} does not check clean: {loud:?}");
        Stranger { name, model: checked.model, expected }
    }

    /// The state of a reading: the stranger's own, with what the reading says besides.
    fn state(&self, own: &Value) -> State {
        let base = &self.expected["state"];
        let said = |key: &str| own.get(key).or_else(|| base.get(key));
        let key = said("key").map_or("run", text_of);
        let mut state = State::with_key(self.model.key(key).unwrap());
        state.battery = said("battery").map_or("on", text_of) != "off";
        for name in said("out").and_then(Value::as_array).into_iter().flatten() {
            self.model.unplug(&mut state, text_of(name)).unwrap();
        }
        for (item, position) in said("set").and_then(Value::as_object).into_iter().flatten() {
            self.model.set(&mut state, &format!("{item}={}", text_of(position))).unwrap();
        }
        state
    }

    fn faults(&self) -> Vec<Fault> {
        let words = &self.expected["truth"]["fault"];
        let each = words.as_array().cloned().unwrap_or_else(|| vec![words.clone()]);
        each.iter().map(|words| self.model.fault(text_of(words)).unwrap()).collect()
    }

    fn point(&self, name: &str) -> PointId {
        self.model.names.point(name).unwrap_or_else(|_| panic!("{}: no pin {name}", self.name))
    }

    /// Every figure of this stranger on which the two disagree, and how many there are in all.
    fn compare(&self) -> (usize, Vec<String>) {
        let solver = Solver::new(&self.model.circuit);
        let (mut count, mut apart) = (0, Vec::new());
        for entry in self.expected["readings"].as_array().unwrap() {
            let red = self.point(text_of(&entry["pin"]));
            let black = match entry["black"].as_str() {
                Some(name) => self.point(name),
                None => self.model.circuit.negative.unwrap(),
            };
            let meter = match text_of(&entry["quantity"]) {
                "ohms" => Meter::ohms(red, black),
                _ => Meter::volts(red, black),
            };
            let state = self.state(&entry["state"]);
            for (which, faults) in [("sound", Vec::new()), ("faulty", self.faults())] {
                count += 1;
                let said = match solver.read(&state, &faults, &meter) {
                    Ok(reading) if agrees(entry, which, &reading) => continue,
                    Ok(reading) => {
                        format!("{} ({} to {})", reading.nominal, reading.low, reading.high)
                    }
                    Err(error) => format!("no reading: {error}"),
                };
                apart.push(format!(
                    "{}: {} to {} {}, {which}: worked out {}, the engine says {said}",
                    self.name, entry["pin"], entry["black"], entry["state"], entry[which]
                ));
            }
        }
        (count, apart)
    }
}

fn text_of(value: &Value) -> &str {
    value.as_str().unwrap_or_else(|| panic!("{value} is no text"))
}

/// Whether the engine's reading is the figure worked out. Where filaments decide, the figure was worked out at their
/// hot resistance, and it has to lie in the engine's range from cold to hot.
fn agrees(entry: &Value, which: &str, reading: &Reading) -> bool {
    let Some(worked) = entry[which].as_f64() else { return reading.nominal > OVERLOAD };
    let allowed = (SHARE * worked.abs()).max(entry["unit"].as_f64().unwrap_or(UNIT));
    let near = |value: f64| (value - worked).abs() <= allowed;
    near(reading.nominal)
        || entry["filament"] == true && (reading.low - allowed..=reading.high + allowed).contains(&worked)
}

#[test]
fn the_engine_gives_every_figure_that_was_worked_out() {
    let (mut count, mut apart) = (0, Vec::new());
    for folder in folders() {
        let (figures, differing) = Stranger::open(&folder).compare();
        println!("{}: {} of {figures}", folder.display(), figures - differing.len());
        count += figures;
        apart.extend(differing);
    }
    assert!(apart.is_empty(), "{} of {count} figures differ:\n{}", apart.len(), apart.join("\n"));
}

#[test]
fn there_are_thirty_strangers_whose_expectations_agree_with_themselves() {
    let folders = folders();
    assert_eq!(folders.len(), 30);
    for folder in folders {
        let stranger = Stranger::open(&folder);
        let (name, expected) = (&stranger.name, &stranger.expected);
        assert!(expected["readings"].as_array().unwrap().len() >= 4, "{name}");
        assert!(folder.join("story.md").exists(), "{name} has no story");
        let culprits = names(&expected["truth"]["unit"]);
        let never = names(&expected["conclusion"]["not_alone"]);
        for unit in names(&expected["conclusion"]["holds"]) {
            assert!(culprits.contains(&unit), "{name}: {unit} is not what is wrong");
        }
        for unit in &never {
            assert!(!culprits.contains(unit), "{name}: {unit} is what is wrong");
        }
        for item in never.iter().chain(&names(&expected["first_step"])) {
            assert!(stranger.model.names.any(item).is_ok(), "{name}: nothing is called {item}");
        }
    }
}

fn names(value: &Value) -> Vec<String> {
    value.as_array().unwrap().iter().map(|name| text_of(name).to_owned()).collect()
}

/// What a plan came to, in names: whoever joins the planner to the strangers fills it from the plan of
/// `expect.json`'s complaint, state and facts, walked with the truth injected.
struct Outcome {
    /// The class of the observation, in the words of `expect.json`.
    class: String,
    /// What the first step is about: a connector, a part or a pin.
    first_step: String,
    /// The units that the walk ends at, each with the names of its parts.
    end: Vec<Vec<String>>,
    /// Targets of the walk's steps.
    way: Vec<String>,
}

/// What is wrong with a plan's outcome, by what the stranger expects; nothing where all is right.
fn faults_of_outcome(expected: &Value, outcome: &Outcome) -> Vec<String> {
    let mut wrong = Vec::new();
    if outcome.class != text_of(&expected["class"]) {
        wrong.push(format!("class {}, not {}", outcome.class, expected["class"]));
    }
    let wanted = names(&expected["truth"]["unit"]);
    let is_wanted = |name: &String| wanted.iter().any(|wanted| name.starts_with(wanted.as_str()));
    if !outcome.end.iter().flatten().any(is_wanted) {
        wrong.push(format!("ends at {:?} without any of {wanted:?}", outcome.end));
    }
    if let [alone] = outcome.end.as_slice()
        && let not_alone = names(&expected["conclusion"]["not_alone"])
        && alone.iter().all(|part| not_alone.contains(part))
    {
        wrong.push(format!("convicts {alone:?} alone"));
    }
    wrong
}

/// Whether the first step is at one of the story's places; a cavity of a connector that is named is at it.
fn begins_right(expected: &Value, outcome: &Outcome) -> bool {
    let connector = |name: &str| name.split([':', '.']).next().unwrap_or_default().to_owned();
    let first = &outcome.first_step;
    names(&expected["first_step"]).iter().any(|name| name == first || *name == connector(first))
}

/// Every danger of a circuit, dealt with by trained people.
fn cleared(model: &Model) -> Vec<(Hazard, String)> {
    let circuit = &model.circuit;
    let of_parts = circuit.parts.iter().flat_map(|p| p.cautions.iter().map(|c| (c.hazard, p.name.clone())));
    let of_plugs =
        circuit.connectors.iter().flat_map(|p| p.cautions.iter().map(|c| (c.hazard, p.name.clone())));
    of_parts.chain(of_plugs).collect()
}

/// Draws the plan and walks it with the truth in the circuit.
fn outcome(stranger: &Stranger) -> Result<Outcome, String> {
    let (model, expected) = (&stranger.model, &stranger.expected);
    let circuit = &model.circuit;
    let state = stranger.state(&Value::Null);
    let facts = names(&expected["facts"]);
    let complaint = &expected["complaint"];
    let mut class = None;
    let plan = if let Some(words) = complaint["words"].as_str() {
        let complaint = Complaint::parse(circuit, words).map_err(|e| e.to_string())?;
        let mut inquiry = Inquiry::new(complaint, state);
        inquiry.facts = facts;
        inquiry.cleared = cleared(model);
        plan_complaint(circuit, &inquiry, None)
    } else {
        let point = |name: &Value| name.as_str().map(|name| model.names.point(name).unwrap());
        let reads = text_of(&complaint["reads"]);
        let (pin, black) = (point(&complaint["pin"]).unwrap(), point(&complaint["black"]));
        if let Ok(ohms) = quantity(reads, Dimension::Ohms) {
            class = Some("value".to_owned());
            let complaint = Complaint::Ohms { red: pin, black: black.unwrap(), reads: ohms };
            let mut inquiry = Inquiry::new(complaint, state);
            inquiry.facts = facts;
            inquiry.cleared = cleared(model);
            plan_complaint(circuit, &inquiry, None)
        } else {
            let mut request = Request::new(pin, state);
            (request.black, request.facts) = (black, facts);
            request.cleared = cleared(model);
            match reading(reads, Dimension::Volts) {
                Ok([low, high]) => {
                    request.reads = Some(0.5 * (low + high));
                    request.reads_off = Some(0.5 * (high - low));
                }
                Err(_) => request.floats = true,
            }
            plan(circuit, &request)
        }
    };
    let plan = plan.map_err(|error| error.to_string())?;
    let class = class.or_else(|| plan.class.map(|class| class.to_string())).unwrap_or_else(|| {
        let class = plan.complaint.as_ref().map_or("", |complaint| complaint.class);
        match class {
            "one function dead" => "dead function",
            _ if class.starts_with("weak") || class.starts_with("slow crank") => "weak",
            other => other,
        }
        .to_owned()
    });
    let walk = Replay::new(circuit).walk(&plan, &stranger.faults()).map_err(|error| error.to_string())?;
    let mut units: Vec<usize> = walk.end.suspects.iter().filter_map(|&at| plan.suspects[at].unit).collect();
    units.sort_unstable();
    units.dedup();
    let end = units
        .iter()
        .map(|&unit| {
            let unit = &plan.units[unit];
            let parts = unit.parts.iter().map(|&part| circuit.part(part).name.clone());
            let own = if unit.parts.is_empty() { unit.name.clone() } else { String::new() };
            parts.chain([own]).filter(|name| !name.is_empty()).collect()
        })
        .collect();
    let first_step = plan.steps.first().map_or(String::new(), |step| step.target.clone());
    let way = walk.steps.iter().map(|&id| plan.step(id).unwrap().target.clone()).collect();
    Ok(Outcome { class, first_step, end, way })
}

/// How many plans begin where the story begins, at least: what is read first is a matter of minutes, and a cheap
/// reading somewhere else is no mistake by itself.
const BEGIN_RIGHT: usize = 21;

#[test]
fn the_planner_is_right_on_strangers() {
    let (mut wrong, mut elsewhere) = (Vec::new(), Vec::new());
    for folder in folders() {
        let stranger = Stranger::open(&folder);
        let name = folder.file_name().unwrap().to_string_lossy().into_owned();
        match outcome(&stranger) {
            Ok(outcome) => {
                let faults = faults_of_outcome(&stranger.expected, &outcome);
                if !faults.is_empty() {
                    let (way, end) = (&outcome.way, &outcome.end);
                    wrong.push(format!("{name}: {} (way {way:?}, end {end:?})", faults.join("; ")));
                }
                if !begins_right(&stranger.expected, &outcome) {
                    elsewhere.push(format!("{name}: {}", outcome.first_step));
                }
            }
            Err(error) => wrong.push(format!("{name}: {error}")),
        }
    }
    assert!(wrong.is_empty(), "{} of 30 wrong:\n{}", wrong.len(), wrong.join("\n"));
    let right = folders().len() - elsewhere.len();
    assert!(right >= BEGIN_RIGHT, "{right} of 30 begin at the story's place:\n{}", elsewhere.join("\n"));
}

#[test]
fn a_wrong_outcome_is_told_from_a_right_one() {
    let stranger = Stranger::open(&folders()[0]);
    let right = || Outcome {
        class: "near zero".into(),
        first_step: "X41".into(),
        end: vec![vec!["B23".into()], vec!["W25".into()]],
        way: Vec::new(),
    };
    let faults = |outcome: Outcome| faults_of_outcome(&stranger.expected, &outcome).len();
    assert_eq!(faults(right()), 0);
    assert_eq!(faults(Outcome { class: "low".into(), ..right() }), 1);
    let begins = |first_step: &str| {
        begins_right(&stranger.expected, &Outcome { first_step: first_step.into(), ..right() })
    };
    assert!(begins("X41") && begins("X41:1") && !begins("A2.X2"));
    assert_eq!(faults(Outcome { end: vec![vec!["W25".into()]], ..right() }), 1);
    assert_eq!(faults(Outcome { end: vec![vec!["A2".into()]], ..right() }), 2);
}
