//! One row of the table: a set of faults and all meters.

use std::sync::Arc;

use crate::current::carried;
use crate::interval::{Asked, Each, Sweep};
use crate::meter::OVERLOAD;
use crate::solve::islands::Islands;
use crate::solve::network::{Corner, Extra, Network};
use crate::solve::settle::{self, Afresh, Linear, Settled};
use crate::solve::{Problem, Solver, assemble};
use crate::{Fault, Measure, Meter, Nominal, PointId, Quantity, State};

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
    corner: Corner,
    /// Whether every reading comes with what parts make of it that vary each on its own.
    sweeps: bool,
    update: Update<'t, 'c>,
    /// The faulty network without a meter.
    network: Network,
    settled: Settled,
    /// The same with a meter that moves something.
    other: (Network, Settled),
}

/// A reading, and its deviations where they were asked for.
pub(super) type Read = (Nominal, Option<Each>);

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
        how: How,
    ) -> Worker<'t, 'c> {
        let How { updates, corner, sweeps } = how;
        Worker {
            solver,
            state,
            corner,
            sweeps,
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
    pub(super) fn row(&mut self, faults: &[Fault], meters: &[Meter]) -> Vec<Result<Read, Problem>> {
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
        let supply = self.solver.supply(self.state);
        network.assemble(self.solver, self.state, faults, meter, &self.corner, supply)
    }

    /// Settles the faulty network without a meter and keeps every standing on the way.
    fn faulty(&mut self, faults: &[Fault]) -> Result<Faulty, Problem> {
        self.assemble(faults, &[], false)?;
        self.update.start(true);
        let (network, settled) = (&mut self.network, &mut self.settled);
        let done =
            settle::settle(self.solver, &mut self.update, network, settled, self.corner.filament, false);
        if self.corner.filament && done.is_ok() {
            // The lamps found their resistance after the standing was reached.
            self.update.reached();
        }
        let stages = self.update.stages.take().unwrap_or_default();
        let end = match (done, self.update.end) {
            (Ok(_), Some(end)) => Ok(end),
            (Ok(_), None) => Err(Problem::Fault),
            (Err(problem), _) => Err(problem),
        };
        Ok(Faulty { stages, end, islands: Islands::of(&self.network, &self.settled, 0) })
    }

    fn cell(&mut self, faulty: &mut Faulty, faults: &[Fault], meter: &Meter) -> Result<Read, Problem> {
        let (paths, count, leads) = self.leads(meter)?;
        // A lamp across the leads follows its own volts.
        let follows = self.corner.filament && paths[..count].iter().any(|path| path.rated.is_some());
        if follows || !faulty.stages.iter().all(|stage| stage.bears(&mut self.update, leads)) {
            return self.resettle(faults, &paths[..count], leads, meter);
        }
        let end = faulty.end.clone()?;
        let (red, black) = (leads.ends.0 as usize, leads.ends.1 as usize);
        let floating = !faulty.islands.same(red, black);
        let plain = |value: f64| Ok((Nominal { value, floating }, self.sweeps.then(Each::default)));
        let quantity = meter.quantity();
        if quantity == Quantity::Amps {
            return self.amps(&faulty.stages[end], faults, meter);
        }
        if quantity == Quantity::Ohms {
            let negative = self.solver.circuit.negative.map(|point| self.place(point));
            let leads = [red, black];
            self.solver.refuse_live(&self.network, &self.settled, &faulty.islands, negative, leads)?;
            if floating {
                return plain(f64::INFINITY);
            }
        }
        if red == black {
            return plain(0.0);
        }
        if !faulty.stages[end].joined(&self.update, leads.ends) {
            return plain(if leads.conductance > 0.0 { leads.current / leads.conductance } else { 0.0 });
        }
        loop {
            let stage = &faulty.stages[end];
            let (volts, shown) = (stage.across(leads.ends), stage.shown(&mut self.update, leads.ends));
            let (value, noise) = match quantity {
                Quantity::Volts | Quantity::Amps => {
                    (leads.volts(volts, shown.ohms), leads.noise(volts, &shown))
                }
                Quantity::Ohms => (shown.ohms, shown.noise / shown.ohms.abs().max(1e-3)),
            };
            if noise <= QUIET || matches!(stage.kind, Kind::Fresh(..)) {
                let over = quantity == Quantity::Ohms && value > OVERLOAD;
                let value = if over { f64::INFINITY } else { value };
                let asked = Asked::of(self.solver, faults, meter)?;
                let each = self.sweeps.then(|| {
                    let unit = stage.unit(&mut self.update, leads.ends);
                    // The meter takes its part of the ampere, and its own current moves the volts.
                    let loaded = 1.0 / (1.0 + shown.ohms * leads.conductance);
                    let amps = leads.amps(volts, shown.ohms);
                    let ends = &self.settled.ends;
                    let between = |volts: &[f64], index: usize| {
                        let (a, b) = ends[index];
                        volts[a as usize] - volts[b as usize]
                    };
                    let sweep = Sweep {
                        solver: self.solver,
                        conductance: &self.network.conductance,
                        whole: (shown.ohms * loaded).abs(),
                        through: &|index| between(&unit, index) * loaded,
                        across: &|index| between(&stage.volts, index) + amps * between(&unit, index),
                    };
                    sweep.each(&asked)
                });
                return Ok((Nominal { value, floating }, each));
            }
            self.sharpen(&mut faulty.stages[end], faults)?;
        }
    }

    /// Current by a clamp, which no standing feels. A wire's current is the difference of volts that hardly differ, so
    /// that it is read on a factor of its own where updates leave too little of it.
    fn amps(&mut self, stage: &Stage, faults: &[Fault], meter: &Meter) -> Result<Read, Problem> {
        let Measure::Amps(branch) = meter.measure else { return Err(Problem::Fault) };
        let carried = carried(self.solver, faults, branch, meter.black)?;
        let extra = &mut self.update.extra;
        extra.clear();
        assemble::extra_edges(self.solver, faults, extra)?;
        let pattern = self.solver.pattern(extra);
        let mut fresh = Settled { ends: self.settled.ends.clone(), ..Settled::default() };
        let value = match stage.kind {
            Kind::Fresh(..) => {
                fresh.volts.clone_from(&stage.volts);
                carried.amps(&self.network, &fresh)
            }
            Kind::Updated(..) => {
                Afresh(&pattern).solve(&self.network, &mut fresh);
                self.update.counts.refactored += 1;
                carried.amps(&self.network, &fresh)
            }
        };
        let each = self.sweeps.then(|| {
            if fresh.solves == 0 {
                Afresh(&pattern).solve(&self.network, &mut fresh);
            }
            let mut unit = vec![0.0; pattern.points()];
            for &(edge, sense) in &carried.0 {
                let (a, b) = fresh.ends[edge as usize];
                let amps = sense * self.network.conductance[edge as usize];
                if a != b && fresh.values.joined(a as usize, b as usize) {
                    unit[a as usize] += amps;
                    unit[b as usize] -= amps;
                }
            }
            pattern.solve(&fresh.values, &mut unit);
            let sweep = Sweep {
                solver: self.solver,
                conductance: &self.network.conductance,
                whole: 1.0,
                through: &|index| {
                    let (a, b) = fresh.ends[index];
                    unit[a as usize] - unit[b as usize]
                },
                across: &|index| fresh.across(index as u32),
            };
            sweep.each(&Asked::Amps(carried.0.clone()))
        });
        Ok((Nominal { value, floating: false }, each))
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
    fn resettle(
        &mut self,
        faults: &[Fault],
        paths: &[Extra],
        leads: Leads,
        meter: &Meter,
    ) -> Result<Read, Problem> {
        self.update.counts.resettled += 1;
        self.assemble(faults, paths, true)?;
        self.update.start(false);
        let (network, settled) = (&mut self.other.0, &mut self.other.1);
        settle::settle(self.solver, &mut self.update, network, settled, self.corner.filament, false)?;
        let (red, black) = (leads.ends.0 as usize, leads.ends.1 as usize);
        let floating = !Islands::of(network, settled, paths.len()).same(red, black);
        let value = settled.volts[red] - settled.volts[black];
        let asked = Asked::of(self.solver, faults, meter)?;
        let each = self.sweeps.then(|| {
            let ends = &settled.ends[..self.solver.edges.len()];
            let asks: Vec<(u32, u32)> = ends.iter().copied().chain([leads.ends]).collect();
            let unit = self.update.unit_volts(network, settled, leads.ends, &asks);
            let unit = unit.unwrap_or_else(|| vec![0.0; asks.len()]);
            let sweep = Sweep {
                solver: self.solver,
                conductance: &network.conductance,
                whole: unit.last().map_or(0.0, |ohms| ohms.abs()),
                through: &|index| unit[index],
                across: &|index| settled.across(index as u32),
            };
            sweep.each(&asked)
        });
        Ok((Nominal { value, floating }, each))
    }
}

/// How a table is filled.
#[derive(Clone, Copy)]
pub(super) struct How {
    /// False to factor afresh every time.
    pub(super) updates: bool,
    pub(super) corner: Corner,
    pub(super) sweeps: bool,
}

impl How {
    /// At declared values, by updates.
    pub(super) const NOMINAL: How = How { updates: true, corner: Corner::NOMINAL, sweeps: false };
}
