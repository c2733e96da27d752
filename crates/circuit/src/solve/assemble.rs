//! Filling in a network from the circuit, a state, faults and the meter.

use crate::{
    Branch, BranchId, BranchKind, Circuit, Fault, FaultKind, Key, Ohms, PartId, PointId, State, UNKNOWN_WIRE,
};

use crate::net::share_of_supply;

use super::network::{
    Coil, Contact, Corner, Device, Extra, FeedEdge, HeldReference, LampEdge, ModuleState, Network, Piece,
    Regulator, is_sane, siemens,
};
use super::supply::Supply;
use super::{NOT_A_MODULE, Problem, Solver};

/// What the faults do to one branch.
#[derive(Clone, Copy, Debug, Default)]
struct Change {
    added: Ohms,
    dead: bool,
    stuck: Option<Ohms>,
    chafe: Option<Chafe>,
}

/// What a wire is rubbed through to, and what it amounts to.
#[derive(Clone, Copy, Debug)]
enum Chafe {
    /// A point, from so far along.
    Point(f64, Ohms),
    /// Another wire: this one is the first of the two or the second.
    Wire { first: bool, one: (BranchId, f64), other: (BranchId, f64), ohms: Ohms },
}

impl Network {
    /// Fills in everything that does not depend on what is awake or pulled in.
    pub(crate) fn assemble(
        &mut self,
        solver: &Solver<'_>,
        state: &State,
        faults: &[Fault],
        meter: &[Extra],
        corner: &Corner,
        supply: Option<Supply>,
    ) -> Result<(), Problem> {
        let circuit = solver.circuit;
        self.clear(solver, state);
        self.fault_paths(solver, state, faults)?;
        let plain = faults.is_empty();
        for (id, branch) in circuit.branches() {
            let index = id.index();
            if solver.idle.get(index).is_some_and(|idle| *idle) {
                continue;
            }
            let change = if plain { Change::default() } else { change_of(faults, id) };
            let part = branch.part;
            let out = !state.pulled.is_empty() && state.pulled.contains(&part);
            let of = |ohms: Ohms| siemens(ohms).ok_or(Problem::Resistance(part));
            let sane = |value: f64| if is_sane(value) { Ok(value) } else { Err(Problem::Resistance(part)) };
            let added = change.added;
            let edge = index as u32;
            let conductance = match &branch.kind {
                _ if out => 0.0,
                BranchKind::RelayContact { .. } | BranchKind::Switch { .. } | BranchKind::Driver { .. }
                    if change.stuck.is_some() =>
                {
                    of(change.stuck.unwrap_or(f64::NAN) + added)?
                }
                BranchKind::Wire { ohms, .. } => {
                    let own = ohms.unwrap_or(UNKNOWN_WIRE);
                    self.wire(solver, faults, id, own, &change)?
                }
                BranchKind::Mated { connector, ohms } => {
                    if !state.unplugged.is_empty() && state.unplugged.contains(connector) {
                        0.0
                    } else {
                        of(ohms + added)?
                    }
                }
                BranchKind::Joint { ohms } | BranchKind::Fuse { ohms, .. } => of(ohms + added)?,
                BranchKind::Switch { ohms, closed } => {
                    if !change.dead && circuit.holds(closed, part, state) {
                        of(ohms + added)?
                    } else {
                        0.0
                    }
                }
                BranchKind::Load { ohms, active } => match ohms {
                    Some(ohms) if circuit.holds(active, part, state) => of(ohms * corner.load + added)?,
                    _ => 0.0,
                },
                BranchKind::RelayContact { ohms, coil, closed_at_rest } => {
                    if !change.dead {
                        let conductance = of(ohms + added)?;
                        let coil = solver.coil_of[coil.index()];
                        let closed_at_rest = *closed_at_rest;
                        self.contacts.push(Contact { edge, conductance, coil, closed_at_rest });
                    }
                    0.0
                }
                BranchKind::Coil { ohms, pull_in, drop_out, .. } => {
                    let ohms = ohms * corner.load;
                    let coil = Coil {
                        edge,
                        pull_in: sane(*pull_in)?,
                        drop_out: sane(*drop_out)?,
                        share: ohms / (ohms + added),
                        pulled: false,
                    };
                    if let Some(place) = self.coils.get_mut(solver.coil_of[index] as usize) {
                        *place = coil;
                    }
                    of(ohms + added)?
                }
                BranchKind::Lamp { hot, rated } => {
                    let conductance = of(hot + added)?;
                    let lamp = LampEdge { edge, hot: *hot, rated: *rated, ohms: *hot, added };
                    self.lamps.push(lamp);
                    conductance
                }
                BranchKind::Diode { forward, ohms } => {
                    let conductance = of(ohms + added)?;
                    self.devices.push(Device::valve(edge, sane(*forward)?, conductance, NOT_A_MODULE));
                    0.0
                }
                BranchKind::Source { volts, inner } => {
                    let conductance = of(inner + added)?;
                    if state.battery && conductance > 0.0 {
                        let own = match supply {
                            Some(supply) => share_of_supply(circuit, branch, *volts, supply.open),
                            None => *volts,
                        };
                        self.current[index] = sane(own + corner.supply)? * conductance;
                        self.sources.push((edge, part));
                        conductance
                    } else {
                        0.0
                    }
                }
                BranchKind::Generator { volts, inner, limit, sense, lost, fallback, ceiling, turning } => {
                    let conductance = of(inner + added)?;
                    if state.battery && conductance > 0.0 && circuit.holds(turning, part, state) {
                        let more = supply.map_or(0.0, |supply| supply.regulated);
                        self.regulators.push(Regulator {
                            device: self.devices.len(),
                            sense: solver.base.position(sense.0) as u32,
                            wanted: sane(*volts + more)?,
                            lost: sane(*lost)?,
                            fallback: sane(*fallback + more)?,
                            ceiling: sane(*ceiling)?,
                            sensing: true,
                            before: None,
                        });
                        self.devices.push(Device {
                            edge,
                            volts: *volts,
                            conductance,
                            least: 0.0,
                            most: match limit {
                                Some(amps) => sane(amps.max(0.0))? * corner.limit,
                                None => f64::INFINITY,
                            },
                            module: NOT_A_MODULE,
                            asleep: 0.0,
                            latches: false,
                            piece: Piece::Linear,
                        });
                        self.sources.push((edge, part));
                    }
                    0.0
                }
                BranchKind::Reference { volts, inner, limit, unpowered, sinks, latches } => {
                    let asleep = of(unpowered + added)?;
                    if change.dead {
                        asleep
                    } else {
                        let most = match limit {
                            Some(amps) => sane(amps.max(0.0))? * corner.limit,
                            None => f64::INFINITY,
                        };
                        let wanted = sane(*volts)? * corner.reference;
                        self.references.push(HeldReference {
                            device: self.devices.len(),
                            wanted,
                            before: None,
                        });
                        self.devices.push(Device {
                            edge,
                            volts: wanted,
                            conductance: of(inner + added)?,
                            least: if *sinks { -most } else { 0.0 },
                            most,
                            module: solver.module_of[index],
                            asleep,
                            latches: *latches,
                            piece: Piece::Linear,
                        });
                        0.0
                    }
                }
                BranchKind::Feed { awake, standby, wakes, .. } => {
                    let of =
                        |ohms: &Option<Ohms>| ohms.map_or(Ok(0.0), |ohms| of(ohms * corner.load + added));
                    let (awake, standby) = (of(awake)?, of(standby)?);
                    let module = solver.module_of[index];
                    self.feeds.push(FeedEdge { edge, module, awake, standby, wakes: *wakes, added });
                    0.0
                }
                BranchKind::Driver { saturation, ohms, on } => {
                    if !change.dead && circuit.commanded(id, on, state) {
                        let conductance = of(ohms + added)?;
                        let module = solver.module_of[index];
                        self.devices.push(Device::valve(edge, sane(*saturation)?, conductance, module));
                    }
                    0.0
                }
            };
            self.conductance[index] = conductance;
        }
        for extra in meter {
            self.extra(*extra);
        }
        Ok(())
    }

