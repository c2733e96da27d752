//! One row of the table: a set of faults and all meters.

use std::sync::Arc;

use crate::meter::OVERLOAD;
use crate::solve::islands::Islands;
use crate::solve::network::{Corner, Extra, Network};
use crate::solve::settle::{self, Afresh, Linear, Settled};
use crate::solve::{Problem, Solver, assemble};
use crate::{Fault, Meter, Nominal, PointId, Quantity, State};

use super::Counts;
use super::base::Base;
use super::stage::{Kind, Leads, Stage};
use super::update::Update;

/// Noise that a reading may carry: volts, and ohms against the reading.
const QUIET: f64 = 1e-11;

/// Fills row after row with buffers of its own.
pub(super) struct Worker<'t, 'c> {
    solver: &'t Solver<'c>,
    state: &'t State,
    update: Update<'t, 'c>,
    /// The faulty network without a meter.
    network: Network,
    settled: Settled,
    /// The same with a meter that moves something.
    other: (Network, Settled),
}

/// The faulty network, settled.
struct Faulty {
    stages: Vec<Stage>,
    /// Its reported standing among the stages, or why there is none.
    end: Result<usize, Problem>,
    islands: Islands,
}

impl<'t, 'c> Worker<'t, 'c> {
    pub(super) fn new(
        solver: &'t Solver<'c>,
        state: &'t State,
        bases: &'t [Base],
        updates: bool,
    ) -> Worker<'t, 'c> {
        Worker {
            solver,
            state,
            update: Update::new(solver, bases, updates),
            network: Network::default(),
            settled: Settled::default(),
            other: (Network::default(), Settled::default()),
        }
    }

    pub(super) fn counts(&self) -> Counts {
        self.update.counts
    }

    /// What all meters read under these faults.
    pub(super) fn row(&mut self, faults: &[Fault], meters: &[Meter]) -> Vec<Result<Nominal, Problem>> {
        match self.faulty(faults) {
            Ok(mut faulty) => meters.iter().map(|meter| self.cell(&mut faulty, faults, meter)).collect(),
            Err(problem) => meters
                .iter()
                .map(|meter| {
                    self.leads(meter)?;
                    Err(problem.clone())
                })
                .collect(),
        }
    }

    fn place(&self, point: PointId) -> usize {
        self.solver.base.position(point.0)
    }

    /// The meter's paths and what they amount to.
    fn leads(&self, meter: &Meter) -> Result<([Extra; 2], usize, Leads), Problem> {
        let (paths, count) = meter.paths()?;
        let points = self.solver.circuit.points.len();
        if meter.red.index() >= points || meter.black.index() >= points {
            return Err(Problem::Unknown);
        }
        let on = &paths[..count];
        let leads = Leads {
            ends: (self.place(meter.red) as u32, self.place(meter.black) as u32),
            conductance: on.iter().map(|path| path.conductance).sum(),
            current: on.iter().map(|path| path.conductance * path.volts).sum(),
        };
        Ok((paths, count, leads))
    }

    /// Assembles the network with these faults and these paths of a meter.
    fn assemble(&mut self, faults: &[Fault], meter: &[Extra], other: bool) -> Result<(), Problem> {
        let (network, settled) = if other {
            (&mut self.other.0, &mut self.other.1)
        } else {
            (&mut self.network, &mut self.settled)
        };
        let extra = &mut self.update.extra;
        extra.clear();
        assemble::extra_edges(self.solver, faults, extra)?;
        extra.extend(meter.iter().map(|path| (path.a.0, path.b.0)));
        let base = &self.solver.base;
        let place = |&(a, b): &(u32, u32)| (base.position(a) as u32, base.position(b) as u32);
        settled.ends.clear();
        settled.ends.extend(self.solver.edges.iter().chain(extra.iter()).map(place));
        network.assemble(self.solver, self.state, faults, meter, &Corner::NOMINAL)
    }

