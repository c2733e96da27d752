//! `halfsplit case --teach FILE`: a hidden fault, the learner's actions, and the plan beside them.

use std::{
    io::{BufRead, Write},
    process::ExitCode,
    time::{SystemTime, UNIX_EPOCH},
};

use halfsplit_circuit::{Fault, Load, Measure, Meter, PointId, Quantity, State, net};
use halfsplit_model::{Model, PinRole};
use halfsplit_plan::{
    Plan, Request,
    case::{Bay, Shown},
    plan,
    replay::replay,
};
use halfsplit_render::{
    minutes,
    value::{amps, ohms},
    volts,
};

use crate::{Failure, case::Opened, circuit};

const HELP: &str = "read X35:1            volts to battery negative; `read X35:1 to X35:2` between two pins
read X35:1 with lamp  with the 21 W lamp; `with resistor` with 470 ohm
ohms X34:2 to X34:1   ohms, on a dead circuit
part X35              part a connector and leave it out
mate X35              mate it again
battery off           disconnect it; `battery on`
key run               off, accessory, run or crank
verdict B4            what is at fault; ends the case
quit                  ends without a verdict";

/// Runs the lesson over standard input and output.
pub fn run(opened: &Opened, fault: Option<&str>, number: Option<u64>) -> Result<ExitCode, Failure> {
    let model = &opened.model;
    let first = opened
        .case
        .log
        .first()
        .ok_or("the case has no reading: the first one says where the complaint is")?;
    let state = first.state.clone();
    let mut out = std::io::stdout().lock();
    let mut request = Request::new(first.leads.red, state.clone());
    request.black = Some(first.leads.black);
    request.facts = opened.case.facts.iter().map(|fact| fact.words.clone()).collect();
    let hidden = match fault {
        Some(words) => vec![model.fault(words)?],
        None => {
            let number = number.unwrap_or_else(|| {
                SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |t| u64::from(t.subsec_nanos()))
                    % 10_000
            });
            writeln!(out, "Fault number {number}.")?;
            draw(&plan(&model.circuit, &request)?, number)
                .ok_or("no fault of this circuit shows at that pin")?
        }
    };
    let complaint = halfsplit_circuit::read(&model.circuit, &state, &hidden, &first.leads)?.nominal;
    request.reads = Some(complaint);
    let plan = plan(&model.circuit, &request).map_err(|error| {
        format!("no lesson in that fault, seen from {}: {error}", name(model, first.leads.red))
    })?;
    writeln!(out, "{}", opened.case.title)?;
    writeln!(
        out,
        "{}, everything mated: {} reads {}. {} suspects. `help` tells what can be typed.",
        halfsplit_render::state::words(&model.circuit, &state),
        plan.pin,
        volts(complaint),
        plan.suspects.len()
    )?;
    let mut lesson =
        Lesson { model, bay: Bay::new(&model.circuit, &plan, state, hidden.clone()), plan: &plan };
    for line in std::io::stdin().lock().lines() {
        let line = line?;
        let words: Vec<&str> = line.split_whitespace().collect();
        match words.as_slice() {
            [] => continue,
            ["quit"] => break,
            ["help"] => writeln!(out, "{HELP}")?,
            ["verdict", unit @ ..] => {
                let verdict = lesson.verdict(&unit.join(" "), &hidden)?;
                writeln!(out, "{verdict}")?;
                return Ok(ExitCode::SUCCESS);
            }
            words => match lesson.act(words) {
                Ok(said) => writeln!(out, "{said}  [{}]", minutes(lesson.bay.minutes))?,
                Err(why) => writeln!(out, "{why}")?,
            },
        }
        out.flush()?;
    }
    writeln!(out, "No verdict, {}.", minutes(lesson.bay.minutes))?;
    Ok(ExitCode::SUCCESS)
}

/// The suspect that a number stands for, by weight.
fn draw(plan: &Plan, number: u64) -> Option<Vec<Fault>> {
    let whole: f64 = plan.suspects.iter().map(|s| s.weight).sum();
    // Spread, so that neighbouring numbers do not give neighbouring suspects: the golden ratio's fraction.
    let share = (number as f64 * 0.618_033_988_749_895).fract();
    let mut left = share * whole;
    let chosen = plan.suspects.iter().find(|suspect| {
        left -= suspect.weight;
        left < 0.0
    });
    chosen.or(plan.suspects.last())?.variants.first().cloned()
}

struct Lesson<'l> {
    model: &'l Model,
    bay: Bay<'l>,
    plan: &'l Plan,
}

