//! numpy as the second oracle of linear circuits: a dense solve of the whole tableau, node volts and
//! every element's current as unknowns, in a Python script of its own (`tests/outside/dense.py`).

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

use super::elements::{Law, Netlist, Own};
use super::simulator::Volts;

/// Solves all networks; also says which version did it.
///
/// # Errors
/// If Python, numpy or the script fails, or a network is not linear.
pub fn solve(
    python: &Path,
    script: &Path,
    folder: &Path,
    lists: &[&Netlist],
) -> Result<(Vec<Volts>, String), String> {
    let mut text = String::new();
    for list in lists {
        let _ = writeln!(text, "case {} {}", list.nodes, list.ground);
        for element in &list.elements {
            // Every linear element is volts behind ohms, or a current.
            let (kind, one, two) = match element.law {
                Law::Resistor(ohms) => ("v", 0.0, ohms),
                Law::Source { volts: Own::Volts(volts), ohms } => ("v", volts, ohms),
                Law::Current(amps) => ("i", amps, 0.0),
                Law::Source { .. } | Law::Same(_) | Law::Limited { .. } | Law::Filament { .. } => {
                    return Err("not a linear network".to_owned());
                }
            };
            let _ = writeln!(text, "{kind} {} {} {one:e} {two:e}", element.a, element.b);
        }
    }
    let (input, output) = (folder.join("dense.in"), folder.join("dense.out"));
    std::fs::write(&input, text).map_err(|e| e.to_string())?;
    let status =
        Command::new(python).arg(script).arg(&input).arg(&output).status().map_err(|e| e.to_string())?;
    if !status.success() {
        return Err(format!("{} ended with {status}", script.display()));
    }
    let text = std::fs::read_to_string(&output).map_err(|e| e.to_string())?;
    let mut lines = text.lines();
    let version = lines.next().unwrap_or_default().to_owned();
    let volts: Vec<Volts> = lines
        .map(|line| line.split_whitespace().map(|word| word.parse().ok()).collect::<Option<Vec<f64>>>())
        .collect();
    if volts.len() != lists.len() {
        return Err("numpy answered another number of networks".to_owned());
    }
    Ok((volts, version))
}
