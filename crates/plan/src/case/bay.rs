//! A car on paper with a fault hidden in it: actions cost minutes, a meter shows what the fault gives, and what is
//! dangerous or tells nothing is refused.

use std::collections::BTreeSet;

use halfsplit_circuit::{
    BranchKind, Circuit, ConnectorId, Fault, Load, Measure, Meter, Minutes, PointId, Quantity, ReadError,
    Solver, State, net,
};

use super::Observation;
use super::evidence::within;
use crate::legal;
use crate::plan::Plan;
use crate::predict::Span;
use crate::request::Costs;

/// The car, the hidden fault, and what was done so far.
pub struct Bay<'c> {
    circuit: &'c Circuit,
    solver: Solver<'c>,
    hidden: Vec<Fault>,
    costs: Costs,
    /// The state of the car.
    pub state: State,
    /// Minutes used.
    pub minutes: Minutes,
    reached: BTreeSet<ConnectorId>,
    meter: Option<PointId>,
    /// Positions in the plan's suspects that the readings still allow.
    alive: Vec<usize>,
}

/// What a reading showed.
#[derive(Clone, PartialEq, Debug)]
pub struct Shown {
    /// What the meter shows.
    pub value: f64,
    /// Volts or ohms.
    pub quantity: Quantity,
    /// Whether nothing but the meter joins its leads.
    pub floating: bool,
    /// Repair units that this reading eliminates.
    pub eliminates: Vec<String>,
    /// Repair units that are left.
    pub left: Vec<String>,
}

impl<'c> Bay<'c> {
    /// A car in this state with these faults hidden in it.
    pub fn new(circuit: &'c Circuit, plan: &Plan, state: State, hidden: Vec<Fault>) -> Bay<'c> {
        Bay {
            circuit,
            solver: Solver::new(circuit),
            hidden,
            costs: Costs::default(),
            state,
            minutes: 0.0,
            reached: BTreeSet::new(),
            meter: None,
            alive: (0..plan.suspects.len()).collect(),
        }
    }

    /// Parts a connector.
    ///
    /// # Errors
    /// Why it must not, or cannot, be parted.
    pub fn part(&mut self, connector: ConnectorId) -> Result<(), String> {
        let it = self.circuit.connector(connector);
        self.barred(connector)?;
        if !self.state.unplugged.insert(connector) {
            return Err(format!("{} is out already", it.name));
        }
        let again = it.repart.unwrap_or(self.costs.repart);
        self.minutes += match self.reached.insert(connector) {
            true => it.reach.unwrap_or(self.costs.unknown_reach) + it.parting.unwrap_or(0.0),
            false => again,
        };
        Ok(())
    }

    /// Mates a connector again.
    ///
    /// # Errors
    /// If it is not out.
    pub fn mate(&mut self, connector: ConnectorId) -> Result<(), String> {
        let it = self.circuit.connector(connector);
        if !self.state.unplugged.remove(&connector) {
            return Err(format!("{} is not out", it.name));
        }
        self.minutes += self.costs.remate.unwrap_or(it.repart.unwrap_or(self.costs.repart));
        Ok(())
    }

    /// Takes the battery off, or puts it on again.
    pub fn battery(&mut self, on: bool) {
        if self.state.battery != on {
            self.state.battery = on;
            self.minutes += self.costs.battery_off;
        }
    }

    /// Takes a reading.
    ///
    /// # Errors
    /// Why it must not be taken, or tells nothing.
    pub fn read(&mut self, plan: &Plan, leads: Meter) -> Result<Shown, String> {
        for lead in [leads.red, leads.black] {
            if let Some((connector, _)) = legal::cavity(self.circuit, lead) {
                self.barred(connector)?;
            }
        }
        if leads.measure == Measure::Volts(Load::Lamp) {
            self.no_lamp(leads)?;
        }
        let shown = match self.solver.nominal(&self.state, &self.hidden, &leads) {
            Ok(shown) => shown,
            Err(error @ ReadError::LiveCircuit { .. }) => return Err(error.to_string()),
            Err(error) => return Err(format!("no steady reading: {error}")),
        };
        self.minutes += self.to(leads.red);
        if leads.measure != Measure::Volts(Load::None) && leads.quantity() == Quantity::Volts {
            self.minutes += self.costs.load;
        }
        let reading = Observation { state: self.state.clone(), leads, reads: [shown.value; 2] };
        let (kept, gone): (Vec<usize>, Vec<usize>) =
            self.alive.iter().partition(|&&at| self.allows(plan, at, &reading));
        self.alive = kept;
        let names = |list: &[usize]| -> BTreeSet<String> {
            list.iter().map(|&at| plan.suspects[at].name.clone()).collect()
        };
        let left = names(&self.alive);
        let eliminates = names(&gone).difference(&left).cloned().collect();
        Ok(Shown {
            value: shown.value,
            quantity: leads.quantity(),
            floating: shown.floating,
            eliminates,
            left: left.into_iter().collect(),
        })
    }

    fn allows(&self, plan: &Plan, at: usize, reading: &Observation) -> bool {
        plan.suspects[at].variants.iter().any(|faults| {
            match self.solver.read(&reading.state, faults, &reading.leads) {
                Ok(r) => within(Span::between(r.nominal, r.low, r.high), reading),
                // Where a suspect predicts nothing in particular, nothing speaks against it.
                Err(_) => true,
            }
        })
    }

    /// Minutes to bring the red lead somewhere.
    fn to(&mut self, red: PointId) -> Minutes {
        if self.meter == Some(red) {
            return 0.0;
        }
        let first = self.meter.replace(red).is_none();
        let Some((connector, _)) = legal::cavity(self.circuit, red) else {
            return self.costs.again;
        };
        match self.reached.insert(connector) {
            true => self.circuit.connector(connector).reach.unwrap_or(self.costs.unknown_reach),
            false if first => 0.0,
            false => self.costs.again,
        }
    }

    fn barred(&self, connector: ConnectorId) -> Result<(), String> {
        let it = self.circuit.connector(connector);
        match legal::barrier(self.circuit, it) {
            Some(caution) => Err(format!(
                "refused: {}: {}; trained people clear it first, by the maker's procedure",
                it.name, caution.words
            )),
            None => Ok(()),
        }
    }

    fn no_lamp(&self, leads: Meter) -> Result<(), String> {
        let there = net(self.circuit, &self.state, leads.red);
        let reference = self
            .circuit
            .branches()
            .any(|(_, b)| matches!(b.kind, BranchKind::Reference { .. }) && there.contains(b.a));
        match reference {
            true => Err(format!(
                "refused: a test lamp at {} pulls the reference down by itself; use the meter, or the 470 Ω resistor",
                self.circuit.point(leads.red).name
            )),
            false => Ok(()),
        }
    }
}
