//! `halfsplit case FILE`: what the readings of one car's job amount to, and what comes next.

use std::{path::PathBuf, process::ExitCode};

use clap::{Args, ValueEnum};
use halfsplit_base::{FileId, Files, Severity};
use halfsplit_circuit::State;
use halfsplit_model::{
    Entity, Model,
    case::{Case, Observation},
};
use halfsplit_plan::case::{Job, follow, minutes_to};
use halfsplit_render::{case as sheet, page};

use crate::{Failure, cases, circuits, look, teach};

/// Which case, and how to print it.
#[derive(Args)]
pub struct Arguments {
    /// The case file.
    file: PathBuf,
    /// Hide a fault in the car of this case and take the learner's actions from standard input, one a line.
    #[arg(long, conflicts_with = "format")]
    teach: bool,
    /// The fault to hide, in the words of `halfsplit volts --fault`; a random one of the suspects if not given.
    #[arg(long, requires = "teach", value_name = "FAULT")]
    fault: Option<String>,
    /// The number of a random fault, as it was printed, to meet it again.
    #[arg(long, requires = "teach", conflicts_with = "fault", value_name = "NUMBER")]
    number: Option<u64>,
    /// Leave out what other confirmed cases in the library say of the weights.
    #[arg(long)]
    no_cases: bool,
    /// How to print it; a confirmed case in Markdown is its write-up.
    #[arg(long, value_enum, default_value = "text")]
    format: CaseFormat,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum CaseFormat {
    /// For a terminal.
    Text,
    /// For a work order.
    Markdown,
    /// For programs.
    Json,
}

/// Prints what the case amounts to.
pub fn run(arguments: &Arguments) -> Result<ExitCode, Failure> {
    let mut opened = open(&arguments.file)?;
    if arguments.teach {
        return teach::run(&opened, arguments.fault.as_deref(), arguments.number);
    }
    if let (Some(circuit), false) = (&opened.circuit, arguments.no_cases) {
        opened.job.seen = cases::seen(circuit, &opened.model, Some(&arguments.file))?;
    }
    opened.job.with_plan = opened.case.confirmed.is_some();
    let Opened { model, case, job, .. } = &opened;
    let report = follow(&model.circuit, job)?;
    let mut words = words(model, case);
    if let (Some(cause), Some(plan)) = (&mut words.confirmed, &report.plan) {
        cause.plan = minutes_to(&model.circuit, plan, &cause.name);
    }
    let (whole, write_up) = (sheet::page(&report, &words), sheet::write_up(&report, &words));
    match arguments.format {
        CaseFormat::Text => look::print(&page::text(&[whole, write_up].concat(), look::width()))?,
        CaseFormat::Markdown => {
            look::print(&page::markdown(if write_up.is_empty() { &whole } else { &write_up }))?;
        }
        CaseFormat::Json => look::print_json(&sheet::json(&report, &words))?,
    }
    Ok(ExitCode::SUCCESS)
}

/// A case on the circuit of its car.
pub struct Opened {
    /// The car's circuit.
    pub model: Model,
    /// The case.
    pub case: Case,
    /// The case as the planner takes it.
    pub job: Job,
    /// The circuit's file.
    pub circuit: Option<PathBuf>,
}

/// Reads a case, its circuit and what was added to its car. Errors in any of them stop the verb.
///
/// # Errors
/// If a file cannot be read or holds errors, or if it is no case.
pub fn open(path: &std::path::Path) -> Result<Opened, Failure> {
    let mut files = Files::default();
    let file = circuits::read(&mut files, path)?;
    let checked = halfsplit_check::check(&files, file);
    let Some(case) = checked.model.case.as_deref().cloned() else {
        return Err(format!("{} is no case: it has no `case` block", path.display()).into());
    };
    let mut findings = checked.findings;
    findings.extend(
        case.circuit.into_iter().flat_map(|circuit| halfsplit_check::check(&files, circuit).findings),
    );
    stop_at_errors(&files, file, &findings)?;
    let job = halfsplit_check::job(&checked.model).ok_or("it is no case")?;
    let circuit = case.circuit.map(|circuit| files.get(circuit).path.clone());
    Ok(Opened { model: checked.model, case, job, circuit })
}

fn stop_at_errors(files: &Files, file: FileId, findings: &[halfsplit_base::Finding]) -> Result<(), Failure> {
    let errors: Vec<_> = findings.iter().filter(|f| f.severity == Severity::Error).collect();
    for finding in &errors {
        eprintln!("{}", halfsplit_render::findings::plain(files, finding));
    }
    let noun = if errors.len() == 1 { "error" } else { "errors" };
    match errors.len() {
        0 => Ok(()),
        count => Err(format!(
            "{}: {count} {noun}; mend the file first (`halfsplit check` shows each in full)",
            files.get(file).path.display()
        )
        .into()),
    }
}

/// What the case says in words.
fn words(model: &Model, case: &Case) -> sheet::Words {
    let said = |o: &Observation| reading(model, o);
    let options = case.car.options.iter();
    let car =
        case.car.serial.map(|serial| format!("serial {serial}")).into_iter().chain(
            options.map(|(name, there)| if *there { name.clone() } else { format!("without {name}") }),
        );
    let confirmed = case.confirmed.as_ref().map(|confirmed| sheet::Cause {
        name: unit(model, confirmed.entity).unwrap_or_else(|| confirmed.item.words.clone()),
        mode: confirmed.mode.clone(),
        minutes: confirmed.minutes,
        plan: None,
    });
    sheet::Words {
        title: case.title.clone(),
        circuit: model.title.clone(),
        vehicle: model.vehicle.name.clone(),
        car: car.collect::<Vec<_>>().join(", "),
        readings: case.log.iter().skip(case.void).map(said).collect(),
        facts: case.facts.iter().map(|fact| fact.words.clone()).collect(),
        void: case.log.iter().take(case.void).map(said).collect(),
        cleared: (case.cleared.iter())
            .map(|c| format!("{} at {}: {}", c.hazard, c.item.words, c.words))
            .collect(),
        checked: case.checked.iter().map(|c| format!("{}: {}", c.what, c.words)).collect(),
        codes: case.codes.clone(),
        confirmed,
    }
}

/// The part that is at fault when a connector or pin of it is named.
pub fn unit(model: &Model, entity: Entity) -> Option<String> {
    let part = match entity {
        Entity::Part(part) => part,
        Entity::Connector(connector) => model.circuit.connector(connector).part,
        Entity::Point(_) | Entity::Output(_) => return None,
    };
    Some(model.circuit.part(part).name.clone())
}

/// A reading as written, with what was out.
fn reading(model: &Model, observation: &Observation) -> String {
    let State { unplugged, pulled, battery, .. } = &observation.state;
    let connectors = unplugged.iter().map(|&c| model.circuit.connector(c).name.as_str());
    let out: Vec<&str> =
        connectors.chain(pulled.iter().map(|&p| model.circuit.part(p).name.as_str())).collect();
    let out = if out.is_empty() { String::new() } else { format!(", out {}", out.join(" ")) };
    let dead = if *battery { "" } else { ", battery off" };
    format!("{}{out}{dead}", observation.words)
}
