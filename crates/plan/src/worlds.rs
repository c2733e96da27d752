//! What else a job's lines can mean beside one fault that stays: a slip in one line, a fault that comes and goes,
//! two faults, something that is not drawn. Each has a chance of its own before any reading.

use halfsplit_circuit::{Circuit, Fault, ReadError};

use crate::belief::{self, COARSE, FINE, PARTS, Possible};
use crate::evidence::{Line, Said, Weight};
use crate::predict::Predictor;
use crate::priors;
use crate::suspects::{Hypothesis, Shape};

/// How the evidence is shared out among what it can mean; all shares add up to one.
#[derive(Clone, Debug, Default)]
pub(crate) struct Worlds {
    /// One fault that stays.
    pub one: f64,
    /// A slip in each line.
    pub slips: Vec<f64>,
    /// One fault that comes and goes.
    pub comes_and_goes: f64,
    /// Two faults, likeliest first: hypotheses and share.
    pub pairs: Vec<(usize, usize, f64)>,
    /// Something that is not drawn, or another wire or car.
    pub other: f64,
}

/// What the lines leave.
pub(crate) struct Weighed {
    /// Stretches with their chance, whichever world they stand in but that of two faults.
    pub possible: Vec<Possible>,
    pub worlds: Worlds,
}

/// The likeliest single hypotheses that are joined with all others.
const FIRST_OF_PAIR: usize = 8;
/// Those that each of them is joined with.
const SECOND_OF_PAIR: usize = 80;
/// A line counts at least as this share of anything, where partners for a pair are chosen.
const HALF_TOLD: f64 = 0.02;
/// Pairs are built once one fault alone has less than this share.
const THIN: f64 = 0.9;

/// Weighs everything by all lines; `unlikely` keeps what is all but excluded too.
pub(crate) fn weigh(
    predictor: &Predictor<'_>,
    hypotheses: &[Hypothesis],
    weights: &[f64],
    lines: &[Line],
    unlikely: bool,
) -> Result<Weighed, ReadError> {
    if lines.len() < 2 || !lines[1..].iter().any(|line| matches!(line.said, Said::Reads { .. })) {
        let possible = belief::weigh(predictor, hypotheses, weights, lines, unlikely)?;
        let slips = vec![0.0; lines.len()];
        let worlds =
            Worlds { one: 1.0 - priors::NOT_DRAWN, other: priors::NOT_DRAWN, slips, ..Worlds::default() };
        return Ok(Weighed { possible, worlds });
    }
    let circuit = predictor.solver().circuit();
    let whole: f64 = weights.iter().sum();
    let scaled: Vec<f64> = weights.iter().map(|weight| weight / whole).collect();
    let moving: Vec<Vec<bool>> =
        lines.iter().map(|line| belief::moving(predictor, hypotheses, line)).collect();
    let mut possible = belief::priors(hypotheses, &scaled);
    possible.retain(|one| moving.iter().any(|line| line[one.hypothesis]));
    let sound = sound(predictor, lines)?;
    let coarse = Matrix::of(predictor, hypotheses, &possible, lines, &moving)?;
    let totals: Vec<f64> = (0..possible.len())
        .map(|at| coarse.shares(at, &sound, &hypotheses[possible[at].hypothesis]).total())
        .collect();
    let most = possible.iter().zip(&totals).map(|(p, t)| p.weight * t).fold(0.0, f64::max);
    let finer: Vec<Possible> = possible
        .iter()
        .zip(&totals)
        .filter(|(one, total)| one.weight * *total > COARSE * most)
        .flat_map(|(one, _)| {
            let (hypothesis, share) = (one.hypothesis, one.weight);
            let cells = one.cell.split(PARTS);
            let parts = cells.len() as f64;
            cells.into_iter().map(move |cell| Possible { hypothesis, cell, weight: share / parts })
        })
        .collect();
    let fine = Matrix::of(predictor, hypotheses, &finer, lines, &moving)?;
    let mut worlds = Worlds { slips: vec![0.0; lines.len()], ..Worlds::default() };
    let mut left = Vec::new();
    for (at, one) in finer.iter().enumerate() {
        let shares = fine.shares(at, &sound, &hypotheses[one.hypothesis]);
        worlds.one += one.weight * shares.stays;
        worlds.comes_and_goes += one.weight * shares.comes_and_goes;
        for (slip, share) in worlds.slips.iter_mut().zip(&shares.slips) {
            *slip += one.weight * share;
        }
        left.push(Possible { weight: one.weight * shares.total(), ..*one });
    }
    belief::cut(&mut left, FINE);
    worlds.other = priors::NOT_DRAWN * coarse.anywhere.iter().product::<f64>();
    let singles = worlds.one + worlds.comes_and_goes + worlds.slips.iter().sum::<f64>();
    if worlds.one < THIN * (singles + worlds.other) {
        worlds.pairs = pairs(predictor, circuit, hypotheses, &possible, &coarse, lines)?;
    }
    let all = singles + worlds.other + worlds.pairs.iter().map(|pair| pair.2).sum::<f64>();
    if all > 0.0 {
        worlds.one /= all;
        worlds.comes_and_goes /= all;
        worlds.other /= all;
        worlds.slips.iter_mut().for_each(|slip| *slip /= all);
        worlds.pairs.iter_mut().for_each(|pair| pair.2 /= all);
    }
    Ok(Weighed { possible: left, worlds })
}

