//! A circuit of the generator, opened as the command line opens it, and the states that it is looked at in.

use std::path::{Path, PathBuf};

use halfsplit_base::{Files, Severity};
use halfsplit_circuit::{
    BranchId, BranchKind, Circuit, Key, PartId, PartKind, PointId, PointKind, Solution, Solver, State,
};
use halfsplit_model::{Car, Model};

use super::circuits::{self, Drawn};

/// Draws of one seed before the generator itself is taken for broken.
const DRAWS: u64 = 60;

/// A circuit as its text says it.
pub struct Opened {
    /// What was drawn.
    pub drawn: Drawn,
    /// The circuit of this car.
    pub model: Model,
    /// How often it was drawn before it was clean.
    pub redrawn: u64,
}

/// What a driver or a technician sets before looking: key, switches, commanded outputs.
#[derive(Clone, PartialEq, Debug)]
pub struct Standing {
    /// The key.
    pub key: Key,
    /// Switch or output, and its position.
    pub sets: Vec<(String, String)>,
}

/// The circuit of a seed, drawn anew until it is clean and finds a steady state when sound.
///
/// # Errors
/// If no draw of the seed is; says what was wrong with the last.
pub fn open(seed: u64) -> Result<Opened, String> {
    let mut why = String::new();
    for attempt in 0..DRAWS {
        let drawn = circuits::draw(seed, attempt);
        if drawn.parts > circuits::MOST {
            why = format!("{} parts", drawn.parts);
            continue;
        }
        match lowered(&drawn) {
            Ok(model) => {
                let whole = standings(&model).iter().all(|standing| {
                    Solver::new(&model.circuit).solve(&standing.state(&model, None), &[]).is_ok()
                });
                if whole {
                    return Ok(Opened { drawn, model, redrawn: attempt });
                }
                why = "no steady state when sound".to_owned();
            }
            Err(error) => why = error,
        }
    }
    Err(format!("seed {seed}: {why}"))
}

/// The model of a text, for the car that was drawn with it.
///
/// # Errors
/// The first error that the checker finds.
pub fn lowered(drawn: &Drawn) -> Result<Model, String> {
    let mut files = Files::default();
    let file = files.set(PathBuf::from("drawn.circuit"), &drawn.text);
    files.set_root(file, PathBuf::from("."));
    halfsplit_model::library::load(&mut files, file, &mut |_: &Path, _: &Path| {
        Err(halfsplit_base::Refused::Missing)
    });
    let checked = halfsplit_check::check(&files, file);
    if let Some(error) = checked.findings.iter().find(|finding| finding.severity == Severity::Error) {
        return Err(format!("{}: {}", error.rule, error.message));
    }
    Ok(halfsplit_model::lower_for(&files, file, &car(drawn)))
}

fn car(drawn: &Drawn) -> Car {
    Car { options: drawn.options.iter().cloned().collect(), serial: drawn.serial }
}

impl Standing {
    /// The state, everything mated.
    pub fn state(&self, model: &Model, supply: Option<f64>) -> State {
        let mut state = State::with_key(self.key);
        for (item, position) in &self.sets {
            // A name that does not stand for anything on this car sets nothing.
            let _ = model.set(&mut state, &format!("{item}={position}"));
        }
        if let Some(volts) = supply {
            state.set_supply(volts);
        }
        state
    }

    /// As options of the command line.
    pub fn options(&self) -> Vec<String> {
        let mut words = vec!["--key".to_owned(), self.key.word().to_owned()];
        for (item, position) in &self.sets {
            words.extend(["--set".to_owned(), format!("{item}={position}")]);
        }
        words
    }
}

/// States in which the car is looked at: key on and off; each switch moved, each output commanded that rests; all
/// switches moved.
pub fn standings(model: &Model) -> Vec<Standing> {
    let circuit = &model.circuit;
    let run = |sets: Vec<(String, String)>| Standing { key: Key::Run, sets };
    let mut all = vec![run(Vec::new()), Standing { key: Key::Off, sets: Vec::new() }];
    let mut moved = Vec::new();
    for part in &circuit.parts {
        if let Some(position) = part.positions.get(1) {
            moved.push((part.name.clone(), position.clone()));
        }
    }
    for (name, branch) in &circuit.outputs {
        if let BranchKind::Driver { on, .. } = &circuit.branch(*branch).kind
            && !on.keys.is_empty()
            && !on.keys.contains(&Key::Run)
        {
            moved.push((name.clone(), "on".to_owned()));
        }
    }
    all.extend(moved.iter().map(|one| run(vec![one.clone()])));
    // An H-bridge goes by its own name; its outputs are not listed under it.
    for words in bridges(model) {
        all.push(run(vec![(words, "forward".to_owned())]));
    }
    if moved.len() > 1 {
        all.push(run(moved));
    }
    all
}

fn bridges(model: &Model) -> Vec<String> {
    let mut names = Vec::new();
    for part in model.circuit.parts.iter().filter(|part| part.kind == PartKind::Module) {
        for at in 1..9 {
            let name = format!("{}.OUT{at}", part.name);
            if model.set(&mut State::default(), &format!("{name}=forward")).is_ok() {
                names.push(name);
            }
        }
    }
    names
}

/// Loads that a driver sees, hears or feels.
pub fn noticed(circuit: &Circuit) -> Vec<PartId> {
    (0..circuit.parts.len())
        .map(|at| PartId(at as u32))
        .filter(|&part| {
            matches!(circuit.part(part).kind, PartKind::Lamp | PartKind::Motor | PartKind::Load)
                && draws(circuit, part).next().is_some()
        })
        .collect()
}

/// Branches by which a part draws.
pub fn draws(circuit: &Circuit, part: PartId) -> impl Iterator<Item = BranchId> + '_ {
    circuit.branches_of(part).filter_map(|(id, branch)| {
        matches!(branch.kind, BranchKind::Load { .. } | BranchKind::Lamp { .. } | BranchKind::Coil { .. })
            .then_some(id)
    })
}

/// Volts over a branch.
pub fn over(circuit: &Circuit, solution: &Solution, id: BranchId) -> f64 {
    let branch = circuit.branch(id);
    solution.volts(branch.a, branch.b)
}

/// Pins at which a technician reads first: the wire side of a part's plug, a fuse's load side.
pub fn pins(circuit: &Circuit) -> Vec<PointId> {
    (0..circuit.points.len())
        .map(|at| PointId(at as u32))
        .filter(|&point| {
            let it = circuit.point(point);
            match it.kind {
                PointKind::Cavity { connector, half, .. } => {
                    circuit.connector(connector).owner.is_some()
                        && half == 0
                        && circuit.branches().any(|(_, b)| {
                            (b.a == point || b.b == point) && matches!(b.kind, BranchKind::Wire { .. })
                        })
                }
                PointKind::Terminal => it.name.starts_with('F') && it.name.ends_with(":load"),
                _ => false,
            }
        })
        .collect()
}
