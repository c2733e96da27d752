//! `lamp-on-reference`.

use std::collections::BTreeSet;

use halfsplit_circuit::{BranchKind, Load, Measure, PointId, net::net};
use halfsplit_model::PinRole;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("lamp-on-reference", Error, Case, check);

fn check(survey: &Survey, found: &mut Found) {
    let Some(case) = &survey.model.case else { return };
    let circuit = survey.circuit();
    for reading in &case.log {
        if reading.leads.measure != Measure::Volts(Load::Lamp) {
            continue;
        }
        let points: BTreeSet<PointId> =
            net(circuit, &reading.state, reading.leads.red).points.into_iter().collect();
        let reference = circuit.branches().find(|(_, branch)| {
            matches!(branch.kind, BranchKind::Reference { .. }) && points.contains(&branch.a)
        });
        let bus =
            survey.model.facts.buses.iter().find(|bus| {
                bus.high.iter().chain(&bus.low).chain(&bus.line).any(|point| points.contains(point))
            });
        let signal = || points.iter().find(|point| survey.model.roles.get(point) == Some(&PinRole::Signal));
        let what = match (reference, bus) {
            (Some((_, branch)), _) => format!("the reference of {}", circuit.part(branch.part).name),
            (_, Some(bus)) => format!("the bus {}", bus.name),
            _ => match signal() {
                Some(&point) => format!("the signal at {}", circuit.point(point).name),
                None => continue,
            },
        };
        found
            .add(reading.place, format!("`{}` hangs a test lamp on {what}", reading.words))
            .help("a lamp pulls such a wire down by itself, so the reading proves nothing: read with the meter alone, or with the 470 Ω resistor");
    }
}
