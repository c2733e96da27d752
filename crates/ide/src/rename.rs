//! Another name for a thing, in every circuit that knows it.

use halfsplit_base::{Edit, Span};
use halfsplit_model::Entity;

use crate::naming::{Thing, unfit};
use crate::references::{Named, named};
use crate::{Analysis, FilePosition};

/// The name at a place that may be changed, and its stretch of text.
///
/// # Errors
/// In plain words, when nothing there has a name of its own.
pub(crate) fn prepare(analysis: &Analysis, at: FilePosition) -> Result<(Span, String), String> {
    let found = named(analysis, at).ok_or("no name stands here")?;
    allowed(analysis, &found)?;
    Ok((found.here.span, found.name))
}

/// The changes that give a thing another name.
///
/// # Errors
/// In plain words, when the name cannot be changed, is no name, or is taken.
pub(crate) fn rename(analysis: &Analysis, at: FilePosition, new: &str) -> Result<Vec<Edit>, String> {
    let found = named(analysis, at).ok_or("no name stands here")?;
    allowed(analysis, &found)?;
    if new == found.name {
        return Ok(Vec::new());
    }
    if let Some(why) = unfit(new) {
        return Err(why);
    }
    for &circuit in &found.circuits {
        let Some(scene) = analysis.scene(circuit) else { continue };
        let names = &scene.model.names;
        let taken = match &found.here.thing {
            Thing::Entity(_) => {
                names.find_any(new).is_some()
                    || !names.connectors_called(new).is_empty()
                    || !names.points_called(new).is_empty()
            }
            Thing::Kind(_) => scene.model.kinds.iter().any(|kind| kind.name == new),
            Thing::Option(_) => scene.model.vehicle.options.iter().any(|(name, _)| name == new),
        };
        if taken {
            let path = scene.files.get(circuit).path.file_name().unwrap_or_default().to_string_lossy();
            return Err(format!("`{new}` is taken already in {path}"));
        }
    }
    let edit = |(file, (start, end), _)| Edit { file, span: Span::new(start, end), text: new.to_owned() };
    let mut edits: Vec<Edit> = found.places.into_iter().map(edit).collect();
    edits.dedup();
    Ok(edits)
}

fn allowed(analysis: &Analysis, found: &Named) -> Result<(), String> {
    if let Thing::Entity(Entity::Point(_)) = found.here.thing {
        return Err(format!(
            "`{}` is moulded or stamped on the thing itself; it has no name to change",
            found.name
        ));
    }
    let outside = |file| crate::is_std(&analysis.files().get(file).path);
    if found.places.iter().any(|(file, ..)| outside(*file)) {
        return Err(format!("`{}` comes with the language and keeps its name", found.name));
    }
    if !found.places.iter().any(|(.., declares)| *declares) {
        return Err(format!("nothing declares `{}`", found.name));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use crate::testing::{edited, marked};

    const MODULE: &str = "halfsplit 1\ncircuit \"20 °C\"\nmodule A10 \"中 🔧\" {\n  connector X2 2 cavities { 1 GY }\n  \
        return X2:1\n}\nsplice SP1 \"°\"\nwire W1 A10.X2:1 to SP1 GY 0.5 mm2 1 m \"🔧\"\n\
        expect \"°🔧\" {\n  net A10.X2:1 holds SP1\n  fault \"W1 at A10.X2:1 open\"\n}\n";

    fn renamed(before: &str, new: &str) -> Result<String, String> {
        let text = MODULE.replacen(before, &format!("{before}$0"), 1);
        let (analysis, at) = marked(&text);
        Ok(edited(&analysis, at.file, &analysis.rename(at, new)?))
    }

    #[test]
    fn only_the_piece_under_the_cursor_changes() {
        let module = renamed("wire W1 A1", "A77").unwrap();
        assert_eq!(module, MODULE.replace("A10", "A77"));
        let connector = renamed("wire W1 A10.X", "X9").unwrap();
        assert_eq!(connector, MODULE.replace("X2", "X9"));
        assert_eq!(renamed("splice SP", "SP7").unwrap(), MODULE.replace("SP1", "SP7"));
    }

    #[test]
    fn a_name_that_is_taken_or_is_none_is_refused() {
        assert_eq!(renamed("splice SP", "W1").unwrap_err(), "`W1` is taken already in a.circuit");
        assert_eq!(renamed("splice SP", "to").unwrap_err(), "`to` is a word of the language");
        assert_eq!(renamed("splice SP", "GY").unwrap_err(), "`GY` is a colour");
        assert!(renamed("splice SP", "SP 7").unwrap_err().contains("is no name"));
        assert!(renamed("wire W1 A10.X2:", "7").unwrap_err().contains("moulded or stamped"));
        assert_eq!(renamed("circuit \"20", "A").unwrap_err(), "no name stands here");
    }
}
