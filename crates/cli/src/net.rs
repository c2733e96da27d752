//! `halfsplit net FILE PIN`: what shares a wire.

use std::{path::PathBuf, process::ExitCode};

use clap::Args;
use halfsplit_model::Question;
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
    let model = circuit::open(&arguments.file, &arguments.state.car())?;
    let point = circuit::pin(&model, &arguments.pin)?;
    let state = arguments.state.state(&model)?;
    let sheet = Sheet::of(&model.circuit, &state, point);
    match arguments.format {
        Format::Text => {
            look::print(&sheet.text())?;
            let questions: Vec<String> = model.questions(point).iter().map(in_words).collect();
            if !questions.is_empty() {
                look::print(&format!(
                    "\nask first, the answer changes this net:\n  {}",
                    questions.join("\n  ")
                ))?;
            }
        }
        Format::Json => look::print_json(&sheet.json())?,
    }
    Ok(ExitCode::SUCCESS)
}

/// A question as it is put to the person at the car.
fn in_words(question: &Question) -> String {
    match question {
        Question::Option { name, label } if label.is_empty() => {
            format!("has it {name}? (--option {name} or --without {name})")
        }
        Question::Option { name, label } => {
            format!("has it {name}, {label}? (--option {name} or --without {name})")
        }
        Question::Serial { from } => format!("is its build serial {from} or later? (--serial)"),
    }
}
