//! `halfsplit find FILE PIN`: which wire at this connector.

use std::{path::PathBuf, process::ExitCode};

use clap::Args;
use halfsplit_plan::{Costs, find::find};
use halfsplit_render::find as sheet;

use crate::{Failure, Format, circuit, look, state};

/// What to find.
#[derive(Args)]
pub struct Arguments {
    /// The circuit file.
    file: PathBuf,
    /// The cavity: X34:2, A40.X2:6.
    pin: String,
    #[command(flatten)]
    state: state::StateArguments,
    /// How to print it.
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

/// Prints the description.
pub fn run(arguments: &Arguments) -> Result<ExitCode, Failure> {
    let model = circuit::open(&arguments.file, &arguments.state.car())?;
    let point = circuit::pin(&model, &arguments.pin)?;
    let found = find(&model.circuit, point, Costs::default().unknown_reach)?;
    let found =
        found.ok_or_else(|| format!("{} is in no connector: there is no wire to pick", arguments.pin))?;
    match arguments.format {
        Format::Text => look::print(&sheet::text(&found))?,
        Format::Json => look::print_json(&sheet::json(&found))?,
    }
    Ok(ExitCode::SUCCESS)
}
