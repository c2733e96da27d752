//! `halfsplit net FILE PIN`: what shares a wire.

use std::{path::PathBuf, process::ExitCode};

use clap::Args;
use halfsplit_render::net::Sheet;

use crate::{Failure, Format, circuit, look, state};

/// What to ask.
#[derive(Args)]
pub struct Arguments {
    /// The circuit file.
    file: PathBuf,
    /// The pin: X34:2, A10.X2:14, SP10, F12:load.
    pin: String,
    #[command(flatten)]
    state: state::StateArguments,
    /// How to print it.
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

/// Prints the net.
pub fn run(arguments: &Arguments) -> Result<ExitCode, Failure> {
    let model = circuit::open(&arguments.file)?;
    let point = circuit::pin(&model, &arguments.pin)?;
    let state = arguments.state.state(&model)?;
    let sheet = Sheet::of(&model.circuit, &state, point);
    match arguments.format {
        Format::Text => look::print(&sheet.text())?,
        Format::Json => look::print_json(&sheet.json())?,
    }
    Ok(ExitCode::SUCCESS)
}
