//! What a plan says of its own minutes, held against what its JSON allows to be worked out again.
//!
//! Two things can be: whether another place for the meter makes the plan cheaper, by asking for a plan with the meter
//! at every place of the net; and whether the expected minutes are those of the printed tree, by walking it. A whole
//! optimum over all legal actions cannot: the JSON prints the steps that were taken, not those that were not. For that
//! it would have to print every legal action with its minutes in every set-up and its outcome for every suspect.

use std::collections::BTreeMap;
use std::path::Path;

use halfsplit_circuit::{PointKind, net};
use serde_json::Value;

use super::car::{self, Opened};
use super::complaint::{Complaint, Sound, What};
use super::door::{Answer, Door};
use super::faults;
use super::meter::Hand;
use crate::outside::random::Random;

/// Most suspects of a small problem.
const SMALL: usize = 8;
/// Share by which a plan has to be cheaper to count as cheaper.
const HAIR: f64 = 1e-6;
/// Faults that are drawn before a circuit is left.
const TRIES: usize = 60;

/// What came of one problem.
#[derive(Clone, Debug, Default)]
pub struct Problem {
    /// The question.
    pub question: Vec<String>,
    /// Expected minutes of the plan, and what it says was proved.
    pub expected: f64,
    /// Whether it says that it is optimal.
    pub optimal: bool,
    /// Places that were asked for and allowed.
    pub places: usize,
    /// The cheapest of them, with its expected minutes.
    pub cheapest: Option<(String, f64)>,
    /// Minutes of the printed tree, where its units tell its branches apart.
    pub walked: Option<f64>,
}

impl Problem {
    /// By which share another place is cheaper; nothing where none is.
    pub fn dearer(&self) -> Option<f64> {
        let (_, cheapest) = self.cheapest.as_ref()?;
        let share = 1.0 - cheapest / self.expected;
        (share > HAIR).then_some(share)
    }

    /// Whether the tree's minutes are other than said.
    pub fn is_off(&self) -> bool {
        self.walked.is_some_and(|walked| (walked - self.expected).abs() > HAIR * (1.0 + self.expected))
    }
}

/// The problem of a circuit and a number; `None` where no pin reads wrong or the plan has too many suspects.
pub fn problem(door: &Door, folder: &Path, circuit: u64, number: u64) -> Option<Problem> {
    let opened = car::open(circuit).ok()?;
    let sound = Sound::of(&opened);
    let mut random = Random::new(number ^ circuit << 20);
    let hand = Hand::draw(&mut random);
    let complaint = (0..TRIES).find_map(|_| {
        let hidden = faults::draw(&opened.model.circuit, &mut random, false)?;
        let complaint = sound.complaint(&hidden.faults, &hand, &mut random)?;
        matches!(complaint.what, What::Pin { .. }).then_some(complaint)
    })?;
    let file = folder.join("drawn.circuit");
    std::fs::write(&file, &opened.drawn.text).ok()?;
    let question = complaint.question(&opened, &file.display().to_string());
    let Answer::Json(plan) = door.ask(&question).0 else { return None };
    let suspects = plan["suspects"].as_array().map_or(0, Vec::len);
    if plan["steps"].as_array().is_none_or(Vec::is_empty) || suspects > SMALL + 3 {
        return None;
    }
    let mut found = Problem {
        expected: plan["expected_minutes"].as_f64()?,
        optimal: plan["optimality"].as_str() == Some("optimal"),
        walked: walked(&plan),
        question: question.clone(),
        ..Problem::default()
    };
    for place in places(&opened, &complaint) {
        let with: Vec<String> =
            question.iter().cloned().chain(["--meter".to_owned(), place.clone()]).collect();
        let Answer::Json(plan) = door.ask(&with).0 else { continue };
        let Some(expected) = plan["expected_minutes"].as_f64() else { continue };
        found.places += 1;
        if found.cheapest.as_ref().is_none_or(|(_, least)| expected < *least) {
            found.cheapest = Some((place, expected));
        }
    }
    Some(found)
}

/// Every cavity of the pin's net in which a probe can rest.
fn places(opened: &Opened, complaint: &Complaint) -> Vec<String> {
    let What::Pin { pin, .. } = &complaint.what else { return Vec::new() };
    let circuit = &opened.model.circuit;
    let Ok(pin) = opened.model.names.point(pin) else { return Vec::new() };
    let state = complaint.standing.state(&opened.model, None);
    let inside = |point| match circuit.point(point).kind {
        PointKind::Cavity { connector, half, .. } => {
            circuit.connector(connector).owner.is_none() || half == 0
        }
        _ => false,
    };
    let all = net(circuit, &state, pin).points;
    all.into_iter().filter(|&point| inside(point)).map(|point| circuit.point(point).name.clone()).collect()
}

/// Expected minutes of the printed tree; `None` where a unit stands at several ends, so that its chance cannot be shared
/// out, or where an end holds what no look parts and the plan charges for it.
fn walked(plan: &Value) -> Option<f64> {
    let mut weights: BTreeMap<&str, f64> = BTreeMap::new();
    for suspect in plan["suspects"].as_array()? {
        *weights.entry(suspect["name"].as_str()?).or_default() += suspect["weight"].as_f64()?;
    }
    let mut ends: Vec<(f64, Vec<&str>)> = Vec::new();
    let mut waiting = vec![(1, 0.0)];
    while let Some((id, before)) = waiting.pop() {
        let step = plan["steps"].as_array()?.iter().find(|step| step["id"].as_u64() == Some(id))?;
        let minutes = before + step["minutes"].as_f64()?;
        for outcome in step["outcomes"].as_array()? {
            let units: Vec<&str> = outcome["suspects"].as_array()?.iter().filter_map(Value::as_str).collect();
            match outcome["next"].as_u64() {
                Some(next) => waiting.push((next, minutes)),
                None if units.is_empty() => {}
                None => ends.push((minutes, units)),
            }
        }
    }
    let named: Vec<&str> = ends.iter().flat_map(|(_, units)| units.iter().copied()).collect();
    let once = named.iter().all(|unit| named.iter().filter(|other| *other == unit).count() == 1);
    if !once {
        return None;
    }
    let weight = |units: &[&str]| units.iter().filter_map(|unit| weights.get(unit)).sum::<f64>();
    let whole = weight(&named);
    let sum: f64 = ends.iter().map(|(minutes, units)| minutes * weight(units)).sum();
    Some(
        plan["meter"]["minutes"].as_f64()?
            + plan["complaint"]["set_up_minutes"].as_f64().unwrap_or(0.0)
            + sum / whole,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_printed_tree_adds_up() {
        let end = |unit: &str| json!({ "low": 0.0, "high": 1.0, "suspects": [unit], "next": null });
        let on = |units: [&str; 2]| json!({ "low": 2.0, "high": 3.0, "suspects": units, "next": 2 });
        let none = json!({ "low": null, "high": null, "suspects": [], "next": null });
        let plan = json!({
            "meter": { "minutes": 1.0 },
            "suspects": [{ "name": "B4", "weight": 2.0 }, { "name": "W7", "weight": 1.0 }, { "name": "X1", "weight": 1.0 }],
            "steps": [
                { "id": 1, "minutes": 2.0, "outcomes": [end("B4"), on(["W7", "X1"]), none.clone()] },
                { "id": 2, "minutes": 4.0, "outcomes": [end("W7"), end("X1"), none] },
            ],
        });
        // One minute to the meter's place, two for all, four more for half of the chance.
        assert_eq!(walked(&plan), Some(1.0 + 2.0 + 0.5 * 4.0));
    }
}
