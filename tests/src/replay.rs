//! Every plan that the example circuits can be asked for, walked with simulated readings: each suspect in each
//! of its modes, and pairs of them. A walk is right when its end names the truth; with two faults at once also
//! when nothing fits, which the plan calls two faults by name, or when the plan's own proof says so: what the end
//! names is mended, and what was complained of is still there.

use std::path::{Path, PathBuf};

use halfsplit_base::{Files, disk};
use halfsplit_circuit::{BranchKind, Circuit, Fault, Key, Meter, PartKind, Solver, State};
use halfsplit_model::Model;
use halfsplit_plan::{
    Complaint, Inquiry, Plan, Request, plan, plan_complaint, replay::Replay, shows_complaint,
};

/// Shares of a reference's volts that are taken for readings: near zero, dead, pulled down, and lifted.
const READS: [f64; 4] = [0.04, 0.0, 0.14, 2.2];
/// A load that gets more than this when sound can be complained of.
const DUE: f64 = 1.0;

/// What the walks of one circuit came to.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    /// The file, without its folder.
    pub circuit: String,
    /// Plans drawn up.
    pub plans: usize,
    /// Walks with one fault.
    pub singles: usize,
    /// Those that ended at a set with the truth.
    pub found: usize,
    /// Repair units at their ends, all together.
    pub units: usize,
    /// Walks with two faults.
    pub pairs: usize,
    /// Those whose end names one of the two.
    pub named: usize,
    /// Those that end where nothing fits: two faults, or what is not drawn.
    pub told: usize,
    /// Those whose end names something else, and whose proof then fails: the complaint outlives the mend.
    pub proved: usize,
    /// What went wrong, in words.
    pub wrong: Vec<String>,
}

/// A plan and what it was asked for.
pub struct Drawn {
    /// The plan.
    pub plan: Plan,
    /// The question.
    pub asked: Asked,
}

/// What a plan was asked for.
pub enum Asked {
    /// A pin that reads wrong.
    Pin(Box<Request>),
    /// A complaint about a function.
    Complaint(Box<Inquiry>),
}

impl Asked {
    /// Whether what was complained of is gone with only these faults left; nothing is said where nothing can be computed.
    pub fn is_gone(&self, circuit: &Circuit, faults: &[Fault]) -> Option<bool> {
        match self {
            Asked::Complaint(inquiry) => shows_complaint(circuit, inquiry, faults).ok().map(|shows| !shows),
            Asked::Pin(request) => {
                let solver = Solver::new(circuit);
                let meter = Meter::volts(request.pin, request.black.or(circuit.negative)?);
                let sound = solver.read(&request.state, &[], &meter).ok()?;
                let read = solver.nominal(&request.state, faults, &meter).ok()?.value;
                Some(sound.low <= read && read <= sound.high)
            }
        }
    }
}

