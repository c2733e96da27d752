//! From everything that can be wrong to the suspects that the evidence leaves.

use halfsplit_circuit::{BranchKind, Circuit, Fault, Meter, Ohms, Quantity, ReadError, State};

use crate::belief::{self, Possible, Stretch};
use crate::complaint::draw;
use crate::evidence::{Line, Said};
use crate::judge;
use crate::learned::{Learned, Seen, alike, moved};
use crate::plan::{Dropped, FactUsed};
use crate::predict::Predictor;
use crate::priors;
use crate::search::Set;
use crate::suspects::{Focus, Hypothesis, Shape, Unit, UnitKind, add_commands, gather, unit_weight};
use crate::worlds::{self, Weighed, Worlds};

/// A suspect: a hypothesis over a stretch of resistance.
#[derive(Clone, Debug)]
pub(crate) struct Accused {
    pub unit: usize,
    pub mode: String,
    /// The resistance, where the evidence leaves little of its range; infinite is a clean break.
    pub ohms: Option<Ohms>,
    /// Chance, not normed.
    pub weight: f64,
    /// Share of the weight that came from confirmed causes.
    pub from_cases: f64,
    /// What is wrong, at each resistance that stands for the stretch.
    pub variants: Vec<Vec<Fault>>,
    pub shape: Shape,
    /// The output that its module commands on, where that is the suspicion.
    pub commanded: Option<halfsplit_circuit::BranchId>,
}

/// What came of it.
pub(crate) struct Bill {
    pub units: Vec<Unit>,
    pub accused: Vec<Accused>,
    pub dropped: Vec<Dropped>,
    pub facts: Vec<FactUsed>,
    pub learned: Option<Learned>,
    /// What the lines can mean.
    pub worlds: Worlds,
    /// Two faults that explain all lines: unit and mode of each, and their share.
    pub pairs: Vec<(Told, Told, f64)>,
}

/// A unit and how it fails.
pub(crate) type Told = (usize, String);

/// What is asked.
pub(crate) struct Question<'q> {
    pub focus: Focus<'q>,
    /// The first is what the question is about.
    pub lines: &'q [Line],
    /// Only units that the file weighs, each in its likeliest mode.
    pub file_only: bool,
    pub seen: &'q [Seen],
    /// Whether an output that is told to be on is among the suspects.
    pub commands: bool,
}

/// By what share of its sound reading a pin has to move for a fault to be worth a word.
const MOVES: f64 = 0.05;
/// Chance against the likeliest, each for its own weight, from which a unit is on a list (own estimate).
const ON_THE_LIST: f64 = 0.03;
/// A stretch no wider than this is told as one resistance.
const NARROW: f64 = 4.0;
/// Least likelihood of a reading against one that nothing predicts, for a hypothesis that explains it.
const EXPLAINS: f64 = 0.05;

/// Everything that explains the evidence, weighed, likeliest first.
pub(crate) fn accuse(predictor: &Predictor<'_>, question: &Question<'_>) -> Result<Bill, ReadError> {
    let circuit = predictor.solver().circuit();
    let (mut units, mut hypotheses) = gather(circuit, question.focus);
    if question.commands {
        add_commands(circuit, &mut units, &mut hypotheses);
    }
    let weights = unit_weights(circuit, question, &units, &hypotheses);
    if question.file_only {
        hypotheses.retain(|h| weights[h.unit] > 0.0);
    }
    let mut bill = Bill {
        worlds: Worlds::default(),
        pairs: Vec::new(),
        units,
        accused: Vec::new(),
        dropped: Vec::new(),
        facts: Vec::new(),
        learned: None,
    };
    let (facts, readings): (Vec<Line>, Vec<Line>) = question.lines.iter().cloned().partition(Line::is_fact);
    let only = readings.len() < 2;
    let lines = if only { &readings } else { question.lines };
    let Weighed { mut possible, worlds } =
        worlds::weigh(predictor, &hypotheses, &weights, lines, question.file_only)?;
    if only {
        keep_explained(predictor, &hypotheses, &readings, &mut possible)?;
        bill.take_facts(predictor, &hypotheses, &facts, &mut possible)?;
    }
    before_the_fuse(predictor, question, &hypotheses, &mut possible)?;
    bill.tell_dropped(predictor, question, &hypotheses, &possible);

    bill.pairs = worlds
        .pairs
        .iter()
        .map(|&(one, other, share)| {
            let told = |at: usize| (hypotheses[at].unit, hypotheses[at].mode.clone());
            (told(one), told(other), share)
        })
        .collect();
    bill.worlds = worlds;
    for mut stretch in belief::stretches(&possible, Set::MOST) {
        let shape = hypotheses[stretch.hypothesis].shape;
        trim(&mut stretch.ohms, &|ohms| agrees(predictor, question, &shape.variants(circuit, ohms)))?;
        bill.accused.push(accused(circuit, &hypotheses, stretch));
    }
    if question.file_only {
        bill.keep_likeliest(circuit, question, &weights);
    } else {
        bill.learn(question.seen);
    }
    if !question.file_only {
        let whole: f64 = bill.accused.iter().map(|a| a.weight).sum();
        bill.accused.iter_mut().for_each(|a| a.weight /= whole);
    }
    bill.accused.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(a.unit.cmp(&b.unit)));
    for extra in bill.accused.split_off(bill.accused.len().min(Set::MOST)) {
        let why = format!("is not among the {} likeliest that one plan can hold", Set::MOST);
        bill.dropped.push(Dropped { name: bill.units[extra.unit].name.clone(), mode: extra.mode, why });
    }
    Ok(bill)
}

