//! The isolation plan of a pin, as a file.

use std::path::Path;

use halfsplit_circuit::net::feed_path;
use halfsplit_circuit::{Branch, BranchKind, PointId, State, healthy, nominal_volts};
use halfsplit_plan::Request;
use halfsplit_render::{page, plan as sheet};

use crate::NewFile;
use crate::scene::Scene;
use crate::sound::in_run;

/// What a meter shows at the pin, as a person says it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Class {
    /// These volts.
    Volts(f64),
    /// Next to nothing, but not nothing.
    NearZero,
    /// Nothing.
    Dead,
    /// Clearly less than it should be.
    Low,
    /// Clearly more than it should be.
    High,
    /// It wanders.
    Floats,
}

/// Share of the nominal volts that stands for a reading near zero. Own estimate: the middle of what a short
/// inside a sensor leaves.
const NEAR_ZERO: f64 = 0.05;
/// Share that stands for a low reading. Own estimate.
const LOW: f64 = 0.6;

impl Class {
    /// What is said of the pin: `reads 0.235 V`.
    pub fn words(self) -> String {
        match self {
            Class::Volts(volts) => format!("reads {}", halfsplit_render::volts(volts)),
            Class::NearZero => "reads near zero".into(),
            Class::Dead => "is dead".into(),
            Class::Low => "reads low".into(),
            Class::High => "reads high".into(),
            Class::Floats => "floats".into(),
        }
    }

    /// The class of a word, as commands carry it.
    pub fn from_word(word: &str) -> Option<Class> {
        Some(match word {
            "near-zero" => Class::NearZero,
            "dead" => Class::Dead,
            "low" => Class::Low,
            "high" => Class::High,
            "floats" => Class::Floats,
            volts => {
                let number = volts.trim().trim_end_matches('V').trim().parse().ok()?;
                Class::Volts(Some(number).filter(|number: &f64| number.is_finite())?)
            }
        })
    }

    /// The word that [`Class::from_word`] reads.
    pub fn word(self) -> String {
        match self {
            Class::Volts(volts) => format!("{volts} V"),
            Class::NearZero => "near-zero".into(),
            Class::Dead => "dead".into(),
            Class::Low => "low".into(),
            Class::High => "high".into(),
            Class::Floats => "floats".into(),
        }
    }
}

/// The classes of reading that are a complaint at a pin: none where nothing is known of its volts, none of the
/// low ones where a sound car reads nothing. Floating is left to the command, which asks: mostly something still holds
/// the pin, and then no plan can be drawn.
pub(crate) fn classes(scene: Scene, pin: PointId) -> Vec<Class> {
    let Some(volts) = scene.sound().volts(scene.circuit(), pin) else { return Vec::new() };
    // Without a fuse, contact or output on the way there is nothing that a plan could start from.
    let circuit = scene.circuit();
    let net = scene.sound().net(pin);
    let output = |branch: &Branch| {
        matches!(branch.kind, BranchKind::Reference { .. }) && net.binary_search(&branch.a).is_ok()
    };
    let feed = || feed_path(circuit, &in_run(), pin);
    if !circuit.branches.iter().any(output)
        && feed().iter().all(|step| circuit.branch(step.branch).kind.is_copper())
    {
        return Vec::new();
    }
    // The battery's own posts are where the meter rests; there is no way to them to isolate.
    let post = scene.circuit().negative == Some(pin) || scene.circuit().positive == Some(pin);
    match (post, volts) {
        (true, _) => Vec::new(),
        (_, volts) if volts.abs() < 0.5 => vec![Class::High],
        (_, volts) if volts > 9.0 => vec![Class::Dead, Class::Low],
        _ => vec![Class::NearZero, Class::Dead, Class::Low, Class::High],
    }
}

/// The plan for a pin that reads so with the key in run, beside the circuit's file. Stops soon after `cancelled`
/// says so.
pub(crate) fn plan(
    path: &Path,
    scene: Scene,
    pin: &str,
    reading: Class,
    cancelled: &dyn Fn() -> bool,
) -> Result<NewFile, String> {
    let model = scene.model;
    let point = model.names.point(pin).map_err(|_| format!("nothing is called {pin} any more"))?;
    let state: State = in_run();
    let mut request = Request::new(point, state.clone());
    let nominal = || nominal_volts(&model.circuit, &state, point);
    request.reads = match reading {
        Class::Volts(volts) => Some(volts),
        Class::NearZero => Some(nominal() * NEAR_ZERO),
        Class::Dead => Some(0.0),
        Class::Low => Some(nominal() * LOW),
        Class::High => {
            let battery = model.circuit.positive;
            let black = model.circuit.negative;
            let supply = battery.zip(black).and_then(|(red, black)| {
                healthy(&model.circuit, &state, red, black).ok().map(|reading| reading.nominal)
            });
            Some(supply.unwrap_or_else(nominal))
        }
        Class::Floats => None,
    };
    request.floats = reading == Class::Floats;
    let drawn = halfsplit_plan::plan_unless(&model.circuit, &request, cancelled)
        .map_err(|error| error.to_string())?;
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    // Neither a colon nor a slash may stand in a file's name everywhere.
    let name = format!("{stem}.{}.plan.md", pin.replace([':', '/', '\\'], "-"));
    let heading = sheet::Heading {
        circuit: model.title.clone(),
        vehicle: model.vehicle.name.clone(),
        proven: model.proven(),
        doubts: None,
    };
    let car = sheet::Car { model, state: &state };
    let pages = [sheet::first_page(&drawn, &heading, car), sheet::page(&drawn, &heading)];
    let text = page::markdown(&pages.concat());
    Ok(NewFile { path: path.with_file_name(name), text })
}
