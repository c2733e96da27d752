//! `unknown-name`.

use std::collections::{BTreeMap, BTreeSet};

use halfsplit_circuit::{ConnectorId, PointKind};
use halfsplit_model::{Problem, ProblemKind};

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, list},
};

pub(super) const RULE: Rule = rule!("unknown-name", Error, File, check);

fn check(survey: &Survey, found: &mut Found) {
    // What is missing may be declared in a file that could not be had, which is reported.
    if survey.model.problems.iter().any(|problem| lacks_a_file(&problem.kind)) {
        return;
    }
    // A name that is wrong in many places is one fault.
    let mut by_name: BTreeMap<(&str, &str), Vec<&Problem>> = BTreeMap::new();
    for problem in &survey.model.problems {
        if let ProblemKind::UnknownName { written, wanted, .. } = &problem.kind {
            by_name.entry((written, wanted)).or_default().push(problem);
        }
    }
    let doubled = doubled(survey);
    for ((written, wanted), problems) in by_name {
        let [first, others @ ..] = problems.as_slice() else { continue };
        let ProblemKind::UnknownName { near, .. } = &first.kind else { continue };
        // Where a name that is near is declared twice, one of the two was to be this one, if
        // several lines ask for it; a single line is more likely a slip of its own.
        if !others.is_empty() && doubled.iter().any(|doubled| is_near(doubled, written)) {
            continue;
        }
        let mut detail = found.add(first.place, format!("no {wanted} is called `{written}`"));
        for other in others.iter().take(5) {
            detail = detail.with(other.place, "named here as well");
        }
        if let Some((what, pins)) = whole(survey, written).filter(|_| wanted == "pin") {
            detail.help(format!(
                "`{written}` is {what}: a wire ends at one of its pins, such as {}",
                list(&pins)
            ));
            continue;
        }
        match near {
            Some(near) => {
                let places = problems.iter().map(|problem| problem.place);
                detail.help(format!("did you mean `{near}`?")).fix_all(
                    format!("write `{near}`"),
                    places,
                    near,
                );
            }
            None => {
                detail.help("declare it, or mend the spelling; names differ in case, and O is not 0");
            }
        }
    }
}

/// What a name is that stands for a thing with pins where one of the pins belongs, and the first of them.
fn whole(survey: &Survey, written: &str) -> Option<(&'static str, Vec<String>)> {
    let (model, circuit) = (survey.model, survey.circuit());
    let of_connector = |id: ConnectorId| {
        let connector = circuit.connector(id);
        let halves: Vec<String> = match connector.owner {
            Some(_) => vec![written.to_owned()],
            None => connector.halves.iter().map(|half| format!("{written}.{half}")).collect(),
        };
        let cavity = connector.cavities.first().map_or("1", |cavity| cavity.name.as_str());
        halves.into_iter().map(|half| format!("`{half}:{cavity}`")).collect::<Vec<_>>()
    };
    if let [connector] = model.names.connectors_called(written) {
        return Some(("a connector", of_connector(*connector)));
    }
    let part = model.names.find_part(written)?;
    let own = format!("{written}:");
    let pins = circuit
        .points
        .iter()
        .filter(|point| point.kind == PointKind::Terminal && point.name.starts_with(&own));
    let mut pins: Vec<String> = pins.map(|point| format!("`{}`", point.name)).collect();
    for connector in circuit.connectors.iter().filter(|connector| connector.owner == Some(part)) {
        let cavity = connector.cavities.first().map_or("1", |cavity| cavity.name.as_str());
        pins.push(format!("`{}:{cavity}`", connector.name));
    }
    pins.truncate(4);
    (!pins.is_empty()).then_some(("a part", pins))
}

/// Whether the names of a used file are not known here.
fn lacks_a_file(problem: &ProblemKind) -> bool {
    matches!(
        problem,
        ProblemKind::UseNotFound { .. }
            | ProblemKind::NoSuchStd { .. }
            | ProblemKind::UseOutside { .. }
            | ProblemKind::UseOfCircuit { .. }
    )
}

/// Names that are declared twice.
fn doubled<'m>(survey: &Survey<'m>) -> BTreeSet<&'m str> {
    let names = survey.model.problems.iter().filter_map(|problem| match &problem.kind {
        ProblemKind::DuplicateName { name, other, .. } if name == other => Some(name.as_str()),
        _ => None,
    });
    names.collect()
}

/// Whether two names differ in one letter or digit.
pub(super) fn is_near(one: &str, other: &str) -> bool {
    one.len() == other.len() && one.chars().zip(other.chars()).filter(|(a, b)| a != b).count() == 1
}
