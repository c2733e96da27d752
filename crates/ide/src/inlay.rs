//! What is computed, beside what is written: volts on a sound car, a fuse's load.

use halfsplit_base::Span;
use halfsplit_circuit::{BranchKind, PartKind, PointId};
use halfsplit_model::{Entity, WireEnd};
use halfsplit_render as render;

use crate::scene::Scene;

/// A few words shown behind a place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Hint {
    /// Where, as a byte offset.
    pub offset: u32,
    /// The words.
    pub label: String,
    /// What they mean.
    pub about: String,
}

/// The hints of a range.
pub(crate) fn hints(scene: Scene, range: Span) -> Vec<Hint> {
    let mut hints = Vec::new();
    if scene.model.library {
        return hints;
    }
    for wire in &scene.model.wires {
        let here = wire.place.file == scene.file && range.touches(wire.place.span.start);
        let Some(point) = here.then_some(wire.ends).and_then(|ends| joined(&ends)) else { continue };
        if let Some(volts) = scene.sound().volts(scene.circuit(), point) {
            let circuit = scene.circuit();
            let others = scene.sound().net(point).len();
            hints.push(Hint {
                offset: line_end(scene, wire.place.span.start),
                label: render::volts(volts),
                about: format!(
                    "{} against battery negative on a sound car, key run; copper joins {others} points",
                    circuit.point(point).name
                ),
            });
        }
    }
    for mention in scene.model.all_mentions() {
        let here =
            mention.place.file == scene.file && mention.declares && range.touches(mention.place.span.start);
        let Entity::Part(part) = mention.entity else { continue };
        let fuse = here && matches!(scene.circuit().part(part).kind, PartKind::Fuse | PartKind::Link);
        if let Some(hint) = fuse.then(|| load(scene, part, mention.place.span)).flatten() {
            hints.push(hint);
        }
    }
    hints.sort_by_key(|hint| hint.offset);
    hints
}

/// An end of a wire that is a place of the circuit.
fn joined(ends: &[WireEnd; 2]) -> Option<PointId> {
    ends.iter().find_map(|end| match end {
        WireEnd::Point(point, _) => Some(*point),
        _ => None,
    })
}

/// The end of what stands on the line of an offset, before a block or a remark.
fn line_end(scene: Scene, offset: u32) -> u32 {
    let statement = scene.tree().statement_at(offset);
    let last = statement.and_then(|statement| scene.tree().items(statement).last());
    last.map_or(offset, |token| scene.tree().tokens().span(token).end)
}

fn load(scene: Scene, part: halfsplit_circuit::PartId, name: Span) -> Option<Hint> {
    let solution = scene.sound().solution.as_ref()?;
    let (branch, rating) = scene.circuit().branches_of(part).find_map(|(id, branch)| match branch.kind {
        BranchKind::Fuse { rating, .. } => Some((id, rating)),
        _ => None,
    })?;
    let amps = solution.current(branch).abs();
    Some(Hint {
        offset: line_end(scene, name.start),
        label: format!("{amps:.1} A of {rating} A"),
        about: "current on a sound car, key run, and the rating".into(),
    })
}

#[cfg(test)]
mod tests {
    use halfsplit_base::Span;

    use crate::testing::open;

    #[test]
    fn wires_have_their_volts_and_fuses_their_load() {
        let text = "halfsplit 1\ncircuit \"20 °C 🔧\"\nsupply G1 battery {\n  volts 12 V\n  inner 8 mohm\n  terminals 30 31\n}\n\
            fuse F1 10 A \"中\"\nwire W1 G1:30 to F1:feed RD 2.5 mm2 1 m \"🔧\" # °\n\
            wire W2 F1:load to E1:1 RD 1 mm2 1 m\nwire W3 E1:2 to G1:31 BN 1 mm2 1 m\n\
            lamp E1 \"中\" {\n  filament 21 W at 12 V  1 -> 2\n}\n";
        let (analysis, file) = open(text);
        let hints = analysis.hints(file, Span::new(0, text.len() as u32));
        let shown: Vec<String> = hints
            .iter()
            .map(|hint| format!("{} | {}", text[..hint.offset as usize].lines().last().unwrap(), hint.label))
            .collect();
        assert_eq!(shown[0], "fuse F1 10 A \"中\" | 1.7 A of 10 A");
        assert!(shown[1].starts_with("wire W1 G1:30 to F1:feed RD 2.5 mm2 1 m \"🔧\" | 11.9"), "{shown:?}");
        assert_eq!(shown.len(), 4, "{shown:?}");
        let none = analysis.hints(file, Span::new(0, 20));
        assert!(none.is_empty(), "{none:?}");
    }
}
