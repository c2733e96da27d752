//! ngspice as the outside simulator: one process that sources many decks.
//!
//! Diodes and limited outputs are behavioural current sources on our own piecewise-linear tables
//! (`pwl`), so that both programs solve the same problem. Resistances below 1 Ω are written as
//! current-controlled voltage sources: their branch currents become unknowns, and a milliohm beside 10 MΩ
//! does not cost the simulator its digits. Tolerances: reltol 1e-9, abstol 1e-12 A, vntol 1e-12 V.
//!
//! Newton's method on a table with flat parts can run back and forth between them for ever, so decks
//! with tables are solved in steps: first with every table on one straight piece, moved from run to
//! run until each piece holds its own working point; then the table itself, started from there.
//! A start from given volts upsets the simulator's order of pivots, now and then so far that its answer breaks
//! Kirchhoff's current law; plain resistors do that least. Where its answer on the table breaks the law, or
//! there is none, the last straight-piece answer stands and is counted (the volts of such a
//! network are unique, so straight pieces that all hold their points are its solution).

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use super::elements::{Element, LEAK, Law, Netlist, Own};
use super::kirchhoff::holds;
use super::pieces::Straight;

/// How diodes are written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Diodes {
    /// Our piecewise-linear table.
    Table,
    /// The simulator's exponential junction: IS 1e-14 A, N 1, series resistance our slope, at 27 °C.
    Exponential,
}

/// How resistors below 1 Ω are written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Small {
    /// Volts that follow a current, for accuracy.
    Controlled,
    /// Plain resistors, for speed.
    Plain,
}

/// What the simulator found.
#[derive(Clone, Debug)]
pub struct Solved {
    /// Volts of each network.
    pub volts: Vec<Volts>,
    /// Networks whose table gave no operating point, so that their straight pieces stand.
    pub by_pieces: usize,
    /// Time of the processes, without writing decks.
    pub time: Duration,
}

/// Runs after which pieces that still move are given up.
const PIECE_ROUNDS: usize = 60;

/// Volts by node; `None` where the simulator found no operating point.
pub type Volts = Option<Vec<f64>>;

/// Beyond any volts in a table's flat parts and straight ends.
const FAR: f64 = 1e4;

/// Writes one deck, to be started from a guess of the node volts if there is one.
pub fn deck(title: &str, list: &Netlist, diodes: Diodes, small: Small, guess: Option<&[f64]>) -> String {
    let mut text = format!("* {title}\n");
    // Node 0 is the simulator's zero.
    let node = |n: usize| if n == list.ground { "0".to_owned() } else { format!("n{n}") };
    for (index, &Element { a, b, law }) in list.elements.iter().enumerate() {
        let (a, b) = (node(a), node(b));
        let mut say = |line: std::fmt::Arguments<'_>| {
            // Writing to a string does not fail.
            let _ = text.write_fmt(line);
            text.push('\n');
        };
        match law {
            Law::Resistor(ohms) if ohms < 1.0 && small == Small::Controlled => {
                say(format_args!("V{index} {a} m{index} 0\nH{index} m{index} {b} V{index} {ohms:e}"));
            }
            Law::Resistor(ohms) => say(format_args!("R{index} {a} {b} {ohms:e}")),
            Law::Source { volts, ohms } => {
                match volts {
                    Own::Volts(volts) => say(format_args!("V{index} s{index} {b} {volts:e}")),
                    Own::Across(c, d) => {
                        let (c, d) = (node(c), node(d));
                        say(format_args!("E{index} e{index} {b} {c} {d} 1\nV{index} s{index} e{index} 0"));
                    }
                }
                if small == Small::Controlled {
                    say(format_args!("H{index} s{index} {a} V{index} {:e}", -ohms));
                } else {
                    say(format_args!("R{index} s{index} {a} {ohms:e}"));
                }
            }
            Law::Limited { volts, ohms, least, most } => {
                let junction = most == 0.0 && least == f64::NEG_INFINITY;
                if junction && diodes == Diodes::Exponential {
                    say(format_args!(
                        "D{index} {a} {b} D{index}\n.model D{index} D(IS=1e-14 N=1 RS={ohms:e})"
                    ));
                } else {
                    // Volts that follow others shift the table along with them.
                    let (own, less) = match volts {
                        Own::Volts(own) => (own, String::new()),
                        Own::Across(c, d) => (0.0, format!("-v({},{})", node(c), node(d))),
                    };
                    let table = table(own, ohms, least, most);
                    say(format_args!("B{index} {b} {a} I=pwl(v({a},{b}){less}{table})"));
                    say(format_args!("R{index} {a} {b} {LEAK:e}"));
                }
            }
            Law::Filament { hot, rated } => {
                let law = format!("v({a},{b})/({hot:e}*max(0.09,(abs(v({a},{b}))/{rated:e})^0.45))");
                say(format_args!("B{index} {a} {b} I={law}"));
            }
            Law::Current(amps) => say(format_args!("I{index} {b} {a} {amps:e}")),
            Law::Same(source) => say(format_args!("F{index} {a} {b} V{source} -1")),
        }
    }
    if let Some(guess) = guess {
        for (index, volts) in guess.iter().enumerate().filter(|(index, _)| *index != list.ground) {
            let _ = writeln!(text, ".nodeset v(n{index})={volts:e}");
        }
    }
    // Stepping towards an operating point is for junctions only: a table starts at its answer.
    let steps = if diodes == Diodes::Table { "itl1=50 gminsteps=0 srcsteps=0" } else { "itl1=200" };
    let _ =
        writeln!(text, ".options reltol=1e-9 abstol=1e-12 vntol=1e-12 gmin=1e-15 pivtol=1e-18 {steps}\n.end");
    text
}