/// Every circuit file of the examples but the deliberate mistakes, sorted.
pub fn circuits() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    let mut found = Vec::new();
    let mut folders = vec![root];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() {
                if !path.ends_with("mistakes") && !path.ends_with("lib") {
                    folders.push(path);
                }
            } else if path.extension().is_some_and(|e| e == "circuit") {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// The circuit of a file, with what it uses.
///
/// # Errors
/// If it cannot be read.
pub fn open(path: &Path) -> Result<Model, disk::ReadError> {
    let mut files = Files::default();
    let file = files.set(path.to_path_buf(), &disk::read(path)?);
    files.set_root(file, disk::library_root(path));
    halfsplit_model::library::load(&mut files, file, &mut disk::read_in);
    Ok(halfsplit_model::lower(&files, file))
}

/// Every plan that a circuit is asked for: each reference near zero, dead, pulled down, lifted and floating; each lamp, motor and
/// other load dead and weak, in the first state in which it works; each fuse blown.
pub fn plans(model: &Model) -> Vec<Drawn> {
    let circuit = &model.circuit;
    let mut plans = Vec::new();
    for (_, branch) in circuit.branches() {
        let BranchKind::Reference { volts, .. } = branch.kind else { continue };
        // And once with a meter that wanders.
        for reads in READS.map(|share| Some(share * volts)).into_iter().chain([None]) {
            let mut request = Request::new(branch.a, State::with_key(Key::Run));
            (request.reads, request.floats) = (reads, reads.is_none());
            let drawn = plan(circuit, &request).ok();
            plans.extend(drawn.map(|plan| Drawn { plan, asked: Asked::Pin(Box::new(request)) }));
        }
    }
    let solver = Solver::new(circuit);
    for at in 0..circuit.parts.len() {
        let part = halfsplit_circuit::PartId(at as u32);
        if !matches!(circuit.part(part).kind, PartKind::Lamp | PartKind::Motor | PartKind::Load) {
            continue;
        }
        let works = |state: &State| {
            let Ok(found) = solver.solve(state, &[]) else { return false };
            circuit.branches_of(part).any(|(_, b)| {
                matches!(b.kind, BranchKind::Lamp { .. } | BranchKind::Load { .. })
                    && found.volts(b.a, b.b).abs() > DUE
            })
        };
        let Some(state) = states(model).into_iter().find(works) else { continue };
        for complaint in [Complaint::Dead(part), Complaint::Weak(part)] {
            let mut inquiry = Inquiry::new(complaint, state.clone());
            inquiry.effort = 300;
            let drawn = plan_complaint(circuit, &inquiry, None).ok();
            plans.extend(drawn.map(|plan| Drawn { plan, asked: Asked::Complaint(Box::new(inquiry)) }));
        }
    }
    for part in (0..circuit.parts.len()).map(|at| halfsplit_circuit::PartId(at as u32)) {
        if circuit.part(part).kind != PartKind::Fuse {
            continue;
        }
        // The state in which most can blow it.
        let asked = states(model).into_iter().map(|state| {
            let mut inquiry = Inquiry::new(Complaint::Blows(part), state);
            inquiry.effort = 300;
            inquiry
        });
        let drawn =
            asked.filter_map(|inquiry| Some((plan_complaint(circuit, &inquiry, None).ok()?, inquiry)));
        let most = drawn.max_by_key(|(plan, _)| plan.suspects.len());
        plans.extend(most.map(|(plan, inquiry)| Drawn { plan, asked: Asked::Complaint(Box::new(inquiry)) }));
    }
    plans
}

/// Key positions, each alone, with each switch out of its rest and with each output commanded on.
fn states(model: &Model) -> Vec<State> {
    let keys = [Key::Run, Key::Off, Key::Crank].map(State::with_key);
    let mut all = keys.to_vec();
    for key in &keys[..2] {
        for (at, part) in model.circuit.parts.iter().enumerate() {
            for position in part.positions.iter().skip(1) {
                let mut state = key.clone();
                state.positions.insert(halfsplit_circuit::PartId(at as u32), position.clone());
                all.push(state);
            }
        }
    }
    for (id, branch) in model.circuit.branches() {
        if matches!(branch.kind, BranchKind::Driver { .. }) {
            let mut state = keys[0].clone();
            state.commands.insert(id, true);
            all.push(state);
        }
    }
    all
}

/// Walks the plans of a circuit: every suspect in every variant, and at most so many pairs a plan.
pub fn walk(model: &Model, most_pairs: usize) -> Tally {
    let mut tally = Tally::default();
    let replay = Replay::new(&model.circuit);
    for Drawn { plan, asked } in plans(model) {
        tally.plans += 1;
        for (at, suspect) in plan.suspects.iter().enumerate() {
            for faults in &suspect.variants {
                let Ok(walk) = replay.walk_with(&plan, faults, suspect.commanded) else { continue };
                tally.singles += 1;
                if walk.names(&plan, at) {
                    tally.found += 1;
                    tally.units += units(&plan, &walk.end.suspects);
                } else {
                    let words =
                        format!("{}: {}, {}: {}", plan.pin, suspect.name, suspect.mode, walk.end.words);
                    tally.wrong.push(words);
                }
            }
        }
        pairs(&replay, &plan, &asked, most_pairs, &mut tally);
    }
    tally
}

fn pairs(replay: &Replay<'_>, plan: &Plan, asked: &Asked, most: usize, tally: &mut Tally) {
    let count = plan.suspects.len();
    let step = (count * count.saturating_sub(1) / 2).div_ceil(most.max(1)).max(1);
    let every = (0..count).flat_map(|one| (one + 1..count).map(move |other| (one, other)));
    for (one, other) in every.step_by(step) {
        let (first, second) = (&plan.suspects[one], &plan.suspects[other]);
        if first.unit == second.unit || most == 0 {
            continue;
        }
        let (Some(a), Some(b)) = (first.variants.first(), second.variants.first()) else { continue };
        let both: Vec<Fault> = a.iter().chain(b).cloned().collect();
        // Two faults that hide each other are complained of by nobody.
        let gone = asked.is_gone(replay.circuit(), &both);
        if gone == Some(true) {
            continue;
        }
        let Ok(walk) = replay.walk_with(plan, &both, first.commanded.or(second.commanded)) else { continue };
        tally.pairs += 1;
        let unit = |at: &usize| plan.suspects[*at].unit;
        if walk.end.suspects.iter().any(|at| unit(at) == first.unit || unit(at) == second.unit) {
            tally.named += 1;
        } else if walk.fits_none() {
            tally.told += 1;
        } else if gone == Some(false)
            && walk.end.prove.iter().any(|words| words.contains("more than one fault"))
        {
            // What the end names is sound already: to mend it leaves both faults.
            tally.proved += 1;
        } else {
            tally.wrong.push(format!(
                "{}: {} ({}) with {} ({}): {}",
                plan.pin, first.name, first.mode, second.name, second.mode, walk.end.words
            ));
        }
    }
}

fn units(plan: &Plan, suspects: &[usize]) -> usize {
    let mut units: Vec<_> = suspects.iter().map(|&at| plan.suspects[at].unit).collect();
    units.sort_unstable();
    units.dedup();
    units.len()
}
