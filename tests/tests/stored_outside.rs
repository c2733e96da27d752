//! Ours against what the outside programs answered when they were last asked.
//! `tests/outside/run` asks them anew; `tests/outside/run --store` writes their answers.

use halfsplit_tests::outside::stored;

#[test]
fn ours_agree_with_the_stored_answers() {
    let families = stored::families().unwrap();
    assert!(families.len() >= 6, "three random families and three circuits");
    for (name, family) in families {
        let text = std::fs::read_to_string(stored::file(&name)).unwrap_or_else(|e| panic!("{name}: {e}"));
        let outcome = stored::compare(&family, &text).unwrap();
        assert!(outcome.tool.starts_with("ngspice-"), "{name}: {}", outcome.tool);
        let least = if name == "linear" {
            1500
        } else if name == "limiting" || name == "weak" {
            200
        } else {
            50
        };
        assert!(outcome.cases >= least && outcome.values >= least, "{name}: {} cases", outcome.cases);
        let few: Vec<_> = outcome.disagreements.iter().take(5).collect();
        assert!(outcome.disagreements.is_empty(), "{name}: {} differ: {few:#?}", outcome.disagreements.len());
    }
}

/// The comparison itself can fail: a value off by two millionths of full scale is found.
#[test]
fn a_small_difference_is_found() {
    let (name, family) = stored::families().unwrap().swap_remove(1);
    let text = std::fs::read_to_string(stored::file(&name)).unwrap();
    let line = text.lines().rfind(|line| line.split(';').count() == 4).unwrap();
    let words: Vec<&str> = line.split(';').collect();
    let (scale, value): (f64, f64) = (words[2].parse().unwrap(), words[3].parse().unwrap());
    let moved = format!("{};{};{scale:.6e};{:.11e}", words[0], words[1], value + 2e-6 * scale);
    let outcome = stored::compare(&family, &text.replace(line, &moved)).unwrap();
    assert_eq!(outcome.disagreements.len(), 1);
}
