//! `impossible-value`.

use halfsplit_circuit::{BranchId, BranchKind};
use halfsplit_model::{Entity, Place};

use crate::{
    Rule,
    rule::Found,
    statements::own,
    survey::{Survey, number},
};

pub(super) const RULE: Rule = rule!("impossible-value", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for line in own(survey).iter().filter(|line| line.fact.keyword() == "system") {
        let Some(volts) = line.fact.quantity("volts").and_then(|q| q.value.value) else { continue };
        if volts <= 0.0 {
            found
                .add(line.place(), format!("a system of {} V", number(volts)))
                .help("write the volts of the vehicle's supply: `system 12 V`");
        }
    }
    for (id, branch) in survey.circuit().branches() {
        let Some((keyword, what)) = wrong(&branch.kind) else { continue };
        // What follows from the system's volts is told of the system.
        let taken = keyword == "volts" && survey.model.said(Entity::Part(branch.part), "volts").is_none()
            || matches!(branch.kind, BranchKind::Feed { .. } | BranchKind::Load { .. })
                && !survey.model.rated.contains_key(&id);
        let follows = taken && survey.model.vehicle.system.is_some_and(|volts| volts <= 0.0);
        if follows {
            continue;
        }
        let Some(place) = place(survey, id, keyword) else { continue };
        let part = survey.part_name(branch.part);
        found
            .add(place, format!("{part}: {what}"))
            .help("nothing can be computed with it: mend the number or its sign, or write `unknown` where nobody knows");
    }
}

/// Whether nothing can be computed with a resistance.
fn bad(ohms: f64) -> bool {
    !(ohms.is_finite() && ohms > 0.0)
}

/// The keyword of the line that is wrong, and what is wrong with it.
fn wrong(kind: &BranchKind) -> Option<(&'static str, String)> {
    let line = |keyword: &'static str, ohms: f64| bad(ohms).then(|| (keyword, resistance(ohms)));
    let current = |keyword: &'static str, ohms: Option<f64>| {
        ohms.and_then(|ohms| bad(ohms).then(|| (keyword, draw(ohms))))
    };
    match *kind {
        BranchKind::Load { ohms, .. } => current("", ohms),
        BranchKind::Feed { awake, standby, .. } => {
            current("", awake).or_else(|| standby.and_then(|ohms| line("standby", ohms)))
        }
        BranchKind::Lamp { hot, .. } => {
            bad(hot).then(|| ("", "watts and volts of a filament are above zero".to_owned()))
        }
        BranchKind::Coil { ohms, .. } => line("", ohms),
        BranchKind::Joint { ohms } => line("joint", ohms),
        BranchKind::Mated { ohms, .. } => line("contact", ohms),
        BranchKind::Switch { ohms, .. } | BranchKind::RelayContact { ohms, .. } => line("", ohms),
        BranchKind::Driver { ohms, .. } => line("inner", ohms),
        BranchKind::Fuse { ohms, rating } => {
            let rated = || (rating <= 0.0).then(|| ("", format!("a rating of {} A", number(rating))));
            rated().or_else(|| line("cold", ohms))
        }
        BranchKind::Source { volts, inner } | BranchKind::Generator { volts, inner, .. } => {
            let dead = || (volts <= 0.0).then(|| ("volts", format!("a supply of {} V", number(volts))));
            line("inner", inner).or_else(dead)
        }
        BranchKind::Reference { volts, inner, limit, unpowered, .. } => {
            let dead = || (volts <= 0.0).then(|| ("", format!("a reference of {} V", number(volts))));
            let shut = || {
                limit
                    .filter(|amps| *amps <= 0.0)
                    .map(|amps| ("limit", format!("a limit of {} A", number(amps))))
            };
            line("inner", inner).or_else(|| line("unpowered", unpowered)).or_else(dead).or_else(shut)
        }
        BranchKind::Wire { .. } | BranchKind::Diode { .. } => None,
    }
}

fn resistance(ohms: f64) -> String {
    match ohms {
        0.0 => "a resistance of nothing: every conductor has some".to_owned(),
        ohms => format!("a resistance of {ohms} ohm"),
    }
}

/// What a current was that gives such a resistance.
fn draw(ohms: f64) -> String {
    match ohms {
        ohms if ohms < 0.0 => "it draws a current below zero, or at volts below zero".to_owned(),
        0.0 => "it has no resistance at all".to_owned(),
        _ => "it draws no current at all".to_owned(),
    }
}

fn place(survey: &Survey, id: BranchId, keyword: &'static str) -> Option<Place> {
    let part = survey.circuit().branch(id).part;
    let said = |item| survey.model.said(item, keyword);
    let own = survey.circuit().connectors.iter().position(|c| c.part == part);
    let connector =
        own.and_then(|index| said(Entity::Connector(halfsplit_circuit::ConnectorId(index as u32))));
    said(Entity::Output(id))
        .or_else(|| said(Entity::Part(part)))
        .or(connector)
        .or_else(|| survey.branch_place(id))
}
