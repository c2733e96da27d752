//! Where a clamp goes, as people write it: `X31:1` for the wire at a pin, `W7` for a wire.

use halfsplit_circuit::{BranchId, BranchKind, Meter, PointId};

use crate::{Entity, Model};

impl Model {
    /// A clamp around the wire at a pin, its arrow towards the pin, or around the wire of this name, at its second end.
    /// The pin is looked up by the caller, whose words for an unknown name differ.
    ///
    /// # Errors
    /// In plain words, where no conductor or more than one ends there; all of them are named.
    pub fn clamp<E: From<String>>(
        &self,
        written: &str,
        pin: impl FnOnce() -> Result<PointId, E>,
    ) -> Result<Meter, E> {
        if let Ok(Entity::Part(part)) = self.names.any(written) {
            let branches = self.circuit.branches_of(part);
            let mut wires = branches.filter(|(_, b)| matches!(b.kind, BranchKind::Wire { .. }));
            if let Some((wire, branch)) = wires.next() {
                return Ok(Meter::clamp(&self.circuit, wire, branch.b));
            }
        }
        let at = pin()?;
        Meter::clamp_at(&self.circuit, at).map_err(|several| self.not_one(written, &several).into())
    }

    /// Why no clamp goes around these conductors at once.
    fn not_one(&self, written: &str, several: &[BranchId]) -> String {
        let circuit = &self.circuit;
        let name = |&id: &BranchId| circuit.part(circuit.branch(id).part).name.as_str();
        match several {
            [] => format!("no wire ends at {written}, so a clamp has nothing to go around"),
            [rest @ .., last] => {
                let rest: Vec<&str> = rest.iter().map(name).collect();
                format!(
                    "a clamp goes around one wire, and at {written} there are {} and {}: name the wire, or \
                     the pin at its other end",
                    rest.join(", "),
                    name(last)
                )
            }
        }
    }
}
