//! `reference-low`.

use halfsplit_circuit::{Branch, BranchId, BranchKind, Output};
use halfsplit_model::{Entity, Place};

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, number},
};

pub(super) const RULE: Rule = rule!("reference-low", Warning, Sound, check);

/// A sound reference is nearer to its volts than this share. Own estimate: outputs hold 1 to 2 %.
const LEAST: f64 = 0.95;
/// One load draws so many times as much as any other only by a slip of its unit. Own estimate.
const FAR: f64 = 10.0;
/// A single sensor draws less than this, in amperes. Own estimate.
const MUCH: f64 = 0.05;

fn check(survey: &Survey, found: &mut Found) {
    let Some(solution) = survey.solution() else { return };
    for (name, id) in &survey.circuit().outputs {
        let reference = survey.circuit().branch(*id);
        let BranchKind::Reference { volts, inner, limit, .. } = reference.kind else { continue };
        let reads = solution.volts(reference.a, reference.b);
        let state = solution.output(*id);
        let works = matches!(state, Some(Output::Regulating | Output::Limiting));
        if !works || reads >= volts * LEAST {
            continue;
        }
        let mut loads = on(survey, reference);
        loads.sort_by(|one, two| two.1.total_cmp(&one.1));
        let sum: f64 = loads.iter().map(|(_, amps)| amps).sum();
        let Some(&(heaviest, most)) = loads.first() else { continue };
        let next = loads.get(1).map_or(0.0, |(_, amps)| *amps);
        let low = format!("{name} gives {} V of its {} V in the sound circuit", number(reads), number(volts));
        let far = if loads.len() == 1 { most > MUCH } else { most > FAR * next };
        let alone = far && limit.is_none_or(|limit| most > limit && sum - most <= limit);
        let own =
            |keyword| survey.model.said(Entity::Output(*id), keyword).or_else(|| survey.branch_place(*id));
        let said: Option<(Place, String)> = if alone && limit.is_some() {
            let part = survey.part_name(survey.circuit().branch(heaviest).part);
            survey
                .branch_place(heaviest)
                .map(|place| (place, format!("{part} draws {} A, and {low}", amps(most))))
        } else if state == Some(Output::Limiting) {
            let limit = limit.unwrap_or(0.0);
            own("limit").map(|place| {
                (
                    place,
                    format!(
                        "what hangs on {name} draws {} A, more than its {} A: {low}",
                        amps(sum),
                        amps(limit)
                    ),
                )
            })
        } else if inner * sum > volts * (1.0 - LEAST) {
            own("inner").map(|place| {
                (
                    place,
                    format!("{inner} ohm inside take {} V at {} A: {low}", number(inner * sum), amps(sum)),
                )
            })
        } else {
            survey.branch_place(heaviest).map(|place| (place, low))
        };
        if let Some((place, message)) = said {
            found
                .add(place, message)
                .help("a unit is likely wrong (mA for A, ohm for kohm); `unknown` is allowed");
        }
    }
}

/// Amperes, small ones with the digits that count.
fn amps(value: f64) -> String {
    if value.abs() < 0.1 { format!("{:.4}", value).trim_end_matches('0').to_owned() } else { number(value) }
}

/// The loads in the net of a reference, each with what it draws at its volts.
fn on(survey: &Survey, reference: &Branch) -> Vec<(BranchId, f64)> {
    let net = survey.net_of(reference.a);
    let draws = |(id, load): (BranchId, &Branch)| match load.kind {
        BranchKind::Load { ohms: Some(ohms), .. } if survey.net_of(load.a) == net => {
            let BranchKind::Reference { volts, .. } = reference.kind else { return None };
            Some((id, survey.model.rated.get(&id).copied().unwrap_or(volts) / ohms))
        }
        _ => None,
    };
    survey.circuit().branches().filter_map(draws).collect()
}
