//! What is brought in: a pin that reads wrong, or a function that does not do what it should.

use halfsplit_circuit::{
    BranchKind, Fault, Key, Meter, PartId, PartKind, PointId, PointKind, Reading, Solution, Solver, State,
};
use halfsplit_model::Model;

use super::car::{self, Opened, Standing};
use super::meter::{Hand, Shown};
use crate::outside::random::Random;

/// Share of cases in which somebody comes with a function rather than with a reading.
const FUNCTIONS: f64 = 0.5;
/// Share of pins that are read against another pin of their plug.
const ACROSS: f64 = 0.15;
/// Volts of a sound load from which it is missed.
const DUE: f64 = 1.0;
/// Overload at which a fuse is sure to have blown, as a share of its rating (ISO 8820-3, SAW-2nd).
const BLOWS: f64 = 1.35;
/// By how much the supply wanders from one reading to the next, in volts.
pub const WANDER: f64 = 0.1;
/// Amperes from which a parked car is brought in with a flat battery.
const DRAIN: f64 = 0.08;

/// A complaint, and the state in which it shows.
#[derive(Clone, Debug)]
pub struct Complaint {
    /// Key, switches, commands.
    pub standing: Standing,
    /// Open-circuit volts of this car's battery.
    pub supply: f64,
    /// Volts at the posts, as read in that state.
    pub posts: Shown,
    /// What it is.
    pub what: What,
}

/// What is complained of.
#[derive(Clone, Debug)]
pub enum What {
    /// A pin that reads wrong.
    Pin {
        /// The pin.
        pin: String,
        /// Where the black lead is; battery negative if `None`.
        black: Option<String>,
        /// What it shows.
        shown: Shown,
    },
    /// Ohms that are wrong between the two wires of a dead bus.
    Ohms {
        /// Upper wire.
        red: String,
        /// Lower wire.
        black: String,
        /// What it shows.
        shown: Shown,
    },
    /// A function, in the words of a complaint.
    Function {
        /// The load or fuse.
        part: String,
        /// `E4 does not work`.
        words: String,
    },
}

/// A sound circuit, solved once in every state in which it is looked at.
pub struct Sound<'c> {
    /// The circuit.
    pub opened: &'c Opened,
    /// Its states.
    pub standings: Vec<Standing>,
    solutions: Vec<Option<Solution>>,
    loads: Vec<PartId>,
    pins: Vec<PointId>,
}

