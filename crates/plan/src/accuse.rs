//! From drafts to suspects: what explains the reading and agrees with the facts.

use halfsplit_circuit::{BranchKind, Fault, Ohms, PartId, ReadError, Solution};

use crate::bench::Bench;
use crate::facts::Fact;
use crate::fit::{Fit, fit, fit_floating};
use crate::ground::return_net;
use crate::learned::{Learned, Seen, alike, moved};
use crate::plan::{Dropped, FactUsed};
use crate::priors;
use crate::request::{PlanError, Request, Suspects};
use crate::suspects::{Draft, Shape, Unit, UnitKind, gather, unit_weight};

/// A suspect that explains the reading.
#[derive(Clone, Debug)]
pub(crate) struct Accused {
    pub unit: usize,
    pub mode: String,
    pub ohms: Option<Ohms>,
    pub weight: f64,
    /// Share of the weight that came from confirmed causes.
    pub from_cases: f64,
    /// What is wrong, at each resistance it may have.
    pub variants: Vec<Vec<Fault>>,
    pub shape: Shape,
}

/// What came of it.
pub(crate) struct Bill {
    pub units: Vec<Unit>,
    pub accused: Vec<Accused>,
    pub dropped: Vec<Dropped>,
    pub facts: Vec<FactUsed>,
    pub learned: Option<Learned>,
}

/// Everything that explains the reading, weighed.
pub(crate) fn accuse(bench: &Bench<'_>, request: &Request, facts: &[Fact]) -> Result<Bill, PlanError> {
    let (units, drafts) = gather(bench);
    let weights: Vec<(f64, bool)> = units.iter().map(|u| unit_weight(bench, u)).collect();
    let file_only = request.suspects == Suspects::FileOnly;
    let mut bill = Bill {
        units,
        accused: Vec::new(),
        dropped: Vec::new(),
        facts: facts.iter().map(|f| FactUsed { words: f.words.clone(), excluded: 0 }).collect(),
        learned: None,
    };
    let sound = if facts.is_empty() { None } else { Some(bench.solver.solve(&bench.state, &[])?) };

    for draft in &drafts {
        if file_only && !weights[draft.unit].1 {
            continue;
        }
        let fitted =
            if request.floats { fit_floating(bench, draft)? } else { fit(bench, draft, request.reads)? };
        let explained = match fitted {
            Fit::Explains(explained) => explained,
            Fit::No(why) => {
                // A break that the reading excludes already may be what the fact is about.
                if let (Some(sound), true) = (&sound, draft.shape.can_break()) {
                    let broken = [draft.shape.fault(Ohms::INFINITY)];
                    if let Some(fact) = contradicted(bench, &broken, facts, sound)? {
                        bill.facts[fact].excluded += 1;
                    }
                }
                bill.drop(draft, why);
                continue;
            }
        };
        // What a fact leaves of a range of resistances is what remains possible.
        let mut variants: Vec<Vec<Fault>> =
            explained.variants.iter().map(|&o| vec![draft.shape.fault(o)]).collect();
        if let Some(sound) = &sound {
            let mut against = None;
            let mut kept = Vec::new();
            for faults in variants {
                match contradicted(bench, &faults, facts, sound)? {
                    Some(fact) => against = Some(fact),
                    None => kept.push(faults),
                }
            }
            variants = kept;
            if let (true, Some(fact)) = (variants.is_empty(), against) {
                bill.facts[fact].excluded += 1;
                bill.drop(draft, format!("contradicts \"{}\"", facts[fact].words));
                continue;
            }
        }
        if let Some(fuse) = blown(bench, &variants)? {
            bill.drop(draft, format!("would have blown {fuse}: then the fuse is the first finding"));
            continue;
        }
        bill.accused.push(Accused {
            unit: draft.unit,
            mode: draft.mode.clone(),
            ohms: explained.ohms,
            weight: draft.share,
            from_cases: 0.0,
            variants,
            shape: draft.shape,
        });
    }
    if let (Some(module), true) = (bench.source.module, facts.iter().any(|f| f.is_silence().is_some())) {
        bill.silent_module(bench, module);
    }
    if file_only {
        bill.keep_likeliest(bench);
    }
    bill.weigh(&weights);
    // A list on paper knows its own weights only.
    if !file_only {
        bill.learn(&request.seen);
    }
    Ok(bill)
}

impl Bill {
    fn drop(&mut self, draft: &Draft, why: String) {
        let name = self.units[draft.unit].name.clone();
        self.dropped.push(Dropped { name, mode: draft.mode.clone(), why });
    }

    /// A module that is silent although it is fed and grounded: nothing else in the circuit explains
    /// that, so no fact speaks against it and no feed reading differs from a sound car's.
    fn silent_module(&mut self, bench: &Bench<'_>, module: PartId) {
        let name = &bench.circuit.part(module).name;
        let Some(unit) = self.units.iter().position(|u| &u.name == name) else { return };
        let shape = Shape::Dead { branch: bench.source.branch };
        // Nothing wakes it: it drives no relay and makes no reference.
        let feeds = bench.module_feeds().into_iter();
        let asleep = feeds.map(|branch| Shape::Series { branch }.fault(Ohms::INFINITY)).collect();
        self.accused.push(Accused {
            unit,
            mode: "silent although fed and grounded".to_owned(),
            ohms: None,
            weight: 1.0,
            from_cases: 0.0,
            variants: vec![asleep],
            shape,
        });
    }

