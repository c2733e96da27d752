//! Plans and cases judged by a technician of its own: random circuits, hidden faults, JSON alone.
//!
//! `technician [--walks N] [--circuits N] [--seed S] [--kind single|off-list|pair|slip|intermittent|careless]
//! [--only-plan | --only-case] [--only NUMBER] [--threads N] [--command HALFSPLIT] [--worst N] [--folder PATH]`;
//! `technician --circuit SEED` prints a circuit, `technician --draw` counts them all, `technician --optimum N` holds
//! the expected minutes of N small plans against other meter places and against their own trees.

use std::path::PathBuf;
use std::process::ExitCode;

use halfsplit_tests::technician::door::Door;
use halfsplit_tests::technician::table::{self, Options};
use halfsplit_tests::technician::walk::{Kind, Verb};
use halfsplit_tests::technician::{answer, car, circuits, optimum};

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    if words.first().is_some_and(|word| word == "--answer") {
        return answer::run(&words[1..]);
    }
    match run(&words) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}

fn run(words: &[String]) -> Result<(), String> {
    let value = |name: &str| {
        let at = words.iter().position(|word| word == name)?;
        words.get(at + 1).map(String::as_str)
    };
    let number = |name: &str, usual: u64| {
        value(name).map_or(Ok(usual), |v| v.parse().map_err(|_| format!("{name}: a number")))
    };
    let has = |name: &str| words.iter().any(|word| word == name);
    if let Some(seed) = value("--circuit") {
        let opened = car::open(seed.parse().map_err(|_| "--circuit: a seed")?)?;
        print!("{}", opened.drawn.text);
        return Ok(());
    }
    if has("--draw") {
        return drawn();
    }
    let kind = value("--kind").map(|word| {
        let known = Kind::ALL.iter().find(|(_, known)| *known == word);
        known.map(|(kind, _)| *kind).ok_or_else(|| format!("--kind {word}: no such kind"))
    });
    let options = Options {
        walks: number("--walks", 1_000)?,
        circuits: number("--circuits", 520)? as usize,
        seed: number("--seed", 1)?,
        kind: kind.transpose()?,
        verb: match (has("--only-plan"), has("--only-case")) {
            (true, _) => Some(Verb::Plan),
            (_, true) => Some(Verb::Case),
            _ => None,
        },
        only: value("--only").map(|v| v.parse().map_err(|_| "--only: a number")).transpose()?,
        threads: number("--threads", 1)? as usize,
    };
    let door = match value("--command") {
        Some(program) => Door::command(PathBuf::from(program)),
        None => Door::own(std::env::current_exe().map_err(|error| error.to_string())?),
    };
    let folder = value("--folder").map_or_else(
        || std::env::temp_dir().join(format!("halfsplit-technician-{}", std::process::id())),
        PathBuf::from,
    );
    if let Some(problems) = value("--optimum") {
        return optima(&door, &folder, problems.parse().map_err(|_| "--optimum: a number")?);
    }
    // What was walked so far is told now and then: a long run that is broken off is not lost.
    let so_far = std::sync::Mutex::new(table::Ran::default());
    let told = |walk: &halfsplit_tests::technician::walk::Walk| {
        if options.only.is_some() {
            println!("{}\n  {}", walk.trail.join("\n"), walk.question.join(" "));
        }
        let Ok(mut so_far) = so_far.lock() else { return };
        so_far.walks.push(walk.clone());
        if so_far.walks.len() % 200 == 0 {
            eprintln!("{} walks\n{}", so_far.walks.len(), table::table(&so_far));
        }
    };
    let ran = table::run(&door, &folder, &options, &told);
    print!("{}", table::worst(&ran, &options, number("--worst", 30)? as usize));
    println!("\n{}", table::table(&ran));
    for (title, calibration) in table::calibrations(&ran) {
        println!("{}", calibration.table(title));
    }
    if options.only.is_none() && value("--folder").is_none() {
        let _ = std::fs::remove_dir_all(&folder);
    }
    Ok(())
}

/// Every committed circuit: how often it was drawn, and its size.
fn drawn() -> Result<(), String> {
    let (mut parts, mut redrawn) = (Vec::new(), 0);
    for seed in circuits::seeds() {
        let opened = car::open(seed)?;
        redrawn += opened.redrawn;
        parts.push(opened.drawn.parts);
    }
    parts.sort_unstable();
    println!(
        "{} circuits, drawn anew {redrawn} times, parts {:?}",
        parts.len(),
        [parts.first(), parts.get(parts.len() / 2), parts.last()]
    );
    Ok(())
}

/// Small plans against every other place for the meter, and against their own trees.
fn optima(door: &Door, folder: &std::path::Path, wanted: usize) -> Result<(), String> {
    std::fs::create_dir_all(folder).map_err(|error| error.to_string())?;
    let (mut found, mut number) = (Vec::new(), 0);
    let seeds = circuits::seeds();
    while found.len() < wanted && number < 40 * wanted {
        found.extend(optimum::problem(door, folder, seeds[number % seeds.len()], number as u64));
        number += 1;
    }
    for problem in found.iter().filter(|p| p.optimal && p.dearer().is_some() || p.is_off()) {
        println!(
            "{:.3} min expected, {:?} cheapest, {:?} walked: {}",
            problem.expected,
            problem.cheapest,
            problem.walked,
            problem.question.join(" ")
        );
    }
    let optimal = found.iter().filter(|p| p.optimal);
    let dearer: Vec<f64> = optimal.clone().filter_map(|p| p.dearer()).collect();
    println!(
        "{} small problems, {} say optimal; another place for the meter is cheaper in {} of those, by {:.1} % at most",
        found.len(),
        optimal.count(),
        dearer.len(),
        100.0 * dearer.iter().copied().fold(0.0, f64::max)
    );
    println!(
        "{} trees add up as printed, {} do not",
        found.iter().filter(|p| p.walked.is_some() && !p.is_off()).count(),
        found.iter().filter(|p| p.is_off()).count()
    );
    Ok(())
}
