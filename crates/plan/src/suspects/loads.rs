//! Parts on the net: sensors, lamps, motors, and the source itself.

use halfsplit_circuit::{BranchKind, PartKind};

use super::{Gather, Shape};

pub(super) fn gather(gather: &mut Gather<'_, '_>) {
    let bench = gather.bench;
    let circuit = bench.circuit;
    for (id, branch) in circuit.branches() {
        let draws = matches!(
            branch.kind,
            BranchKind::Load { .. }
                | BranchKind::Lamp { .. }
                | BranchKind::Coil { .. }
                | BranchKind::Feed { .. }
        );
        let ends = [branch.a, branch.b].map(|p| bench.points.contains(&p));
        if !draws || ends == [false, false] || ends == [true, true] {
            continue;
        }
        // A module that feeds itself through this net is dealt with under its feeds.
        if bench.source.module == Some(branch.part) && matches!(branch.kind, BranchKind::Feed { .. }) {
            continue;
        }
        let unit = gather.part(branch.part);
        let (a, b) = (gather.say(branch.a), gather.say(branch.b));
        let word =
            if circuit.part(branch.part).kind == PartKind::Relay { "coil shorted" } else { "shorted inside" };
        gather.draft(unit, format!("{word}, {a} to {b}"), 0.7, Shape::Bridge { a: branch.a, b: branch.b });
        gather.draft(unit, format!("open inside, {a} to {b}"), 0.3, Shape::Series { branch: id });
    }

    let source = bench.source;
    let branch = circuit.branch(source.branch);
    if matches!(branch.kind, BranchKind::Reference { .. }) {
        // What switches a wire that only sensors should hang on was added to it.
        for (id, driver) in circuit.branches() {
            let tapped = [driver.a, driver.b].iter().any(|p| bench.points.contains(p));
            if tapped && matches!(driver.kind, BranchKind::Driver { .. }) {
                let unit = gather.part(driver.part);
                let at = gather.say(driver.a);
                gather.draft(unit, format!("output {at} stuck on"), 0.5, Shape::Stuck { branch: id });
            }
        }
    }
    if let (BranchKind::Reference { .. }, Some(module)) = (&branch.kind, source.module) {
        let unit = gather.part(module);
        let at = gather.say(branch.a);
        let (a, b) = (branch.a, branch.b);
        gather.draft(unit, format!("reference output {at} shorted inside"), 0.4, Shape::Bridge { a, b });
        gather.draft(
            unit,
            format!("reference output {at} weak"),
            0.3,
            Shape::Series { branch: source.branch },
        );
        gather.draft(unit, format!("reference output {at} dead"), 0.3, Shape::Dead { branch: source.branch });
    }
}
