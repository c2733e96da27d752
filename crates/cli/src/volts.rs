//! `halfsplit volts FILE PIN`: what a meter reads.

use std::{path::PathBuf, process::ExitCode};

use clap::{Args, ValueEnum};
use halfsplit_circuit::meter::{Load, Measure, Meter, read};
use halfsplit_model::{Model, quantity};
use halfsplit_render::json;
use halfsplit_syntax::units::Dimension;

use crate::{Failure, Format, circuit, look, state};

/// What to measure, where and how.
#[derive(Args)]
pub struct Arguments {
    /// The circuit file.
    file: PathBuf,
    /// Where the red lead is.
    pin: String,
    #[command(flatten)]
    state: state::StateArguments,
    #[command(flatten)]
    faults: state::FaultArguments,
    /// What loads the wire beside the meter.
    #[arg(long, value_enum, default_value = "none")]
    load: LoadWord,
    /// Where the black lead is; battery negative if not given.
    #[arg(long, value_name = "PIN")]
    black: Option<String>,
    /// Measure ohms instead of volts; only on a dead circuit.
    #[arg(long, conflicts_with_all = ["load", "inject"])]
    ohms: bool,
    /// Measure the current in the wire at the pin, by a clamp around it; counted into the pin. Names a wire as well.
    #[arg(long, conflicts_with_all = ["load", "inject", "ohms", "black"])]
    amps: bool,
    /// Feed the pin from outside and read its volts: '5 V through 470 ohm'.
    #[arg(long, value_name = "VOLTS through OHMS", conflicts_with = "load")]
    inject: Option<String>,
    /// How to print it.
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum LoadWord {
    /// The meter alone, 10 Mohm.
    None,
    /// A 12 V 21 W test lamp. Never on references, signals or buses.
    Lamp,
    /// A 470 ohm resistor.
    Reference,
}

/// Prints the reading.
pub fn run(arguments: &Arguments) -> Result<ExitCode, Failure> {
    let model = circuit::open(&arguments.file, &arguments.state.car())?;
    let meter = match arguments.amps {
        true => model.clamp(&arguments.pin, || circuit::pin(&model, &arguments.pin))?,
        false => arguments.leads(&model)?,
    };
    let state = arguments.state.state(&model)?;
    let faults = arguments.faults.faults(&model)?;
    let reading = read(&model.circuit, &state, &faults, &meter)?;
    let class = halfsplit_circuit::class(&model.circuit, &state, &meter, &reading)?.to_string();
    match arguments.format {
        Format::Text => {
            let state = halfsplit_render::state::words(&model.circuit, &state);
            let value = halfsplit_render::reading(&reading);
            let mut out = format!("{}, {state}\n  {value}, {class}\n", arguments.pin);
            for part in &reading.unknowns {
                out.push_str(&format!(
                    "  not counted: {}, whose value is unknown\n",
                    model.circuit.part(*part).name
                ));
            }
            look::print(&out)?;
        }
        Format::Json => look::print_json(&serde_json::json!({
            "schema": json::SCHEMA,
            "pin": arguments.pin,
            "state": halfsplit_render::state::json(&model.circuit, &state),
            "unplugged": halfsplit_render::state::unplugged(&model.circuit, &state),
            "fault": (!arguments.faults.fault.is_empty()).then(|| arguments.faults.fault.join(", ")),
            "reading": json::reading(&reading),
            "class": class,
        }))?,
    }
    Ok(ExitCode::SUCCESS)
}

impl Arguments {
    fn leads(&self, model: &Model) -> Result<Meter, Failure> {
        let red = circuit::pin(model, &self.pin)?;
        let black = match &self.black {
            Some(name) => circuit::pin(model, name)?,
            None => {
                let negative = model.circuit.negative;
                negative.ok_or("the circuit has no supply, so no battery negative: give --black")?
            }
        };
        Ok(Meter { red, black, measure: self.measure()? })
    }

    fn measure(&self) -> Result<Measure, Failure> {
        if self.ohms {
            return Ok(Measure::Ohms);
        }
        if let Some(inject) = &self.inject {
            let parts = inject.split_once(" through ").ok_or("write --inject '5 V through 470 ohm'")?;
            let volts = quantity(parts.0, Dimension::Volts)?;
            let through = quantity(parts.1, Dimension::Ohms)?;
            return Ok(Measure::Inject { volts, through });
        }
        Ok(Measure::Volts(match self.load {
            LoadWord::None => Load::None,
            LoadWord::Lamp => Load::Lamp,
            LoadWord::Reference => Load::Reference,
        }))
    }
}
