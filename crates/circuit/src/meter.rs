//! What a meter shows, the meter itself being part of the circuit.

use crate::current::{carried, conductor_at};
use crate::solve::islands::Islands;
use crate::solve::network::{Corner, Extra, Network, is_sane, siemens};
use crate::solve::settle::Settled;
use crate::solve::{Problem, Solver, Start};
use crate::{BranchId, Circuit, Fault, Ohms, PartId, PointId, ReadError, State, Volts, interval};

/// Input resistance of the meter on volts ("a common amount for a modern digital
/// voltmeter", Lessons In Electric Circuits, SAW).
pub const METER_INPUT: Ohms = 10e6;

/// Hot resistance of the 12 V 21 W test lamp: 12 V × 12 V ÷ 21 W.
pub const TEST_LAMP: Ohms = 144.0 / 21.0;

/// The reference load.
pub const REFERENCE_LOAD: Ohms = 470.0;

/// Above this the meter shows OL.
pub const OVERLOAD: Ohms = 60e6;

/// What stands across the leads beside the meter.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default)]
pub enum Load {
    /// The 10 MΩ meter alone.
    #[default]
    None,
    /// A 12 V 21 W test lamp. Never on references, signals, buses, module outputs or airbag circuits.
    Lamp,
    /// A 470 Ω resistor.
    Reference,
}

/// What the meter is set to.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Measure {
    /// Volts, with this load across the leads.
    Volts(Load),
    /// Ohms, on a dead circuit.
    Ohms,
    /// Amperes in this branch by a clamp around it, which adds nothing to the circuit; an ammeter in series reads the
    /// same but for its shunt. Counted from the red end to the black one, at the black end.
    Amps(BranchId),
    /// An outside source through a resistor into the red lead's point, returning at
    /// the black lead; volts are read at red against black.
    Inject {
        /// Volts of the source.
        volts: Volts,
        /// Resistance in series with it.
        through: Ohms,
    },
}

/// A meter with both leads placed.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Meter {
    /// Red lead.
    pub red: PointId,
    /// Black lead.
    pub black: PointId,
    /// Setting.
    pub measure: Measure,
}

/// What a reading is of.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Quantity {
    /// Volts.
    Volts,
    /// Ohms.
    Ohms,
    /// Amperes.
    Amps,
}

/// A predicted reading.
#[derive(Clone, PartialEq, Debug)]
pub struct Reading {
    /// Volts, ohms or amperes.
    pub quantity: Quantity,
    /// With every value as declared. [`f64::INFINITY`] ohms is OL.
    pub nominal: f64,
    /// Least that tolerances and the meter's accuracy allow.
    pub low: f64,
    /// Most that tolerances and the meter's accuracy allow.
    pub high: f64,
    /// Whether nothing but the meter joins the leads: such a reading wanders.
    pub floating: bool,
    /// Parts whose unknown value this reading goes through.
    pub unknowns: Vec<PartId>,
}

/// A reading at declared values only, without tolerances.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Nominal {
    /// Volts or ohms; infinite ohms is OL.
    pub value: f64,
    /// Whether nothing but the meter joins the leads.
    pub floating: bool,
}

impl Meter {
    /// Volts at `red` against `black` with the meter alone.
    pub fn volts(red: PointId, black: PointId) -> Meter {
        Meter { red, black, measure: Measure::Volts(Load::None) }
    }

    /// Ohms between two points.
    pub fn ohms(red: PointId, black: PointId) -> Meter {
        Meter { red, black, measure: Measure::Ohms }
    }

    /// Volts at `red` against `black` with a load across the leads.
    pub fn loaded(red: PointId, black: PointId, load: Load) -> Meter {
        Meter { red, black, measure: Measure::Volts(load) }
    }

    /// A clamp around a branch at one of its ends, its arrow towards that end: what flows out of the branch there.
    /// At an end that the branch does not have, as at its `b`.
    pub fn clamp(circuit: &Circuit, branch: BranchId, at: PointId) -> Meter {
        let it = circuit.branches.get(branch.index()).map_or((at, at), |it| (it.a, it.b));
        let (red, black) = if it.0 == at { (it.1, it.0) } else { it };
        Meter { red, black, measure: Measure::Amps(branch) }
    }

