//! Expected plans: the first step, and where the walk ends with the block's faults in the circuit.

use std::collections::BTreeSet;

use halfsplit_circuit::{Fault, State};
use halfsplit_model::{
    Entity,
    expect::{Said, WantKind},
};
use halfsplit_plan::{Next, Plan, Request, plan, replay::replay};

use super::{Bench, Unreadable};

impl Bench<'_> {
    /// Nothing where the plan is as expected; else how it begins or ends instead.
    pub(super) fn plan(
        &self,
        state: &State,
        faults: &[Fault],
        kind: &WantKind,
    ) -> Result<Option<String>, Unreadable> {
        let WantKind::Plan { pin, reads, facts, first, conclusion } = kind else { return Ok(None) };
        let mut request = Request::new(self.point(pin)?, state.clone());
        request.reads = *reads;
        request.facts = facts.iter().map(|said| said.words.clone()).collect();
        let drawn = match plan(&self.model.circuit, &request) {
            Ok(drawn) => drawn,
            Err(error) => return Ok(Some(format!("there is no plan: {error}"))),
        };
        if let Some(first) = first {
            let begins = match &drawn.start {
                Next::Step(id) => drawn.step(*id).map_or("nothing", |step| step.target.as_str()),
                Next::End(_) => "nothing: one suspect alone is left",
            };
            if !self.is_same(first, begins)? {
                return Ok(Some(format!("the plan begins with {begins}")));
            }
        }
        if conclusion.is_empty() {
            return Ok(None);
        }
        if faults.is_empty() {
            let words = "a conclusion is computed for a fault, and the block has no `fault` line";
            return Err((conclusion[0].place, words.to_owned()));
        }
        let walk = replay(&self.model.circuit, &drawn, faults)
            .map_err(|error| (conclusion[0].place, error.to_string()))?;
        let ends: BTreeSet<usize> =
            walk.end.suspects.iter().filter_map(|&at| drawn.suspects[at].unit).collect();
        let mut named = BTreeSet::new();
        for said in conclusion {
            named.extend(self.units(&drawn, said)?.into_iter().filter(|unit| ends.contains(unit)));
        }
        let all_named = conclusion.iter().map(|said| Ok(!self.units(&drawn, said)?.is_disjoint(&ends)));
        let all_named = all_named.collect::<Result<Vec<bool>, Unreadable>>()?.into_iter().all(|met| met);
        if all_named && named == ends {
            return Ok(None);
        }
        let names: Vec<&str> = ends.iter().map(|&unit| drawn.units[unit].name.as_str()).collect();
        Ok(Some(match names.as_slice() {
            [] => "the walk ends where nothing fits".to_owned(),
            names => format!("the walk ends at {}", names.join(", ")),
        }))
    }

    /// Whether a step's target is what was written.
    fn is_same(&self, said: &Said, target: &str) -> Result<bool, Unreadable> {
        let wanted = self.entity(said)?;
        Ok(said.words == target || self.model.names.any(target).is_ok_and(|found| found == wanted))
    }

    /// The repair units that an item is, or is a piece of.
    fn units(&self, plan: &Plan, said: &Said) -> Result<BTreeSet<usize>, Unreadable> {
        let part = match self.entity(said)? {
            Entity::Part(part) => Some(part),
            Entity::Connector(connector) => Some(self.model.circuit.connector(connector).part),
            Entity::Point(_) | Entity::Output(_) => None,
        };
        Ok((plan.units.iter().enumerate())
            .filter(|(_, unit)| {
                unit.name == said.words || part.is_some_and(|part| unit.parts.contains(&part))
            })
            .map(|(at, _)| at)
            .collect())
    }
}