    fn clear(&mut self, solver: &Solver<'_>, state: &State) {
        let branches = solver.circuit.branches.len();
        self.conductance.clear();
        self.conductance.resize(branches, 0.0);
        self.current.clear();
        self.current.resize(branches, 0.0);
        self.devices.clear();
        self.contacts.clear();
        self.coils.clear();
        let idle =
            Coil { edge: 0, pull_in: f64::INFINITY, drop_out: f64::INFINITY, share: 0.0, pulled: false };
        self.coils.resize(solver.coils.len(), idle);
        self.feeds.clear();
        self.lamps.clear();
        self.sources.clear();
        self.extras.clear();
        self.regulators.clear();
        self.references.clear();
        self.modules.clear();
        self.modules.extend(solver.modules.iter().map(|module| {
            let wants = module.wants(solver.circuit, state);
            ModuleState { wants, awake: wants, falls: 0 }
        }));
    }

    fn extra(&mut self, extra: Extra) {
        if let Some(rated) = extra.rated {
            let (edge, hot) = (self.conductance.len() as u32, 1.0 / extra.conductance);
            self.lamps.push(LampEdge { edge, hot, rated, ohms: hot, added: 0.0 });
        }
        self.conductance.push(extra.conductance);
        self.current.push(extra.volts * extra.conductance);
        self.extras.push(extra);
    }