    /// A clamp around the conductor at a pin ([`conductor_at`]), its arrow towards the pin.
    ///
    /// # Errors
    /// As [`conductor_at`].
    pub fn clamp_at(circuit: &Circuit, pin: PointId) -> Result<Meter, Vec<BranchId>> {
        let branch = conductor_at(circuit, pin)?;
        let it = circuit.branch(branch);
        let mated = |end: PointId| {
            let ends = circuit.branches.iter().map(|b| [b.a, b.b]);
            ends.into_iter().any(|ends| ends.contains(&end) && ends.contains(&pin))
        };
        // Of a pin on the other side of a plug it is the wire's own end.
        let at_a = it.a == pin || (it.b != pin && mated(it.a));
        Ok(Meter::clamp(circuit, branch, if at_a { it.a } else { it.b }))
    }

    /// What the meter shows.
    pub fn quantity(&self) -> Quantity {
        match self.measure {
            Measure::Ohms => Quantity::Ohms,
            Measure::Amps(_) => Quantity::Amps,
            Measure::Volts(_) | Measure::Inject { .. } => Quantity::Volts,
        }
    }

    /// The paths that the meter adds to the circuit.
    pub(crate) fn paths(&self) -> Result<([Extra; 2], usize), Problem> {
        let input = Extra::plain(self.red, self.black, 1.0 / METER_INPUT);
        let (second, count) = match self.measure {
            Measure::Ohms | Measure::Amps(_) => (input, 0),
            Measure::Volts(Load::None) => (input, 1),
            Measure::Volts(Load::Lamp) => {
                (Extra { rated: Some(12.0), conductance: 1.0 / TEST_LAMP, ..input }, 2)
            }
            Measure::Volts(Load::Reference) => (Extra { conductance: 1.0 / REFERENCE_LOAD, ..input }, 2),
            Measure::Inject { volts, through } => {
                let conductance = siemens(through).filter(|_| is_sane(volts)).ok_or(Problem::Fault)?;
                (Extra { conductance, volts, ..input }, 2)
            }
        };
        Ok(([input, second], count))
    }
}

/// Reads one meter in one state. Use a [`Solver`] to read many.
///
/// # Errors
/// As [`ReadError`] says.
pub fn read(circuit: &Circuit, state: &State, faults: &[Fault], meter: &Meter) -> Result<Reading, ReadError> {
    Solver::new(circuit).read(state, faults, meter)
}

