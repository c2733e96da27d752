//! A case file as the planner takes it: what was read, known, checked and cleared, without its words.

use halfsplit_circuit::Hazard;
use halfsplit_model::Model;
use halfsplit_plan::case::{Checked, Job, Observation};

/// The job of a case file; `None` for a file that is none.
pub fn job(model: &Model) -> Option<Job> {
    let case = model.case.as_ref()?;
    let counts = case.log.iter().skip(case.void);
    let first = case.log.first().map(|reading| reading.place.span);
    let before = case.facts.iter().take_while(|fact| first.is_none_or(|first| fact.place.span < first));
    Some(Job {
        readings: counts
            .map(|o| Observation { state: o.state.clone(), leads: o.leads, reads: o.spread })
            .collect(),
        facts: case.facts.iter().map(|fact| fact.words.clone()).collect(),
        fact_states: case.fact_states.clone(),
        facts_before: before.count(),
        rested: case.rests.iter().map(|(_, volts)| *volts).collect(),
        system: model.vehicle.system,
        was_low: case.was_low,
        checked: case.checked.iter().filter_map(|proved| checked(&proved.what)).collect(),
        cleared: (case.cleared.iter())
            .filter_map(|cleared| Some((hazard(&cleared.hazard)?, cleared.item.words.clone())))
            .collect(),
        now: case.now.clone(),
        ..Job::default()
    })
}

fn checked(word: &str) -> Option<Checked> {
    Some(match word {
        "battery" => Checked::Battery,
        "network" => Checked::Network,
        "configuration" => Checked::Configuration,
        "latch" => Checked::Latch,
        "software" => Checked::Software,
        "equipment" => Checked::Equipment,
        _ => return None,
    })
}

fn hazard(word: &str) -> Option<Hazard> {
    Some(match word {
        "airbag" => Hazard::Airbag,
        "high-voltage" => Hazard::HighVoltage,
        "fuel" => Hazard::Fuel,
        "hot" => Hazard::Hot,
        "fan" => Hazard::Fan,
        "moving" => Hazard::Moving,
        _ => return None,
    })
}
