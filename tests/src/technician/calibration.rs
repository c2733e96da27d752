//! How often a unit with a stated chance is the truth.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use serde_json::Value;

use super::faults::Hidden;
use super::verdict;

/// Readings from which all count as one row.
const MANY: usize = 8;
/// Least chance that log loss takes the truth to have had.
const FLOOR: f64 = 1e-4;

/// Stated chances at one moment of a walk.
#[derive(Clone, Debug)]
pub struct Mark {
    /// Lines in the log.
    pub readings: usize,
    /// Every unit's chance, and whether it is the truth.
    pub units: Vec<(f64, bool)>,
}

impl Mark {
    /// The chances of a list of suspects, each unit's modes together; `None` where there is none.
    pub fn of(suspects: &Value, key: &str, readings: usize, hidden: &[Hidden]) -> Option<Mark> {
        let mut chances: BTreeMap<&str, f64> = BTreeMap::new();
        for suspect in suspects.as_array()? {
            *chances.entry(suspect["name"].as_str()?).or_default() += suspect[key].as_f64()?;
        }
        let whole: f64 = chances.values().sum();
        if whole <= 0.0 {
            return None;
        }
        let units = chances
            .into_iter()
            .map(|(name, chance)| (chance / whole, verdict::holds(name, hidden)))
            .collect();
        Some(Mark { readings, units })
    }

    /// The chance that the truth was given.
    fn truth(&self) -> f64 {
        self.units.iter().filter(|(_, truth)| *truth).map(|(chance, _)| chance).sum()
    }
}

/// Stated chances against what came, over many marks.
#[derive(Clone, Debug, Default)]
pub struct Calibration {
    /// Per decile: units, sum of their stated chances, how many were the truth.
    deciles: [(usize, f64, usize); 10],
    /// By readings: marks and the sum of their log loss.
    loss: BTreeMap<usize, (usize, f64)>,
}

impl Calibration {
    /// Counts a mark.
    pub fn add(&mut self, mark: &Mark) {
        for &(chance, truth) in &mark.units {
            let decile = &mut self.deciles[((chance * 10.0) as usize).min(9)];
            decile.0 += 1;
            decile.1 += chance;
            decile.2 += usize::from(truth);
        }
        let loss = self.loss.entry(mark.readings.min(MANY)).or_default();
        loss.0 += 1;
        loss.1 -= mark.truth().max(FLOOR).ln();
    }

    /// The furthest that a decile with at least so many units is from its frequency.
    pub fn furthest(&self, least: usize) -> f64 {
        let gap =
            |(count, stated, truth): &(usize, f64, usize)| (stated - *truth as f64).abs() / *count as f64;
        self.deciles.iter().filter(|decile| decile.0 >= least).map(gap).fold(0.0, f64::max)
    }

    /// Mean log loss over all marks.
    pub fn loss(&self) -> f64 {
        let (count, sum) = self.loss.values().fold((0, 0.0), |all, one| (all.0 + one.0, all.1 + one.1));
        sum / count.max(1) as f64
    }

    /// The table.
    pub fn table(&self, title: &str) -> String {
        let mut text = format!("{title}\n  decile      units   stated   came\n");
        for (at, &(count, stated, truth)) in self.deciles.iter().enumerate() {
            if count > 0 {
                let _ = writeln!(
                    text,
                    "  .{at}0-.{at}9  {count:8}    {:.3}   {:.3}",
                    stated / count as f64,
                    truth as f64 / count as f64
                );
            }
        }
        let _ = write!(text, "  log loss by lines in the log:");
        for (readings, (count, sum)) in &self.loss {
            let _ = write!(text, "  {readings}: {:.3} ({count})", sum / *count as f64);
        }
        let _ = writeln!(text, "; all: {:.3}", self.loss());
        text
    }
}