/// How likely a sound car makes each line.
fn sound(predictor: &Predictor<'_>, lines: &[Line]) -> Result<Vec<f64>, ReadError> {
    let one = |line: &Line| Ok(line.weights(predictor, &[vec![Vec::new()]])?[0].fits);
    lines.iter().map(one).collect()
}

/// How likely each stretch makes each line.
struct Matrix {
    /// Line by line.
    rows: Vec<Vec<Weight>>,
    /// How likely a line is where nothing is predicted.
    anywhere: Vec<f64>,
}

/// What one stretch gets from each world.
struct Shares {
    stays: f64,
    slips: Vec<f64>,
    comes_and_goes: f64,
}

impl Shares {
    fn total(&self) -> f64 {
        self.stays + self.comes_and_goes + self.slips.iter().sum::<f64>()
    }
}

impl Matrix {
    fn of(
        predictor: &Predictor<'_>,
        hypotheses: &[Hypothesis],
        possible: &[Possible],
        lines: &[Line],
        moving: &[Vec<bool>],
    ) -> Result<Matrix, ReadError> {
        let rows = lines.iter().zip(moving).map(|(line, moving)| {
            let line_and_moving = (line, Some(moving.as_slice()));
            belief::of_line(predictor, hypotheses, possible, line_and_moving, &|own| {
                line.weights(predictor, own)
            })
        });
        Ok(Matrix {
            rows: rows.collect::<Result<_, _>>()?,
            anywhere: lines.iter().map(Line::anywhere).collect(),
        })
    }

    fn shares(&self, at: usize, sound: &[f64], hypothesis: &Hypothesis) -> Shares {
        let own = |line: usize| self.rows[line][at];
        let right = 1.0 - priors::SLIP;
        let count = self.rows.len();
        let fits: Vec<f64> = (0..count).map(|line| right * own(line).fits).collect();
        let stays = fits.iter().product();
        let slips = (0..count)
            .map(|slip| {
                let others: f64 =
                    fits.iter().enumerate().filter(|(at, _)| *at != slip).map(|(_, fit)| fit).product();
                priors::SLIP * own(slip).slip * others
            })
            .collect();
        let can_come_and_go = !matches!(hypothesis.shape, Shape::Dead { .. } | Shape::Asleep { .. });
        let comes_and_goes = if can_come_and_go {
            let now_and_then = |line: usize| right * (0.5 * own(line).fits + 0.5 * sound[line]);
            priors::COMES_AND_GOES * fits[0] * (1..count).map(now_and_then).product::<f64>()
        } else {
            0.0
        };
        Shares { stays, slips, comes_and_goes }
    }

