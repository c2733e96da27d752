//! What a file cannot tell apart, and which fact added to it would help.

use std::collections::BTreeSet;

use halfsplit_circuit::{Circuit, Fault, Meter, PartKind, PointId, PointKind};

use crate::draw::Case;
use crate::hunt::parted;
use crate::legal;
use crate::predict::{Corners, Span};
use crate::request::{PlanError, Request};
use crate::search::Set;

/// Facts named for one group, best first.
const MOST_FACTS: usize = 3;

/// What can be told of a pin's suspects.
#[derive(Clone, PartialEq, Debug)]
pub struct Coverage {
    /// The pin.
    pub pin: String,
    /// How many suspects there are.
    pub suspects: usize,
    /// How many of them some reading tells from every other unit.
    pub told: usize,
    /// Suspects of different units that no allowed reading parts, those that hang together in one group.
    pub groups: Vec<Group>,
}

/// Suspects each of which no allowed reading parts from some other of them.
#[derive(Clone, PartialEq, Debug)]
pub struct Group {
    /// Each of them.
    pub suspects: Vec<Confused>,
    /// What would part them if the file had it.
    pub facts: Vec<Fact>,
}

/// A suspect and what it is not told from.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Confused {
    /// Repair unit.
    pub name: String,
    /// How it fails.
    pub mode: String,
    /// The other units.
    pub with: Vec<String>,
}

/// A fact that would part a group.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fact {
    /// `a test point at SP11`, `the reach of F12`.
    pub fact: String,
    /// The reading that it would allow: red lead and black lead.
    pub reading: (String, String),
    /// Repair units of each part, lowest reading first.
    pub parts: Vec<Vec<String>>,
    /// Pairs of the group that it would part, and how many there are.
    pub pairs: (usize, usize),
}

/// Finds what no plan for this request could part, and what would.
///
/// # Errors
/// As [`plan`](crate::plan()).
pub fn coverage(circuit: &Circuit, request: &Request) -> Result<Coverage, PlanError> {
    let corners = Corners::of(circuit);
    let case = Case::open(circuit, &corners, request)?;
    let hunt = case.hunt(request)?.hunt;
    let count = hunt.quarry.len();
    let unit = |at: usize| case.accused[at].unit;
    // Those of other units from which no reading parts it.
    let confused: Vec<Set> = (0..count)
        .map(|at| hunt.alike[at].iter().filter(|&other| unit(other) != unit(at)).collect())
        .collect();
    let told = confused.iter().filter(|others| others.is_empty()).count();
    let places = candidates(&case, hunt.ground.home);
    let groups = groups(&confused)
        .into_iter()
        .map(|group| Group {
            suspects: group
                .iter()
                .map(|at| Confused {
                    name: case.units[unit(at)].name.clone(),
                    mode: case.accused[at].mode.clone(),
                    with: names(&case, confused[at]),
                })
                .collect(),
            facts: facts(&case, group, &confused, hunt.ground.home, &places),
        })
        .collect();
    Ok(Coverage { pin: case.bench.name(case.bench.pin).to_owned(), suspects: count, told, groups })
}

/// Suspects that hang together by being confused, those that are told left out.
fn groups(confused: &[Set]) -> Vec<Set> {
    let mut groups: Vec<Set> = Vec::new();
    for (at, others) in confused.iter().enumerate() {
        if others.is_empty() {
            continue;
        }
        let own = Set::only(at).or(*others);
        let (met, apart) = groups.into_iter().partition(|group: &Set| !group.and(own).is_empty());
        groups = apart;
        let met: Vec<Set> = met;
        groups.push(met.into_iter().fold(own, Set::or));
    }
    groups.sort();
    groups
}

/// Points that no probe reaches only because the file does not say how, and the fact that would.
fn candidates(case: &Case<'_>, home: PointId) -> Vec<(PointId, String)> {
    let circuit = case.bench.circuit;
    let mut found = Vec::new();
    for (at, point) in circuit.points.iter().enumerate() {
        let id = PointId(at as u32);
        let part = point.name.split(':').next().and_then(|name| circuit.part_named(name));
        let unreached = part.filter(|&part| circuit.part(part).reach.is_none());
        let kind = part.map(|part| circuit.part(part).kind);
        match point.kind {
            _ if id == home || id == case.bench.black => {}
            PointKind::Splice | PointKind::Bar => found.push((id, format!("a test point at {}", point.name))),
            PointKind::Terminal | PointKind::Ground
                if matches!(
                    kind,
                    Some(PartKind::Fuse | PartKind::Link | PartKind::Relay | PartKind::GroundPoint)
                ) =>
            {
                found.extend(unreached.map(|part| (id, format!("the reach of {}", circuit.part(part).name))));
            }
            _ => {}
        }
    }
    found.retain(|(point, _)| legal::leads_to_danger(&case.bench, *point).is_none());
    found
}

/// What would part a group most, each fact once.
fn facts(
    case: &Case<'_>,
    group: Set,
    confused: &[Set],
    home: PointId,
    places: &[(PointId, String)],
) -> Vec<Fact> {
    let bench = &case.bench;
    let mut found: Vec<Fact> = Vec::new();
    for (point, fact) in places {
        for black in [home, bench.black] {
            let meter = Meter::volts(*point, black);
            let variants: Vec<&[Vec<Fault>]> =
                group.iter().map(|at| &case.accused[at].variants[..]).collect();
            let spans = bench.predictor.spans(&bench.state, &variants, &[meter]).into_iter();
            let spans: Option<Vec<(usize, Span)>> =
                group.iter().zip(spans).map(|(at, span)| span.map(|span| (at, span))).collect();
            let Some(spans) = spans else { continue };
            let parts = parted(spans);
            let count =
                |kept: &dyn Fn(usize) -> Set| group.iter().map(|at| kept(at).len()).sum::<usize>() / 2;
            let all = count(&|at| confused[at]);
            let beyond = |at: usize| {
                let own = parts.iter().find(|part| part.contains(at)).copied().unwrap_or_default();
                confused[at].without(own)
            };
            let pairs = (count(&beyond), all);
            if pairs.0 == 0 {
                continue;
            }
            let new = Fact {
                fact: fact.clone(),
                reading: (bench.name(*point).to_owned(), crate::draw::words::black(bench, black)),
                parts: parts.into_iter().map(|part| names(case, part)).collect(),
                pairs,
            };
            match found.iter_mut().find(|known| known.fact == *fact) {
                Some(known) if known.pairs < new.pairs => *known = new,
                Some(_) => {}
                None => found.push(new),
            }
        }
    }
    found.sort_by_key(|fact| std::cmp::Reverse(fact.pairs));
    found.truncate(MOST_FACTS);
    found
}

fn names(case: &Case<'_>, set: Set) -> Vec<String> {
    let units: BTreeSet<usize> = set.iter().map(|at| case.accused[at].unit).collect();
    units.into_iter().map(|unit| case.units[unit].name.clone()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_hangs_together_is_one_group() {
        let confused = [Set::only(2), Set::EMPTY, Set::only(0).or(Set::only(4)), Set::EMPTY, Set::only(2)];
        assert_eq!(groups(&confused), [[0, 2, 4].into_iter().collect::<Set>()]);
    }
}
