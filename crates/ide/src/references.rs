//! Every place that names a thing, in all circuits that know it.

use std::collections::BTreeSet;

use halfsplit_base::FileId;
use halfsplit_model::{Entity, Model, Place};

use crate::naming::{Naming, Thing, naming_at, namings};
use crate::{Analysis, FilePosition, Target};

/// A thing and every place that names it.
pub(crate) struct Named {
    /// The place asked about.
    pub(crate) here: Naming,
    /// The name as it stands there.
    pub(crate) name: String,
    /// Every place, each once.
    pub(crate) places: BTreeSet<(FileId, (u32, u32), bool)>,
    /// The root files of the circuits that know it.
    pub(crate) circuits: Vec<FileId>,
}

/// Everything that names what is named at a place.
pub(crate) fn named(analysis: &Analysis, at: FilePosition) -> Option<Named> {
    let scene = analysis.scene(at.file)?;
    let here = naming_at(scene.files, scene.model, at.file, at.offset)?;
    let name = scene.tree().slice(here.span).to_owned();
    let declared = declared(scene.model, &here.thing);
    let mut found = Named { here, name, places: BTreeSet::new(), circuits: Vec::new() };
    for root in analysis.known() {
        let Some(other) = analysis.scene(root) else { continue };
        // A library by itself knows little; the circuits that use it know what its names stand for.
        if root != at.file
            && !other.model.files().any(|file| declared.is_some_and(|place| place.file == file))
        {
            continue;
        }
        let thing = match (root == at.file, declared) {
            (true, _) => Some(found.here.thing.clone()),
            (false, Some(place)) => same(other.model, &found.here.thing, place),
            (false, None) => None,
        };
        let Some(thing) = thing else { continue };
        found.circuits.push(root);
        for file in other.model.files() {
            let all = namings(other.files, other.model, file);
            let of_it = all.iter().filter(|naming| naming.thing == thing);
            found
                .places
                .extend(of_it.map(|naming| (file, (naming.span.start, naming.span.end), naming.declares)));
        }
    }
    Some(found)
}

/// Where a thing is declared, which is the same place in every circuit that knows it.
fn declared(model: &Model, thing: &Thing) -> Option<Place> {
    match thing {
        Thing::Entity(entity) => model.declaration(*entity),
        Thing::Kind(kind) => model.kinds.get(*kind).map(|kind| kind.place),
        Thing::Option(_) => None,
    }
}

/// The thing that another circuit knows as declared at a place.
fn same(model: &Model, thing: &Thing, declared: Place) -> Option<Thing> {
    match thing {
        Thing::Entity(entity) => {
            let alike = |other: &Entity| {
                std::mem::discriminant(other) == std::mem::discriminant(entity)
                    && model.declaration(*other) == Some(declared)
            };
            model.names.all().map(|(_, other)| other).find(alike).map(Thing::Entity)
        }
        Thing::Kind(_) => model.kinds.iter().position(|kind| kind.place == declared).map(Thing::Kind),
        Thing::Option(_) => None,
    }
}

/// The places as targets, the declaration left out where it is not wanted.
pub(crate) fn references(analysis: &Analysis, at: FilePosition, declaration: bool) -> Vec<Target> {
    let Some(found) = named(analysis, at) else { return Vec::new() };
    let wanted = found.places.into_iter().filter(|(.., declares)| declaration || !declares);
    wanted
        .map(|(file, (start, end), _)| Target { file, span: halfsplit_base::Span::new(start, end) })
        .collect()
}

#[cfg(test)]
mod tests {
    use crate::testing::{marked, shown};

    #[test]
    fn every_naming_of_a_splice_and_of_nothing_else() {
        let (analysis, at) = marked(
            "halfsplit 1\ncircuit \"20 °C 🔧\"\nsplice SP1 \"中文 🔧\"\nsplice SP10\n\
             wire W1 SP1 to $0SP10 GY 0.5 mm2 1 m # °\nwire W2 SP10 to stub GY 0.5 mm2 1 m\n\
             expect \"°🔧\" {\n  net SP1 holds SP10\n  fault \"SP10 open\"\n}\n",
        );
        let lines = |declaration| {
            let found = analysis.references(at, declaration);
            found.iter().map(|target| shown(&analysis, *target)).collect::<Vec<_>>()
        };
        assert_eq!(lines(true), ["4:8 SP10", "5:16 SP10", "6:9 SP10", "8:17 SP10", "9:10 SP10"]);
        assert_eq!(lines(false).len(), 4);
    }

    #[test]
    fn a_module_is_named_wherever_its_name_stands_in_front() {
        let (analysis, at) = marked(
            "halfsplit 1\ncircuit \"🔧\"\nmodule $0A10 \"中\" {\n  connector X2 2 cavities { 1 GY }\n  return X2:1\n}\n\
             splice SP1\nwire W1 A10.X2:1 to SP1 GY 0.5 mm2 1 m\n",
        );
        let found = analysis.references(at, true);
        let found: Vec<String> = found.iter().map(|target| shown(&analysis, *target)).collect();
        assert_eq!(found, ["3:8 A10", "8:9 A10"]);
    }
}
