//! Changes a text by its lines and words, so that most of what comes out still is a circuit.

/// Changes the first `size` of `data` in place; gives back the new size.
pub fn mutate(data: &mut [u8], size: usize, max_size: usize, seed: u32) -> usize {
    let mut dice = Dice(u64::from(seed) << 1 | 1);
    let text = String::from_utf8_lossy(&data[..size]).into_owned();
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    if lines.len() < 2 {
        return libfuzzer_sys::fuzzer_mutate(data, size, max_size);
    }
    for _ in 0..1 + dice.below(4) {
        let (here, there) = (dice.below(lines.len()), dice.below(lines.len()));
        match dice.below(8) {
            // Two wires at one place, a name twice.
            0 => lines.insert(here, lines[there].clone()),
            1 if lines.len() > 2 => drop(lines.remove(here)),
            2 => lines.swap(here, there),
            // A word of one line in another: wires to other pins, other colours, values, units.
            3..=5 => {
                let words: Vec<&str> = lines[there].split_whitespace().collect();
                if let Some(word) = (!words.is_empty()).then(|| words[dice.below(words.len())].to_owned()) {
                    lines[here] = with_word(&lines[here], &word, &mut dice);
                }
            }
            6 => lines[here] = with_word(&lines[here], WORDS[dice.below(WORDS.len())], &mut dice),
            // A stretch of lines moved elsewhere, through the middle of blocks.
            _ => {
                let until = (here + dice.below(12)).min(lines.len());
                let stretch: Vec<String> = lines[here..until].to_vec();
                let at = dice.below(lines.len());
                lines.splice(at..at, stretch);
            }
        }
    }
    let out = lines.join("\n");
    let mut size = out.len().min(max_size);
    while !out.is_char_boundary(size) {
        size -= 1;
    }
    data[..size].copy_from_slice(&out.as_bytes()[..size]);
    size
}

const WORDS: [&str; 20] = [
    "stub", "unknown", "elsewhere", "blank", "double-crimp", "0", "-1", "1e999", "4294967295", "0.35", "500",
    "key", "run", "crank", "on", "to", "->", "{", "}", "X1:1",
];

fn with_word(line: &str, word: &str, dice: &mut Dice) -> String {
    let mut words: Vec<&str> = line.split_whitespace().collect();
    match dice.below(words.len() + 1) {
        at if at < words.len() => words[at] = word,
        _ => words.push(word),
    }
    words.join(" ")
}

/// A xorshift: the fuzzer brings the chance, this spreads it.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % most.max(1) as u64) as usize
    }
}