    /// Settles the faulty network without a meter and keeps every standing on the way.
    fn faulty(&mut self, faults: &[Fault]) -> Result<Faulty, Problem> {
        self.assemble(faults, &[], false)?;
        self.update.start(true);
        let done =
            settle::settle(self.solver, &mut self.update, &mut self.network, &mut self.settled, false, false);
        let stages = self.update.stages.take().unwrap_or_default();
        let end = match (done, self.update.end) {
            (Ok(_), Some(end)) => Ok(end),
            (Ok(_), None) => Err(Problem::Fault),
            (Err(problem), _) => Err(problem),
        };
        Ok(Faulty { stages, end, islands: Islands::of(&self.network, &self.settled, 0) })
    }

    fn cell(&mut self, faulty: &mut Faulty, faults: &[Fault], meter: &Meter) -> Result<Nominal, Problem> {
        let (paths, count, leads) = self.leads(meter)?;
        if !faulty.stages.iter().all(|stage| stage.bears(&mut self.update, leads)) {
            return self.resettle(faults, &paths[..count], leads);
        }
        let end = faulty.end.clone()?;
        let (red, black) = (leads.ends.0 as usize, leads.ends.1 as usize);
        let floating = !faulty.islands.same(red, black);
        let quantity = meter.quantity();
        if quantity == Quantity::Ohms {
            let negative = self.solver.circuit.negative.map(|point| self.place(point));
            let leads = [red, black];
            self.solver.refuse_live(&self.network, &self.settled, &faulty.islands, negative, leads)?;
            if floating {
                return Ok(Nominal { value: f64::INFINITY, floating });
            }
        }
        if red == black {
            return Ok(Nominal { value: 0.0, floating });
        }
        if !faulty.stages[end].joined(&self.update, leads.ends) {
            let own = if leads.conductance > 0.0 { leads.current / leads.conductance } else { 0.0 };
            return Ok(Nominal { value: own, floating });
        }
        loop {
            let stage = &faulty.stages[end];
            let (volts, shown) = (stage.across(leads.ends), stage.shown(&mut self.update, leads.ends));
            let (value, noise) = match quantity {
                Quantity::Volts => (leads.volts(volts, shown.ohms), leads.noise(volts, &shown)),
                Quantity::Ohms => (shown.ohms, shown.noise / shown.ohms.abs().max(1e-3)),
            };
            if noise <= QUIET || matches!(stage.kind, Kind::Fresh(..)) {
                let over = quantity == Quantity::Ohms && value > OVERLOAD;
                return Ok(Nominal { value: if over { f64::INFINITY } else { value }, floating });
            }
            self.sharpen(&mut faulty.stages[end], faults)?;
        }
    }

    /// Gives a row's reported standing a factor of its own.
    fn sharpen(&mut self, stage: &mut Stage, faults: &[Fault]) -> Result<(), Problem> {
        let extra = &mut self.update.extra;
        extra.clear();
        assemble::extra_edges(self.solver, faults, extra)?;
        let pattern = self.solver.pattern(extra);
        Afresh(&pattern).solve(&self.network, &mut self.settled);
        self.update.counts.refactored += 1;
        stage.volts.clone_from(&self.settled.volts);
        stage.kind = Kind::Fresh(Arc::clone(&pattern), self.settled.values.clone());
        Ok(())
    }

    /// Settles the network with the meter on, from rest.
    fn resettle(&mut self, faults: &[Fault], paths: &[Extra], leads: Leads) -> Result<Nominal, Problem> {
        self.update.counts.resettled += 1;
        self.assemble(faults, paths, true)?;
        self.update.start(false);
        let (network, settled) = (&mut self.other.0, &mut self.other.1);
        settle::settle(self.solver, &mut self.update, network, settled, false, false)?;
        let (red, black) = (leads.ends.0 as usize, leads.ends.1 as usize);
        let islands = Islands::of(network, settled, paths.len());
        Ok(Nominal { value: settled.volts[red] - settled.volts[black], floating: !islands.same(red, black) })
    }
}