    /// How well a stretch tells the lines, each at least by half.
    fn half_told(&self, at: usize) -> f64 {
        let one = |(row, anywhere): (&Vec<Weight>, &f64)| row[at].fits.max(HALF_TOLD * anywhere).ln();
        self.rows.iter().zip(&self.anywhere).map(one).sum()
    }
}

/// The likeliest singles with all others, by both faults in the circuit at once.
fn pairs(
    predictor: &Predictor<'_>,
    circuit: &Circuit,
    hypotheses: &[Hypothesis],
    possible: &[Possible],
    coarse: &Matrix,
    lines: &[Line],
) -> Result<Vec<(usize, usize, f64)>, ReadError> {
    let score = |at: usize| possible[at].weight.max(1e-12).ln() + coarse.half_told(at);
    let mut ranked: Vec<(usize, f64)> = (0..possible.len()).map(|at| (at, score(at))).collect();
    ranked.sort_by(|a, b| b.1.total_cmp(&a.1));
    // Of each hypothesis its best stretches.
    let mut firsts: Vec<usize> = Vec::new();
    let mut seconds: Vec<usize> = Vec::new();
    for &(at, _) in &ranked {
        let own = |list: &[usize]| {
            list.iter().filter(|&&other| possible[other].hypothesis == possible[at].hypothesis).count()
        };
        if firsts.len() < FIRST_OF_PAIR && own(&firsts) < 2 {
            firsts.push(at);
        }
        if seconds.len() < SECOND_OF_PAIR && own(&seconds) < 3 {
            seconds.push(at);
        }
    }
    let mut members = Vec::new();
    let mut stretches: Vec<Vec<Vec<Fault>>> = Vec::new();
    for (nth, &one) in firsts.iter().enumerate() {
        for &other in &seconds {
            let known = firsts[..nth].contains(&other);
            if known || possible[one].hypothesis == possible[other].hypothesis {
                continue;
            }
            let (a, b) = (possible[one].ends(circuit, hypotheses), possible[other].ends(circuit, hypotheses));
            let both = |first: &Vec<Fault>, second: &Vec<Fault>| [first.clone(), second.clone()].concat();
            let last = |ends: &Vec<Vec<Fault>>| ends[ends.len() - 1].clone();
            stretches.push(vec![both(&a[0], &b[0]), both(&last(&a), &last(&b))]);
            members.push((one, other));
        }
    }
    let prior = |&(one, other): &(usize, usize)| possible[one].weight * possible[other].weight;
    let mut totals: Vec<f64> = members.iter().map(prior).collect();
    for line in lines {
        // What is all but excluded is not solved any further.
        let most = totals.iter().copied().fold(0.0, f64::max);
        let open: Vec<usize> = (0..totals.len()).filter(|&at| totals[at] > COARSE * most).collect();
        let some: Vec<Vec<Vec<Fault>>> = open.iter().map(|&at| stretches[at].clone()).collect();
        // Two that cannot be in the circuit at once explain nothing.
        let found = line.likelihoods(predictor, &some).unwrap_or_default();
        let mut after = vec![0.0; totals.len()];
        for (&at, fits) in open.iter().zip(found) {
            after[at] = (1.0 - priors::SLIP) * totals[at] * fits;
        }
        totals = after;
    }
    let mut found: Vec<(usize, usize, f64)> = Vec::new();
    for ((one, other), total) in members.into_iter().zip(totals) {
        let weight = 2.0 * priors::BOTH * total;
        let (a, b) = (possible[one].hypothesis, possible[other].hypothesis);
        match found.iter_mut().find(|pair| (pair.0, pair.1) == (a, b) || (pair.0, pair.1) == (b, a)) {
            Some(known) => known.2 += weight,
            None => found.push((a, b, weight)),
        }
    }
    found.sort_by(|a, b| b.2.total_cmp(&a.2));
    found.truncate(200);
    Ok(found)
}
