//! Kinds and `use` lines cut up and put together anew: a check never panics, every finding has its place in a
//! text, and only the standard library is known where nothing is on a disk.

use halfsplit_base::{Files, Refused, Span};
use halfsplit_check::{check, rules};
use halfsplit_model::{library, std_library};

const TEXTS: [&str; 3] = [
    include_str!("../../../examples/mistakes/kinds.circuit"),
    include_str!("../../../examples/mistakes/library.circuit"),
    include_str!("../../../examples/lib/sensors.circuit"),
];

/// Parts that are of kinds which stand in them.
const PARTS: &str = "use std \"relays\"
sensor B2 as THREE-WIRE \"boost\" {
  with PLUG X3 SIGNAL RD CURRENT 9 mA
  connector X3 3 cavities {
    2 YE
  }
}
relay K1 as RELAY-NO {
  with COIL 85 ohm
}
";

/// Numbers that look random and are the same in every run.
struct Random(u64);

impl Random {
    fn below(&mut self, end: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % end.max(1) as u64) as usize
    }
}

/// Lines of the texts with words of other lines in the place of some of theirs.
fn text(random: &mut Random, lines: &[&str]) -> String {
    let mut out = String::from("halfsplit 1\n");
    let start = random.below(lines.len());
    let kinds = TEXTS[2].lines().skip(1).chain(PARTS.lines());
    let window = lines.iter().copied().cycle().skip(start).take(random.below(30));
    for line in kinds.chain(window) {
        let line = match random.below(12) {
            0 => lines[random.below(lines.len())],
            _ => line,
        };
        let mut words: Vec<&str> = line.split(' ').collect();
        if random.below(8) == 0 {
            let other: Vec<&str> = lines[random.below(lines.len())].split_whitespace().collect();
            let word = random.below(words.len());
            match (other.get(random.below(other.len())), random.below(3)) {
                (Some(other), 0) => words[word] = other,
                (Some(other), 1) => words.insert(word, other),
                _ => drop(words.remove(word)),
            }
        }
        out += &words.join(" ");
        out.push('\n');
    }
    out
}

#[test]
fn whatever_the_text_a_check_ends_and_its_findings_have_places() {
    let all: Vec<&str> =
        TEXTS.into_iter().chain(std_library::names().filter_map(std_library::text)).collect();
    let lines: Vec<&str> =
        all.iter().flat_map(|text| text.lines()).filter(|line| !line.starts_with('#')).collect();
    let mut random = Random(0x9E37_79B9_7F4A_7C15);
    let rounds = std::env::var("ROUNDS").ok().and_then(|rounds| rounds.parse().ok()).unwrap_or(400);
    let mut kinds = 0;
    for _ in 0..rounds {
        let mut files = Files::default();
        let used = files.set("lib/sensor.circuit".into(), &text(&mut random, &lines));
        let written = text(&mut random, &lines);
        let file = files.set("mutated.circuit".into(), &written);
        library::load(&mut files, file, &mut |_, _| Err(Refused::Missing));
        for root in [file, used] {
            let checked = check(&files, root);
            kinds += checked.model.kind_uses.len();
            for finding in checked.findings {
                assert!(rules().iter().any(|rule| rule.id == finding.rule), "{}", finding.rule);
                let fits = |file, span: Span| {
                    let text = &files.get(file).text;
                    assert!(text.get(span.range()).is_some(), "{} at {span:?} in\n{written}", finding.rule);
                };
                fits(finding.file, finding.span);
                finding.related.iter().for_each(|other| fits(other.file, other.span));
                finding.fix.iter().flat_map(|fix| &fix.edits).for_each(|edit| fits(edit.file, edit.span));
            }
        }
    }
    assert!(kinds > rounds / 10, "only {kinds} parts were of a kind");
}
