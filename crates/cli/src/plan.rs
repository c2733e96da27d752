//! `halfsplit plan FILE PIN --reads '0.235 V'`: the isolation plan.

use std::{path::PathBuf, process::ExitCode, time::Duration};

use clap::{Args, ValueEnum};
use halfsplit_circuit::{Hazard, State};
use halfsplit_model::{Model, quantity, reading};
use halfsplit_plan::{
    Complaint, Inquiry, Request, coverage::coverage, doubts, doubts_of_complaint, plan, plan_complaint,
};
use halfsplit_render::{coverage as covered, page, plan as sheet};
use halfsplit_syntax::units::Dimension;

use crate::{Failure, cases, circuit, look, state};

/// What was read, and what is known.
#[derive(Args)]
pub struct Arguments {
    /// The circuit file.
    file: PathBuf,
    /// The pin that reads wrong; none with a complaint.
    #[arg(required_unless_present = "complaint", conflicts_with = "complaint")]
    pin: Option<String>,
    /// A complaint about a function: 'M5 does not work', 'E2 is dim', 'M2 stays on', 'draws 460 mA asleep'.
    #[arg(long, value_name = "WORDS")]
    complaint: Option<String>,
    /// What is read there: '0.235 V'; 'floats' where the meter wanders; ohms between the pin and --black on a dead bus: '119 ohm'; or amperes by a clamp around the wire there: '4.1 A'.
    #[arg(long, value_name = "VALUE")]
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
    /// A danger that trained people have dealt with: 'X70 airbag'. May be given again.
    #[arg(long, value_name = "WHERE WHAT")]
    cleared: Vec<String>,
    /// Which suspects to keep.
    #[arg(long, value_enum, default_value = "all")]
    suspects: SuspectsWord,
    /// Never part an inline connector to clear a whole group.
    #[arg(long)]
    no_splits: bool,
    /// Leave out what confirmed cases in the library say of the weights.
    #[arg(long)]
    no_cases: bool,
    /// Print no plan but what this file cannot tell apart, and which added fact would.
    #[arg(long, conflicts_with = "complaint")]
    coverage: bool,
    /// Print the best plan found in this time: '2 s'. Without it the same question always gets the same plan.
    #[arg(long, value_name = "TIME")]
    within: Option<String>,
    /// Print everything behind the first page too: every suspect, refused places, tables, proofs, module gates.
    #[arg(long, conflicts_with = "coverage")]
    full: bool,
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
    let state = arguments.state.state(&model)?;
    if arguments.coverage {
        return arguments.print_coverage(&model, state);
    }
    let unknown;
    let plan = match arguments.complaint(&model)? {
        Some(complaint) => {
            let mut inquiry = Inquiry::new(complaint, state.clone());
            inquiry.facts = arguments.fact.clone();
            inquiry.cleared = arguments.cleared(&model)?;
            inquiry.within = arguments.within()?;
            let drawn = plan_complaint(&model.circuit, &inquiry, None)?;
            unknown = doubts_of_complaint(&model.circuit, &inquiry);
            drawn
        }
        None => {
            let mut request = arguments.request(&model, state.clone())?;
            if !arguments.no_cases {
                request.seen = cases::seen(&arguments.file, &model, None)?;
            }
            let drawn = plan(&model.circuit, &request)?;
            unknown = doubts(&model.circuit, &request, &drawn);
            drawn
        }
    };
    let heading = sheet::Heading {
        circuit: model.title.clone(),
        vehicle: model.vehicle.name.clone(),
        proven: model.proven(),
        doubts: unknown,
    };
    let car = sheet::Car { model: &model, state: &state };
    let first = || sheet::first_page(&plan, &heading, car);
    let behind = || if arguments.full { sheet::page(&plan, &heading) } else { Vec::new() };
    match arguments.format {
        PlanFormat::Text => {
            look::print(&page::text(&first(), sheet::WIDTH))?;
            if arguments.full {
                look::print(&page::text(&behind(), look::width()))?;
            }
        }
        PlanFormat::Markdown => look::print(&page::markdown(&[first(), behind()].concat()))?,
        PlanFormat::Json => look::print_json(&sheet::json(&plan, &heading))?,
    }
    Ok(ExitCode::SUCCESS)
}

impl Arguments {
    fn print_coverage(&self, model: &Model, state: State) -> Result<ExitCode, Failure> {
        let coverage = coverage(&model.circuit, &self.request(model, state)?)?;
        let page = covered::page(&coverage);
        match self.format {
            PlanFormat::Text => look::print(&page::text(&page, look::width()))?,
            PlanFormat::Markdown => look::print(&page::markdown(&page))?,
            PlanFormat::Json => look::print_json(&covered::json(&coverage))?,
        }
        Ok(ExitCode::SUCCESS)
    }