    /// Adds the paths that faults bring, in the order in which [`extra_edges`] counts them.
    fn fault_paths(&mut self, solver: &Solver<'_>, state: &State, faults: &[Fault]) -> Result<(), Problem> {
        for fault in faults {
            match fault.kind {
                FaultKind::Bridge { a, b, ohms } => {
                    let conductance = siemens(ohms).ok_or(Problem::Fault)?;
                    self.extra(Extra::plain(a, b, conductance));
                }
                FaultKind::Chafe { branch, to, .. } => {
                    let wire = solver.circuit.branch(branch);
                    self.extra(Extra::plain(wire.a, to, 0.0));
                    self.extra(Extra::plain(wire.b, to, 0.0));
                }
                FaultKind::Touch { one, other, .. } => {
                    for (a, b) in between_wires(solver.circuit, one.0, other.0) {
                        self.extra(Extra::plain(a, b, 0.0));
                    }
                }
                FaultKind::Sink { point, volts, ohms, unpowered } => {
                    let powered = state.battery && state.key != Key::Off;
                    let (volts, ohms) = if powered { (volts, ohms) } else { (0.0, unpowered) };
                    let conductance = siemens(ohms).filter(|_| is_sane(volts)).ok_or(Problem::Fault)?;
                    let b = solver.circuit.negative.ok_or(Problem::NoNegative)?;
                    if powered {
                        self.sources.push((self.conductance.len() as u32, PartId(u32::MAX)));
                    }
                    self.extra(Extra { volts, ..Extra::plain(point, b, conductance) });
                }
                FaultKind::Series { ohms, .. } => {
                    if ohms.is_nan() || ohms < 0.0 {
                        return Err(Problem::Fault);
                    }
                }
                FaultKind::Dead { .. } | FaultKind::StuckClosed { .. } => {}
            }
        }
        Ok(())
    }

    /// A wire, perhaps chafed: the spot where it touches is a star of three conductances, which the
    /// star–mesh transform turns into a triangle without it; two wires that touch become a mesh of their four ends.
    fn wire(
        &mut self,
        solver: &Solver<'_>,
        faults: &[Fault],
        id: BranchId,
        own: Ohms,
        change: &Change,
    ) -> Result<f64, Problem> {
        let part = solver.circuit.branch(id).part;
        let of = |ohms: Ohms| siemens(ohms).ok_or(Problem::Resistance(part));
        let Some(chafe) = change.chafe else {
            return of(own + change.added);
        };
        of(own)?;
        let mut place = solver.circuit.branches.len();
        for fault in faults {
            match fault.kind {
                FaultKind::Chafe { branch, .. } if branch == id => break,
                FaultKind::Touch { one, other, .. } if one.0 == id || other.0 == id => break,
                FaultKind::Chafe { .. } => place += 2,
                FaultKind::Touch { .. } => place += 4,
                FaultKind::Bridge { .. } | FaultKind::Sink { .. } => place += 1,
                _ => {}
            }
        }
        match chafe {
            Chafe::Point(along, touch) => {
                let touch = siemens(touch).ok_or(Problem::Fault)?;
                let [near, far] = halves(solver, id, along, change.added)?;
                let total = near + far + touch;
                self.conductance[place] = near * touch / total;
                self.conductance[place + 1] = far * touch / total;
                Ok(near * far / total)
            }
            Chafe::Wire { first, one, other, ohms } => {
                let touch = siemens(ohms).ok_or(Problem::Fault)?;
                let ours = halves(solver, one.0, one.1, change_of(faults, one.0).added)?;
                let theirs = halves(solver, other.0, other.1, change_of(faults, other.0).added)?;
                // The spot on the first wire is taken out, then the one on the second.
                let total = ours[0] + ours[1] + touch;
                let through = ours.map(|half| half * touch / total);
                let both = through[0] + through[1] + theirs[0] + theirs[1];
                for (at, from) in through.into_iter().enumerate() {
                    for (end, to) in theirs.into_iter().enumerate() {
                        self.conductance[place + 2 * at + end] = from * to / both;
                    }
                }
                Ok(match first {
                    true => ours[0] * ours[1] / total + through[0] * through[1] / both,
                    false => theirs[0] * theirs[1] / both,
                })
            }
        }
    }
}

/// Conductances of a wire before a spot and behind it, where what a fault adds is.
fn halves(solver: &Solver<'_>, id: BranchId, along: f64, added: Ohms) -> Result<[f64; 2], Problem> {
    let wire = solver.circuit.branch(id);
    let BranchKind::Wire { ohms, .. } = wire.kind else { return Err(Problem::Fault) };
    let own = ohms.unwrap_or(UNKNOWN_WIRE);
    let of = |ohms: Ohms| siemens(ohms).ok_or(Problem::Resistance(wire.part));
    // A spot at the very end keeps a thousandth of the wire before it.
    let along = along.clamp(1e-3, 1.0 - 1e-3);
    Ok([of((own * along).max(1e-9))?, of((own * (1.0 - along)).max(1e-9) + added)?])
}