impl Lesson<'_> {
    fn act(&mut self, words: &[&str]) -> Result<String, String> {
        match *words {
            ["read", red] => self.read(red, None, Load::None),
            ["read", red, "to", black] => self.read(red, Some(black), Load::None),
            ["read", red, "with", load] => self.read(red, None, loaded(load)?),
            ["read", red, "to", black, "with", load] => self.read(red, Some(black), loaded(load)?),
            ["ohms", red, "to", black] => self.show(red, Some(black), Measure::Ohms),
            ["ohms", red] => self.show(red, None, Measure::Ohms),
            ["part", connector] => {
                let connector = self.connector(connector)?;
                self.bay.part(connector)?;
                Ok(format!("{} is out", self.model.circuit.connector(connector).name))
            }
            ["mate", connector] => {
                let connector = self.connector(connector)?;
                self.bay.mate(connector)?;
                Ok(format!("{} is mated", self.model.circuit.connector(connector).name))
            }
            ["battery", on @ ("on" | "off")] => {
                self.bay.battery(on == "on");
                Ok(format!("battery {on}"))
            }
            ["key", key] => {
                self.bay.state.key = self.model.key(key).map_err(|error| error.to_string())?;
                Ok(format!("key {key}"))
            }
            _ => Err(format!("`{}` is not understood; `help` tells what can be typed", words.join(" "))),
        }
    }

    fn read(&mut self, red: &str, black: Option<&str>, load: Load) -> Result<String, String> {
        self.show(red, black, Measure::Volts(load))
    }

    fn show(&mut self, red: &str, black: Option<&str>, measure: Measure) -> Result<String, String> {
        let pin = |written: &str| circuit::pin(self.model, written).map_err(|error| error.to_string());
        let red = pin(red)?;
        let black = match black {
            Some(black) => pin(black)?,
            None => self
                .model
                .circuit
                .negative
                .ok_or("the circuit has no battery negative: write `to` and a pin")?,
        };
        if measure == Measure::Volts(Load::Lamp) {
            self.no_lamp(red)?;
        }
        let shown = self.bay.read(self.plan, Meter { red, black, measure })?;
        Ok(said(&shown))
    }

    /// No lamp on signals and buses; the planner itself knows references.
    fn no_lamp(&self, red: PointId) -> Result<(), String> {
        let there = net(&self.model.circuit, &self.bay.state, red);
        let signal = there.points.iter().any(|p| self.model.roles.get(p) == Some(&PinRole::Signal));
        let buses = &self.model.facts.buses;
        let bus =
            buses.iter().any(|b| b.high.iter().chain(&b.low).chain(&b.line).any(|&p| there.contains(p)));
        match signal || bus {
            true => Err(format!(
                "refused: no test lamp on a signal or a bus, and {} is on one",
                name(self.model, red)
            )),
            false => Ok(()),
        }
    }

    fn connector(&self, written: &str) -> Result<halfsplit_circuit::ConnectorId, String> {
        let mut state = State::default();
        self.model.unplug(&mut state, written).map_err(|error| error.to_string())?;
        let part = || format!("{written} is no connector; here connectors are parted");
        state.unplugged.first().copied().ok_or_else(part)
    }

    /// Right or not, and the minutes beside the plan's.
    fn verdict(&self, unit: &str, hidden: &[Fault]) -> Result<String, Failure> {
        let truth = self.truth(hidden);
        let right = truth.as_ref().is_some_and(|(names, _)| names.iter().any(|name| name == unit));
        let used = minutes(self.bay.minutes);
        let walk = replay(&self.model.circuit, self.plan, hidden)?;
        let judged = match (&truth, right) {
            (Some(_), true) => format!("Right: {unit}."),
            (Some((names, _)), false) => format!("Not {unit}: it was {}.", names.join(" or ")),
            (None, _) => format!("{unit}: the fault is of no suspect that the plan has."),
        };
        let modes = truth.map(|(_, mode)| format!(" {mode}.")).unwrap_or_default();
        Ok(format!(
            "{judged}{modes} You took {used}; the plan takes {} to this fault, {} on the average.",
            minutes(walk.minutes),
            minutes(self.plan.expected_minutes)
        ))
    }

    /// The units that the hidden fault belongs to, and how it fails: a suspect of the same fault, or of the part
    /// it is in.
    fn truth(&self, hidden: &[Fault]) -> Option<(Vec<String>, String)> {
        let suspects = &self.plan.suspects;
        let same = |faults: &[Fault]| {
            let kind = |f: &Fault| std::mem::discriminant(&f.kind);
            faults.len() == hidden.len()
                && faults.iter().zip(hidden).all(|(a, b)| kind(a) == kind(b) && place(a) == place(b))
        };
        let found = suspects.iter().find(|s| s.variants.iter().any(|faults| same(faults)))?;
        let unit = self.plan.units.get(found.unit?)?;
        let parts = unit.parts.iter().map(|&part| self.model.circuit.part(part).name.clone());
        Some((std::iter::once(found.name.clone()).chain(parts).collect(), found.mode.clone()))
    }
}

/// What a fault is about, without its resistance.
fn place(fault: &Fault) -> String {
    use halfsplit_circuit::FaultKind::*;
    match &fault.kind {
        Bridge { a, b, .. } => format!("{:?}", if a < b { (a, b) } else { (b, a) }),
        Chafe { branch, to, .. } => format!("{branch:?} {to:?}"),
        Touch { one: (one, _), other: (other, _), .. } => {
            format!("{:?}", if one < other { (one, other) } else { (other, one) })
        }
        Series { branch, .. } | Dead { branch } | StuckClosed { branch, .. } => format!("{branch:?}"),
        Sink { point, .. } => format!("{point:?}"),
    }
}

fn loaded(word: &str) -> Result<Load, String> {
    match word {
        "lamp" => Ok(Load::Lamp),
        "resistor" => Ok(Load::Reference),
        _ => Err(format!("`{word}` is no load: `lamp` or `resistor`")),
    }
}

fn said(shown: &Shown) -> String {
    let value = match shown.quantity {
        Quantity::Volts => volts(shown.value),
        Quantity::Ohms => ohms(shown.value),
        Quantity::Amps => amps(shown.value),
    };
    let floats = if shown.floating { ", floating: nothing but the meter joins the leads" } else { "" };
    let gone = match shown.eliminates.as_slice() {
        [] => "eliminates nothing".to_owned(),
        gone => format!("eliminates {}", gone.join(", ")),
    };
    format!("{value}{floats}; {gone}; left: {}", shown.left.join(", "))
}

fn name(model: &Model, point: PointId) -> &str {
    &model.circuit.point(point).name
}
