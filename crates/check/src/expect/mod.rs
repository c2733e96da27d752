//! Runs the `expect` blocks of a circuit: each line is met, or it says what comes instead.

mod plans;
mod readings;

use std::collections::BTreeSet;

use halfsplit_base::{FileId, Files};
use halfsplit_circuit::{Fault, PointId, State, net::net};
use halfsplit_model::{
    Car, Entity, Model, Place,
    expect::{Expect, Said, WantKind},
    lower_for,
};

/// How much work a check may be.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Effort {
    /// None: no expectation is looked at.
    None,
    /// What an editor can wait for: plans are not drawn up.
    #[default]
    Quick,
    /// Everything, plans included.
    Whole,
}

/// One line of an `expect` block, and what came of it.
#[derive(Clone, PartialEq, Debug)]
pub struct Expectation {
    /// The block's title.
    pub title: String,
    /// The line.
    pub place: Place,
    /// What was expected, as written.
    pub expected: String,
    /// What came of it.
    pub outcome: Outcome,
}

/// What came of an expectation.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Outcome {
    /// What was expected comes.
    Met,
    /// Something else comes: in words.
    Unmet(String),
    /// The line or its block says something that cannot be: where, and in words.
    Unreadable(Place, String),
    /// Not run: an editor does not draw up plans, and in a circuit with errors nothing comes as expected.
    Skipped,
}

/// The rules that speak of what came.
pub(crate) use crate::rules::EXPECTATIONS as RULES;

/// Words that could not be understood, and where they stand.
type Unreadable = (Place, String);

/// Runs every block of a circuit.
pub(crate) fn run(files: &Files, file: FileId, model: &Model, effort: Effort) -> Vec<Expectation> {
    let mut done = Vec::new();
    for expect in &model.expects {
        // A block about one car looks at the circuit of that car.
        let other = (expect.car != Car::default()).then(|| lower_for(files, file, &expect.car));
        let bench = Bench { files, model: other.as_ref().unwrap_or(model), expect };
        let set_up = bench.state().and_then(|state| Ok((state, bench.faults()?)));
        for want in &expect.wants {
            let outcome = match (&set_up, &want.kind) {
                _ if effort == Effort::None => Outcome::Skipped,
                (_, WantKind::Nothing(words)) => Outcome::Unreadable(want.place, (*words).to_owned()),
                (Err((place, words)), _) => Outcome::Unreadable(*place, words.clone()),
                (_, WantKind::Plan { .. }) if effort == Effort::Quick => Outcome::Skipped,
                (Ok((state, faults)), kind) => match bench.judge(state, faults, kind) {
                    Ok(None) => Outcome::Met,
                    Ok(Some(instead)) => Outcome::Unmet(instead),
                    Err((place, words)) => Outcome::Unreadable(place, words),
                },
            };
            let expected = line(files, want.place);
            done.push(Expectation { title: expect.title.clone(), place: want.place, expected, outcome });
        }
    }
    done
}

/// The first line of a statement, its spaces single.
fn line(files: &Files, place: Place) -> String {
    let text = files.get(place.file).text.get(place.span.range()).unwrap_or_default();
    let first = text.lines().next().unwrap_or_default();
    first.trim_end_matches('{').split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A block on the bench.
struct Bench<'b> {
    files: &'b Files,
    model: &'b Model,
    expect: &'b Expect,
}

impl Bench<'_> {
    fn state(&self) -> Result<State, Unreadable> {
        let unreadable = |said: &Said, error: &dyn std::fmt::Display| (said.place, error.to_string());
        let model = self.model;
        let key = self.expect.key.as_ref();
        let key = key.map(|said| model.key(&said.words).map_err(|e| unreadable(said, &e))).transpose()?;
        let mut state = key.map_or_else(|| State::with_key(halfsplit_circuit::Key::Run), State::with_key);
        state.battery = !self.expect.battery_off;
        if let Some(volts) = self.expect.supply {
            state.set_supply(volts);
        }
        for said in &self.expect.out {
            model.unplug(&mut state, &said.words).map_err(|e| unreadable(said, &e))?;
        }
        for said in &self.expect.settings {
            model.set(&mut state, &said.words).map_err(|e| unreadable(said, &e))?;
        }
        Ok(state)
    }

    fn faults(&self) -> Result<Vec<Fault>, Unreadable> {
        let fault = |said: &Said| self.model.fault(&said.words).map_err(|e| (said.place, e.to_string()));
        self.expect.faults.iter().map(fault).collect()
    }

    /// Nothing where it is met; else what comes instead.
    fn judge(&self, state: &State, faults: &[Fault], kind: &WantKind) -> Result<Option<String>, Unreadable> {
        match kind {
            WantKind::Volts { .. } | WantKind::Ohms { .. } => self.reading(state, faults, kind),
            WantKind::Net { pin, holds, others } => {
                let joined: BTreeSet<PointId> =
                    net(&self.model.circuit, state, self.point(pin)?).points.into_iter().collect();
                let mut wrong = Vec::new();
                for other in others {
                    if joined.contains(&self.point(other)?) != *holds {
                        wrong.push(other.words.as_str());
                    }
                }
                let does = if *holds { "copper does not join" } else { "copper joins" };
                Ok((!wrong.is_empty()).then(|| format!("{does} {} to {}", wrong.join(", "), pin.words)))
            }
            WantKind::Plan { .. } => self.plan(state, faults, kind),
            WantKind::Nothing(words) => Err((self.expect.place, (*words).to_owned())),
        }
    }

    fn point(&self, said: &Said) -> Result<PointId, Unreadable> {
        let words = || format!("this car has no pin `{}`", said.words);
        self.model.names.point(&said.words).map_err(|_| (said.place, words()))
    }

    fn entity(&self, said: &Said) -> Result<Entity, Unreadable> {
        let words = || format!("this car has no item `{}`", said.words);
        self.model.names.any(&said.words).map_err(|_| (said.place, words()))
    }
}
