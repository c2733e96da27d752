//! Prints the table of outside checks; `tests/outside/run` calls it with what it needs.
//!
//! `outside FOLDER PYTHON [--short | --store] [CHECKED]`: a folder for decks and results, the Python
//! that has numpy, and a file of `checked printed digit computed` lines from the tests of published
//! and worked figures, each under a `family NAME` line.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use halfsplit_tests::outside::compare::{Numpy, Outcome, against_numpy, against_simulator};
use halfsplit_tests::outside::families::{self, Family, LIMITING_SEED, LINEAR_SEED, WEAK_SEED};
use halfsplit_tests::outside::simulator::{Diodes, Simulator};
use halfsplit_tests::outside::stored;

fn main() -> ExitCode {
    match run() {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn run() -> Result<bool, String> {
    let (options, places): (Vec<String>, Vec<String>) =
        std::env::args().skip(1).partition(|word| word.starts_with("--"));
    let [work, python, rest @ ..] = places.as_slice() else {
        return Err("outside FOLDER PYTHON [--short | --store] [CHECKED]".to_owned());
    };
    let simulator = Simulator::new(Path::new(work))?;
    if options.iter().any(|option| option == "--store") {
        return store(&simulator);
    }
    let short = options.iter().any(|option| option == "--short");
    let numpy = Numpy {
        python: PathBuf::from(python),
        script: stored::folder().join("dense.py"),
        folder: PathBuf::from(work),
    };
    println!(
        "{:<40} {:<14} {:>6} {:>8} {:>5} {:>9}  time of theirs",
        "family", "against", "cases", "values", "none", "worst"
    );
    let mut good = true;
    let linear = families::linear(LINEAR_SEED, if short { 300 } else { 2000 });
    good &= print(&against_numpy(&linear, &numpy)?, true);
    good &= print(&against_simulator(&linear, &simulator, Diodes::Table)?.0, true);
    let limiting = families::limiting(LIMITING_SEED, if short { 60 } else { 300 });
    good &= print(&against_simulator(&limiting, &simulator, Diodes::Table)?.0, true);
    let weak = families::weak(WEAK_SEED, if short { 150 } else { 1000 });
    good &= print(&against_simulator(&weak, &simulator, Diodes::Table)?.0, true);
    let mut junctions = vec![limiting];
    let examples = families::circuits_under(&stored::folder().join("../../examples"))?;
    for (name, circuit) in &examples {
        let all = families::volts(name, circuit, if short { 9 } else { 1 });
        good &= print(&against_simulator(&all, &simulator, Diodes::Table)?.0, true);
        let readings = families::readings(name, circuit, if short { 40 } else { 7 });
        good &= print(&against_simulator(&readings, &simulator, Diodes::Table)?.0, true);
        junctions.push(families::volts(name, circuit, if short { 60 } else { 12 }));
    }
    if let Some(checked) = rest.first() {
        good &= printed(Path::new(checked))?;
    }
    println!("\nThe simulator's own exponential junctions for diodes and drivers, without a bar:");
    for family in junctions {
        let name = format!("{}, junctions", family.name);
        let (outcome, _) = against_simulator(&Family { name, ..family }, &simulator, Diodes::Exponential)?;
        print(&outcome, false);
    }
    println!(
        "\nworst: share of full scale, the largest volts of any supply or output (ohms: of the resistance).\n\
         Bar 1e-6. Figures in print: asserted by their tests to a unit of the last printed digit, worked\n\
         scenarios to 5 % or one such unit. none: both say that there is no steady reading. Seeds {LINEAR_SEED}, {LIMITING_SEED}, {WEAK_SEED}."
    );
    Ok(good)
}

/// Prints one row and what does not agree; with a bar, whether everything does.
fn print(outcome: &Outcome, bar: bool) -> bool {
    println!(
        "{:<40} {:<14} {:>6} {:>8} {:>5} {:>9.1e}  {:.1} s",
        outcome.name,
        outcome.tool,
        outcome.cases,
        outcome.values,
        outcome.no_reading,
        outcome.worst,
        outcome.effort.time.as_secs_f64(),
    );
    if outcome.effort.by_pieces > 0 {
        let (few, all) = (outcome.effort.by_pieces, outcome.effort.decks);
        println!("    {few} of {all} decks by straight pieces: no sound operating point on the table");
    }
    if outcome.unsolved > 0 {
        println!("    {} cases without any operating point of theirs", outcome.unsolved);
    }
    if bar {
        for line in outcome.disagreements.iter().take(5) {
            println!("    {line}");
        }
        if outcome.disagreements.len() > 5 {
            println!("    and {} more", outcome.disagreements.len() - 5);
        }
    }
    // A case that theirs cannot solve checks nothing; a few in a hundred are borne.
    !bar || (outcome.disagreements.is_empty() && outcome.cases > 0 && outcome.unsolved * 50 <= outcome.cases)
}

/// Rows of figures that the tests of the circuit crate compared and printed.
fn printed(path: &Path) -> Result<bool, String> {
    let text = std::fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))?;
    let mut rows: Vec<(&str, usize, f64)> = Vec::new();
    for line in text.lines() {
        if let Some(name) = line.strip_prefix("family ") {
            rows.push((name, 0, 0.0));
        }
        // The test runner writes its own words before the first line of a test.
        let Some((_, figures)) = line.split_once("checked ") else { continue };
        let numbers: Vec<f64> = figures.split(' ').filter_map(|word| word.parse().ok()).collect();
        if let ([published, _, computed], Some(row)) = (&numbers[..], rows.last_mut()) {
            row.1 += 1;
            if *published != 0.0 {
                row.2 = row.2.max(((computed - published) / published).abs());
            }
        }
    }
    for (name, figures, worst) in &rows {
        println!(
            "{name:<40} {:<14} {figures:>6} {figures:>8} {:>5} {worst:>9.1e}  of the printed figure",
            "print", 0
        );
    }
    Ok(!rows.is_empty() && rows.iter().all(|row| row.1 > 0))
}

fn store(simulator: &Simulator) -> Result<bool, String> {
    let mut good = true;
    for (name, family) in stored::families()? {
        let (outcome, answers) = against_simulator(&family, simulator, Diodes::Table)?;
        good &= print(&outcome, true);
        let path = stored::file(&name);
        let text = stored::write(&family, &outcome.tool, &answers);
        std::fs::write(&path, text).map_err(|e| format!("{}: {e}", path.display()))?;
    }
    Ok(good)
}
