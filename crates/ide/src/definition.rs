//! Where a name leads: its declaration, the kind it is of, and what is made of a kind.

use halfsplit_base::Span;
use halfsplit_model::{Entity, Model, Place};

use crate::Target;
use crate::naming::{Thing, naming_at};
use crate::scene::Scene;

/// The declaration of the name at an offset: the name itself, where the text declares
/// one, else the line that speaks of it.
pub(crate) fn definition(scene: Scene, offset: u32) -> Option<Target> {
    let (model, file) = (scene.model, scene.file);
    if let Some((kind, _)) = model.kind_at(file, offset) {
        return Some(target(kind.place));
    }
    if let Some((file, _)) = model.used_at(file, offset) {
        return Some(Target { file, span: Span::empty(0) });
    }
    if let Some((entity, _)) = model.entity_at(file, offset) {
        return declared_name(model, entity).or_else(|| model.declaration(entity)).map(target);
    }
    // Words of proofs and cases, and options.
    let here = naming_at(scene.files, model, file, offset)?;
    match here.thing {
        Thing::Entity(entity) => {
            declared_name(model, entity).or_else(|| model.declaration(entity)).map(target)
        }
        Thing::Kind(kind) => model.kinds.get(kind).map(|kind| target(kind.place)),
        Thing::Option(_) => model.files().find_map(|file| {
            let all = crate::naming::namings(scene.files, model, file);
            let first = all.into_iter().find(|naming| naming.declares && naming.thing == here.thing)?;
            Some(Target { file, span: first.span })
        }),
    }
}

/// The kind of the part or connector at an offset.
pub(crate) fn type_definition(scene: Scene, offset: u32) -> Option<Target> {
    if let Some((kind, _)) = scene.model.kind_at(scene.file, offset) {
        return Some(target(kind.place));
    }
    let (entity, _) = scene.entity_at(offset)?;
    scene.model.kind_of(entity).map(|kind| target(kind.place))
}

/// Every part that is of the kind at an offset; of a splice, bar or ground point every wire that ends there.
pub(crate) fn implementations(scene: Scene, offset: u32) -> Vec<Target> {
    let model = scene.model;
    if let Some((kind, _)) = model.kind_at(scene.file, offset) {
        let number = model.kinds.iter().position(|other| other == kind);
        let uses = model.kind_uses.iter().filter(|used| Some(used.kind) == number);
        return uses.map(|used| target(used.place)).collect();
    }
    let Some((entity, _)) = scene.entity_at(offset) else { return Vec::new() };
    let point = match entity {
        Entity::Point(point) => Some(point),
        Entity::Part(part) => model.names.find_point(&model.circuit.part(part).name),
        _ => None,
    };
    let wires = point.into_iter().flat_map(|point| model.wires_at(point));
    wires.filter_map(|wire| declared_name(model, Entity::Part(wire.part))).map(target).collect()
}

fn target(place: Place) -> Target {
    Target { file: place.file, span: place.span }
}

fn declared_name(model: &Model, entity: Entity) -> Option<Place> {
    let of = |entity| model.mentions(entity).find(|mention| mention.declares).map(|mention| mention.place);
    of(entity).or_else(|| match entity {
        // A splice, bar or ground point is declared as a part and used as a point.
        Entity::Point(point) => of(Entity::Part(model.names.find_part(&model.circuit.point(point).name)?)),
        _ => None,
    })
}

#[cfg(test)]
mod tests {
    use crate::testing::{marked, shown};

    const KINDS: &str = "halfsplit 1\ncircuit \"20 °C 🔧\"\nvehicle \"中\" {\n  option AC \"🔧\"\n}\nkind PRESSURE sensor \"中\" {\n  connector X1 3 cavities { 1 GY }\n}\n\
        sensor B4 as PRESSURE \"°\"\nsensor B5 as PRESSURE when AC\nsplice SP1\nwire W1 SP1 to B4.X1:1 GY 1 mm2 1 m\n\
        expect \"°\" {\n  net SP1 holds B4.X1:1\n}\n";

    fn at(before: &str) -> (crate::Analysis, crate::FilePosition) {
        marked(&KINDS.replacen(before, &format!("{before}$0"), 1))
    }

    #[test]
    fn a_part_leads_to_its_kind_and_a_kind_to_its_parts() {
        let (analysis, here) = at("sensor B");
        assert_eq!(shown(&analysis, analysis.type_definition(here).unwrap()), "6:6 PRESSURE");
        let (analysis, here) = at("kind PRESS");
        let found: Vec<String> =
            analysis.implementations(here).into_iter().map(|target| shown(&analysis, target)).collect();
        assert_eq!(found, ["9:14 PRESSURE", "10:14 PRESSURE"]);
        let (analysis, here) = at("splice SP");
        assert_eq!(shown(&analysis, analysis.implementations(here)[0]), "12:6 W1");
    }

    #[test]
    fn words_of_proofs_and_conditions_lead_to_their_declarations() {
        let (analysis, here) = at("net SP");
        assert_eq!(shown(&analysis, analysis.definition(here).unwrap()), "11:8 SP1");
        let (analysis, here) = at("when A");
        assert_eq!(shown(&analysis, analysis.definition(here).unwrap()), "4:10 AC");
    }
}