/// The four ways between the ends of two wires, in the order in which they are assembled.
fn between_wires(circuit: &Circuit, one: BranchId, other: BranchId) -> [(PointId, PointId); 4] {
    let (one, other) = (circuit.branch(one), circuit.branch(other));
    [(one.a, other.a), (one.a, other.b), (one.b, other.a), (one.b, other.b)]
}

/// What the faults do to one branch.
fn change_of(faults: &[Fault], id: BranchId) -> Change {
    let mut change = Change::default();
    for fault in faults {
        match fault.kind {
            FaultKind::Series { branch, ohms } if branch == id => change.added += ohms,
            FaultKind::Dead { branch } if branch == id => change.dead = true,
            FaultKind::StuckClosed { branch, ohms } if branch == id => change.stuck = Some(ohms),
            FaultKind::Chafe { branch, along, ohms, .. } if branch == id => {
                change.chafe = Some(Chafe::Point(along, ohms));
            }
            FaultKind::Touch { one, other, ohms } if one.0 == id || other.0 == id => {
                change.chafe = Some(Chafe::Wire { first: one.0 == id, one, other, ohms });
            }
            _ => {}
        }
    }
    change
}

/// The edges that faults add, in the order in which they are assembled.
pub(crate) fn extra_edges(
    solver: &Solver<'_>,
    faults: &[Fault],
    edges: &mut Vec<(u32, u32)>,
) -> Result<(), Problem> {
    let circuit = solver.circuit;
    let points = circuit.points.len();
    let known = |point: PointId| {
        if point.index() < points { Ok(point.0) } else { Err(Problem::Unknown) }
    };
    let mut chafed: Vec<BranchId> = Vec::new();
    for fault in faults {
        match fault.kind {
            FaultKind::Bridge { a, b, .. } => edges.push((known(a)?, known(b)?)),
            FaultKind::Chafe { branch, to, along, .. } => {
                let wire = rubbed(circuit, branch, along, &mut chafed)?;
                let to = known(to)?;
                edges.push((wire.a.0, to));
                edges.push((wire.b.0, to));
            }
            FaultKind::Touch { one, other, .. } => {
                for (branch, along) in [one, other] {
                    rubbed(circuit, branch, along, &mut chafed)?;
                }
                edges.extend(between_wires(circuit, one.0, other.0).map(|(a, b)| (a.0, b.0)));
            }
            FaultKind::Sink { point, .. } => {
                let negative = circuit.negative.ok_or(Problem::NoNegative)?;
                edges.push((known(point)?, negative.0));
            }
            FaultKind::Series { branch, .. }
            | FaultKind::Dead { branch }
            | FaultKind::StuckClosed { branch, .. } => {
                circuit.branches.get(branch.index()).ok_or(Problem::Unknown)?;
            }
        }
    }
    Ok(())
}

/// A wire that is rubbed through, once at most.
fn rubbed<'c>(
    circuit: &'c Circuit,
    branch: BranchId,
    along: f64,
    chafed: &mut Vec<BranchId>,
) -> Result<&'c Branch, Problem> {
    let wire = circuit.branches.get(branch.index()).ok_or(Problem::Unknown)?;
    if !matches!(wire.kind, BranchKind::Wire { .. }) || along.is_nan() {
        return Err(Problem::Fault);
    }
    if chafed.contains(&branch) {
        return Err(Problem::ChafedTwice(wire.part));
    }
    chafed.push(branch);
    Ok(wire)
}

/// What leaves a wire that is rubbed through, counted towards one of its ends and seen from there, as edges with their sense.
pub(crate) fn chafed_edges(circuit: &Circuit, faults: &[Fault], id: BranchId, at_a: bool) -> Vec<(u32, f64)> {
    let mut place = circuit.branches.len() as u32;
    let mut edges = Vec::new();
    for fault in faults {
        match fault.kind {
            // From either end to what is touched.
            FaultKind::Chafe { branch, .. } => {
                if branch == id {
                    edges.push((if at_a { place } else { place + 1 }, -1.0));
                }
                place += 2;
            }
            FaultKind::Touch { one, other, .. } => {
                if one.0 == id {
                    let first = if at_a { place } else { place + 2 };
                    edges.extend([(first, -1.0), (first + 1, -1.0)]);
                } else if other.0 == id {
                    let first = if at_a { place } else { place + 1 };
                    edges.extend([(first, 1.0), (first + 2, 1.0)]);
                }
                place += 4;
            }
            FaultKind::Bridge { .. } | FaultKind::Sink { .. } => place += 1,
            _ => {}
        }
    }
    edges
}
