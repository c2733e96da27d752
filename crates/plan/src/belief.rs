//! What evidence leaves of everything that can be wrong.

use halfsplit_circuit::{Circuit, Fault, Ohms, ReadError, touched};

use crate::evidence::Line;
use crate::grid::Cell;
use crate::predict::Predictor;
use crate::suspects::Hypothesis;

/// A stretch of a hypothesis that was possible before a closer look counts on from this share of the likeliest.
pub(crate) const COARSE: f64 = 1e-6;
/// And after it.
pub(crate) const FINE: f64 = 1e-4;
/// Parts into which a stretch that is left is cut for the closer look.
pub(crate) const PARTS: usize = 3;

/// A hypothesis at one stretch of its resistance.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Possible {
    /// Position in the hypotheses.
    pub hypothesis: usize,
    pub cell: Cell,
    /// Chance, not normed.
    pub weight: f64,
}

impl Possible {
    /// The faults that stand for its stretch.
    pub fn ends(self, circuit: &Circuit, hypotheses: &[Hypothesis]) -> Vec<Vec<Fault>> {
        let shape = hypotheses[self.hypothesis].shape;
        self.cell.ends().flat_map(|ohms| shape.variants(circuit, ohms)).collect()
    }
}

/// Everything that can be wrong, before any evidence.
pub(crate) fn priors(hypotheses: &[Hypothesis], weights: &[f64]) -> Vec<Possible> {
    let mut all = Vec::new();
    for (at, hypothesis) in hypotheses.iter().enumerate() {
        let weight = weights[hypothesis.unit] * hypothesis.share;
        let cells = hypothesis.range.cells().into_iter();
        all.extend(cells.map(|cell| Possible { hypothesis: at, cell, weight: weight * cell.share }));
    }
    all
}

/// How likely each makes a line.
pub(crate) fn likelihoods(
    predictor: &Predictor<'_>,
    hypotheses: &[Hypothesis],
    possible: &[Possible],
    line: &Line,
) -> Result<Vec<f64>, ReadError> {
    told(predictor, hypotheses, possible, (line, None))
}

/// As [`likelihoods`], with what [`moving`] said of the line where that is known.
fn told(
    predictor: &Predictor<'_>,
    hypotheses: &[Hypothesis],
    possible: &[Possible],
    line: (&Line, Option<&[bool]>),
) -> Result<Vec<f64>, ReadError> {
    of_line(predictor, hypotheses, possible, line, &|own| line.0.likelihoods(predictor, own))
}

/// What is asked of many stretches at once, each by the faults at its ends.
type Asked<'a, T> = &'a dyn Fn(&[Vec<Vec<Fault>>]) -> Result<Vec<T>, ReadError>;

/// What `of` says of each stretch of a line, with what [`moving`] said of it where that is known; those that leave a
/// line as a sound circuit shows it are asked once, together.
pub(crate) fn of_line<T: Copy>(
    predictor: &Predictor<'_>,
    hypotheses: &[Hypothesis],
    possible: &[Possible],
    (line, moving): (&Line, Option<&[bool]>),
    of: Asked<'_, T>,
) -> Result<Vec<T>, ReadError> {
    let circuit = predictor.solver().circuit();
    let moving = match moving {
        _ if possible.len() <= WORTH_A_GLANCE * SAMPLED.len() => vec![true; hypotheses.len()],
        Some(known) => known.to_vec(),
        None => self::moving(predictor, hypotheses, line),
    };
    let moved: Vec<bool> = possible.iter().map(|p| moving[p.hypothesis]).collect();
    let own =
        possible.iter().zip(&moved).filter(|(_, moved)| **moved).map(|(p, _)| p.ends(circuit, hypotheses));
    let stretches: Vec<_> = std::iter::once(vec![Vec::new()]).chain(own).collect();
    let mut found = of(&stretches)?.into_iter();
    let Some(sound) = found.next() else { return Ok(Vec::new()) };
    Ok(moved.into_iter().map(|moved| if moved { found.next().unwrap_or(sound) } else { sound }).collect())
}

/// From so many times the sampled stretches on it pays to look first which hypotheses move a line at all.
const WORTH_A_GLANCE: usize = 100;
/// Where on its range a hypothesis is sampled for that, as shares of it.
const SAMPLED: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];
/// By which share of the scale a fault has to move a line to count as touching it.
const TOUCHES: f64 = 1e-3;

/// For each hypothesis whether it moves the line at all, anywhere on its range.
pub(crate) fn moving(predictor: &Predictor<'_>, hypotheses: &[Hypothesis], line: &Line) -> Vec<bool> {
    let circuit = predictor.solver().circuit();
    let Some((meters, branches)) = line.looks_at(circuit) else { return vec![true; hypotheses.len()] };
    let mut rows: Vec<Vec<Fault>> = vec![Vec::new()];
    for hypothesis in hypotheses {
        let cells = hypothesis.range.cells();
        let at = |share: f64| cells[((cells.len() - 1) as f64 * share).round() as usize].low;
        rows.extend(SAMPLED.map(|share| hypothesis.shape.faults(circuit, at(share))));
    }
    let scale = line.state.supply().unwrap_or(12.0).abs().max(5.0);
    let found = predictor.nominal(&line.state, &rows, &meters);
    let (sound, found) = found.split_at(meters.len());
    let moves = |row: &[Option<crate::predict::Predicted>]| {
        sound.iter().zip(row).any(|(sound, now)| match (sound, now) {
            (Some(sound), Some(now)) => {
                let same = sound.nominal == now.nominal
                    || (sound.nominal - now.nominal).abs()
                        <= 1e-4 + TOUCHES * scale.min(now.nominal.abs().max(0.05));
                !same || sound.floating != now.floating
            }
            _ => true,
        })
    };
    let lies_in = |faults: &[Fault]| {
        let ends = branches.iter().map(|&id| circuit.branch(id)).flat_map(|branch| [branch.a, branch.b]);
        let ends: Vec<_> = ends.collect();
        faults.iter().flat_map(|fault| touched(circuit, fault)).any(|point| ends.contains(&point))
    };
    (0..hypotheses.len())
        .map(|at| {
            let first = 1 + at * SAMPLED.len();
            lies_in(&rows[first])
                || (0..SAMPLED.len()).any(|n| {
                    let row = (first - 1 + n) * meters.len();
                    moves(&found[row..row + meters.len()])
                })
        })
        .collect()
}

