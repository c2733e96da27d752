//! Which unknown facts would change a plan's first step: each is tried at both ends of what it can be.

use halfsplit_circuit::{BranchId, BranchKind, Circuit, ConnectorId, PointKind, net};

use crate::complaint::{Inquiry, plan_complaint};
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
/// And for a complaint, whose plans have more steps to choose from.
const EFFORT_OF_COMPLAINT: usize = 300;

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
    let connectors = here.points.iter().filter_map(|&point| match circuit.point(point).kind {
        PointKind::Cavity { connector, .. } => Some(connector),
        _ => None,
    });
    let facts = unknown(circuit, connectors, here.branches.iter().copied());
    Some(tried(circuit, facts, first(drawn), &|other| plan(other, &request).ok()))
}

/// As [`doubts`], for a complaint: every unknown reach and resistance of the circuit.
pub fn doubts_of_complaint(circuit: &Circuit, inquiry: &Inquiry) -> Option<Vec<Doubt>> {
    let mut inquiry = inquiry.clone();
    inquiry.effort = inquiry.effort.min(EFFORT_OF_COMPLAINT);
    let connectors = (0..circuit.connectors.len() as u32).map(ConnectorId);
    let facts = unknown(circuit, connectors, circuit.branches().map(|(id, _)| id));
    if facts.is_empty() {
        return Some(Vec::new());
    }
    // Against the plan of the same effort, or the effort would be taken for the fact.
    let drawn = plan_complaint(circuit, &inquiry, None).ok()?;
    let first = first(&drawn).to_owned();
    Some(tried(circuit, facts, &first, &|other| plan_complaint(other, &inquiry, None).ok()))
}

/// Connectors without a reach and wires without a resistance, each once.
fn unknown(
    circuit: &Circuit,
    connectors: impl Iterator<Item = ConnectorId>,
    branches: impl Iterator<Item = BranchId>,
) -> Vec<Fact> {
    let mut facts: Vec<Fact> = Vec::new();
    for connector in connectors {
        let fact = Fact::Reach(connector);
        if circuit.connector(connector).reach.is_none() && !facts.contains(&fact) {
            facts.push(fact);
        }
    }
    let unsaid = |id: &BranchId| matches!(circuit.branch(*id).kind, BranchKind::Wire { ohms: None, .. });
    facts.extend(branches.filter(unsaid).map(Fact::Wire));
    facts
}

/// The facts with which the first step is another.
fn tried(
    circuit: &Circuit,
    facts: Vec<Fact>,
    drawn: &str,
    plan: &dyn Fn(&Circuit) -> Option<Plan>,
) -> Vec<Doubt> {
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
            let Some(then) = plan(&other) else { continue };
            if first(&then) != drawn {
                doubts.push(Doubt { fact: name.clone(), value, unit, first: first(&then).to_owned() });
            }
        }
    }
    doubts
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Fact {
    Reach(ConnectorId),
    Wire(BranchId),
}

fn first(plan: &Plan) -> &str {
    match plan.start {
        Next::Step(id) => plan.step(id).map_or("", |step| step.target.as_str()),
        Next::End(_) => "nothing",
    }
}
