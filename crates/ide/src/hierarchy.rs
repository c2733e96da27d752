//! The way of the current as callers and callees: up to the battery, and back to its negative post.

use halfsplit_base::{FileId, Span};
use halfsplit_circuit::net::{Step, feed_path, return_path};
use halfsplit_circuit::{BranchKind, PointId};
use halfsplit_model::Entity;

use crate::pin::pin_at;
use crate::scene::Scene;
use crate::sound::in_run;

/// One stop on the way.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Stop {
    /// The place where a probe can rest.
    pub pin: String,
    /// What leads there: `W7 GY/RD`, `F12`.
    pub over: String,
    /// The file that declares it.
    pub file: FileId,
    /// Its declaration.
    pub span: Span,
}

/// The pin at an offset.
pub(crate) fn start(scene: Scene, offset: u32) -> Option<Stop> {
    let pin = pin_at(scene.model, scene.tree(), scene.file, offset)?;
    stop(scene, pin, String::new())
}

/// The next stop from a pin: towards the battery, or towards its negative post.
pub(crate) fn next(scene: Scene, pin: &str, up: bool) -> Vec<Stop> {
    let Ok(point) = scene.model.names.point(pin) else { return Vec::new() };
    let walk = if up { feed_path } else { return_path };
    let steps = walk(scene.circuit(), &in_run(), point);
    let mut over = Vec::new();
    for step in steps {
        over.extend(passed(scene, step));
        let named = scene.circuit().point(step.point);
        let rests = !matches!(named.kind, halfsplit_circuit::PointKind::Inside) && named.name != pin;
        if rests && crate::pin::wire_side(scene.circuit(), step.point) == step.point {
            return stop(scene, step.point, over.join(", ")).into_iter().collect();
        }
    }
    Vec::new()
}

fn passed(scene: Scene, step: Step) -> Option<String> {
    let branch = scene.circuit().branch(step.branch);
    let name = &scene.circuit().part(branch.part).name;
    match &branch.kind {
        BranchKind::Wire { colour, .. } if !colour.is_empty() => Some(format!("{name} {colour}")),
        BranchKind::Mated { .. } | BranchKind::Joint { .. } => None,
        _ => Some(name.clone()),
    }
}

fn stop(scene: Scene, point: PointId, over: String) -> Option<Stop> {
    let name = &scene.circuit().point(point).name;
    let part = || scene.model.names.find_part(name.split(':').next().unwrap_or(name)).map(Entity::Part);
    let place = scene.model.declaration(Entity::Point(point));
    let place = place.or_else(|| scene.model.declaration(part()?))?;
    Some(Stop { pin: name.clone(), over, file: place.file, span: place.span })
}

#[cfg(test)]
mod tests {
    use crate::testing::marked;

    #[test]
    fn the_way_leads_to_the_battery_and_back() {
        let text = "halfsplit 1\ncircuit \"20 °C 🔧\"\nsupply G1 battery {\n  volts 12 V\n  inner 8 mohm\n  terminals 30 31\n}\n\
            fuse F1 10 A \"中\"\nwire W1 G1:30 to F1:feed RD 2.5 mm2 1 m\nwire W2 F1:load to $0E1.X1:1 RD 1 mm2 1 m # 🔧\n\
            wire W3 E1.X1:2 to G1:31 BN 1 mm2 1 m\nlamp E1 \"中\" {\n  connector X1 2 cavities {\n    1 RD\n    2 BN\n  }\n  filament 21 W at 12 V  X1:1 -> X1:2\n}\n";
        let (analysis, at) = marked(text);
        let mut here = analysis.hierarchy_start(at).unwrap();
        assert_eq!(here.pin, "X1:1");
        let mut up = Vec::new();
        while let Some(next) = analysis.hierarchy_next(at.file, &here.pin, true).into_iter().next() {
            up.push(format!("{} over {}", next.pin, next.over));
            here = next;
        }
        assert_eq!(up, ["F1:load over W2 RD", "F1:feed over F1", "G1:30 over W1 RD"]);
        let down = analysis.hierarchy_next(at.file, "X1:1", false);
        assert_eq!(down[0].pin, "X1:2");
    }
}
