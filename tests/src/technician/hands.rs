//! The technician's hands, eyes and meter: what a step asks is done on a car with a fault hidden in it.

use std::collections::BTreeSet;

use halfsplit_circuit::{
    BranchKind, Fault, FaultKind, Key, Load, Measure, Meter, PointId, PointKind, Quantity, Solver, State,
};

use super::car::{self, Opened};
use super::complaint::{Complaint, WANDER, What};
use super::log::{Line, Log, Moment};
use super::meter::{self, Hand, Shown};
use super::steps::{Act, Doing, Question, Setting};
use crate::outside::random::Random;

/// Share of readings that a careless technician takes or writes down wrongly.
pub const SLIPS: f64 = 0.04;

/// When a reading goes wrong.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Slip {
    /// Never.
    Never,
    /// At the reading with this number, the complaint's being 0.
    At(usize),
    /// At any reading with this chance, once.
    Chance(f64),
}

/// A technician at a car.
pub struct Hands<'c> {
    opened: &'c Opened,
    solver: Solver<'c>,
    faults: Vec<Fault>,
    complaint: Complaint,
    hand: Hand,
    random: Random,
    /// Chance with which the fault is there at a reading.
    present: f64,
    slip: Slip,
    /// Which line of the log is wrong, and how.
    pub slipped: Option<(usize, &'static str)>,
    /// What was done and read.
    pub log: Log,
    /// What is out now.
    pub out: BTreeSet<String>,
    /// Whether the battery is off.
    pub dead: bool,
}

/// What came of a look.
#[derive(Clone, Debug)]
pub struct Seen {
    /// A reading, or 1 and 0 for yes and no.
    pub value: f64,
    /// Least and most that it may stand for by its written digits.
    pub within: (f64, f64),
    /// Whether the meter wanders.
    pub floats: bool,
    /// In words.
    pub words: String,
}