impl Solver<'_> {
    /// What the meter shows, with its interval from all tolerances.
    ///
    /// # Errors
    /// As [`ReadError`] says.
    pub fn read(&self, state: &State, faults: &[Fault], meter: &Meter) -> Result<Reading, ReadError> {
        interval::read(self, state, faults, meter).map_err(|p| self.name(p))
    }

    /// What the meter shows at declared values: one solve, for whoever needs thousands.
    ///
    /// # Errors
    /// As [`ReadError`] says.
    pub fn nominal(&self, state: &State, faults: &[Fault], meter: &Meter) -> Result<Nominal, ReadError> {
        self.measure(state, faults, meter, Corner::NOMINAL).map_err(|p| self.name(p))
    }

    /// As [`Solver::nominal`], with every lamp, the test lamp too, at its filament law instead of its
    /// hot resistance. Real lamps lie near this figure; decide by signs and large gaps only.
    ///
    /// # Errors
    /// As [`ReadError`] says.
    pub fn filament(&self, state: &State, faults: &[Fault], meter: &Meter) -> Result<Nominal, ReadError> {
        let corner = Corner { filament: true, ..Corner::NOMINAL };
        self.measure(state, faults, meter, corner).map_err(|p| self.name(p))
    }

    /// One reading at one corner of the tolerances; the work buffers keep its network.
    pub(crate) fn measure(
        &self,
        state: &State,
        faults: &[Fault],
        meter: &Meter,
        corner: Corner,
    ) -> Result<Nominal, Problem> {
        let (paths, count) = meter.paths()?;
        let points = self.circuit.points.len();
        if meter.red.index() >= points || meter.black.index() >= points {
            return Err(Problem::Unknown);
        }
        self.run(state, faults, &paths[..count], corner, Start::Rest)?;
        let work = self.work();
        let islands = Islands::of(&work.network, &work.settled, count);
        let (red, black) = (work.place(meter.red), work.place(meter.black));
        let floating = !islands.same(red, black);
        match meter.measure {
            Measure::Ohms => {}
            Measure::Amps(branch) => {
                let carried = carried(self, faults, branch, meter.black)?;
                let value = carried.amps(&work.network, &work.settled);
                return Ok(Nominal { value, floating: false });
            }
            Measure::Volts(_) | Measure::Inject { .. } => {
                let value = work.settled.volts[red] - work.settled.volts[black];
                return Ok(Nominal { value, floating });
            }
        }
        let (network, settled) = (&work.network, &work.settled);
        let negative = self.circuit.negative.map(|point| work.place(point));
        self.refuse_live(network, settled, &islands, negative, [red, black])?;
        if floating {
            return Ok(Nominal { value: f64::INFINITY, floating });
        }
        let mut unit = Vec::new();
        work.unit_current(&[(red, black, 1.0)], &mut unit);
        let ohms = unit[red] - unit[black];
        Ok(Nominal { value: if ohms > OVERLOAD { f64::INFINITY } else { ohms }, floating })
    }

    /// The bare number of a reading at a corner, started from where the nominal reading of the
    /// same state, faults and meter stood, which has to be the last one measured.
    pub(crate) fn at_corner(
        &self,
        state: &State,
        faults: &[Fault],
        meter: &Meter,
        corner: Corner,
    ) -> Result<f64, Problem> {
        let (paths, count) = meter.paths()?;
        self.run(state, faults, &paths[..count], corner, Start::Kept)?;
        let work = self.work();
        let (red, black) = (work.place(meter.red), work.place(meter.black));
        match meter.measure {
            Measure::Ohms => {}
            Measure::Amps(branch) => {
                let carried = carried(self, faults, branch, meter.black)?;
                return Ok(carried.amps(&work.network, &work.settled));
            }
            Measure::Volts(_) | Measure::Inject { .. } => {
                return Ok(work.settled.volts[red] - work.settled.volts[black]);
            }
        }
        let mut unit = Vec::new();
        work.unit_current(&[(red, black, 1.0)], &mut unit);
        Ok((unit[red] - unit[black]).min(OVERLOAD))
    }

    /// Refuses ohms where a source shares the leads' island, or where a lead rests on a live wire.
    pub(crate) fn refuse_live(
        &self,
        network: &Network,
        settled: &Settled,
        islands: &Islands,
        negative: Option<usize>,
        leads: [usize; 2],
    ) -> Result<(), Problem> {
        /// What still counts as dead, the limit for bus ohms in the worked scenarios.
        const DEAD: Volts = 0.05;
        let [red, black] = leads;
        let stands_live = |lead: usize| {
            negative.is_some_and(|ground| {
                islands.same(lead, ground) && (settled.volts[lead] - settled.volts[ground]).abs() >= DEAD
            })
        };
        for (edge, part) in self.live_edges(network) {
            let (a, _) = settled.ends[edge as usize];
            let drives = |lead: usize| islands.same(a as usize, lead);
            let between = islands.same(red, black) && drives(red);
            let on_a_lead = leads.into_iter().any(|lead| drives(lead) && stands_live(lead));
            if between || on_a_lead {
                return Err(Problem::Live(part));
            }
        }
        Ok(())
    }

    /// Every edge that drives something now.
    fn live_edges<'w>(&'w self, network: &'w Network) -> impl Iterator<Item = (u32, PartId)> + 'w {
        let outputs = network.devices.iter().filter(move |device| {
            device.most > 0.0
                // One that is held down to nothing by a dead feed drives nothing.
                && device.volts.abs() > 1e-6
                && network.modules.get(device.module as usize).is_some_and(|m| m.awake)
        });
        network
            .sources
            .iter()
            .copied()
            .chain(outputs.map(|d| (d.edge, self.circuit.branches[d.edge as usize].part)))
    }
}
