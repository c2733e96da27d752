//! Each fault once: what a reported fault touches is not reported again as missing something.

use std::collections::{BTreeSet, HashSet};

use halfsplit_circuit::{CavityRole, ConnectorId, PartId, PointId, PointKind};
use halfsplit_model::{Place, ProblemKind, Wire};

use crate::{
    rules::wire_side,
    survey::{Survey, ends},
    wrong_pin::How,
};

/// Slips of the parser that leave every name of the line where it belongs.
const HARMLESS: [&str; 10] = [
    "missing-header",
    "wrong-version",
    "missing-unit",
    "wrong-unit",
    "unknown-unit",
    "unknown-colour",
    "decimal-comma",
    "range-spelling",
    "smart-quote",
    "too-many-errors",
];

/// Doubts everything that the parser's and the lowering's faults touch.
pub(crate) fn reported(survey: &mut Survey) {
    let model = survey.model;
    let mut touched = Touched::default();
    let own = model.syntax.iter().map(|error| (model.file, error));
    for (file, error) in own.chain(model.overlay_syntax.iter().map(|(file, error)| (*file, error))) {
        if !HARMLESS.contains(&error.rule) {
            let place = Place { file, span: error.span };
            named_on_line(survey, place, &mut touched);
        }
    }
    for problem in &model.problems {
        let names = &model.names;
        match &problem.kind {
            ProblemKind::UnknownName { near, .. } => {
                named_on_line(survey, problem.place, &mut touched);
                touched.points.extend(near.iter().flat_map(|near| names.points_called(near)));
            }
            ProblemKind::AmbiguousName { written, candidates } => {
                named_on_line(survey, problem.place, &mut touched);
                touched.points.extend(candidates.iter().flat_map(|name| names.points_called(name)));
                touched.points.extend(names.points_called(written));
            }
            ProblemKind::HalfMissing { halves, .. } => {
                named_on_line(survey, problem.place, &mut touched);
                touched.points.extend(halves.iter().flat_map(|name| names.points_called(name)));
            }
            ProblemKind::NoSuchCavity { connector, .. } => {
                named_on_line(survey, problem.place, &mut touched);
                touched.connectors.extend(names.connectors_called(connector));
            }
            ProblemKind::DuplicateName { name, other, .. } => {
                if name == other {
                    named_on_line(survey, problem.place, &mut touched);
                }
            }
            ProblemKind::TooManyCavities { .. }
            | ProblemKind::CavityTwice { .. }
            | ProblemKind::SerialOverlap { .. }
            | ProblemKind::SerialGap { .. }
            | ProblemKind::UseNotFound { .. }
            | ProblemKind::NoSuchStd { .. }
            | ProblemKind::UseOutside { .. }
            | ProblemKind::UseCycle { .. }
            | ProblemKind::UseOfCircuit { .. }
            | ProblemKind::UnusedUse { .. }
            | ProblemKind::WrongKind { .. }
            | ProblemKind::UnknownParameter { .. }
            | ProblemKind::WrongArgument { .. }
            | ProblemKind::ParameterName { .. }
            | ProblemKind::ParameterTwice { .. }
            | ProblemKind::WithoutKind
            | ProblemKind::Unclear { .. }
            | ProblemKind::NoTitle => {}
        }
    }
    let parts = touched.parts.iter().flat_map(|&part| survey.points_of(part)).copied();
    let connectors = touched.connectors.iter().flat_map(|&connector| survey.points_in(connector));
    touched.points.extend(parts.chain(connectors).collect::<Vec<_>>());
    for point in touched.points {
        survey.doubt(point);
    }
}

/// What faults touch.
#[derive(Default)]
struct Touched {
    /// The words that are looked up already.
    words: HashSet<String>,
    points: Vec<PointId>,
    parts: BTreeSet<PartId>,
    connectors: BTreeSet<ConnectorId>,
}

/// Everything that a line names.
fn named_on_line(survey: &Survey, place: Place, touched: &mut Touched) {
    let names = &survey.model.names;
    // Longer lines are no statements; what they name is not worth the time.
    let words = survey.line(place).split([' ', '\t', ',', '{', '}', '"', '\r']).take(40);
    for word in words.filter(|word| !word.is_empty()) {
        // Many faults may name the same thing, and the same thing may be declared many times.
        if !touched.words.insert(word.to_owned()) {
            continue;
        }
        touched.points.extend(names.points_called(word));
        touched.parts.extend(names.find_part(word));
    }
}

/// Finds the wires that sit in a wrong place, and doubts the pins around them.
pub(crate) fn misplaced(survey: &mut Survey) {
    let crowds = crowds(survey);
    let mut touched: Vec<PointId> = Vec::new();
    let mut muddled: BTreeSet<ConnectorId> = crowds.iter().map(|crowd| crowd.connector).collect();
    for wire in &survey.model.wires {
        for (point, _) in ends(wire) {
            if is_loose_end(survey, point) {
                touched.push(point);
            }
            if let (true, Some(connector)) = (is_taken(survey, point), connector_of(survey, point)) {
                muddled.insert(connector);
            }
        }
    }
    touched.extend(muddled.iter().flat_map(|&connector| survey.points_in(connector)));
    let lonely = lonely_halves(survey, &muddled);
    touched.extend(lonely.iter().flat_map(|lonely| [lonely.wired, lonely.empty]));
    for point in touched {
        survey.doubt(point);
    }
    survey.crowded = crowds.iter().map(|crowd| crowd.point).collect();
    survey.crowds = crowds;
    survey.lonely = lonely;
}

