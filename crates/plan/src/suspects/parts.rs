//! What can fail inside parts: loads, fuses, relays, switches, grounds, supplies, modules and their outputs.

use halfsplit_circuit::{Branch, BranchId, BranchKind, PartId, PartKind};

use super::{Gather, Shape, is_heavy, output_name};
use crate::grid::Range;

pub(super) fn gather(gather: &mut Gather<'_>) {
    let circuit = gather.circuit;
    for (id, branch) in circuit.branches() {
        if branch.a.index() < circuit.points.len() && branch.b.index() < circuit.points.len() {
            one(gather, id, branch);
        }
    }
    for module in (0..circuit.parts.len() as u32).map(PartId) {
        let fed = circuit.branches_of(module).any(|(_, b)| matches!(b.kind, BranchKind::Feed { .. }));
        if fed && circuit.part(module).kind == PartKind::Module {
            let unit = gather.part(module);
            let mode = "silent although fed and grounded".to_owned();
            gather.add(unit, mode, 0.5, Shape::Asleep { module }, Range::Fixed);
        }
    }
}

fn one(gather: &mut Gather<'_>, id: BranchId, branch: &Branch) {
    let circuit = gather.circuit;
    let kind = circuit.part(branch.part).kind;
    let (a, b) = (gather.say(branch.a), gather.say(branch.b));
    let across = Shape::Bridge { a: branch.a, b: branch.b };
    let series = Shape::Series { branch: id };
    let mut add = |mode: String, share: f64, shape: Shape, range: Range| {
        let unit = gather.part(branch.part);
        gather.add(unit, mode, share, shape, range);
    };
    let heavy = is_heavy(circuit, branch.a) || is_heavy(circuit, branch.b);
    let added = if heavy { Range::AddedHeavy } else { Range::Added };
    match &branch.kind {
        BranchKind::Wire { .. } | BranchKind::Mated { .. } => {}
        // A crimp in a splice belongs to its harness.
        BranchKind::Joint { .. } if matches!(kind, PartKind::Splice | PartKind::Wire) => {}
        BranchKind::Joint { .. } => add("joint loose or corroded".to_owned(), 1.0, series, added),
        BranchKind::Fuse { .. } => add("open or cracked".to_owned(), 1.0, series, added),
        BranchKind::Switch { .. } => {
            add(format!("contact {a} to {b} open or burnt"), 0.7, series, added);
            add(format!("contact {a} to {b} welded"), 0.3, Shape::Stuck { branch: id }, Range::Stuck);
        }
        BranchKind::RelayContact { .. } => {
            add(format!("contact {a} to {b} open or burnt"), 0.5, series, added);
            add(format!("contact {a} to {b} welded"), 0.1, Shape::Stuck { branch: id }, Range::Stuck);
        }
        BranchKind::Coil { .. } => {
            add("coil open".to_owned(), 0.3, series, Range::Inside);
            add(format!("coil shorted, {a} to {b}"), 0.1, across, Range::Short);
        }
        BranchKind::Lamp { .. } => {
            add("filament open".to_owned(), 0.9, series, Range::Inside);
            add(format!("shorted, {a} to {b}"), 0.1, across, Range::Short);
        }
        BranchKind::Load { .. } => {
            let short = if kind == PartKind::Sensor { 0.7 } else { 0.4 };
            add(format!("shorted inside, {a} to {b}"), short, across, Range::Short);
            add(format!("open inside, {a} to {b}"), 1.0 - short, series, Range::Inside);
        }
        BranchKind::Diode { .. } => {
            add(format!("diode open, {a} to {b}"), 0.5, series, Range::Inside);
            add(format!("diode shorted, {a} to {b}"), 0.5, across, Range::Short);
        }
        BranchKind::Source { .. } => {
            add("inner resistance high".to_owned(), 1.0, series, Range::AddedHeavy);
        }
        BranchKind::Generator { .. } => add("gives nothing".to_owned(), 1.0, series, Range::Inside),
        BranchKind::Feed { .. } => {
            add(format!("open inside, {a} to {b}"), 0.3, series, Range::Inside);
            add(format!("shorted inside, {a} to {b}"), 0.3, across, Range::Short);
        }
        BranchKind::Reference { .. } => {
            add(format!("reference output {a} shorted inside"), 0.4, across, Range::Short);
            add(format!("reference output {a} weak"), 0.3, series, Range::Added);
            add(format!("reference output {a} dead"), 0.3, Shape::Dead { branch: id }, Range::Fixed);
        }
        BranchKind::Driver { .. } => {
            let output = output_name(circuit, id);
            let at = if circuit.outputs.iter().any(|o| o.1 == id) { output } else { a };
            add(format!("output {at} dead"), 0.4, Shape::Dead { branch: id }, Range::Fixed);
            add(format!("output {at} stuck on"), 0.4, Shape::Stuck { branch: id }, Range::Stuck);
            add(format!("output {at} weak"), 0.2, series, Range::Added);
        }
    }
}