impl<'c> Sound<'c> {
    /// Solves a sound circuit.
    pub fn of(opened: &'c Opened) -> Sound<'c> {
        let model = &opened.model;
        let solver = Solver::new(&model.circuit);
        let standings = car::standings(model);
        let solutions = standings.iter().map(|s| solver.solve(&s.state(model, None), &[]).ok()).collect();
        let (loads, pins) = (car::noticed(&model.circuit), car::pins(&model.circuit));
        Sound { opened, standings, solutions, loads, pins }
    }

    fn model(&self) -> &Model {
        &self.opened.model
    }

    /// A complaint about these faults; `None` where neither a driver nor a meter notices them, or where they leave the
    /// car without a steady state.
    pub fn complaint(&self, faults: &[Fault], hand: &Hand, random: &mut Random) -> Option<Complaint> {
        let circuit = &self.model().circuit;
        let solver = Solver::new(circuit);
        let nominal = circuit.branches.iter().find_map(|b| match b.kind {
            BranchKind::Source { volts, .. } => Some(volts),
            _ => None,
        })?;
        // One figure for a row of two: what both show together.
        let row =
            circuit.branches.iter().filter(|b| matches!(b.kind, BranchKind::Source { .. })).count() as f64;
        let supply = row * (nominal + random.between(-0.25, 0.15));
        let mut order: Vec<usize> = (0..self.standings.len()).collect();
        for at in (1..order.len()).rev() {
            order.swap(at, random.below(at + 1));
        }
        let posts = circuit.positive.zip(circuit.negative)?;
        let bare = Standing { key: Key::Off, sets: Vec::new() };
        if let Some(ohms) = self.ohms(&solver, &bare, faults, hand, random) {
            let posts = hand.volts(random, supply);
            return Some(Complaint { standing: bare, supply, posts, what: ohms });
        }
        // A fuse that blows in any state has blown before anybody looks at anything else.
        for &at in &order {
            let state = self.standings[at].state(self.model(), Some(supply));
            let (Ok(found), Some(sound)) = (solver.solve(&state, faults), &self.solutions[at]) else {
                continue;
            };
            match self.blown(&found, sound) {
                Some(Blown::Fuse(fuse)) => {
                    // It has blown before anybody holds a meter to the posts.
                    let mut blown = state.clone();
                    blown.pulled.insert(circuit.part_named(&fuse)?);
                    let volts = solver.nominal(&blown, faults, &Meter::volts(posts.0, posts.1)).ok()?.value;
                    let what = What::Function { words: format!("{fuse} blows"), part: fuse };
                    let (standing, posts) = (self.standings[at].clone(), hand.volts(random, volts));
                    return Some(Complaint { standing, supply, posts, what });
                }
                // Nothing guards it: a car with such a fault comes in burnt.
                Some(Blown::Nothing) => return None,
                None => {}
            }
        }
        let functions = random.unit() < FUNCTIONS;
        for pass in [functions, !functions] {
            for &at in &order {
                let standing = &self.standings[at];
                let state = standing.state(self.model(), Some(supply));
                let Ok(volts) = solver.nominal(&state, faults, &Meter::volts(posts.0, posts.1)) else {
                    continue;
                };
                let posts = hand.volts(random, volts.value);
                let Ok(found) = solver.solve(&state, faults) else { continue };
                let Some(sound) = &self.solutions[at] else { continue };
                let what = match pass {
                    true => self.function(at, &found, sound, random),
                    false => {
                        // What is sound is judged by the volts at the posts, which is what is asked with.
                        let mut due = state.clone();
                        due.set_supply(posts.value);
                        self.pin(&solver, [&state, &due], faults, &found, sound, hand, random)
                    }
                };
                if let Some(what) = what {
                    return Some(Complaint { standing: standing.clone(), supply, posts, what });
                }
            }
        }
        None
    }

    /// A fuse that carries far more than it is made for, the smallest of them.
    fn blown(&self, found: &Solution, sound: &Solution) -> Option<Blown> {
        let circuit = &self.model().circuit;
        let mut over: Vec<(f64, String, bool)> = Vec::new();
        let mut burns = false;
        for (id, branch) in circuit.branches() {
            if matches!(branch.kind, BranchKind::Source { .. }) {
                burns |= found.current(id).abs() > sound.current(id).abs() + BURNS;
            }
            let BranchKind::Fuse { rating, .. } = branch.kind else { continue };
            let part = circuit.part(branch.part);
            if found.current(id).abs() > BLOWS * rating && sound.current(id).abs() < BLOWS * rating {
                over.push((rating, part.name.clone(), part.kind == PartKind::Fuse));
            }
        }
        over.sort_by(|a, b| a.0.total_cmp(&b.0));
        let Some(first) = over.into_iter().next() else { return burns.then_some(Blown::Nothing) };
        Some(if first.2 { Blown::Fuse(first.1) } else { Blown::Nothing })
    }

    fn function(&self, at: usize, found: &Solution, sound: &Solution, random: &mut Random) -> Option<What> {
        let circuit = &self.model().circuit;
        let mut seen: Vec<(String, String)> = Vec::new();
        for &part in &self.loads {
            let kind = circuit.part(part).kind;
            let name = &circuit.part(part).name;
            let volts = |solution: &Solution| {
                let all = car::draws(circuit, part).map(|id| car::over(circuit, solution, id).abs());
                all.fold(0.0, f64::max)
            };
            let (due, now) = (volts(sound), volts(found));
            if due < DUE {
                if now > 0.6 * self.model().vehicle.system_volts() {
                    seen.push((name.clone(), format!("{name} stays on")));
                }
                continue;
            }
            // What the driver sees is the current, where the part itself is stiff or open.
            let through = |solution: &Solution| {
                let all = car::draws(circuit, part).map(|id| solution.current(id).abs());
                all.fold(0.0, f64::max)
            };
            let share = (now / due).min(through(found) / through(sound).max(1e-9));
            let (dead, weak) = if kind == PartKind::Lamp { (0.25, 0.9) } else { (0.5, 0.85) };
            if share < dead {
                seen.push((name.clone(), format!("{name} does not work")));
            } else if share < weak {
                seen.push((name.clone(), format!("{name} is weak")));
            }
        }
        if self.standings[at].key == Key::Off && self.standings[at].sets.is_empty() {
            let drawn = |solution: &Solution| {
                let sources = circuit.branches().filter(|(_, b)| matches!(b.kind, BranchKind::Source { .. }));
                sources.map(|(id, _)| solution.current(id).abs()).fold(0.0, f64::max)
            };
            let (now, due) = (drawn(found), drawn(sound));
            if due < DRAIN && now > due + DRAIN {
                seen.push((String::new(), format!("draws {:.0} mA asleep", 1e3 * now)));
            }
        }
        let (part, words) = seen.get(random.below(seen.len().max(1)))?.clone();
        Some(What::Function { part, words })
    }

    #[allow(clippy::too_many_arguments)] // one look at one car
    fn pin(
        &self,
        solver: &Solver<'_>,
        [state, due]: [&State; 2],
        faults: &[Fault],
        found: &Solution,
        sound: &Solution,
        hand: &Hand,
        random: &mut Random,
    ) -> Option<What> {
        let circuit = &self.model().circuit;
        let negative = circuit.negative?;
        let mut off: Vec<PointId> = self
            .pins
            .iter()
            .copied()
            .filter(|&pin| {
                let (now, due) = (found.volts(pin, negative), sound.volts(pin, negative));
                (now - due).abs() > 0.02 + 0.02 * due.abs() || !found.joined(pin, negative)
            })
            .collect();
        for _ in 0..6 {
            if off.is_empty() {
                return None;
            }
            let pin = off.swap_remove(random.below(off.len()));
            let black = if random.unit() < ACROSS { self.beside(pin, random) } else { None };
            let meter = Meter::volts(pin, black.unwrap_or(negative));
            let (Ok(due), Ok(now)) = (solver.read(due, &[], &meter), solver.nominal(state, faults, &meter))
            else {
                continue;
            };
            let shown = if now.floating { hand.wander(random) } else { hand.volts(random, now.value) };
            if due.floating || !outside(&shown, &due) {
                continue;
            }
            let name = |point: PointId| circuit.point(point).name.clone();
            return Some(What::Pin { pin: name(pin), black: black.map(name), shown });
        }
        None
    }

    /// Another wired pin of the same plug.
    fn beside(&self, pin: PointId, random: &mut Random) -> Option<PointId> {
        let circuit = &self.model().circuit;
        let PointKind::Cavity { connector, half, .. } = circuit.point(pin).kind else { return None };
        let cavities = circuit.connector(connector).cavities.iter();
        let others: Vec<PointId> = cavities
            .filter_map(|cavity| cavity.points[usize::from(half)])
            .filter(|other| *other != pin && self.pins.contains(other))
            .collect();
        others.get(random.below(others.len().max(1))).copied()
    }

    /// Ohms across the bus, where there is one and the fault shows there.
    fn ohms(
        &self,
        solver: &Solver<'_>,
        bare: &Standing,
        faults: &[Fault],
        hand: &Hand,
        random: &mut Random,
    ) -> Option<What> {
        let text = &self.opened.drawn.text;
        let first = |word: &str| {
            let line = text.lines().find(|line| line.split_whitespace().next() == Some(word))?;
            let name = line.split_whitespace().nth(1)?;
            Some((name.to_owned(), self.model().names.point(name).ok()?))
        };
        let ((red, upper), (black, lower)) = (first("high")?, first("low")?);
        let mut state = bare.state(self.model(), None);
        state.battery = false;
        let meter = Meter::ohms(upper, lower);
        let due = solver.read(&state, &[], &meter).ok()?;
        let shown = hand.ohms(random, solver.nominal(&state, faults, &meter).ok()?.value);
        let off = shown.within.1 < due.low || shown.within.0 > due.high;
        off.then_some(What::Ohms { red, black, shown })
    }
}

/// A current beyond the sound one, in amperes, that no fuse parts: before a meter is at hand the cable has burnt.
const BURNS: f64 = 100.0;

enum Blown {
    Fuse(String),
    Nothing,
}

/// Whether a reading is none that a sound circuit shows, with the wandering supply.
fn outside(shown: &Shown, due: &Reading) -> bool {
    let wander = WANDER * (due.nominal.abs() / 12.0).min(1.0);
    shown.within.1 < due.low - wander || shown.within.0 > due.high + wander
}

impl Complaint {
    /// The question for a plan.
    pub fn question(&self, opened: &Opened, file: &str) -> Vec<String> {
        let mut words = vec!["plan".to_owned(), file.to_owned()];
        match &self.what {
            What::Pin { pin, black, shown } => {
                let reads = if shown.wanders.is_some() { "floats".to_owned() } else { shown.text.clone() };
                words.extend([pin.clone(), format!("--reads={reads}")]);
                words.extend(black.iter().flat_map(|black| ["--black".to_owned(), black.clone()]));
            }
            What::Ohms { red, black, shown } => {
                words.extend([red.clone(), "--black".to_owned(), black.clone()]);
                words.extend([format!("--reads={}", shown.text), "--battery-off".to_owned()]);
            }
            What::Function { words: said, .. } => words.extend(["--complaint".to_owned(), said.clone()]),
        }
        words.extend(self.standing.options());
        if let Some(posts) = self.supply_read() {
            words.extend(["--supply".to_owned(), posts.to_owned()]);
        }
        for (name, there) in &opened.drawn.options {
            words.extend([if *there { "--option" } else { "--without" }.to_owned(), name.clone()]);
        }
        if let Some(serial) = opened.drawn.serial {
            words.extend(["--serial".to_owned(), serial.to_string()]);
        }
        words
    }

    /// The volts at the posts as written down; nobody gives a battery's volts that is not joined to the car.
    pub fn supply_read(&self) -> Option<&str> {
        (self.posts.value > 0.5 * self.supply).then_some(self.posts.text.as_str())
    }

    /// In words, for the list of cases.
    pub fn said(&self) -> String {
        match &self.what {
            What::Pin { pin, black, shown } => {
                let to = black.as_ref().map(|black| format!(" to {black}")).unwrap_or_default();
                format!("{pin}{to} reads {}", shown.text)
            }
            What::Ohms { red, black, shown } => format!("{red} to {black} reads {}", shown.text),
            What::Function { words, .. } => words.clone(),
        }
    }
}
