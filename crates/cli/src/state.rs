//! The state that a question is asked in.

use clap::Args;
use halfsplit_circuit::{Fault, State};
use halfsplit_model::{Car, Model, quantity};
use halfsplit_syntax::units::Dimension;

use crate::Failure;

/// Key, switches, and what is unplugged; and which car it is.
#[derive(Args)]
pub struct StateArguments {
    /// Key position: off, accessory, run or crank.
    #[arg(long, default_value = "run", value_name = "POSITION")]
    key: String,
    /// Connectors that are parted and fuses or relays that are pulled, with commas between.
    #[arg(long, value_delimiter = ',', value_name = "NAMES")]
    unplug: Vec<String>,
    /// A switch's position, or an output's command: S1=on.
    #[arg(long, value_name = "ITEM=POSITION")]
    set: Vec<String>,
    /// Supply as measured at the battery posts: '12.4 V'.
    #[arg(long, value_name = "VOLTS")]
    supply: Option<String>,
    /// Battery disconnected.
    #[arg(long)]
    battery_off: bool,
    /// Options that the car has, with commas between; an option that is not named is taken to be there.
    #[arg(long, value_delimiter = ',', value_name = "NAMES")]
    option: Vec<String>,
    /// Options that the car does not have, with commas between.
    #[arg(long, value_delimiter = ',', value_name = "NAMES")]
    without: Vec<String>,
    /// The car's build serial.
    #[arg(long, value_name = "NUMBER")]
    serial: Option<u64>,
}

impl StateArguments {
    /// The car that is asked about.
    pub fn car(&self) -> Car {
        let named =
            |names: &[String], there| names.iter().map(|n| (n.trim().to_owned(), there)).collect::<Vec<_>>();
        let options = named(&self.option, true).into_iter().chain(named(&self.without, false)).collect();
        Car { options, serial: self.serial }
    }

    /// The state they describe.
    ///
    /// # Errors
    /// If a name or a value is not understood.
    pub fn state(&self, model: &Model) -> Result<State, Failure> {
        let mut state = State::with_key(model.key(&self.key)?);
        state.battery = !self.battery_off;
        if let Some(volts) = &self.supply {
            state.set_supply(quantity(volts, Dimension::Volts)?);
        }
        for name in &self.unplug {
            model.unplug(&mut state, name.trim())?;
        }
        for setting in &self.set {
            model.set(&mut state, setting)?;
        }
        Ok(state)
    }
}

/// What is wrong in the circuit that is asked about.
#[derive(Args)]
pub struct FaultArguments {
    /// A fault to inject: 'B4 short 1.8 ohm', 'F12 open 40 kohm', 'GP102 open'. May be given twice.
    #[arg(long, value_name = "FAULT")]
    pub fault: Vec<String>,
}

impl FaultArguments {
    /// The faults they describe.
    ///
    /// # Errors
    /// If one is not understood.
    pub fn faults(&self, model: &Model) -> Result<Vec<Fault>, Failure> {
        Ok(self.fault.iter().map(|f| model.fault(f)).collect::<Result<_, _>>()?)
    }
}
