//! Times the fault table of a 300-point circuit, 200 faults × 50 readings: ours by updates, ours with a
//! fresh factor each, and the outside simulator, all in one run. `tests/outside/speed` calls it.
//!
//! The simulator is given every advantage that keeps the question the same: each deck has its relays,
//! modules and the straight piece of every output already where they end, so that every operating
//! point is one linear solve; all decks are sourced by one process; the 50 meters of a fault stand in its
//! deck at 1 TΩ, and `alter` makes one of them 10 MΩ for each reading. Its time is that process alone;
//! ours includes preparing the circuit and finding where everything ends.

use std::fmt::Write as _;
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;
use std::time::{Duration, Instant};

use halfsplit_circuit::Solver;
use halfsplit_tests::outside::compare::settle;
use halfsplit_tests::outside::families::Case;
use halfsplit_tests::outside::netlist::Standing;
use halfsplit_tests::outside::pieces::Straight;
use halfsplit_tests::outside::simulator::{Diodes, Simulator, Small, deck, plots};

#[path = "../../../crates/circuit/benches/common/mod.rs"]
mod common;

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn run() -> Result<(), String> {
    let folder = std::env::args().nth(1).ok_or("outside-speed FOLDER")?;
    let simulator = Simulator::new(Path::new(&folder))?;
    let circuit = Arc::new(common::circuit());
    let (state, faults, meters) = (common::state(), common::faults(&circuit), common::meters(&circuit));
    println!(
        "{} points, {} branches, {} faults, {} readings each",
        circuit.points.len(),
        circuit.branches.len(),
        faults.len(),
        meters.len()
    );
    let cases: Vec<Case> = faults
        .iter()
        .enumerate()
        .map(|(index, faults)| Case {
            name: format!("fault {index}"),
            circuit: Arc::clone(&circuit),
            state: state.clone(),
            faults: faults.clone(),
            meter: None,
            filament: false,
        })
        .collect();
    let refs: Vec<&Case> = cases.iter().collect();
    let starts = refs.iter().map(|case| Standing::at_rest(case)).collect();
    let (settled, _) = settle(&refs, starts, &simulator, Diodes::Table)?;
    let mut control =
        "* all faults\n.control\noptran 0 0 0 0 0 0\nset appendwrite\nset noprintscale\n".to_owned();
    let mut without = control.clone();
    let mut asked = Vec::new();
    let mut unsettled = Vec::new();
    for (index, settled) in settled.iter().enumerate() {
        // Where theirs has no steady state there is nothing to time; ours is asked below.
        let (list, volts) = match settled {
            Ok(found) => found,
            Err(why) => {
                unsettled.push((index, why));
                continue;
            }
        };
        let mut straight = Straight::new(list);
        straight.step(list, volts, false);
        let node = |n: usize| if n == list.ground { "0".to_owned() } else { format!("n{n}") };
        let mut text =
            deck(&format!("deck {index}"), &straight.list(list), Diodes::Table, Small::Plain, None);
        let mut leads = String::new();
        for (place, meter) in meters.iter().enumerate() {
            let _ = writeln!(
                leads,
                "Rmeter{place} {} {} 1e12",
                node(meter.red.index()),
                node(meter.black.index())
            );
        }
        let title = text.find('\n').map_or(0, |end| end + 1);
        text.insert_str(title, &leads);
        simulator.put(&format!("f{index}.cir"), &text)?;
        let _ = writeln!(control, "source f{index}.cir");
        let _ = writeln!(without, "source f{index}.cir\nop\nwrite out.raw\ndestroy all\nremcirc");
        for (place, meter) in meters.iter().enumerate() {
            let red = node(meter.red.index());
            // The simulator's zero has no vector to write; battery negative against itself reads zero.
            if red == "0" {
                continue;
            }
            asked.push((index, place));
            let _ = writeln!(
                control,
                "alter Rmeter{place} = 1e7\nop\nwrite out.raw v({red})\ndestroy all\nalter Rmeter{place} = 1e12"
            );
        }
        let _ = writeln!(control, "remcirc");
    }
    for text in [&mut control, &mut without] {
        text.push_str("quit 0\n.endc\n.end\n");
    }
    // Three turns, the best of each, taken in turn so that all see the same machine.
    let [mut updates, mut one, mut factors, mut afresh] = [Duration::MAX; 4];
    let mut table = None;
    for _ in 0..3 {
        let begun = Instant::now();
        table = Some(Solver::new(&circuit).table(&state, &faults, &meters));
        updates = updates.min(begun.elapsed());
        let begun = Instant::now();
        let _ = Solver::new(&circuit).table_on(1, &state, &faults, &meters);
        one = one.min(begun.elapsed());
        let begun = Instant::now();
        let _ = Solver::new(&circuit).table_refactored(&state, &faults, &meters);
        factors = factors.min(begun.elapsed());
        let begun = Instant::now();
        let _ = Solver::new(&circuit).table_afresh(&state, &faults, &meters);
        afresh = afresh.min(begun.elapsed());
    }
    let table = table.ok_or("no table")?;
    let (raw, theirs) = simulator.run(&control)?;
    let (_, volts_only) = simulator.run(&without)?;
    let plots = plots(&raw)?;
    if plots.len() != asked.len() {
        return Err(format!("{} readings asked of the simulator, {} answered", asked.len(), plots.len()));
    }
    let mut worst: f64 = 0.0;
    for ((fault, meter), (_, values)) in asked.iter().zip(&plots) {
        // The simulator writes its scale, the first node, before what was asked for.
        let Some((_, value)) = values.last() else { return Err("an empty answer".to_owned()) };
        match table.at(*fault, *meter) {
            Ok(reading) => worst = worst.max((reading.value - value).abs() / 12.6),
            Err(error) => return Err(format!("fault {fault}: ours: {error}")),
        }
    }
    for (fault, why) in unsettled {
        match table.at(fault, 1) {
            Err(error) => println!("fault {fault}: theirs {why:?}; ours: {error}"),
            Ok(reading) => {
                println!("fault {fault}: theirs {why:?}; ours {}, {:?}", reading.value, faults[fault])
            }
        }
    }
    let ms = |time: Duration| time.as_secs_f64() * 1e3;
    println!("ours, updates of one factor, all processors  {:10.2} ms   {:?}", ms(updates), table.counts());
    println!("ours, the same on one processor              {:10.2} ms", ms(one));
    println!("ours, a fresh factor for every fault         {:10.2} ms", ms(factors));
    println!("ours, a fresh factor for every reading       {:10.2} ms", ms(afresh));
    println!("{}, {} readings           {:10.2} ms", simulator.version, asked.len(), ms(theirs));
    println!("{}, one run a fault, no meter in it       {:10.2} ms", simulator.version, ms(volts_only));
    println!("worst difference {worst:.1e} of full scale");
    println!(
        "{} / ours: {:.0} on all processors, {:.0} on one; on one, a factor a fault / ours: {:.1}, a factor a reading / ours: {:.1}",
        simulator.version,
        theirs.as_secs_f64() / updates.as_secs_f64(),
        theirs.as_secs_f64() / one.as_secs_f64(),
        factors.as_secs_f64() / one.as_secs_f64(),
        afresh.as_secs_f64() / one.as_secs_f64(),
    );
    if worst > 1e-6 {
        return Err("the two do not agree".to_owned());
    }
    Ok(())
}
