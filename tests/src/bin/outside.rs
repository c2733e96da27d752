//! Prints the table of outside checks.

use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use halfsplit_tests::outside::compare::{Numpy, Outcome, against_numpy, against_simulator};
use halfsplit_tests::outside::families::{self, LIMITING_SEED, LINEAR_SEED};
use halfsplit_tests::outside::simulator::{Diodes, Simulator};

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

fn run() -> Result<bool, Box<dyn Error>> {
    let short = std::env::args().any(|a| a == "--short");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let work = PathBuf::from(std::env::args().nth(1).ok_or("a folder to work in")?);
    let simulator = Simulator::new(&work)?;
    let numpy = Numpy {
        python: PathBuf::from(std::env::args().nth(2).ok_or("the Python that has numpy")?),
        script: root.join("outside/dense.py"),
        folder: work.clone(),
    };
    let mut rows: Vec<Outcome> = Vec::new();
    macro_rules! t {
        ($e:expr) => {{
            let b = std::time::Instant::now();
            let r = $e;
            eprintln!("{:?}", b.elapsed());
            r
        }};
    }
    let linear = families::linear(LINEAR_SEED, if short { 300 } else { 2000 });
    rows.push(t!(against_numpy(&linear, &numpy)?));
    rows.push(t!(against_simulator(&linear, &simulator, Diodes::Table)?.0));
    let limiting = families::limiting(LIMITING_SEED, if short { 100 } else { 400 });
    rows.push(t!(against_simulator(&limiting, &simulator, Diodes::Table)?.0));
    for (name, circuit) in families::circuits_under(&root.join("../examples"))? {
        rows.push(
            against_simulator(
                &families::volts(&name, &circuit, if short { 7 } else { 1 }),
                &simulator,
                Diodes::Table,
            )?
            .0,
        );
        rows.push(
            against_simulator(
                &families::readings(&name, &circuit, if short { 20 } else { 7 }),
                &simulator,
                Diodes::Table,
            )?
            .0,
        );
    }
    let mut good = true;
    for row in &rows {
        println!(
            "{:45} {:16} {:6} {:7} {:8.1e} none {} unsolved {} {:?} {}",
            row.name,
            row.tool,
            row.cases,
            row.values,
            row.worst,
            row.no_reading,
            row.unsolved,
            row.effort,
            row.place
        );
        for line in row.disagreements.iter().take(8) {
            println!("    {line}");
        }
        println!("    {} disagreements", row.disagreements.len());
        good &= row.disagreements.is_empty();
    }
    Ok(good)
}
