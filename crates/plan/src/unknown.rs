//! Which unknown facts would change a plan's first step: each is tried at both ends of what it can be.

use halfsplit_circuit::{BranchKind, Circuit, ConnectorId, PointKind, net};

use crate::draw::plan;
use crate::plan::{Next, Plan};
use crate::request::Request;

/// Minutes that any connector of a car is reached in, least and most (own estimate).
const REACH: [f64; 2] = [0.5, 20.0];
/// Ohms of any wire of unknown length or section, least and most: 0.2 m of 1.5 mm² and 8 m of 0.35 mm² (own estimate).
const WIRE: [f64; 2] = [0.0025, 0.435];
/// The most unknown facts that are tried.
const MOST: usize = 12;
/// States that the search may open for each trial.
const EFFORT: usize = 2_000;

/// An unknown fact that decides what is done first.
#[derive(Clone, PartialEq, Debug)]
pub struct Doubt {
    /// The fact: `reach of X34`, `length or section of W7`.
    pub fact: String,
    /// With it at this end of what it can be: minutes, or ohms.
    pub value: f64,
    /// `min` or `ohm`.
    pub unit: &'static str,
    /// What the first step is about then.
    pub first: String,
}

/// Tries every unknown reach and resistance of the plan's net; `None` where there are so many suspects
/// that drawing up plan after plan would take too long.
pub fn doubts(circuit: &Circuit, request: &Request, drawn: &Plan) -> Option<Vec<Doubt>> {
    if drawn.suspects.len() > crate::hunt::MANY {
        return None;
    }
    let mut request = request.clone();
    request.effort = request.effort.min(EFFORT);
    let here = net(circuit, &request.state, request.pin);
    let mut facts: Vec<Fact> = Vec::new();
    for &point in &here.points {
        if let PointKind::Cavity { connector, .. } = circuit.point(point).kind
            && circuit.connector(connector).reach.is_none()
            && !facts.contains(&Fact::Reach(connector))
        {
            facts.push(Fact::Reach(connector));
        }
    }
    for &id in &here.branches {
        if matches!(circuit.branch(id).kind, BranchKind::Wire { ohms: None, .. }) {
            facts.push(Fact::Wire(id));
        }
    }
    let mut doubts = Vec::new();
    for fact in facts.into_iter().take(MOST) {
        let (name, ends, unit) = match fact {
            Fact::Reach(id) => (format!("reach of {}", circuit.connector(id).name), REACH, "min"),
            Fact::Wire(id) => {
                let part = circuit.branch(id).part;
                (format!("length or section of {}", circuit.part(part).name), WIRE, "ohm")
            }
        };
        for value in ends {
            let mut other = circuit.clone();
            match fact {
                Fact::Reach(id) => other.connectors[id.index()].reach = Some(value),
                Fact::Wire(id) => {
                    if let BranchKind::Wire { ohms, .. } = &mut other.branches[id.index()].kind {
                        *ohms = Some(value);
                    }
                }
            }
            let Ok(then) = plan(&other, &request) else { continue };
            if first(&then) != first(drawn) {
                doubts.push(Doubt { fact: name.clone(), value, unit, first: first(&then).to_owned() });
            }
        }
    }
    Some(doubts)
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Fact {
    Reach(ConnectorId),
    Wire(halfsplit_circuit::BranchId),
}

fn first(plan: &Plan) -> &str {
    match plan.start {
        Next::Step(id) => plan.step(id).map_or("", |step| step.target.as_str()),
        Next::End(_) => "nothing",
    }
}