/// Takes a line and what moves it into account, and keeps what is left from a share of the likeliest on.
fn take(
    predictor: &Predictor<'_>,
    hypotheses: &[Hypothesis],
    possible: &mut Vec<Possible>,
    (line, moving): (&Line, &[bool]),
    keep: f64,
) -> Result<(), ReadError> {
    let found = told(predictor, hypotheses, possible, (line, Some(moving)))?;
    for (one, likelihood) in possible.iter_mut().zip(found) {
        one.weight *= likelihood;
    }
    cut(possible, keep);
    Ok(())
}

pub(crate) fn cut(possible: &mut Vec<Possible>, keep: f64) {
    let most = possible.iter().map(|p| p.weight).fold(0.0, f64::max);
    possible.retain(|p| p.weight > keep * most && p.weight > 0.0);
}

/// Weighs everything by all lines: once on the whole grid, and closer on what is left of it; `unlikely` keeps what
/// is all but excluded too.
pub(crate) fn weigh(
    predictor: &Predictor<'_>,
    hypotheses: &[Hypothesis],
    weights: &[f64],
    lines: &[Line],
    unlikely: bool,
) -> Result<Vec<Possible>, ReadError> {
    let mut possible = priors(hypotheses, weights);
    let moving: Vec<Vec<bool>> = lines.iter().map(|line| moving(predictor, hypotheses, line)).collect();
    if let Some(first) = moving.first() {
        possible.retain(|one| first[one.hypothesis]);
    }
    let lines = || lines.iter().zip(moving.iter().map(Vec::as_slice));
    for line in lines() {
        take(predictor, hypotheses, &mut possible, line, COARSE)?;
    }
    let mut closer: Vec<Possible> = possible
        .iter()
        .flat_map(|one| {
            let whole = weights[hypotheses[one.hypothesis].unit] * hypotheses[one.hypothesis].share;
            let cells = one.cell.split(PARTS).into_iter();
            let hypothesis = one.hypothesis;
            cells.map(move |cell| Possible { hypothesis, cell, weight: whole * cell.share })
        })
        .collect();
    for line in lines() {
        take(predictor, hypotheses, &mut closer, line, COARSE)?;
    }
    cut(&mut closer, if unlikely { COARSE } else { FINE });
    Ok(closer)
}

/// A stretch of a hypothesis as one suspect: neighbouring cells together.
#[derive(Clone, Debug)]
pub(crate) struct Stretch {
    pub hypothesis: usize,
    pub weight: f64,
    /// Resistances that stand for it, ascending.
    pub ohms: Vec<Ohms>,
    /// Logarithms of its cells' middles, each with its weight, added up.
    logs: f64,
}

impl Stretch {
    /// The likeliest resistance, about.
    pub fn about(&self) -> Ohms {
        (self.logs / self.weight).exp()
    }
}

/// The most a stretch's resistance may grow from its start before it is two.
const WIDEST: f64 = 30.0;
/// The most resistances that stand for a stretch.
const SAMPLES: usize = 4;

/// Suspects for a search: neighbouring cells of a hypothesis together, no stretch wider than `widest`.
pub(crate) fn stretches(possible: &[Possible], most: usize) -> Vec<Stretch> {
    let mut widest = WIDEST;
    loop {
        let found = joined(possible, widest);
        if found.len() <= most || widest > 1e12 {
            return found;
        }
        widest *= widest;
    }
}

fn middle(cell: Cell) -> Ohms {
    (cell.low * cell.high).sqrt()
}

fn joined(possible: &[Possible], widest: f64) -> Vec<Stretch> {
    let mut found: Vec<Stretch> = Vec::new();
    for one in possible {
        let fits = |last: &&mut Stretch| {
            let (from, to) = (last.ohms[0], last.ohms[last.ohms.len() - 1]);
            let broken = one.cell.high.is_infinite();
            let beside = one.cell.low <= to * 1.001;
            last.hypothesis == one.hypothesis
                && if broken { widest > 1e12 } else { beside && one.cell.high <= from * widest }
        };
        match found.last_mut().filter(fits) {
            Some(last) => {
                last.weight += one.weight;
                last.logs += one.weight * middle(one.cell).ln();
                last.ohms.extend(one.cell.ends());
            }
            None => found.push(Stretch {
                hypothesis: one.hypothesis,
                weight: one.weight,
                logs: one.weight * middle(one.cell).ln(),
                ohms: one.cell.ends().collect(),
            }),
        }
    }
    for stretch in &mut found {
        stretch.ohms.dedup_by(|a, b| a == b || (*a / *b - 1.0).abs() < 1e-9);
        let count = stretch.ohms.len();
        if count > SAMPLES {
            let at = |n: usize| stretch.ohms[n * (count - 1) / (SAMPLES - 1)];
            stretch.ohms = (0..SAMPLES).map(at).collect();
        }
    }
    found
}
