//! `halfsplit draw FILE PIN`: a pin's net as a drawing.

use std::{fs, path::PathBuf, process::ExitCode};

use clap::Args;
use halfsplit_render::draw::{Asked, picture};

use crate::{Failure, circuit, look, state};

/// What to draw, in which state.
#[derive(Args)]
pub struct Arguments {
    /// The circuit file.
    file: PathBuf,
    /// The pin whose net is drawn: X34:2, A10.X2:14, SP10, F12:load.
    pin: String,
    #[command(flatten)]
    state: state::StateArguments,
    #[command(flatten)]
    faults: state::FaultArguments,
    /// Where to write the SVG; standard output if not given.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Writes the drawing.
pub fn run(arguments: &Arguments) -> Result<ExitCode, Failure> {
    let model = circuit::open(&arguments.file, &arguments.state.car())?;
    let pin = circuit::pin(&model, &arguments.pin)?;
    let state = arguments.state.state(&model)?;
    let faults = arguments.faults.faults(&model)?;
    let asked = Asked { pin, state: &state, faults: &faults, written: &arguments.faults.fault };
    let svg = picture(&model, &asked).svg();
    match &arguments.out {
        Some(path) => fs::write(path, svg).map_err(|error| format!("{}: {error}", path.display()))?,
        None => look::print(&svg)?,
    }
    Ok(ExitCode::SUCCESS)
}