impl<'c> Hands<'c> {
    /// A technician in front of a car, with the complaint in the log.
    pub fn new(
        opened: &'c Opened,
        faults: Vec<Fault>,
        complaint: Complaint,
        hand: Hand,
        random: Random,
        present: f64,
        slip: Slip,
    ) -> Hands<'c> {
        let solver = Solver::new(&opened.model.circuit);
        let (log, out) = (Log::default(), BTreeSet::new());
        let mut hands = Hands {
            opened,
            solver,
            faults,
            complaint,
            hand,
            random,
            present,
            slip,
            slipped: None,
            log,
            out,
            dead: false,
        };
        let line = match &hands.complaint.what {
            What::Pin { pin, black, shown } => Line::Reading {
                red: pin.clone(),
                black: black.clone(),
                setting: Setting::Volts,
                text: shown.text.clone(),
            },
            What::Ohms { red, black, shown } => {
                hands.dead = true;
                Line::Reading {
                    red: red.clone(),
                    black: Some(black.clone()),
                    setting: Setting::Ohms,
                    text: shown.text.clone(),
                }
            }
            What::Function { words, .. } => Line::Fact(words.clone()),
        };
        hands.log.lines.push((hands.moment(), line));
        hands
    }

    /// How the car stands now.
    pub fn moment(&self) -> Moment {
        let key = if self.dead { Key::Off } else { self.complaint.standing.key };
        Moment { key, battery: !self.dead, out: self.out.clone() }
    }

    /// The case file of all that was done so far.
    pub fn case(&self) -> String {
        self.log.text(self.opened, &self.complaint.standing, self.complaint.supply_read(), &self.moment())
    }

    /// Does what a step asks; `out` is everything that is out for it, where the step says so.
    ///
    /// # Errors
    /// Why it cannot be done.
    pub fn look(&mut self, doing: &Doing, out: Option<&[String]>, rests: &str) -> Result<Seen, String> {
        for name in &doing.mate {
            self.out.remove(name);
        }
        self.out.extend(doing.part.iter().cloned());
        self.dead |= doing.dead;
        if let Act::Read { setting, .. } = &doing.act
            && *setting != Setting::Ohms
            && !doing.dead
        {
            self.dead = false;
        }
        let mut moment = self.moment();
        match out {
            Some(out) => moment.out = out.iter().cloned().collect(),
            None => moment.out.extend(doing.meanwhile.iter().cloned()),
        }
        if doing.key_off {
            moment.key = Key::Off;
        }
        let held = doing.back_out.as_deref().map(|cavity| self.backed_out(cavity)).transpose()?;
        match &doing.act {
            Act::Nothing => Err("the step's words ask for nothing that is understood".to_owned()),
            Act::Ask(question) => self.ask(question, &moment, held),
            Act::Read { red, black, setting } => {
                let black = black.clone().unwrap_or_else(|| rests.to_owned());
                self.read(red, &black, *setting, &moment, held)
            }
        }
    }

    fn point(&self, name: &str) -> Result<PointId, String> {
        let circuit = &self.opened.model.circuit;
        match name {
            "battery negative" => circuit.negative,
            "battery positive" => circuit.positive,
            name => self.opened.model.names.point(name).ok(),
        }
        .ok_or_else(|| format!("no pin `{name}` to put a lead on"))
    }

    fn state(&self, moment: &Moment, supply: f64) -> Result<State, String> {
        let model = &self.opened.model;
        let mut state = self.complaint.standing.state(model, Some(supply));
        state.key = moment.key;
        state.battery = moment.battery;
        for name in &moment.out {
            model.unplug(&mut state, name).map_err(|error| error.to_string())?;
        }
        Ok(state)
    }

    fn backed_out(&self, cavity: &str) -> Result<Fault, String> {
        let point = self.point(cavity)?;
        let circuit = &self.opened.model.circuit;
        let mate = circuit
            .branches()
            .find(|(_, b)| matches!(b.kind, BranchKind::Mated { .. }) && (b.a == point || b.b == point));
        let (branch, _) = mate.ok_or_else(|| format!("no terminal in {cavity}"))?;
        Ok(FaultKind::Series { branch, ohms: f64::INFINITY }.into())
    }

    /// The faults that are there just now.
    fn now(&mut self, held: Option<Fault>) -> Vec<Fault> {
        let there = self.present >= 1.0 || self.random.unit() < self.present;
        let faults = if there { self.faults.clone() } else { Vec::new() };
        faults.into_iter().chain(held).collect()
    }

    fn read(
        &mut self,
        red: &str,
        black: &str,
        setting: Setting,
        moment: &Moment,
        held: Option<Fault>,
    ) -> Result<Seen, String> {
        let wander = self.random.between(-WANDER, WANDER);
        let mut state = self.state(moment, self.complaint.supply + wander)?;
        let (mut at, ground) = (self.point(red)?, self.point(black)?);
        let number = self.log.lines.len();
        let slips = self.slipped.is_none()
            && match self.slip {
                Slip::Never => false,
                Slip::At(slip) => slip == number,
                Slip::Chance(chance) => self.random.unit() < chance,
            };
        let how = if slips { self.go_wrong(&mut state, &mut at, moment) } else { "" };
        let measure = match setting {
            Setting::Volts => Measure::Volts(Load::None),
            Setting::Lamp => Measure::Volts(Load::Lamp),
            Setting::Resistor => Measure::Volts(Load::Reference),
            Setting::Ohms => Measure::Ohms,
            Setting::Fed { volts, ohms } => Measure::Inject { volts, through: ohms },
        };
        let leads = Meter { red: at, black: ground, measure };
        let faults = self.now(held);
        let shown = self.shown(&state, &faults, &leads)?;
        let shown = if how == "digit place" { meter::misplaced(&mut self.random, &shown) } else { shown };
        if !how.is_empty() {
            self.slipped = Some((number, how));
        }
        let name = |point: PointId| self.opened.model.circuit.point(point).name.clone();
        let black = if black == "battery negative" { None } else { Some(name(ground)) };
        let red = name(at);
        let line = Line::Reading { red, black, setting, text: shown.text.clone() };
        let words = line.words();
        self.log.lines.push((moment.clone(), line));
        Ok(Seen { value: shown.value, within: shown.within, floats: shown.wanders.is_some(), words })
    }

    /// What the meter shows; one that would switch without end shows either of what it switches between.
    fn shown(&mut self, state: &State, faults: &[Fault], leads: &Meter) -> Result<Shown, String> {
        let nominal = self
            .solver
            .nominal(state, faults, leads)
            .map_err(|error| format!("no steady reading: {error}"))?;
        // A load across the leads, or a source, holds them: only the bare meter wanders.
        let bare = leads.measure == Measure::Volts(Load::None);
        Ok(match (leads.quantity(), nominal.floating && bare) {
            (Quantity::Ohms, _) => self.hand.ohms(&mut self.random, nominal.value),
            (Quantity::Volts | Quantity::Amps, true) => self.hand.wander(&mut self.random),
            (Quantity::Volts | Quantity::Amps, false) => self.hand.volts(&mut self.random, nominal.value),
        })
    }

    /// One of the four slips, as far as this reading offers it.
    fn go_wrong(&mut self, state: &mut State, red: &mut PointId, moment: &Moment) -> &'static str {
        let circuit = &self.opened.model.circuit;
        match self.random.below(4) {
            0 if moment.battery && state.key != Key::Off => {
                state.key = Key::Off;
                "key position"
            }
            1 if !state.unplugged.is_empty() => {
                let out: Vec<_> = state.unplugged.iter().copied().collect();
                state.unplugged.remove(&out[self.random.below(out.len())]);
                "plug not parted"
            }
            2 => {
                let PointKind::Cavity { connector, half, cavity } = circuit.point(*red).kind else {
                    return "digit place";
                };
                let cavities = &circuit.connector(connector).cavities;
                let here = usize::from(cavity);
                let beside = [here.checked_sub(1), Some(here + 1)].into_iter().flatten();
                let beside: Vec<PointId> =
                    beside.filter_map(|at| cavities.get(at)?.points[usize::from(half)]).collect();
                if beside.is_empty() {
                    return "digit place";
                }
                *red = beside[self.random.below(beside.len())];
                "cavity beside"
            }
            _ => "digit place",
        }
    }

    fn ask(&mut self, question: &Question, moment: &Moment, held: Option<Fault>) -> Result<Seen, String> {
        let state = self.state(moment, self.complaint.supply)?;
        let faults = self.now(held);
        let model = &self.opened.model;
        let circuit = &model.circuit;
        let unsteady = |error: halfsplit_circuit::ReadError| format!("no steady look: {error}");
        let found = self.solver.solve(&state, &faults).map_err(unsteady)?;
        let sound = self.solver.solve(&state, &[]).map_err(unsteady)?;
        let part =
            |name: &str| circuit.part_named(name).ok_or_else(|| format!("no part `{name}` to look at"));
        let (yes, fact) = match question {
            Question::Commanded(_) => (false, None),
            Question::Clicks(name) => {
                let part = part(name)?;
                let mut coils =
                    circuit.branches_of(part).filter(|(_, b)| matches!(b.kind, BranchKind::Coil { .. }));
                let clicks = coils.any(|(id, _)| found.pulled_in(id));
                (clicks, Some(format!("{name} {}", if clicks { "clicks" } else { "does not click" })))
            }
            Question::Works(name) | Question::Strong(name) => {
                let strong = matches!(question, Question::Strong(_));
                let (of, pin) =
                    name.split_once(" at ").map_or((name.as_str(), None), |(of, pin)| (of, Some(pin)));
                let part = part(of)?;
                // One load of several is told by its pin.
                let asked = |id: &halfsplit_circuit::BranchId| {
                    let branch = circuit.branch(*id);
                    let own = [branch.a, branch.b].map(|end| circuit.point(end).name.replace(".part:", ":"));
                    pin.is_none_or(|pin| own.iter().any(|own| own == pin))
                };
                let share = if strong { 0.93 } else { 0.6 };
                let due = |id| car::over(circuit, &sound, id).abs();
                let any_due = car::draws(circuit, part).filter(asked).any(|id| due(id) > 1.0);
                // What is due must all come; where nothing is due, anything that comes is on.
                let works = if any_due {
                    let mut all = car::draws(circuit, part).filter(asked).filter(|&id| due(id) > 1.0);
                    all.all(|id| {
                        car::over(circuit, &found, id).abs() >= share * due(id)
                            && found.current(id).abs() >= share * sound.current(id).abs()
                    })
                } else {
                    car::draws(circuit, part)
                        .filter(asked)
                        .any(|id| car::over(circuit, &found, id).abs() > 0.6 * model.vehicle.system_volts())
                };
                let fact = match (strong, works) {
                    (true, true) => Some(format!("{name} is as strong as usual")),
                    (true, false) => Some(format!("{name} is not as strong as usual")),
                    (false, true) => Some(format!("{name} works")),
                    (false, false) => Some(format!("{name} does not work")),
                };
                (works, fact)
            }
        };
        if let Some(fact) = fact {
            self.log.lines.push((moment.clone(), Line::Fact(fact)));
        }
        let value = f64::from(u8::from(yes));
        let words = format!("{question:?}: {}", if yes { "yes" } else { "no" });
        Ok(Seen { value, within: (value, value), floats: false, words })
    }

    /// Takes the reading of a line again, in its place; gives the line's place in the log.
    ///
    /// # Errors
    /// If it is no reading of the log, or cannot be taken.
    pub fn again(&mut self, words: &str) -> Result<usize, String> {
        let at = self.log.lines.iter().position(|(_, line)| {
            matches!(line, Line::Reading { .. }) && line.words().strip_prefix("reading ") == Some(words)
        });
        let at = at.ok_or("no such line")?;
        let (moment, line) = self.log.lines[at].clone();
        let Line::Reading { red, black, setting, .. } = line else { return Err("no reading".to_owned()) };
        let black = black.unwrap_or_else(|| "battery negative".to_owned());
        let slip = std::mem::replace(&mut self.slip, Slip::Never);
        let taken = self.read(&red, &black, setting, &moment, None);
        // A careless technician slips once in a walk.
        self.slip = if self.slipped.is_some() { Slip::Never } else { slip };
        taken?;
        self.log.lines[at] = self.log.lines.pop().ok_or("no reading")?;
        Ok(at)
    }

    /// Pins of the complained part that can be read first, wire side, the first of them last.
    pub fn first_pins(&self) -> Vec<String> {
        let What::Function { part, .. } = &self.complaint.what else { return Vec::new() };
        let circuit = &self.opened.model.circuit;
        let own = circuit.part_named(part);
        let plugs = circuit.connectors.iter().filter(|c| c.owner.is_some() && c.owner == own);
        let pins = plugs.flat_map(|c| &c.cavities).filter_map(|cavity| cavity.points[0]);
        let mut pins: Vec<String> = pins.map(|pin| circuit.point(pin).name.clone()).collect();
        pins.reverse();
        pins
    }
}
