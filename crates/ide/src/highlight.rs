//! Every token of the net that a name lies on.

use std::collections::BTreeSet;

use halfsplit_base::{FileId, Span};
use halfsplit_circuit::{BranchKind, PartId, PointId};
use halfsplit_model::Entity;

use crate::naming::{Thing, canonical, naming_at};
use crate::pin::wire_side;
use crate::scene::Scene;

/// A stretch of text that belongs to what the cursor is on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Highlight {
    /// The stretch.
    pub span: Span,
    /// Whether it declares.
    pub declares: bool,
}

/// The whole net of the pin, splice or wire at an offset; of anything else every naming of it.
pub(crate) fn highlights(scene: Scene, offset: u32) -> Vec<Highlight> {
    let Some((entity, _)) = scene.entity_at(offset) else { return of_thing(scene, offset) };
    let Some(points) = net(scene, entity) else { return of_thing(scene, offset) };
    let circuit = scene.circuit();
    let branches = points.iter().flat_map(|point| scene.sound().branches_at(*point));
    let wires = branches.map(|id| circuit.branch(*id)).filter(|b| matches!(b.kind, BranchKind::Wire { .. }));
    let mut parts: BTreeSet<PartId> = wires.map(|branch| branch.part).collect();
    parts.extend(points.iter().filter_map(|point| scene.model.names.find_part(&circuit.point(*point).name)));
    let on_net = |entity: Entity| match entity {
        Entity::Point(point) => points.binary_search(&wire_side(circuit, point)).is_ok(),
        Entity::Part(part) => parts.contains(&part),
        Entity::Connector(_) | Entity::Output(_) => false,
    };
    let mentions = of_file(scene, scene.file);
    mentions
        .filter(|(entity, ..)| on_net(*entity))
        .map(|(_, span, declares)| Highlight { span, declares })
        .collect()
}

fn of_file(scene: Scene, file: FileId) -> impl Iterator<Item = (Entity, Span, bool)> {
    let mentions = scene.model.all_mentions().filter(move |mention| mention.place.file == file);
    mentions.map(|mention| (mention.entity, mention.place.span, mention.declares))
}

/// The points of the net that a pin, splice or wire lies on, ascending.
fn net(scene: Scene<'_>, entity: Entity) -> Option<&[PointId]> {
    let point = match entity {
        Entity::Point(point) => wire_side(scene.circuit(), point),
        Entity::Part(part) => {
            let name = &scene.circuit().part(part).name;
            scene.model.names.find_point(name).or_else(|| wire_end(scene, part))?
        }
        Entity::Connector(_) | Entity::Output(_) => return None,
    };
    Some(scene.sound().net(point))
}

/// An end of a wire.
fn wire_end(scene: Scene, part: PartId) -> Option<PointId> {
    let wire = scene.model.wires.iter().find(|wire| wire.part == part)?;
    let branch = scene.circuit().branch(wire.branch?);
    matches!(branch.kind, BranchKind::Wire { .. }).then_some(branch.a)
}

fn of_thing(scene: Scene, offset: u32) -> Vec<Highlight> {
    let Some(here) = naming_at(scene.files, scene.model, scene.file, offset) else { return Vec::new() };
    let thing = match here.thing {
        Thing::Entity(entity) => Thing::Entity(canonical(scene.model, entity)),
        other => other,
    };
    let all = crate::naming::namings(scene.files, scene.model, scene.file);
    let of_it = all.into_iter().filter(|naming| naming.thing == thing);
    of_it.map(|naming| Highlight { span: naming.span, declares: naming.declares }).collect()
}

#[cfg(test)]
mod tests {
    use crate::testing::marked;

    #[test]
    fn the_whole_net_and_nothing_beside_it() {
        let text = "halfsplit 1\ncircuit \"20 °C 🔧\"\nsplice SP1 \"中\"\nsplice SP2\nsplice SP3\n\
            wire W1 SP1 to $0SP2 GY 0.5 mm2 1 m # °🔧\nwire W2 SP3 to stub GY 0.5 mm2 1 m\n";
        let (analysis, at) = marked(text);
        let text = text.replace("$0", "");
        let found = analysis.highlights(at);
        let words: Vec<&str> = found.iter().map(|highlight| &text[highlight.span.range()]).collect();
        assert_eq!(words, ["SP1", "SP2", "W1", "SP1", "SP2"]);
        assert_eq!(found.iter().filter(|highlight| highlight.declares).count(), 3);
    }
}
