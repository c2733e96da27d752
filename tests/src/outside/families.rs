//! The cases of the outside checks, by family.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use halfsplit_circuit::{BranchKind, BuildError, Circuit, Fault, Key, Load, Measure, Meter, PointId, State};

use super::faults::single;
use super::random::{self, Kind, Random};
use super::weak;

/// Seed of the linear family.
pub const LINEAR_SEED: u64 = 20_140_719;
/// Seed of the family with diodes and limiters.
pub const LIMITING_SEED: u64 = 41_021_977;

/// Seed of the family with weak feeds.
pub const WEAK_SEED: u64 = 77_310_265;

/// A circuit in a state with its faults.
#[derive(Clone, Debug)]
pub struct Case {
    /// What it is, unique within its family.
    pub name: String,
    /// The circuit.
    pub circuit: Arc<Circuit>,
    /// The state.
    pub state: State,
    /// The faults.
    pub faults: Vec<Fault>,
    /// A meter in the circuit, whose reading is compared; without one all volts are.
    pub meter: Option<Meter>,
    /// Lamps by their filament law instead of hot; only with a meter.
    pub filament: bool,
}

/// Cases that are reported together.
#[derive(Clone, Debug)]
pub struct Family {
    /// Its name in the table.
    pub name: String,
    /// Its cases.
    pub cases: Vec<Case>,
}

/// Random linear circuits; in every third an ohmmeter on the dead circuit instead of volts.
pub fn linear(seed: u64, count: usize) -> Family {
    Family { name: "random linear circuits".to_owned(), cases: drawn(Kind::Linear, seed, count) }
}

/// Random circuits with diodes, limited references and drivers.
pub fn limiting(seed: u64, count: usize) -> Family {
    Family { name: "random, diodes and limiters".to_owned(), cases: drawn(Kind::Limiting, seed, count) }
}

/// Random modules behind weak feeds and grounds.
pub fn weak(seed: u64, count: usize) -> Family {
    let draw = |_, random: &mut Random| {
        let (circuit, faults) = weak::circuit(random)?;
        Ok((circuit, faults, State::with_key(Key::Run), None))
    };
    Family { name: "random, weak feeds and grounds".to_owned(), cases: numbered(seed, count, draw) }
}

fn drawn(kind: Kind, seed: u64, count: usize) -> Vec<Case> {
    numbered(seed, count, |index, random| {
        let (circuit, faults) = random::circuit(kind, random)?;
        let (mut state, mut meter) = (State::with_key(Key::Run), None);
        if kind == Kind::Linear && index % 3 == 2 {
            state = State { battery: false, ..State::default() };
            let points = circuit.points.len();
            let red = random.below(points);
            let black = (red + 1 + random.below(points - 1)) % points;
            meter = Some(Meter::ohms(PointId(red as u32), PointId(black as u32)));
        }
        Ok((circuit, faults, state, meter))
    })
}

/// Case `n` of a family is drawn from the seed plus `n`, so that a short run is the start of a long one.
fn numbered(
    seed: u64,
    count: usize,
    draw: impl Fn(usize, &mut Random) -> Result<(Circuit, Vec<Fault>, State, Option<Meter>), BuildError>,
) -> Vec<Case> {
    let one = |index: usize| -> Result<Case, BuildError> {
        let mut random = Random::new(seed.wrapping_add(index as u64));
        let (circuit, faults, state, meter) = draw(index, &mut random)?;
        let circuit = Arc::new(circuit);
        Ok(Case { name: format!("{index}"), circuit, state, faults, meter, filament: false })
    };
    // The builder accepts whatever is drawn; were it not so, the family would come out short.
    (0..count).filter_map(|index| one(index).ok()).collect()
}

/// The circuit files under a folder, as names and circuits, in order of their paths.
///
/// # Errors
/// A folder or file that cannot be read, or a file that does not lower without problems.
pub fn circuits_under(folder: &Path) -> Result<Vec<(String, Arc<Circuit>)>, String> {
    let mut found = Vec::new();
    collect(folder, &mut found)?;
    found.sort();
    let mut circuits = Vec::new();
    for path in found {
        let say = |what: String| format!("{}: {what}", path.display());
        let text = std::fs::read_to_string(&path).map_err(|e| say(e.to_string()))?;
        let mut files = halfsplit_base::Files::default();
        let file = files.set(path.clone(), &text);
        files.set_root(file, halfsplit_base::disk::library_root(&path));
        halfsplit_model::library::load(&mut files, file, &mut halfsplit_base::disk::read_in);
        let model = halfsplit_model::lower(&files, file);
        if model.library {
            continue;
        }
        if !model.syntax.is_empty() || !model.problems.is_empty() {
            return Err(say("does not lower cleanly".to_owned()));
        }
        let name = path.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
        circuits.push((name, Arc::new(model.circuit)));
    }
    Ok(circuits)
}