/// Whether everything that was seen or complained of can be with one of these in the circuit.
fn agrees(
    predictor: &Predictor<'_>,
    question: &Question<'_>,
    variants: &[Vec<Fault>],
) -> Result<bool, ReadError> {
    for line in question.lines.iter().filter(|line| line.is_seen()) {
        if line.likelihoods(predictor, &[variants.to_vec()])?.iter().all(|likelihood| *likelihood <= 0.0) {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Halvings by which the border is found up to which a stretch agrees.
const HALVINGS: usize = 3;

/// Draws in the ends of a stretch, ascending, to a little within where it begins to agree; one that agrees nowhere
/// stays as it is.
fn trim(ohms: &mut Vec<Ohms>, agrees: &dyn Fn(Ohms) -> Result<bool, ReadError>) -> Result<(), ReadError> {
    let fits = ohms.iter().map(|&ohms| agrees(ohms)).collect::<Result<Vec<bool>, _>>()?;
    let (Some(first), Some(last)) = (fits.iter().position(|f| *f), fits.iter().rposition(|f| *f)) else {
        return Ok(());
    };
    let border = |mut out: Ohms, mut within: Ohms| {
        for _ in 0..HALVINGS {
            let middle = (out * within).sqrt();
            if agrees(middle)? { within = middle } else { out = middle }
        }
        // At the very border anything else that changes decides.
        Ok::<Ohms, ReadError>(within * within / out)
    };
    let before = if first > 0 { Some(border(ohms[first - 1], ohms[first])?) } else { None };
    let after = match ohms.get(last + 1) {
        Some(&out) if out.is_finite() => Some(border(out, ohms[last])?),
        _ => None,
    };
    *ohms = before.into_iter().chain(ohms[first..=last].iter().copied()).chain(after).collect();
    Ok(())
}

fn unit_weights(
    circuit: &Circuit,
    question: &Question<'_>,
    units: &[Unit],
    hypotheses: &[Hypothesis],
) -> Vec<f64> {
    // On the wire in question it is as likely as on all others together.
    let tapped = |unit: usize| {
        hypotheses.iter().any(|h| match h.shape {
            Shape::Sink { point, .. } => {
                h.unit == unit && question.focus.net.is_some_and(|net| net.contains(point))
            }
            _ => false,
        })
    };
    let is_unlisted = |at: &usize| units[*at].kind == UnitKind::Unlisted;
    let (here, elsewhere): (Vec<usize>, Vec<usize>) =
        (0..units.len()).filter(is_unlisted).partition(|&at| tapped(at));
    let weight = |at: usize| match unit_weight(circuit, &units[at]) {
        (_, false) if question.file_only => 0.0,
        _ if here.contains(&at) => priors::UNLISTED / here.len() as f64,
        _ if elsewhere.contains(&at) => priors::UNLISTED / elsewhere.len() as f64,
        (weight, _) => weight,
    };
    (0..units.len()).map(weight).collect()
}

fn accused(circuit: &Circuit, hypotheses: &[Hypothesis], stretch: Stretch) -> Accused {
    let hypothesis = &hypotheses[stretch.hypothesis];
    let (low, high) = (stretch.ohms[0], stretch.ohms[stretch.ohms.len() - 1]);
    let ohms = match hypothesis.shape {
        Shape::Dead { .. } | Shape::Asleep { .. } => None,
        _ if low.is_infinite() => Some(Ohms::INFINITY),
        _ if high <= NARROW * low => Some(stretch.about()),
        _ => None,
    };
    Accused {
        unit: hypothesis.unit,
        mode: hypothesis.mode.clone(),
        ohms,
        weight: stretch.weight,
        from_cases: 0.0,
        variants: stretch.ohms.iter().flat_map(|&o| hypothesis.shape.variants(circuit, o)).collect(),
        shape: hypothesis.shape,
        commanded: hypothesis.commanded,
    }
}

/// Drops what explains a reading no better than anything would: only the tail of a meter's accuracy speaks for it.
fn keep_explained(
    predictor: &Predictor<'_>,
    hypotheses: &[Hypothesis],
    lines: &[Line],
    possible: &mut Vec<Possible>,
) -> Result<(), ReadError> {
    for line in lines {
        let least = match &line.said {
            Said::Reads { leads, reads } => {
                let quantity = leads.quantity();
                let anywhere = crate::evidence::anywhere(quantity, *reads, line.scale(quantity, *reads));
                EXPLAINS * anywhere
            }
            _ => 1e-9,
        };
        let found = belief::likelihoods(predictor, hypotheses, possible, line)?;
        let mut found = found.into_iter();
        possible.retain(|_| found.next().is_some_and(|likelihood| likelihood >= least));
    }
    Ok(())
}

/// Leaves out what would have blown a fuse, or burnt a wire that none guards: then that is the first finding.
fn before_the_fuse(
    predictor: &Predictor<'_>,
    question: &Question<'_>,
    hypotheses: &[Hypothesis],
    possible: &mut Vec<Possible>,
) -> Result<(), ReadError> {
    let (circuit, solver) = (predictor.solver().circuit(), predictor.solver());
    let Some(first) = question.lines.first() else { return Ok(()) };
    if matches!(first.said, Said::Complaint(crate::Complaint::Blows(_))) || !first.state.battery {
        return Ok(());
    }
    let sound = solver.solve(&first.state, &[]).ok();
    let mut kept = Vec::with_capacity(possible.len());
    for one in possible.iter() {
        let mut all = true;
        for faults in one.ends(circuit, hypotheses) {
            all &= match solver.solve(&first.state, &faults) {
                Ok(found) => {
                    let burns = sound
                        .as_ref()
                        .is_some_and(|sound| draw(circuit, &found) > draw(circuit, sound) + judge::BURNS);
                    let mut fuses = circuit.branches();
                    burns
                        || fuses.any(|(id, branch)| match branch.kind {
                            BranchKind::Fuse { rating, .. } => {
                                found.current(id).abs() >= judge::BLOWS * rating
                            }
                            _ => false,
                        })
                }
                Err(ReadError::NoStableState { .. } | ReadError::TwoStableStates { .. }) => false,
                Err(error) => return Err(error),
            };
        }
        if !all {
            kept.push(*one);
        }
    }
    *possible = kept;
    Ok(())
}

impl Bill {
    /// Takes facts as they are, and counts how many ways to fail each excludes by itself.
    fn take_facts(
        &mut self,
        predictor: &Predictor<'_>,
        hypotheses: &[Hypothesis],
        facts: &[Line],
        possible: &mut Vec<Possible>,
    ) -> Result<(), ReadError> {
        let before = possible.clone();
        for line in facts {
            let Said::Fact(fact) = &line.said else { continue };
            let found = belief::likelihoods(predictor, hypotheses, &before, line)?;
            let mut left: Vec<usize> = Vec::new();
            let mut met: Vec<usize> = Vec::new();
            for (one, &likelihood) in before.iter().zip(&found) {
                met.push(one.hypothesis);
                if likelihood > 0.0 {
                    left.push(one.hypothesis);
                }
            }
            met.dedup();
            left.dedup();
            let gone: Vec<usize> = met.into_iter().filter(|h| !left.contains(h)).collect();
            for &at in &gone {
                self.drop(&hypotheses[at], format!("contradicts \"{}\"", fact.words));
            }
            self.facts.push(FactUsed { words: fact.words.clone(), excluded: gone.len() });
            possible.retain_mut(|one| {
                let at = before.iter().position(|b| b.hypothesis == one.hypothesis && b.cell == one.cell);
                one.weight *= at.map_or(0.0, |at| found[at]);
                one.weight > 0.0
            });
        }
        Ok(())
    }

    fn drop(&mut self, hypothesis: &Hypothesis, why: String) {
        let name = self.units[hypothesis.unit].name.clone();
        let dropped = Dropped { name, mode: hypothesis.mode.clone(), why };
        if !self.dropped.contains(&dropped) {
            self.dropped.push(dropped);
        }
    }

    /// What would move the pin, but not to where it was read.
    fn tell_dropped(
        &mut self,
        predictor: &Predictor<'_>,
        question: &Question<'_>,
        hypotheses: &[Hypothesis],
        possible: &[Possible],
    ) {
        let Some(Line { state, said: Said::Reads { leads, reads } }) = question.lines.first() else { return };
        let circuit = predictor.solver().circuit();
        let out: Vec<&Hypothesis> = hypotheses
            .iter()
            .enumerate()
            .filter(|(at, h)| {
                !possible.iter().any(|p| p.hypothesis == *at)
                    && !self.dropped.iter().any(|d| d.mode == h.mode && d.name == self.units[h.unit].name)
            })
            .map(|(_, hypothesis)| hypothesis)
            .collect();
        let rows: Vec<Vec<Fault>> = out
            .iter()
            .flat_map(|h| {
                let cells = h.range.cells();
                let ends = [cells[0].low, cells[cells.len() - 1].high];
                ends.map(|ohms| h.shape.faults(circuit, ohms))
            })
            .chain([Vec::new()])
            .collect();
        let found = predictor.nominal(state, &rows, &[*leads]);
        let Some(Some(sound)) = found.last().map(|cell| cell.map(|c| c.nominal)) else { return };
        let unit = match leads.quantity() {
            Quantity::Ohms => "Ω",
            Quantity::Amps => "A",
            Quantity::Volts => "V",
        };
        let read = 0.5 * (reads[0] + reads[1]);
        for (hypothesis, ends) in out.into_iter().zip(found.chunks(2)) {
            let values: Vec<f64> = ends.iter().flatten().map(|cell| cell.nominal).collect();
            let room = MOVES * sound.abs().max(0.02);
            if values.iter().all(|value| (value - sound).abs() <= room) {
                continue;
            }
            let (least, most) = values
                .iter()
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &v| (low.min(v), high.max(v)));
            let would = if most - least < 1e-3 {
                format!("the pin would read {least:.3} {unit}")
            } else {
                format!("the pin would read {least:.3} to {most:.3} {unit}, and is unlikely to read this")
            };
            self.drop(hypothesis, format!("does not explain {read:.3} {unit}: {would}"));
        }
    }

    /// One mode for each unit, with the unit's whole weight. A list on paper does not say where a harness
    /// short goes to; it is taken to go to a wire beside it before it goes to body.
    fn keep_likeliest(&mut self, circuit: &Circuit, question: &Question<'_>, weights: &[f64]) {
        let ground = |to| {
            let net = halfsplit_circuit::net(circuit, question.focus.state, to);
            circuit.negative.is_some_and(|negative| net.contains(negative))
        };
        // What explains the reading only by the tail of a distribution is on no list.
        let chance = |unit: usize| -> f64 {
            let own = self.accused.iter().filter(|a| a.unit == unit);
            own.map(|a| a.weight).sum::<f64>() / weights[unit]
        };
        let chances: Vec<f64> = (0..weights.len()).map(chance).collect();
        let most = chances.iter().copied().filter(|c| c.is_finite()).fold(0.0, f64::max);
        self.accused.retain(|a| chances[a.unit] >= ON_THE_LIST * most);
        let rank = |accused: &Accused| match accused.shape {
            Shape::Chafe { to, .. } if Some(to) == circuit.body || Some(to) == circuit.positive => 3,
            Shape::Chafe { to, .. } if ground(to) => 0,
            Shape::Bridge { .. } => 1,
            Shape::Chafe { .. } => 2,
            _ => 4,
        };
        let mut kept: Vec<Accused> = Vec::new();
        for accused in self.accused.drain(..) {
            match kept.iter_mut().find(|k| k.unit == accused.unit) {
                None => kept.push(accused),
                Some(known) if rank(&accused) < rank(known) => *known = accused,
                Some(known) if known.shape == accused.shape => {
                    known.variants.extend(accused.variants);
                    known.ohms = None;
                }
                Some(_) => {}
            }
        }
        for accused in &mut kept {
            accused.weight = weights[accused.unit];
        }
        self.accused = kept;
    }

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

/// Volts or ohms that a person typed, as the interval that its digits leave open.
pub(crate) fn typed(leads: &Meter, value: f64, off: Option<f64>) -> [f64; 2] {
    if !value.is_finite() {
        return [value, value];
    }
    // Half of the last digit that a hand meter shows on its range.
    let off = off.unwrap_or_else(|| {
        0.25 * (judge::meter_off(leads.quantity(), value) - judge::METER_SHARE * value.abs())
    });
    [value - off, value + off]
}

/// A state with everything that the question holds.
pub(crate) fn facts_of(state: &State, facts: &[crate::facts::Fact]) -> Vec<Line> {
    facts.iter().map(|fact| Line { state: state.clone(), said: Said::Fact(fact.clone()) }).collect()
}