/// The current out of `a` over the volts from `a` to `b`, as pairs for `pwl`.
fn table(volts: f64, ohms: f64, least: f64, most: f64) -> String {
    let mut pairs = Vec::new();
    if most.is_finite() {
        pairs.push((-FAR, most));
        pairs.push((volts - most * ohms, most));
    } else {
        pairs.push((-FAR, (volts + FAR) / ohms));
    }
    if least.is_finite() {
        pairs.push((volts - least * ohms, least));
        pairs.push((FAR, least));
    } else {
        pairs.push((FAR, (volts - FAR) / ohms));
    }
    pairs.iter().map(|(x, y)| format!(", {x:e}, {y:e}")).collect()
}

/// The simulator with a folder of its own for decks and results.
#[derive(Clone, Debug)]
pub struct Simulator {
    folder: PathBuf,
    /// What the program calls itself.
    pub version: String,
}

impl Simulator {
    /// Finds the program; `folder` is made if it is not there.
    ///
    /// # Errors
    /// If it is not installed or the folder cannot be made.
    pub fn new(folder: &Path) -> Result<Simulator, String> {
        std::fs::create_dir_all(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
        let output =
            Command::new("ngspice").arg("--version").output().map_err(|e| format!("ngspice: {e}"))?;
        let text = String::from_utf8_lossy(&output.stdout);
        let version = text.split_whitespace().find(|word| word.starts_with("ngspice-"));
        let version = version.ok_or("ngspice does not tell its version")?.to_owned();
        Ok(Simulator { folder: folder.to_owned(), version })
    }

    /// Solves all decks, each run in one process.
    ///
    /// # Errors
    /// If the process fails as a whole. A deck without operating point is no error.
    pub fn solve(&self, lists: &[&Netlist], diodes: Diodes, small: Small) -> Result<Solved, String> {
        let mut solved = Solved { volts: vec![None; lists.len()], by_pieces: 0, time: Duration::ZERO };
        let mut work: Vec<(usize, Straight)> =
            lists.iter().enumerate().map(|(index, list)| (index, Straight::new(list))).collect();
        for round in 0..PIECE_ROUNDS {
            if work.is_empty() {
                break;
            }
            let made: Vec<Netlist> = work.iter().map(|(index, pieces)| pieces.list(lists[*index])).collect();
            let refs: Vec<&Netlist> = made.iter().collect();
            let (volts, time) = self.pass(&refs, diodes, small, &vec![None; refs.len()])?;
            solved.time += time;
            let mut still = Vec::new();
            for ((index, mut pieces), volts) in work.into_iter().zip(volts) {
                let Some(volts) = volts else { continue };
                if pieces.step(lists[index], &volts, round >= PIECE_ROUNDS / 3) {
                    still.push((index, pieces));
                } else {
                    solved.volts[index] = Some(volts);
                }
            }
            work = still;
        }
        let limited: Vec<usize> =
            (0..lists.len()).filter(|&index| Straight::limited(lists[index]).next().is_some()).collect();
        if !limited.is_empty() {
            let refs: Vec<&Netlist> = limited.iter().map(|&index| lists[index]).collect();
            let guesses: Vec<Volts> = limited.iter().map(|&index| solved.volts[index].clone()).collect();
            let (volts, time) = self.pass(&refs, diodes, Small::Plain, &guesses)?;
            solved.time += time;
            for (&index, volts) in limited.iter().zip(volts) {
                let sound = |volts: &Vec<f64>| diodes == Diodes::Exponential || holds(lists[index], volts);
                match volts.filter(sound) {
                    Some(volts) => solved.volts[index] = Some(volts),
                    // Without our tables there is no straight piece to stand in.
                    None if diodes == Diodes::Exponential => solved.volts[index] = None,
                    None => solved.by_pieces += 1,
                }
            }
        }
        Ok(solved)
    }

    fn pass(
        &self,
        lists: &[&Netlist],
        diodes: Diodes,
        small: Small,
        guesses: &[Volts],
    ) -> Result<(Vec<Volts>, Duration), String> {
        let say = |e: std::io::Error| format!("{}: {e}", self.folder.display());
        let mut control =
            "* all decks in one process\n.control\noptran 0 0 0 0 0 0\nset appendwrite\nset noprintscale\n"
                .to_owned();
        for (index, list) in lists.iter().enumerate() {
            let title = format!("deck {index}");
            let text = deck(&title, list, diodes, small, guesses[index].as_deref());
            std::fs::write(self.folder.join(format!("d{index}.cir")), text).map_err(say)?;
            control += &format!("source d{index}.cir\nop\nwrite out.raw\ndestroy all\nremcirc\n");
        }
        control += "quit 0\n.endc\n.end\n";
        self.run(&control).and_then(|(raw, time)| Ok((volts(&raw, lists)?, time)))
    }

    /// Runs a control deck; the answer is what it wrote to `out.raw`.
    ///
    /// # Errors
    /// If the process fails.
    pub fn run(&self, control: &str) -> Result<(Vec<u8>, Duration), String> {
        let say = |e: std::io::Error| format!("{}: {e}", self.folder.display());
        let results = self.folder.join("out.raw");
        if results.exists() {
            std::fs::remove_file(&results).map_err(say)?;
        }
        std::fs::write(self.folder.join("main.cir"), control).map_err(say)?;
        let begun = Instant::now();
        let output = Command::new("ngspice")
            .args(["-n", "-b", "main.cir"])
            .current_dir(&self.folder)
            .stdin(std::process::Stdio::null())
            .output()
            .map_err(|e| format!("ngspice: {e}"))?;
        let time = begun.elapsed();
        if !output.status.success() {
            let tail: String = String::from_utf8_lossy(&output.stderr).lines().rev().take(5).collect();
            return Err(format!("ngspice ended with {}: {tail}", output.status));
        }
        Ok((std::fs::read(&results).map_err(say)?, time))
    }

    /// Writes a deck of a caller's own into the folder.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn put(&self, name: &str, text: &str) -> Result<(), String> {
        std::fs::write(self.folder.join(name), text).map_err(|e| format!("{name}: {e}"))
    }
}

