//! The pin that a place in the text is about.

use halfsplit_base::FileId;
use halfsplit_circuit::{Circuit, PointId, PointKind};
use halfsplit_model::{Entity, Model};
use halfsplit_syntax::Tree;

/// The pin at an offset: the one named there, else the first one that its line names.
pub(crate) fn pin_at(model: &Model, tree: &Tree, file: FileId, offset: u32) -> Option<PointId> {
    let named = |offset| model.entity_at(file, offset).and_then(|(entity, _)| pin_of(model, entity));
    named(offset).or_else(|| {
        let statement = tree.statement_at(offset)?;
        tree.items(statement).find_map(|token| named(tree.tokens().span(token).start))
    })
}

/// The pin a probe rests on: the wire side where a part's own side is meant.
pub(crate) fn wire_side(circuit: &Circuit, point: PointId) -> PointId {
    match circuit.point(point).kind {
        PointKind::Cavity { connector, half: 1, cavity } => {
            let connector = circuit.connector(connector);
            let wire_side = connector.cavities.get(usize::from(cavity)).and_then(|cavity| cavity.points[0]);
            wire_side.filter(|_| connector.owner.is_some()).unwrap_or(point)
        }
        _ => point,
    }
}

fn pin_of(model: &Model, entity: Entity) -> Option<PointId> {
    let circuit = &model.circuit;
    match entity {
        Entity::Point(point) => Some(wire_side(circuit, point)),
        Entity::Output(branch) => Some(wire_side(circuit, circuit.branch(branch).a)),
        Entity::Part(_) | Entity::Connector(_) => None,
    }
}