    fn within(&self) -> Result<Option<Duration>, Failure> {
        let Some(time) = &self.within else { return Ok(None) };
        let seconds = 60.0 * quantity(time, Dimension::Minutes)?;
        match Duration::try_from_secs_f64(seconds) {
            Ok(time) => Ok(Some(time)),
            Err(_) => Err(format!("--within '{time}': no time that a search can take").into()),
        }
    }

    /// What is complained of: in words, as ohms read on a dead bus, or as amperes by a clamp.
    fn complaint(&self, model: &Model) -> Result<Option<Complaint>, Failure> {
        if let Some(words) = &self.complaint {
            return Ok(Some(Complaint::parse(&model.circuit, words)?));
        }
        let (Some(pin), Some(reads)) = (&self.pin, &self.reads) else { return Ok(None) };
        if quantity(reads, Dimension::Amps).is_ok() {
            return self.clamped(model, pin, reads).map(Some);
        }
        let reads = match quantity(reads, Dimension::Ohms) {
            Ok(ohms) => ohms,
            Err(_) if reads.trim() == "OL" => f64::INFINITY,
            Err(_) => return Ok(None),
        };
        let black = self.black.as_ref().ok_or("ohms are read between two pins: give --black")?;
        let (red, black) = (circuit::pin(model, pin)?, circuit::pin(model, black)?);
        Ok(Some(Complaint::Ohms { red, black, reads }))
    }

    /// A current that is not the sound one, by a clamp around the wire at a pin.
    fn clamped(&self, model: &Model, pin: &str, reads: &str) -> Result<Complaint, Failure> {
        if self.black.is_some() || self.meter.is_some() {
            return Err("amperes are read by a clamp around the wire: without --black and --meter".into());
        }
        let clamp = model.clamp(pin, || circuit::pin(model, pin))?;
        let [low, high] = reading(reads, Dimension::Amps)?;
        let reads = if low + high < 0.0 { [-high, -low] } else { [low, high] };
        Ok(Complaint::Amps { clamp, reads })
    }

    /// The dangers that were dealt with; each must stand in the file, or the clearing is of something else.
    fn cleared(&self, model: &Model) -> Result<Vec<(Hazard, String)>, Failure> {
        let circuit = &model.circuit;
        let mut cleared = Vec::new();
        for words in &self.cleared {
            let (at, what) = words.trim().rsplit_once(' ').unwrap_or((words, ""));
            let hazard = match what {
                "airbag" => Hazard::Airbag,
                "high-voltage" => Hazard::HighVoltage,
                "fuel" => Hazard::Fuel,
                _ => {
                    return Err(format!(
                        "--cleared '{words}': say where and what: 'X70 airbag', 'X70 high-voltage', 'X70 fuel'"
                    )
                    .into());
                }
            };
            let of_part = |name: &str| circuit.part_named(name).map(|p| circuit.part(p).cautions.as_slice());
            let of_connector = circuit.connectors.iter().filter(|c| c.name == at);
            let mut known = of_part(at).unwrap_or_default().iter().chain(
                of_connector.flat_map(|c| &c.cautions).chain(
                    circuit
                        .connectors
                        .iter()
                        .filter(|c| c.name == at)
                        .filter_map(|c| c.owner)
                        .flat_map(|p| &circuit.part(p).cautions),
                ),
            );
            if !known.any(|caution| caution.hazard == hazard) {
                return Err(format!("--cleared '{words}': the file has no caution of {what} at {at}").into());
            }
            cleared.push((hazard, at.to_owned()));
        }
        Ok(cleared)
    }

    fn request(&self, model: &Model, state: State) -> Result<Request, Failure> {
        let pin = |name: &Option<String>| name.as_ref().map(|name| circuit::pin(model, name)).transpose();
        let wrong = pin(&self.pin)?.ok_or("a plan is for a pin or for a complaint")?;
        let mut request = Request::new(wrong, state);
        if self.suspects == SuspectsWord::FileOnly {
            request = request.file_only();
        }
        match self.reads.as_deref().map(str::trim) {
            Some("floats" | "floating" | "wanders") => request.floats = true,
            None => {}
            Some(volts) => {
                let [low, high] = reading(volts, Dimension::Volts)?;
                request.reads = Some(quantity(volts, Dimension::Volts)?);
                request.reads_off = Some(0.5 * (high - low));
            }
        }
        request.black = pin(&self.black)?;
        request.meter = pin(&self.meter)?;
        request.facts = self.fact.clone();
        request.splits = !self.no_splits;
        request.cleared = self.cleared(model)?;
        request.within = self.within()?;
        Ok(request)
    }
}