    /// One mode for each unit. A list on paper does not say where a harness short goes to; it is
    /// taken to go to the return wire beside it, like the sensors' own.
    fn keep_likeliest(&mut self, bench: &Bench<'_>) {
        let back = return_net(bench);
        let rank = |a: &Accused| match a.shape {
            Shape::Chafe { to, .. } => Some(to) == bench.circuit.body || !back.contains(to),
            _ => false,
        };
        let mut kept: Vec<Accused> = Vec::new();
        for accused in self.accused.drain(..) {
            match kept.iter_mut().find(|k| k.unit == accused.unit) {
                None => kept.push(accused),
                Some(known)
                    if rank(known) && !rank(&accused) && matches!(accused.shape, Shape::Chafe { .. }) =>
                {
                    *known = accused;
                }
                Some(_) => {}
            }
        }
        self.accused = kept;
    }

    /// Gives every unit its whole weight, shared among the modes that explain the reading.
    fn weigh(&mut self, weights: &[(f64, bool)]) {
        let unlisted = |u: &Unit| u.kind == UnitKind::Unlisted;
        let mut met: Vec<usize> = self.accused.iter().map(|a| a.unit).collect();
        met.sort_unstable();
        met.dedup();
        let strangers = met.iter().filter(|&&u| unlisted(&self.units[u])).count().max(1);
        for unit in met {
            let shares: f64 = self.accused.iter().filter(|a| a.unit == unit).map(|a| a.weight).sum();
            let whole = if unlisted(&self.units[unit]) {
                priors::UNLISTED / strangers as f64
            } else {
                weights[unit].0
            };
            for accused in self.accused.iter_mut().filter(|a| a.unit == unit) {
                accused.weight *= whole / shares;
            }
        }
    }
}

impl Bill {
    /// Moves the weights by confirmed causes: first among the units, then among each unit's modes.
    fn learn(&mut self, seen: &[Seen]) {
        let mut met: Vec<usize> = self.accused.iter().map(|a| a.unit).collect();
        met.sort_unstable();
        met.dedup();
        let (units, accused) = (&self.units, &self.accused);
        let of_unit = |unit: usize| seen.iter().filter(move |s| units[unit].parts.contains(&s.part));
        let counts: Vec<f64> = met.iter().map(|&unit| of_unit(unit).count() as f64).collect();
        let cases: f64 = counts.iter().sum();
        if cases == 0.0 {
            return;
        }
        let weight = |unit: usize| accused.iter().filter(|a| a.unit == unit).map(|a| a.weight).sum();
        let shares: Vec<f64> = met.iter().map(|&unit| weight(unit)).collect();
        let after = moved(&shares, &counts);
        let whole: f64 = shares.iter().sum();
        let strength = crate::learned::ALPHA * met.len() as f64;
        let mut weights: Vec<(usize, f64, f64)> = Vec::new();
        for (at, &unit) in met.iter().enumerate() {
            let own: Vec<usize> = (0..accused.len()).filter(|&i| accused[i].unit == unit).collect();
            let before: Vec<f64> = own.iter().map(|&i| accused[i].weight).collect();
            let counts: Vec<f64> = own
                .iter()
                .map(|&i| of_unit(unit).filter(|s| alike(&s.mode, &accused[i].mode)).count() as f64)
                .collect();
            let modes = moved(&before, &counts);
            let from = counts_share(cases, strength, whole, after[at], of_unit(unit).count() as f64);
            for (&i, mode) in own.iter().zip(modes) {
                weights.push((i, mode * after[at] / shares[at], from));
            }
        }
        for (i, weight, from) in weights {
            self.accused[i].weight = weight;
            self.accused[i].from_cases = from;
        }
        self.learned = Some(Learned { cases: cases as usize, share: cases / (cases + strength) });
    }
}

/// Share of a unit's new weight that its own confirmed causes gave it.
fn counts_share(cases: f64, strength: f64, whole: f64, weight: f64, own: f64) -> f64 {
    own / (cases + strength) * whole / weight
}

/// The first fact that a fault contradicts; one that leaves no steady state contradicts none.
fn contradicted(
    bench: &Bench<'_>,
    faults: &[Fault],
    facts: &[Fact],
    sound: &Solution,
) -> Result<Option<usize>, ReadError> {
    match bench.solver.solve(&bench.state, faults) {
        Ok(found) => {
            for (at, fact) in facts.iter().enumerate() {
                if !fact.agrees(&bench.solver, &bench.state, faults, &found, sound)? {
                    return Ok(Some(at));
                }
            }
            Ok(None)
        }
        Err(ReadError::NoStableState { .. } | ReadError::TwoStableStates { .. }) => Ok(None),
        Err(error) => Err(error),
    }
}

/// The fuse that would have opened under this fault at every resistance it may have.
fn blown(bench: &Bench<'_>, variants: &[Vec<Fault>]) -> Result<Option<String>, ReadError> {
    let mut name = None;
    for faults in variants {
        let found = match bench.solver.solve(&bench.state, faults) {
            Ok(found) => found,
            Err(ReadError::NoStableState { .. } | ReadError::TwoStableStates { .. }) => return Ok(None),
            Err(error) => return Err(error),
        };
        let over = bench.circuit.branches().find(|(id, branch)| match branch.kind {
            BranchKind::Fuse { rating, .. } => found.current(*id).abs() >= CERTAIN_TO_OPEN * rating,
            _ => false,
        });
        let Some((_, branch)) = over else { return Ok(None) };
        name = Some(bench.circuit.part(branch.part).name.clone());
    }
    Ok(name)
}

/// Share of its rating at which a blade fuse is sure to open, within 600 s
/// (ISO 8820-3 time–current gates, SAW-2nd).
const CERTAIN_TO_OPEN: f64 = 1.35;
