//! Where a name is declared.

use halfsplit_base::{FileId, Span};
use halfsplit_model::{Entity, Model, Place};

use crate::Target;

/// The declaration of the name at an offset: the name itself, where the text declares
/// one, else the line that speaks of it.
pub(crate) fn definition(model: &Model, file: FileId, offset: u32) -> Option<Target> {
    if let Some((kind, _)) = model.kind_at(file, offset) {
        return Some(Target { file: kind.place.file, span: kind.place.span });
    }
    if let Some((file, _)) = model.used_at(file, offset) {
        return Some(Target { file, span: Span::empty(0) });
    }
    let (entity, _) = model.entity_at(file, offset)?;
    let place = declared_name(model, entity).or_else(|| model.declaration(entity))?;
    Some(Target { file: place.file, span: place.span })
}

fn declared_name(model: &Model, entity: Entity) -> Option<Place> {
    let of = |entity| model.mentions(entity).find(|mention| mention.declares).map(|mention| mention.place);
    of(entity).or_else(|| match entity {
        // A splice, bar or ground point is declared as a part and used as a point.
        Entity::Point(point) => of(Entity::Part(model.circuit.part_named(&model.circuit.point(point).name)?)),
        _ => None,
    })
}
