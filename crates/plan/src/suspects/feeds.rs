//! What stands between the battery and the source: fuses, relays, wires, grounds.

use std::collections::BTreeSet;

use halfsplit_circuit::{BranchId, BranchKind, feed_path, return_path};

use super::{Gather, Shape};
use crate::harness::piece;
use crate::priors;

pub(super) fn gather(gather: &mut Gather<'_, '_>) {
    let bench = gather.bench;
    let circuit = bench.circuit;
    let mut series: BTreeSet<BranchId> = BTreeSet::new();
    let feeds = bench.module_feeds();
    if feeds.is_empty() {
        series.extend(feed_path(circuit, &bench.state, bench.source.point).iter().map(|s| s.branch));
    }
    for feed in feeds {
        let branch = circuit.branch(feed);
        series.extend(feed_path(circuit, &bench.state, branch.a).iter().map(|s| s.branch));
        series.extend(return_path(circuit, &bench.state, branch.b).iter().map(|s| s.branch));
    }
    if !matches!(circuit.branch(bench.source.branch).kind, BranchKind::Reference { .. }) {
        series.insert(bench.source.branch);
    }
    // A coil that the source's own module holds belongs to the path as much as its contact.
    let coils: Vec<BranchId> = series
        .iter()
        .filter_map(|&id| match circuit.branch(id).kind {
            BranchKind::RelayContact { coil, .. } => Some(coil),
            _ => None,
        })
        .collect();
    series.extend(coils);
    for id in series {
        if !bench.net.branches.contains(&id) {
            one(gather, id);
        }
    }
}

fn one(gather: &mut Gather<'_, '_>, id: BranchId) {
    let circuit = gather.bench.circuit;
    let branch = circuit.branch(id);
    let name = circuit.part(branch.part).name.clone();
    let shape = Shape::Series { branch: id };
    match branch.kind {
        BranchKind::Wire { .. } => {
            let unit = gather.harness(&piece(circuit, id));
            gather.draft(unit, format!("{name} open or resistive"), priors::WIRE_OPEN, shape);
        }
        BranchKind::Mated { .. } => {
            let unit = gather.part(branch.part);
            let at = gather.say(branch.a);
            gather.draft(unit, format!("contact {at} open or spread"), priors::CONNECTOR_OPEN, shape);
        }
        BranchKind::Joint { .. } => {
            let unit = gather.part(branch.part);
            gather.draft(unit, "joint loose or corroded".to_owned(), 1.0, shape);
        }
        BranchKind::Fuse { .. } => {
            let unit = gather.part(branch.part);
            gather.draft(unit, "open or cracked".to_owned(), 1.0, shape);
        }
        BranchKind::RelayContact { .. } | BranchKind::Switch { .. } => {
            let unit = gather.part(branch.part);
            gather.draft(unit, "contact open or burnt".to_owned(), 0.6, shape);
        }
        BranchKind::Coil { .. } => {
            let unit = gather.part(branch.part);
            gather.draft(unit, "coil open".to_owned(), 0.4, shape);
        }
        _ => {}
    }
}
