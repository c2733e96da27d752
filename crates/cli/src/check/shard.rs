//! One part of many: which files each machine of a matrix checks.

use std::{cmp::Reverse, fmt, fs, path::PathBuf, str::FromStr};

/// Part `part` of `parts`, from 1.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Shard {
    pub part: usize,
    pub parts: usize,
}

/// What an expected plan weighs beside the bytes of a text: own estimate, a second against 3 MB in the same time.
const PLAN: u64 = 3_000_000;

impl FromStr for Shard {
    type Err = String;

    fn from_str(written: &str) -> Result<Shard, String> {
        let wanted = || "write it as 1/4: the first part of four".to_owned();
        let (part, parts) = written.split_once('/').ok_or_else(wanted)?;
        let (part, parts) = (part.parse().map_err(|_| wanted())?, parts.parse().map_err(|_| wanted())?);
        match (1..=parts).contains(&part) {
            true => Ok(Shard { part, parts }),
            false => Err(wanted()),
        }
    }
}

impl fmt::Display for Shard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.part, self.parts)
    }
}

impl Shard {
    /// This part of the files, which are sorted and stay so. Every file is in one part, and which it is depends on the
    /// paths and texts alone; plans count for much unless they are left out.
    pub fn part(self, files: Vec<PathBuf>, quick: bool) -> Vec<PathBuf> {
        let weights = files.iter().map(|path| match quick {
            true => fs::metadata(path).map_or(0, |file| file.len()),
            false => fs::read(path).map_or(0, |text| text.len() as u64 + PLAN * plans(&text)),
        });
        let parts = split(&weights.collect::<Vec<_>>(), self.parts);
        let wanted = |&(_, part): &(PathBuf, usize)| part == self.part - 1;
        files.into_iter().zip(parts).filter(wanted).map(|(path, _)| path).collect()
    }
}

/// How many lines open with `plan`. A text that is none has no plan.
fn plans(text: &[u8]) -> u64 {
    let text = std::str::from_utf8(text).unwrap_or_default();
    let opens = |&(at, _): &(usize, &str)| {
        let before = text[..at].trim_end_matches([' ', '\t']);
        before.is_empty() || before.ends_with('\n')
    };
    text.match_indices("plan ").filter(opens).count() as u64
}

/// The part of each weight: the heaviest first, each to the part that is lightest so far.
fn split(weights: &[u64], parts: usize) -> Vec<usize> {
    let mut order: Vec<usize> = (0..weights.len()).collect();
    order.sort_by_key(|&index| (Reverse(weights[index]), index));
    let mut loads = vec![0_u64; parts];
    let mut of = vec![0; weights.len()];
    for index in order {
        let lightest = (0..parts).min_by_key(|&part| (loads[part], part)).unwrap_or(0);
        // A file costs something, be it empty.
        loads[lightest] += weights[index] + 1;
        of[index] = lightest;
    }
    of
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_is_written_as_one_of_many() {
        assert_eq!("2/4".parse(), Ok(Shard { part: 2, parts: 4 }));
        for wrong in ["0/4", "5/4", "4", "a/b", "1/0", "-1/2"] {
            assert!(wrong.parse::<Shard>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn parts_are_even_and_every_file_is_in_one() {
        let weights: Vec<u64> = (0..1000).map(|i| (i * 7919) % 5000).collect();
        let of = split(&weights, 4);
        let load = |part| of.iter().zip(&weights).filter(|(p, _)| **p == part).map(|(_, w)| w).sum::<u64>();
        let loads: Vec<u64> = (0..4).map(load).collect();
        let (least, most) = (loads.iter().min().unwrap(), loads.iter().max().unwrap());
        assert!(most - least <= 5000 / 100, "{loads:?}");
        assert_eq!(of, split(&weights, 4));
    }

    #[test]
    fn plans_are_lines() {
        assert_eq!(plans(b"expect \"a\" {\n  plan  X1:1 reads 0 V\n\tplan X2:1\n  planet\n}\n"), 2);
    }
}
