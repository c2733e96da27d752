//! What evidence leaves of everything that can be wrong.

use halfsplit_circuit::{Circuit, Fault, Ohms, ReadError};

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
    let circuit = predictor.solver().circuit();
    let stretches: Vec<_> = possible.iter().map(|p| p.ends(circuit, hypotheses)).collect();
    line.likelihoods(predictor, &stretches)
}

/// By which share of the scale a fault has to move a line to count as touching it.
const TOUCHES: f64 = 1e-3;

/// For each hypothesis whether it moves any of the lines at all, when it is as bad as it can be or half so bad.
pub(crate) fn moving(
    predictor: &Predictor<'_>,
    hypotheses: &[Hypothesis],
    lines: &[Line],
) -> Result<Vec<bool>, ReadError> {
    let circuit = predictor.solver().circuit();
    let mut rows: Vec<Vec<Fault>> = vec![Vec::new()];
    for hypothesis in hypotheses {
        let cells = hypothesis.range.cells();
        for cell in [cells[0], cells[cells.len() / 2], cells[cells.len() - 1]] {
            rows.push(hypothesis.shape.faults(circuit, cell.low));
        }
    }
    let mut moving = vec![false; hypotheses.len()];
    for line in lines {
        let Some(meters) = line.meters() else {
            return Ok(vec![true; hypotheses.len()]);
        };
        let scale = line.state.supply().unwrap_or(12.0).abs().max(5.0);
        let found = predictor.nominal(&line.state, &rows, &meters);
        let width = meters.len();
        for (at, moves) in moving.iter_mut().enumerate() {
            for row in 3 * at + 1..3 * at + 4 {
                for meter in 0..width {
                    *moves |= match (found[meter], found[row * width + meter]) {
                        (Some(sound), Some(now)) => {
                            let same = sound.nominal == now.nominal
                                || (sound.nominal - now.nominal).abs()
                                    <= 1e-4 + TOUCHES * scale.min(now.nominal.abs().max(0.05));
                            !same || sound.floating != now.floating
                        }
                        _ => true,
                    };
                }
            }
        }
    }
    Ok(moving)
}

/// Takes a line into account, and keeps what is left from a share of the likeliest on.
pub(crate) fn take(
    predictor: &Predictor<'_>,
    hypotheses: &[Hypothesis],
    possible: &mut Vec<Possible>,
    line: &Line,
    keep: f64,
) -> Result<(), ReadError> {
    let found = likelihoods(predictor, hypotheses, possible, line)?;
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
    if let Some(first) = lines.first() {
        let moving = moving(predictor, hypotheses, std::slice::from_ref(first))?;
        possible.retain(|one| moving[one.hypothesis]);
    }
    for line in lines {
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
    for line in lines {
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
                last.ohms.extend(one.cell.ends());
            }
            None => found.push(Stretch {
                hypothesis: one.hypothesis,
                weight: one.weight,
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
