//! Every single fault that a circuit can have, kind by kind.

use halfsplit_circuit::{Branch, BranchId, BranchKind, Circuit, Fault, FaultKind, PointId};

/// All single faults with a name for each.
///
/// Every wire open, resistive, chafed through to the body in its middle, touching its neighbour in
/// the same plug at the cavities and along the way; every contact, fuse, switch, relay, load, lamp, diode, output and feed failing in each way that
/// its kind can; every output's wire on power and on unlisted equipment.
pub fn single(circuit: &Circuit) -> Vec<(String, Fault)> {
    let mut faults = Vec::new();
    let negative = circuit.negative.unwrap_or(PointId(0));
    let body = circuit.body.unwrap_or(negative);
    let mut say = |part: BranchId, what: &str, kind: FaultKind| {
        let branch = circuit.branch(part);
        let ends = [branch.a, branch.b].map(|end| circuit.point(end).name.as_str()).join(" to ");
        faults.push((format!("{} ({ends}) {what}", circuit.part(branch.part).name), Fault { kind }));
    };
    let open = f64::INFINITY;
    for (branch, it) in circuit.branches() {
        let (a, b) = (it.a, it.b);
        let series = |ohms| FaultKind::Series { branch, ohms };
        let short = |ohms| FaultKind::Bridge { a, b, ohms };
        match it.kind {
            BranchKind::Wire { .. } => {
                say(branch, "open", series(open));
                say(branch, "5 Ω more", series(5.0));
                say(branch, "chafed", FaultKind::Chafe { branch, along: 0.5, to: body, ohms: 0.3 });
                if let Some(positive) = circuit.positive {
                    say(branch, "on power", FaultKind::Bridge { a: b, b: positive, ohms: 0.5 });
                }
            }
            BranchKind::Mated { .. } => {
                say(branch, "open", series(open));
                say(branch, "2 Ω more", series(2.0));
            }
            BranchKind::Joint { .. } => {
                say(branch, "open", series(open));
                say(branch, "0.5 Ω more", series(0.5));
            }
            BranchKind::Fuse { .. } => {
                say(branch, "blown", series(open));
                say(branch, "cracked", series(40e3));
            }
            BranchKind::Switch { .. } | BranchKind::RelayContact { .. } => {
                say(branch, "never closes", FaultKind::Dead { branch });
                say(branch, "welded", FaultKind::StuckClosed { branch, ohms: 0.005 });
                say(branch, "burnt", series(1.2));
            }
            BranchKind::Coil { .. } => {
                say(branch, "open", series(open));
                say(branch, "shorted turns", short(10.0));
                say(branch, "60 Ω more", series(60.0));
            }
            BranchKind::Load { .. } | BranchKind::Lamp { .. } => {
                say(branch, "open", series(open));
                say(branch, "shorted", short(1.8));
                say(branch, "leaking", short(100.0));
            }
            BranchKind::Diode { .. } => {
                say(branch, "open", series(open));
                say(branch, "shorted", short(0.1));
            }
            BranchKind::Source { .. } | BranchKind::Generator { .. } => say(branch, "weak", series(0.05)),
            BranchKind::Reference { .. } => {
                say(branch, "dead", FaultKind::Dead { branch });
                say(branch, "shorted", short(0.2));
                let sink = FaultKind::Sink { point: a, volts: 0.15, ohms: 4.7, unpowered: 47e3 };
                say(branch, "with unlisted equipment", sink);
            }
            BranchKind::Feed { .. } => say(branch, "open", series(open)),
            BranchKind::Driver { .. } => {
                say(branch, "dead", FaultKind::Dead { branch });
                say(branch, "shorted", FaultKind::StuckClosed { branch, ohms: 0.6 });
            }
        }
    }
    for connector in &circuit.connectors {
        let wired: Vec<_> = connector.cavities.iter().filter_map(|c| c.points[0].map(|p| (c, p))).collect();
        for pair in wired.windows(2) {
            let ((one, a), (other, b)) = (pair[0], pair[1]);
            let name = format!("{} cavities {} and {} bridged", connector.name, one.name, other.name);
            faults.push((name, FaultKind::Bridge { a, b, ohms: 1.0 }.into()));
            // The wires behind the two cavities, rubbed through where neither is at its end.
            if let (Some(one), Some(other)) = (wire_at(circuit, a), wire_at(circuit, b))
                && one != other
            {
                let name =
                    format!("{} wires of {} and {} touching", connector.name, pair[0].0.name, pair[1].0.name);
                let (one, other) = ((one, 0.3), (other, 0.6));
                faults.push((name, FaultKind::Touch { one, other, ohms: 0.2 }.into()));
            }
        }
    }
    faults
}

/// The first wire that ends at a point.
fn wire_at(circuit: &Circuit, point: PointId) -> Option<BranchId> {
    let wire = |branch: &Branch| matches!(branch.kind, BranchKind::Wire { .. });
    circuit.branches().find(|(_, it)| wire(it) && (it.a == point || it.b == point)).map(|(id, _)| id)
}