/// One result of an appended raw file: its title, and names with values.
pub type Plot = (String, Vec<(String, f64)>);

/// Reads the results out of an appended binary raw file of operating points.
///
/// # Errors
/// If it is cut short.
pub fn plots(raw: &[u8]) -> Result<Vec<Plot>, String> {
    let mut plots = Vec::new();
    let (mut place, mut title, mut names, mut listing) = (0, String::new(), Vec::new(), false);
    while place < raw.len() {
        let end = raw[place..].iter().position(|&byte| byte == b'\n').ok_or("results cut short")?;
        let line = String::from_utf8_lossy(&raw[place..place + end]).into_owned();
        place += end + 1;
        if let Some(rest) = line.strip_prefix("Title:") {
            (title, names, listing) =
                (rest.trim().trim_start_matches('*').trim().to_owned(), Vec::new(), false);
        } else if line.starts_with("Variables:") {
            listing = true;
        } else if line.starts_with("Binary:") {
            let bytes = raw.get(place..place + 8 * names.len()).ok_or("results cut short")?;
            let values = bytes.chunks_exact(8).map(|chunk| {
                let mut eight = [0; 8];
                eight.copy_from_slice(chunk);
                f64::from_le_bytes(eight)
            });
            plots.push((title.clone(), names.drain(..).zip(values).collect()));
            place += bytes.len();
        } else if listing {
            names.push(line.split_whitespace().nth(1).unwrap_or_default().to_owned());
        }
    }
    Ok(plots)
}

fn volts(raw: &[u8], lists: &[&Netlist]) -> Result<Vec<Volts>, String> {
    let mut found: Vec<Volts> = vec![None; lists.len()];
    for (title, values) in plots(raw)? {
        let Some(index) = title.strip_prefix("deck ").and_then(|n| n.parse::<usize>().ok()) else { continue };
        let list = lists.get(index).ok_or("a result without deck")?;
        let mut volts = vec![0.0; list.nodes];
        for (name, value) in values {
            let node = name
                .strip_prefix("v(n")
                .and_then(|rest| rest.strip_suffix(')'))
                .and_then(|n| n.parse::<usize>().ok());
            if let Some(place) = node.and_then(|node| volts.get_mut(node)) {
                *place = value;
            }
        }
        found[index] = Some(volts);
    }
    Ok(found)
}
