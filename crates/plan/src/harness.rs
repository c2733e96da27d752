//! Pieces of harness: what no connector separates is repaired as one.

use std::collections::BTreeSet;

use halfsplit_circuit::{BranchId, Circuit, PartId, PartKind, PointId, PointKind};

/// Wires and splices joined by copper when every connector is parted.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Piece {
    /// `engine harness W3–W6`, `wire W31`.
    pub name: String,
    /// Its wires, in order of declaration.
    pub wires: Vec<BranchId>,
    /// Wires and splices as parts.
    pub parts: BTreeSet<PartId>,
    /// Every point of it.
    pub points: BTreeSet<PointId>,
}

/// The pieces that hold these wires, each once, in order of their first wire.
pub fn pieces(circuit: &Circuit, wires: impl IntoIterator<Item = BranchId>) -> Vec<Piece> {
    let mut found: Vec<Piece> = Vec::new();
    for wire in wires {
        if !is_wire(circuit, wire) || found.iter().any(|p| p.wires.contains(&wire)) {
            continue;
        }
        found.push(piece(circuit, wire));
    }
    found.sort_by_key(|p| p.wires.first().copied());
    found
}

/// The piece of one wire.
pub fn piece(circuit: &Circuit, wire: BranchId) -> Piece {
    let mut points = BTreeSet::from([circuit.branch(wire).a, circuit.branch(wire).b]);
    let mut wires = BTreeSet::from([wire]);
    let mut grown = true;
    while grown {
        grown = false;
        for (id, branch) in circuit.branches() {
            let joins = [branch.a, branch.b].into_iter().any(|p| points.contains(&p) && passes(circuit, p));
            if joins && is_harness(circuit, id) && wires.insert(id) {
                points.extend([branch.a, branch.b]);
                grown = true;
            }
        }
    }
    let mut parts: BTreeSet<PartId> = wires.iter().map(|&w| circuit.branch(w).part).collect();
    for &point in &points {
        if circuit.point(point).kind == PointKind::Splice {
            parts.extend(circuit.part_named(&circuit.point(point).name));
        }
    }
    let wires: Vec<BranchId> = wires.into_iter().filter(|&w| is_wire(circuit, w)).collect();
    Piece { name: name(circuit, &wires, &points), wires, parts, points }
}

/// Whether a piece goes on through this point: through splices, not through bars, studs or ground points.
fn passes(circuit: &Circuit, point: PointId) -> bool {
    matches!(circuit.point(point).kind, PointKind::Splice | PointKind::Inside | PointKind::Cavity { .. })
}

fn is_harness(circuit: &Circuit, branch: BranchId) -> bool {
    matches!(circuit.part(circuit.branch(branch).part).kind, PartKind::Wire | PartKind::Splice)
}

fn is_wire(circuit: &Circuit, branch: BranchId) -> bool {
    circuit.part(circuit.branch(branch).part).kind == PartKind::Wire
}

fn name(circuit: &Circuit, wires: &[BranchId], points: &BTreeSet<PointId>) -> String {
    let mut names: Vec<&str> =
        wires.iter().map(|&w| circuit.part(circuit.branch(w).part).name.as_str()).collect();
    names.dedup();
    if let [only] = names[..] {
        return format!("wire {only}");
    }
    let mut sides: BTreeSet<&str> = BTreeSet::new();
    for &point in points {
        if let PointKind::Cavity { connector, half, .. } = circuit.point(point).kind {
            let connector = circuit.connector(connector);
            if connector.owner.is_none() {
                sides.insert(&connector.halves[usize::from(half)]);
            }
        }
    }
    let side: String = sides.into_iter().map(|s| format!("{s} ")).collect();
    format!("{side}harness {}", list(&names))
}

/// `W1 W2 W7 W8`, with three or more in a row drawn together: `W3–W6`.
fn list(names: &[&str]) -> String {
    let split = |name: &str| {
        let stem = name.trim_end_matches(|c: char| c.is_ascii_digit()).len();
        name[stem..].parse::<u64>().ok().map(|n| (name[..stem].to_owned(), n))
    };
    let mut words: Vec<String> = Vec::new();
    let mut at = 0;
    while at < names.len() {
        let mut end = at;
        while let (Some((stem, n)), Some((next, m))) =
            (split(names[end]), names.get(end + 1).and_then(|n| split(n)))
            && stem == next
            && m == n + 1
        {
            end += 1;
        }
        if end >= at + 2 {
            words.push(format!("{}–{}", names[at], names[end]));
        } else {
            words.extend(names[at..=end].iter().map(|n| (*n).to_owned()));
        }
        at = end + 1;
    }
    words.join(" ")
}

#[cfg(test)]
mod tests {
    use super::list;

    #[test]
    fn three_in_a_row_are_drawn_together() {
        assert_eq!(list(&["W3", "W4", "W5", "W6"]), "W3–W6");
        assert_eq!(list(&["W1", "W2", "W7", "W8"]), "W1 W2 W7 W8");
        assert_eq!(list(&["W9", "W10", "W11", "W21a", "brown"]), "W9–W11 W21a brown");
    }
}
