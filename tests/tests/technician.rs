//! A few dozen walks of the technician, followed by JSON alone. `tests/technician/run` takes thousands.

use std::path::PathBuf;

use halfsplit_tests::technician::door::Door;
use halfsplit_tests::technician::table::{self, Options};
use halfsplit_tests::technician::verdict::Verdict;
use halfsplit_tests::technician::walk::Kind;
use halfsplit_tests::technician::{car, circuits};

/// Walks of the short form.
const WALKS: u64 = 36;
/// Share of single faults that end with the truth named, at least.
const TRUTH: f64 = 0.85;
/// Share of single faults that end with something else convicted, at most.
const CONVICTED: f64 = 0.0;
/// Share of walks that break or take too long, at most.
const BROKEN: f64 = 0.06;

#[test]
fn a_few_dozen_walks_end_as_they_should() {
    let door = Door::own(PathBuf::from(env!("CARGO_BIN_EXE_technician")));
    let folder = std::env::temp_dir().join(format!("halfsplit-technician-short-{}", std::process::id()));
    let options = Options {
        walks: WALKS,
        circuits: 520,
        seed: 7,
        kind: Some(Kind::Single),
        verb: None,
        only: None,
        threads: 1,
    };
    let ran = table::run(&door, &folder, &options, &|_| {});
    let _ = std::fs::remove_dir_all(&folder);
    let share = |verdict: Verdict| {
        ran.walks.iter().filter(|walk| walk.verdict == verdict).count() as f64 / ran.walks.len() as f64
    };
    let shown = || format!("{}\n{}", table::worst(&ran, &options, 20), table::table(&ran));
    assert!(ran.walks.len() as u64 + ran.idle as u64 == WALKS, "{}", shown());
    assert!(share(Verdict::Truth) >= TRUTH, "{}", shown());
    assert!(share(Verdict::Convicted) <= CONVICTED, "{}", shown());
    assert!(share(Verdict::Broken) <= BROKEN, "{}", shown());
}

#[test]
fn every_committed_circuit_is_clean_and_means_the_same_for_ever() {
    let seeds = circuits::seeds();
    assert!(seeds.len() >= 500);
    for &seed in seeds.iter().step_by(10) {
        let opened = car::open(seed).unwrap_or_else(|error| panic!("{error}"));
        assert!((6..=circuits::MOST).contains(&opened.drawn.parts), "{seed}: {} parts", opened.drawn.parts);
        assert_eq!(opened.drawn.text, circuits::draw(seed, opened.redrawn).text);
    }
}
