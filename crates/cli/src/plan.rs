//! `halfsplit plan FILE PIN --reads '0.235 V'`: the isolation plan.

use std::{path::PathBuf, process::ExitCode};

use clap::{Args, ValueEnum};
use halfsplit_model::quantity;
use halfsplit_plan::{Request, plan};
use halfsplit_render::{page, plan as sheet};
use halfsplit_syntax::units::Dimension;

use crate::{Failure, circuit, look, state};

/// What was read, and what is known.
#[derive(Args)]
pub struct Arguments {
    /// The circuit file.
    file: PathBuf,
    /// The pin that reads wrong.
    pin: String,
    /// Volts read there: '0.235 V'.
    #[arg(long, value_name = "VOLTS")]
    reads: Option<String>,
    #[command(flatten)]
    state: state::StateArguments,
    /// What is known besides: 'A10 communicates', 'B6 works'. May be given again.
    #[arg(long, value_name = "FACT")]
    fact: Vec<String>,
    /// Where the black lead was; battery negative if not given.
    #[arg(long, value_name = "PIN")]
    black: Option<String>,
    /// Where the meter shall rest; the cheapest legal place if not given.
    #[arg(long, value_name = "PIN")]
    meter: Option<String>,
    /// Which suspects to keep.
    #[arg(long, value_enum, default_value = "all")]
    suspects: SuspectsWord,
    /// Never part an inline connector to clear a whole group.
    #[arg(long)]
    no_splits: bool,
    /// How to print it.
    #[arg(long, value_enum, default_value = "text")]
    format: PlanFormat,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum SuspectsWord {
    /// Everything the circuit gives, unlisted equipment included.
    All,
    /// Only what the file gives a suspicion, each in its likeliest mode; remating is free.
    FileOnly,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum PlanFormat {
    /// For a terminal.
    Text,
    /// For a work order.
    Markdown,
    /// For programs.
    Json,
}

/// Prints the plan.
pub fn run(arguments: &Arguments) -> Result<ExitCode, Failure> {
    let model = circuit::open(&arguments.file, &arguments.state.car())?;
    let pin = |name: &Option<String>| name.as_ref().map(|name| circuit::pin(&model, name)).transpose();
    let mut request = Request::new(circuit::pin(&model, &arguments.pin)?, arguments.state.state(&model)?);
    if arguments.suspects == SuspectsWord::FileOnly {
        request = request.file_only();
    }
    request.reads = arguments.reads.as_ref().map(|volts| quantity(volts, Dimension::Volts)).transpose()?;
    request.black = pin(&arguments.black)?;
    request.meter = pin(&arguments.meter)?;
    request.facts = arguments.fact.clone();
    request.splits = !arguments.no_splits;
    let plan = plan(&model.circuit, &request)?;
    let heading = sheet::Heading { circuit: model.title.clone(), vehicle: model.vehicle.name.clone() };
    match arguments.format {
        PlanFormat::Text => look::print(&page::text(&sheet::page(&plan, &heading), look::width()))?,
        PlanFormat::Markdown => look::print(&page::markdown(&sheet::page(&plan, &heading)))?,
        PlanFormat::Json => look::print_json(&sheet::json(&plan))?,
    }
    Ok(ExitCode::SUCCESS)
}
