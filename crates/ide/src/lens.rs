//! A line above a declaration: how many share its wire, what a plan would start from, minutes to get there.

use halfsplit_base::Span;
use halfsplit_circuit::{PointId, PointKind};
use halfsplit_model::Entity;
use halfsplit_render as render;

use crate::scene::Scene;

/// Something said above a line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Lens {
    /// The name that it is about.
    pub span: Span,
    /// What it says.
    pub title: String,
    /// What happens when it is chosen.
    pub does: LensAction,
}

/// What a lens does when it is chosen.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum LensAction {
    /// Nothing: it only says.
    Nothing,
    /// Shows these places.
    Show(Vec<Span>),
    /// Asks for a reading at this pin and writes its plan.
    Plan(String),
}

/// The lenses of a file, in text order.
pub(crate) fn lenses(scene: Scene) -> Vec<Lens> {
    let mut lenses = Vec::new();
    if scene.model.library {
        return lenses;
    }
    let circuit = scene.circuit();
    let mentions = scene.model.all_mentions();
    for mention in mentions.filter(|mention| mention.place.file == scene.file && mention.declares) {
        let span = mention.place.span;
        let point = match mention.entity {
            Entity::Part(part) => scene.model.names.find_point(&circuit.part(part).name),
            Entity::Output(branch) => Some(crate::pin::wire_side(circuit, circuit.branch(branch).a)),
            Entity::Connector(id) => {
                let connector = circuit.connector(id);
                let wired = connector.cavities.iter().filter(|cavity| {
                    cavity.points.iter().flatten().any(|point| scene.sound().is_wired(circuit, *point))
                });
                let mut words =
                    vec![format!("{} of {} cavities wired", wired.count(), connector.cavities.len())];
                words.push(
                    connector
                        .reach
                        .map_or("reach unknown".into(), |reach| format!("reach {}", render::minutes(reach))),
                );
                lenses.push(Lens { span, title: words.join(" · "), does: LensAction::Nothing });
                None
            }
            Entity::Point(_) => None,
        };
        if let Some(point) = point {
            shared(scene, span, point, &mut lenses);
        }
    }
    lenses.sort_by_key(|lens| lens.span);
    lenses
}

fn shared(scene: Scene, span: Span, point: PointId, lenses: &mut Vec<Lens>) {
    let circuit = scene.circuit();
    let net = scene.sound().net(point);
    let reachable = |id: &&PointId| match circuit.point(**id).kind {
        PointKind::Inside => false,
        PointKind::Cavity { connector, half, .. } => {
            half == 0 || circuit.connector(connector).owner.is_none()
        }
        _ => true,
    };
    let others = net.iter().filter(reachable).filter(|id| **id != point).count();
    let on_net = |entity: Entity| matches!(entity, Entity::Point(point) if net.binary_search(&crate::pin::wire_side(circuit, point)).is_ok());
    let places = scene
        .model
        .all_mentions()
        .filter(|mention| mention.place.file == scene.file && on_net(mention.entity));
    let title = match others {
        1 => "1 other place shares this net".to_owned(),
        others => format!("{others} other places share this net"),
    };
    lenses.push(Lens {
        span,
        title,
        does: LensAction::Show(places.map(|mention| mention.place.span).collect()),
    });
    if circuit.negative.is_some() {
        let pin = circuit.point(point).name.clone();
        lenses.push(Lens { span, title: "plan".into(), does: LensAction::Plan(pin) });
    }
}

#[cfg(test)]
mod tests {
    use crate::testing::open;

    #[test]
    fn a_splice_says_who_shares_it_and_a_connector_how_far_it_is() {
        let text = "halfsplit 1\ncircuit \"20 °C 🔧\"\nsplice SP1 \"中\"\nwire W1 SP1 to X34:1 GY 0.5 mm2 1 m\n\
            sensor B4 \"🔧\" {\n  connector X34 3 cavities {\n    reach 5 min\n    1 GY # °\n  }\n}\n";
        let (analysis, file) = open(text);
        let shown: Vec<String> = analysis
            .lenses(file)
            .iter()
            .map(|lens| format!("{}: {}", &text[lens.span.range()], lens.title))
            .collect();
        assert_eq!(
            shown,
            ["SP1: 1 other place shares this net", "X34: 1 of 3 cavities wired · reach 5.0 min"]
        );
    }
}
