//! This program in the place of the command: `plan` and `case` from a command line, printed as JSON.
//!
//! The only file here that calls the planner. It does what the command's own verbs do with the same words.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use halfsplit_base::{Files, Severity, disk};
use halfsplit_circuit::State;
use halfsplit_model::{Car, Model, quantity};
use halfsplit_plan::{Complaint, Inquiry, Request, case::follow, plan, plan_complaint};
use halfsplit_render::{case as case_sheet, plan as sheet};
use halfsplit_syntax::units::Dimension;
use serde_json::Value;

/// Answers a command line; what goes wrong is told on standard error.
pub fn run(words: &[String]) -> ExitCode {
    match answer(words) {
        Ok(json) => {
            println!("{json}");
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}

/// Options of a command line by name, and what stands without one.
struct Words {
    plain: Vec<String>,
    named: Vec<(String, String)>,
}

impl Words {
    fn of(words: &[String]) -> Words {
        let mut found = Words { plain: Vec::new(), named: Vec::new() };
        let mut words = words.iter();
        while let Some(word) = words.next() {
            match word.strip_prefix("--") {
                Some("battery-off") => found.named.push(("battery-off".to_owned(), String::new())),
                Some(name) => {
                    let named = match name.split_once('=') {
                        Some((name, value)) => (name.to_owned(), value.to_owned()),
                        None => (name.to_owned(), words.next().cloned().unwrap_or_default()),
                    };
                    found.named.push(named);
                }
                None => found.plain.push(word.clone()),
            }
        }
        found
    }

    fn all<'w>(&'w self, name: &'w str) -> impl Iterator<Item = &'w str> + 'w {
        self.named.iter().filter(move |(n, _)| n == name).map(|(_, value)| value.as_str())
    }

    fn one<'w>(&'w self, name: &'w str) -> Option<&'w str> {
        self.all(name).next()
    }
}

fn answer(words: &[String]) -> Result<Value, String> {
    let words = Words::of(words);
    let file = PathBuf::from(words.plain.get(1).ok_or("which file?")?);
    match words.plain.first().map(String::as_str) {
        Some("plan") => planned(&file, &words),
        Some("case") => followed(&file),
        _ => Err("plan or case?".to_owned()),
    }
}

fn open(file: &Path) -> Result<(Files, halfsplit_base::FileId, halfsplit_check::Checked), String> {
    let mut files = Files::default();
    let text = disk::read(file).map_err(|error| error.to_string())?;
    let id = files.set(file.to_path_buf(), &text);
    files.set_root(id, disk::library_root(file));
    halfsplit_model::library::load(&mut files, id, &mut disk::read_in);
    let checked = halfsplit_check::check(&files, id);
    match checked.findings.iter().find(|finding| finding.severity == Severity::Error) {
        Some(error) => Err(format!("{}: {}", error.rule, error.message)),
        None => Ok((files, id, checked)),
    }
}

fn state(model: &Model, words: &Words) -> Result<State, String> {
    let mut state = State::with_key(model.key(words.one("key").unwrap_or("run")).map_err(|e| e.to_string())?);
    state.battery = words.one("battery-off").is_none();
    if let Some(volts) = words.one("supply") {
        state.set_supply(quantity(volts, Dimension::Volts)?);
    }
    for name in words.all("unplug").flat_map(|names| names.split(',')) {
        model.unplug(&mut state, name.trim()).map_err(|e| e.to_string())?;
    }
    for setting in words.all("set") {
        model.set(&mut state, setting).map_err(|e| e.to_string())?;
    }
    Ok(state)
}

fn planned(file: &Path, words: &Words) -> Result<Value, String> {
    let (files, id, checked) = open(file)?;
    let options = words.all("option").map(|name| (name.to_owned(), true));
    let options = options.chain(words.all("without").map(|name| (name.to_owned(), false))).collect();
    let car = Car { options, serial: words.one("serial").and_then(|number| number.parse().ok()) };
    let model =
        if car == Car::default() { checked.model } else { halfsplit_model::lower_for(&files, id, &car) };
    let state = state(&model, words)?;
    let point = |name: &str| model.names.point(name).map_err(|error| format!("{name}: {error:?}"));
    let facts: Vec<String> = words.all("fact").map(str::to_owned).collect();
    let reads = words.one("reads").map(str::trim);
    let ohms = reads.and_then(|reads| match quantity(reads, Dimension::Ohms) {
        Ok(ohms) => Some(ohms),
        Err(_) => (reads == "OL").then_some(f64::INFINITY),
    });
    let complaint = match (words.one("complaint"), words.plain.get(2), ohms) {
        (Some(said), ..) => Some(Complaint::parse(&model.circuit, said).map_err(|e| e.to_string())?),
        (None, Some(pin), Some(reads)) => {
            let black = words.one("black").ok_or("ohms are read between two pins: give --black")?;
            Some(Complaint::Ohms { red: point(pin)?, black: point(black)?, reads })
        }
        _ => None,
    };
    let drawn = match complaint {
        Some(complaint) => {
            let mut inquiry = Inquiry::new(complaint, state);
            inquiry.facts = facts;
            plan_complaint(&model.circuit, &inquiry, None).map_err(|e| e.to_string())?
        }
        None => {
            let pin = words.plain.get(2).ok_or("a plan is for a pin or for a complaint")?;
            let mut request = Request::new(point(pin)?, state);
            match reads {
                Some("floats") => request.floats = true,
                reads => request.reads = reads.map(|volts| quantity(volts, Dimension::Volts)).transpose()?,
            }
            request.black = words.one("black").map(point).transpose()?;
            request.meter = words.one("meter").map(point).transpose()?;
            request.facts = facts;
            plan(&model.circuit, &request).map_err(|e| e.to_string())?
        }
    };
    let heading = sheet::Heading { circuit: model.title.clone(), ..sheet::Heading::default() };
    Ok(sheet::json(&drawn, &heading))
}

fn followed(file: &Path) -> Result<Value, String> {
    let (files, _, checked) = open(file)?;
    let case = checked.model.case.as_deref().cloned().ok_or("it is no case")?;
    if let Some(circuit) = case.circuit {
        let findings = halfsplit_check::check(&files, circuit).findings;
        if let Some(error) = findings.iter().find(|finding| finding.severity == Severity::Error) {
            return Err(format!("{}: {}", error.rule, error.message));
        }
    }
    let job = halfsplit_check::job(&checked.model).ok_or("it is no case")?;
    let report = follow(&checked.model.circuit, &job).map_err(|error| error.to_string())?;
    let said = |o: &halfsplit_model::case::Observation| o.words.clone();
    let words = case_sheet::Words {
        title: case.title.clone(),
        readings: case.log.iter().skip(case.void).map(said).collect(),
        facts: case.facts.iter().map(|fact| fact.words.clone()).collect(),
        ..case_sheet::Words::default()
    };
    Ok(case_sheet::json(&report, &words))
}
