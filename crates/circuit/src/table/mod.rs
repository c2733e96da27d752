//! Every fault against every reading, in one state.
//!
//! The healthy network is factored once for each standing of its relays and modules. A
//! fault then changes a few branches, and its volts come from that factor by an update
//! of low rank (Sherman–Morrison–Woodbury, `update`); outputs, relays and modules settle on the
//! way exactly as they do from scratch. The meter is one more change of rank one, and closed form
//! as long as it moves no output, relay or module, which is checked (`stage`). An
//! update that would lose digits is given up for a fresh factor, and counted.

mod base;
mod row;
mod spread;
mod stage;
mod update;

use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};

use crate::solve::Problem;
use crate::solve::network::Corner;
use crate::{Fault, Meter, Nominal, ReadError, Solver, State};

use row::{How, Read, Worker};

pub use spread::{Spread, SpreadTable};

/// What every meter reads under every fault, at declared values.
#[derive(Clone, Debug)]
pub struct Table {
    meters: usize,
    cells: Vec<Result<Nominal, ReadError>>,
    counts: Counts,
}

/// How a [`Table`] was computed.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Counts {
    /// Solves by updating a known factor.
    pub updates: u64,
    /// Solves that fell back to a fresh factor, because the fault joins or parts islands, changes
    /// too many branches at once, or would have lost digits.
    pub refactored: u64,
    /// Readings that were settled anew, because the meter itself moves an output, a relay or a module.
    pub resettled: u64,
}

impl Counts {
    fn add(&mut self, other: Counts) {
        self.updates += other.updates;
        self.refactored += other.refactored;
        self.resettled += other.resettled;
    }
}

impl Table {
    /// What the meter of this place reads under the faults of this place.
    ///
    /// # Errors
    /// As [`ReadError`] says; [`ReadError::Malformed`] outside the table.
    pub fn at(&self, faults: usize, meter: usize) -> Result<Nominal, ReadError> {
        let place = faults.saturating_mul(self.meters).saturating_add(meter);
        let cell = self.cells.get(place).filter(|_| meter < self.meters);
        cell.cloned()
            .unwrap_or_else(|| Err(ReadError::Malformed { what: "no such place in the table".to_owned() }))
    }

    /// The readings under the faults of this place, meter by meter; empty outside the table.
    pub fn row(&self, faults: usize) -> &[Result<Nominal, ReadError>] {
        let start = faults.saturating_mul(self.meters);
        self.cells.get(start..start.saturating_add(self.meters)).unwrap_or(&[])
    }

    /// How it was computed.
    pub fn counts(&self) -> Counts {
        self.counts
    }
}

/// How many threads the machine runs at once; asked of the system once, for asking reads files.
pub fn processors() -> usize {
    static KNOWN: OnceLock<usize> = OnceLock::new();
    *KNOWN.get_or_init(|| std::thread::available_parallelism().map_or(1, |n| n.get()))
}

impl Solver<'_> {
    /// What every meter reads under each set of faults that are there together, as
    /// [`Solver::nominal`] reads them; an empty set is the healthy circuit. Works on all processors.
    pub fn table(&self, state: &State, faults: &[Vec<Fault>], meters: &[Meter]) -> Table {
        self.table_on(processors(), state, faults, meters)
    }

    /// As [`Solver::table`], on so many threads.
    pub fn table_on(&self, threads: usize, state: &State, faults: &[Vec<Fault>], meters: &[Meter]) -> Table {
        self.readings(threads, How::NOMINAL, state, faults, meters)
    }

    /// As [`Solver::table`], with every lamp, the test lamp too, at its filament law instead of its hot resistance.
    pub fn filament_table(&self, state: &State, faults: &[Vec<Fault>], meters: &[Meter]) -> Table {
        let corner = Corner { filament: true, ..Corner::NOMINAL };
        self.readings(processors(), How { corner, ..How::NOMINAL }, state, faults, meters)
    }

    /// The same table without updates: a fresh numeric factor for each fault on the layout that is
    /// there, and the meters on that factor. What updates have to beat.
    pub fn table_refactored(&self, state: &State, faults: &[Vec<Fault>], meters: &[Meter]) -> Table {
        self.readings(1, How { updates: false, ..How::NOMINAL }, state, faults, meters)
    }

    fn readings(
        &self,
        threads: usize,
        how: How,
        state: &State,
        faults: &[Vec<Fault>],
        meters: &[Meter],
    ) -> Table {
        match self.fill(threads, how, state, faults, meters) {
            Some((cells, counts)) => {
                let cells = cells.into_iter().map(|cell| cell.map(|(nominal, _)| nominal)).collect();
                Table { meters: meters.len(), cells, counts }
            }
            None => self.table_afresh(state, faults, meters),
        }
    }

    /// Every cell, row by row; `None` where not even the healthy network can be assembled.
    fn fill(
        &self,
        threads: usize,
        how: How,
        state: &State,
        faults: &[Vec<Fault>],
        meters: &[Meter],
    ) -> Option<(Vec<Result<Read, ReadError>>, Counts)> {
        let bases = base::of(self, state, &how.corner).ok()?;
        let next = AtomicUsize::new(0);
        let work = |solver: &Solver<'_>| {
            let mut worker = Worker::new(solver, state, &bases, how);
            let mut rows = Vec::new();
            loop {
                let row = next.fetch_add(1, Ordering::Relaxed);
                let Some(faults) = faults.get(row) else { break };
                let named = |cell: Result<Read, Problem>| cell.map_err(|problem| solver.name(problem));
                rows.push((row, worker.row(faults, meters).into_iter().map(named).collect::<Vec<_>>()));
            }
            (rows, worker.counts())
        };
        let helpers = threads.clamp(1, faults.len().div_ceil(ROWS_WORTH_A_THREAD).max(1)) - 1;
        let work = &work;
        let mut done = std::thread::scope(|scope| {
            let helpers: Vec<_> = (0..helpers)
                .map(|_| {
                    let solver = self.fork();
                    scope.spawn(move || work(&solver))
                })
                .collect();
            let mut done = vec![work(self)];
            for helper in helpers {
                match helper.join() {
                    Ok(rows) => done.push(rows),
                    Err(panic) => std::panic::resume_unwind(panic),
                }
            }
            done
        });
        let mut counts = Counts::default();
        let mut rows = Vec::with_capacity(faults.len());
        for (some, own) in &mut done {
            rows.append(some);
            counts.add(*own);
        }
        rows.sort_by_key(|&(row, _)| row);
        Some((rows.into_iter().flat_map(|(_, cells)| cells).collect(), counts))
    }

    /// The same table with every reading solved from scratch.
    pub fn table_afresh(&self, state: &State, faults: &[Vec<Fault>], meters: &[Meter]) -> Table {
        let mut counts = Counts::default();
        let mut cells = Vec::with_capacity(faults.len() * meters.len());
        for faults in faults {
            for meter in meters {
                let cell = self.measure(state, faults, meter, Corner::NOMINAL);
                counts.refactored += u64::from(self.work().settled.solves);
                cells.push(cell.map_err(|problem| self.name(problem)));
            }
        }
        Table { meters: meters.len(), cells, counts }
    }
}

/// Fewer rows than this are done sooner than a thread starts.
const ROWS_WORTH_A_THREAD: usize = 16;