/// Circuit files below a folder, but for the ones that hold deliberate mistakes.
fn collect(folder: &Path, found: &mut Vec<PathBuf>) -> Result<(), String> {
    let say = |e: std::io::Error| format!("{}: {e}", folder.display());
    for entry in std::fs::read_dir(folder).map_err(say)? {
        let path = entry.map_err(say)?.path();
        if path.is_dir() {
            if path.file_name().is_none_or(|name| name != "mistakes") {
                collect(&path, found)?;
            }
        } else if path.extension().is_some_and(|extension| extension == "circuit") {
            found.push(path);
        }
    }
    Ok(())
}

/// The states an example is asked in: key off, key on, and key on with everything switched on.
///
/// Batteries keep their declared volts: what stands behind a measured supply is found by our own solve.
/// States in which a generator turns are left out: its sense point is beyond a two-terminal
/// element of a netlist.
fn states(circuit: &Circuit) -> Vec<(&'static str, State)> {
    let run = || State::with_key(Key::Run);
    let turns = |state: &State| {
        circuit.branches.iter().any(|branch| match &branch.kind {
            BranchKind::Generator { turning, .. } => circuit.holds(turning, branch.part, state),
            _ => false,
        })
    };
    let mut all = run();
    for (index, part) in circuit.parts.iter().enumerate() {
        if let Some(last) = part.positions.last() {
            all.positions.insert(halfsplit_circuit::PartId(index as u32), last.clone());
        }
    }
    for (id, branch) in circuit.branches() {
        if matches!(branch.kind, BranchKind::Driver { .. }) {
            all.commands.insert(id, true);
        }
    }
    let mut off = run();
    off.key = Key::Off;
    let mut states = vec![("key run", run()), ("key off", off)];
    if all != states[0].1 {
        states.push(("everything on", all));
    }
    states.retain(|(_, state)| !turns(state));
    states
}

/// One example, healthy and with every single fault, in every state: all its volts.
pub fn volts(name: &str, circuit: &Arc<Circuit>, every: usize) -> Family {
    let faults = single(circuit);
    let mut cases = Vec::new();
    for (state_name, state) in states(circuit) {
        let case = |name: String, faults: Vec<Fault>| Case {
            name: format!("{state_name}, {name}"),
            circuit: Arc::clone(circuit),
            state: state.clone(),
            faults,
            meter: None,
            filament: false,
        };
        cases.push(case("healthy".to_owned(), Vec::new()));
        cases.extend(
            faults.iter().step_by(every).map(|(name, fault)| case(name.clone(), vec![fault.clone()])),
        );
    }
    Family { name: format!("{name}, every single fault"), cases }
}

/// One example with a meter in it: alone, with the lamp by its filament law and with 470 Ω, at
/// points spread over the circuit, healthy and with every so many-th fault.
pub fn readings(name: &str, circuit: &Arc<Circuit>, every: usize) -> Family {
    let black = circuit.negative.unwrap_or(PointId(0));
    let loads = [Load::None, Load::Lamp, Load::Reference];
    let mut faults: Vec<(String, Option<Fault>)> = vec![("healthy".to_owned(), None)];
    faults.extend(single(circuit).into_iter().step_by(every).map(|(name, fault)| (name, Some(fault))));
    let mut cases = Vec::new();
    for (state_name, state) in states(circuit) {
        for (index, (fault_name, fault)) in faults.iter().enumerate() {
            // Point and load walk on from fault to fault.
            let red = PointId(((index * 37 + 11) % circuit.points.len()) as u32);
            let load = loads[index % loads.len()];
            let point = &circuit.point(red).name;
            cases.push(Case {
                name: format!("{state_name}, {fault_name}, {load:?} at {point}"),
                circuit: Arc::clone(circuit),
                state: state.clone(),
                faults: fault.iter().cloned().collect(),
                meter: Some(Meter { red, black, measure: Measure::Volts(load) }),
                filament: load == Load::Lamp || index % 2 == 0,
            });
        }
    }
    Family { name: format!("{name}, meter and loads"), cases }
}
