//! Every plan of every example circuit, walked with simulated readings: one table.
//!
//! `replay [PAIRS] [--wrong]`: at most so many pairs a plan, 60 if not said; `--wrong` lists the walks that went wrong.

use std::process::ExitCode;

use halfsplit_tests::replay::{Tally, circuits, open, walk};

/// Share of single faults whose walk ends at the truth, at least. The rest are at the border of a relay or a module
/// and end where nothing fits.
const FOUND: f64 = 0.995;
/// Share of pairs that are named, told or fail their proof, at least.
const TOLD: f64 = 0.95;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let most_pairs = arguments.iter().find_map(|word| word.parse().ok()).unwrap_or(60);
    println!(
        "{:28} {:>6} {:>8} {:>8} {:>10} {:>7} {:>7} {:>11} {:>8} {:>8}",
        "circuit",
        "plans",
        "singles",
        "found",
        "mean end",
        "pairs",
        "named",
        "two faults",
        "at proof",
        "neither"
    );
    let mut all = Tally { circuit: "all".to_owned(), ..Tally::default() };
    for path in circuits() {
        let Ok(model) = open(&path) else {
            eprintln!("{}: cannot be read", path.display());
            return ExitCode::from(2);
        };
        let name = path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
        let tally = Tally { circuit: name, ..walk(&model, most_pairs) };
        if tally.plans == 0 {
            continue;
        }
        row(&tally);
        if arguments.iter().any(|word| word == "--wrong") {
            tally.wrong.iter().for_each(|words| println!("    {words}"));
        }
        all.plans += tally.plans;
        all.singles += tally.singles;
        all.found += tally.found;
        all.units += tally.units;
        all.pairs += tally.pairs;
        all.named += tally.named;
        all.told += tally.told;
        all.proved += tally.proved;
    }
    row(&all);
    let found = all.found as f64 / all.singles.max(1) as f64;
    let told = (all.named + all.told + all.proved) as f64 / all.pairs.max(1) as f64;
    println!("found {:.2} % of singles, told {:.1} % of pairs", 100.0 * found, 100.0 * told);
    ExitCode::from(u8::from(found < FOUND || told < TOLD))
}

fn row(tally: &Tally) {
    println!(
        "{:28} {:6} {:8} {:8} {:10.2} {:7} {:7} {:11} {:8} {:8}",
        tally.circuit,
        tally.plans,
        tally.singles,
        tally.found,
        tally.units as f64 / tally.found.max(1) as f64,
        tally.pairs,
        tally.named,
        tally.told,
        tally.proved,
        tally.pairs - tally.named - tally.told - tally.proved
    );
}
