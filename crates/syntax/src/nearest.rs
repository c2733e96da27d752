//! Which known word a wrong one most resembles.

/// The word that a misspelt one was likely meant to be; `None` if none is near.
pub fn nearest<'w>(word: &str, known: impl Iterator<Item = &'w str>) -> Option<&'w str> {
    let letters: Vec<char> = word.chars().take(LONGEST + 1).flat_map(char::to_lowercase).collect();
    if letters.len() > LONGEST || letters.len() < 2 {
        return None;
    }
    let allowed = match letters.len() {
        0..=3 => 1,
        4..=7 => 2,
        _ => 3,
    };
    known
        .map(|known| (distance(&letters, known), known))
        .filter(|(distance, known)| *distance <= allowed && *distance * 2 <= known.len())
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, known)| known)
}

const LONGEST: usize = 24;

/// Edits between two words: letters put in, left out, changed, or two swapped.
fn distance(word: &[char], known: &str) -> usize {
    let known: Vec<char> = known.chars().collect();
    let width = known.len() + 1;
    let mut before_last = vec![0; width];
    let mut last: Vec<usize> = (0..width).collect();
    for (row, letter) in word.iter().enumerate() {
        let mut current = vec![row + 1; width];
        for (column, other) in known.iter().enumerate() {
            let changed = last[column] + usize::from(letter != other);
            let mut best = changed.min(last[column + 1] + 1).min(current[column] + 1);
            let swapped = row > 0 && column > 0 && word[row - 1] == *other && *letter == known[column - 1];
            if swapped {
                best = best.min(before_last[column - 1] + 1);
            }
            current[column + 1] = best;
        }
        before_last = std::mem::replace(&mut last, current);
    }
    last[width - 1]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_what_was_meant() {
        let words = ["wire", "sensor", "supply", "reach", "key"];
        for (written, meant) in
            [("wier", "wire"), ("Sensor", "sensor"), ("suply", "supply"), ("raech", "reach")]
        {
            assert_eq!(nearest(written, words.into_iter()), Some(meant));
        }
        for far in ["banana", "x", "", "zz", "wardrobe-with-a-very-long-name"] {
            assert_eq!(nearest(far, words.into_iter()), None, "{far}");
        }
    }
}