/// Doubts both sides of the pins that are where they can't be.
pub(crate) fn wrong_pins(survey: &mut Survey) {
    let pins = survey.wrong_pins.iter().flat_map(|wrong| {
        let load = survey.circuit().branch(wrong.load);
        match wrong.how {
            How::Bridged => vec![load.a, load.b],
            How::Fed(_) => vec![load.b],
        }
    });
    let pins: Vec<PointId> = pins.flat_map(|pin| [pin, wire_side(survey, pin)]).collect();
    for pin in pins {
        survey.doubt(pin);
    }
}

/// The connector that a point is a cavity of.
pub(crate) fn connector_of(survey: &Survey, point: PointId) -> Option<ConnectorId> {
    match survey.circuit().point(point).kind {
        PointKind::Cavity { connector, .. } => Some(connector),
        _ => None,
    }
}

/// Whether a cavity is said to hold no wire that this file draws.
pub(crate) fn is_taken(survey: &Survey, point: PointId) -> bool {
    let role = survey.cavity_role(point);
    matches!(role, Some(CavityRole::Blank | CavityRole::Spare | CavityRole::Elsewhere))
}

/// A cavity that holds more wires than it says.
pub(crate) struct Crowd {
    pub(crate) connector: ConnectorId,
    pub(crate) point: PointId,
}

fn crowds(survey: &Survey) -> Vec<Crowd> {
    let mut crowds = Vec::new();
    for (index, point) in survey.circuit().points.iter().enumerate() {
        let PointKind::Cavity { connector, .. } = point.kind else { continue };
        let point = PointId(index as u32);
        let most = match survey.cavity_role(point) {
            Some(CavityRole::DoubleCrimp) => 2,
            _ => 1,
        };
        if survey.wire_count(point) > most && together(survey, point) > most {
            crowds.push(Crowd { connector, point });
        }
    }
    crowds
}

/// Of more wires in one cavity nobody works out which car has which.
const MANY: usize = 16;

/// How many wires some one car has at a point: those whose conditions exclude each other count once.
fn together(survey: &Survey, point: PointId) -> usize {
    let wires: Vec<&Wire> = survey.wires_at(point).take(MANY + 1).collect();
    if wires.len() > MANY {
        return survey.wire_count(point);
    }
    let with = |first: &&Wire| {
        let mut kept = vec![*first];
        for wire in wires.iter().filter(|wire| wire.part != first.part) {
            if !kept.iter().any(|other| survey.never_together(wire, other)) {
                kept.push(wire);
            }
        }
        kept.len()
    };
    wires.iter().map(with).max().unwrap_or(0)
}

/// A cavity of an inline connector with a wire on one half only.
pub(crate) struct Lonely {
    pub(crate) connector: ConnectorId,
    pub(crate) wired: PointId,
    pub(crate) empty: PointId,
}

/// Leaves out what other findings speak of already.
fn lonely_halves(survey: &Survey, muddled: &BTreeSet<ConnectorId>) -> Vec<Lonely> {
    let mut lonely = Vec::new();
    for (index, connector) in survey.circuit().connectors.iter().enumerate() {
        let id = ConnectorId(index as u32);
        if connector.owner.is_some() || muddled.contains(&id) {
            continue;
        }
        for cavity in &connector.cavities {
            let [Some(first), Some(second)] = cavity.points else { continue };
            let count = |point| survey.wire_count(point);
            let (wired, empty) = match (count(first), count(second)) {
                (1, 0) => (first, second),
                (0, 1) => (second, first),
                _ => continue,
            };
            let said = matches!(cavity.role, CavityRole::Elsewhere | CavityRole::Blank | CavityRole::Spare);
            if !said && !survey.doubts(wired) && !survey.doubts(empty) {
                lonely.push(Lonely { connector: id, wired, empty });
            }
        }
    }
    lonely
}

/// The colours of the wires that are missing at half-wired inline connectors.
pub(crate) fn missing_colours(survey: &Survey) -> BTreeSet<String> {
    let circuit = survey.circuit();
    let of_half = |point: PointId| match circuit.point(point).kind {
        PointKind::Cavity { connector, half, cavity } => {
            circuit.connector(connector).cavities[cavity as usize].colours[half as usize].clone()
        }
        _ => String::new(),
    };
    let of_wire =
        |point| survey.wires_at(point).find_map(|wire| wire.colour.as_ref().map(|(c, _)| c.clone()));
    let missing = survey.lonely.iter().filter_map(|lonely| match of_half(lonely.empty) {
        said if said.is_empty() => of_wire(lonely.wired),
        said => Some(said),
    });
    missing.collect()
}

/// Whether a point is a splice with one wire and nothing else.
pub(crate) fn is_loose_end(survey: &Survey, point: PointId) -> bool {
    survey.circuit().point(point).kind == PointKind::Splice
        && survey.wire_count(point) == 1
        && survey.branches_at(point).nth(1).is_none()
}
