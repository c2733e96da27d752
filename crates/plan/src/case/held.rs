//! What else can hold an output of a module that does not talk.

use halfsplit_circuit::{
    BranchId, BranchKind, Circuit, Fault, FaultKind, PartId, Solution, Solver, State, faults_of,
};

use super::Job;
use crate::facts::Fact;

/// Share of its volts that a load must get to count as held (as a load that works).
const HELD: f64 = 0.6;

/// An output that is on while its module is silent.
#[derive(Clone, PartialEq, Debug)]
pub struct Held {
    /// The module.
    pub module: String,
    /// The output.
    pub output: String,
    /// What gets its volts from it: coils and loads.
    pub feeds: Vec<String>,
    /// Single faults that give them their volts although the module has no supply at all.
    pub by: Vec<String>,
}

/// One for every fact that an output is on beside the fact that its module is silent.
pub(super) fn held(circuit: &Circuit, job: &Job, facts: &[Fact]) -> Vec<Held> {
    let silent: Vec<PartId> = facts.iter().filter_map(Fact::is_silence).collect();
    let on = facts.iter().filter_map(Fact::is_on);
    on.filter(|&output| silent.contains(&circuit.branch(output).part))
        .filter_map(|output| one(circuit, job, output))
        .collect()
}

fn one(circuit: &Circuit, job: &Job, output: BranchId) -> Option<Held> {
    let module = circuit.branch(output).part;
    let solver = Solver::new(circuit);
    let mut state = State { unplugged: Default::default(), pulled: Default::default(), ..job.now.clone() };
    state.battery = true;
    state.commands.insert(output, true);
    let on = solver.solve(&state, &[]).ok()?;
    state.commands.insert(output, false);
    let idle = solver.solve(&state, &[]).ok()?;
    // No feed of the module is left: whatever holds the output now is not the module's doing.
    let dead: Vec<Fault> = circuit
        .branches_of(module)
        .filter(|(_, b)| matches!(b.kind, BranchKind::Feed { .. }))
        .map(|(branch, _)| FaultKind::Series { branch, ohms: f64::INFINITY }.into())
        .collect();
    let off = solver.solve(&state, &dead).ok()?;
    let across = |solution: &Solution, id: BranchId| {
        let branch = circuit.branch(id);
        solution.volts(branch.a, branch.b).abs()
    };
    let targets: Vec<BranchId> = circuit
        .branches()
        .filter(|(_, b)| {
            let draws =
                matches!(b.kind, BranchKind::Load { .. } | BranchKind::Lamp { .. } | BranchKind::Coil { .. });
            draws && b.part != module
        })
        .map(|(id, _)| id)
        .filter(|&id| {
            // What the output itself switches, and nothing that only falls asleep with the module.
            let low = (1.0 - HELD) * across(&on, id);
            across(&on, id) > 1.0 && across(&idle, id) < low && across(&off, id) < low
        })
        .collect();
    let mut by = Vec::new();
    for fault in faults_of(circuit) {
        let faults: Vec<Fault> = fault.faults.iter().chain(&dead).cloned().collect();
        let Ok(found) = solver.solve(&state, &faults) else { continue };
        if targets.iter().any(|&id| across(&found, id) >= HELD * across(&on, id))
            && !by.contains(&fault.label)
        {
            by.push(fault.label);
        }
    }
    let mut feeds: Vec<String> =
        targets.iter().map(|&id| circuit.part(circuit.branch(id).part).name.clone()).collect();
    feeds.dedup();
    let name = circuit.outputs.iter().find(|(_, b)| *b == output)?.0.clone();
    Some(Held { module: circuit.part(module).name.clone(), output: name, feeds, by })
}
