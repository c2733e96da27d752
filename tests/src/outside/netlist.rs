//! A circuit in a state with its faults, as plain two-terminal elements.
//!
//! Written by the documentation of `BranchKind`, `State` and `FaultKind`. It shares no code with
//! the solve: a chafed wire is a node of its own, added resistance is a resistor in series, a relay's
//! coil and a module's feed are measured across themselves, two wires that touch have a node each where they do.

use halfsplit_circuit::{
    Branch, BranchId, BranchKind, Circuit, FaultKind, Key, Load, Measure, PartId, State, UNKNOWN_WIRE,
    meter::{METER_INPUT, REFERENCE_LOAD, TEST_LAMP},
};

use super::elements::{Element, Fed, Giving, Law, Netlist, Own};
use super::families::Case;

/// Least that a module draws while it works, where nobody knows what it draws, as the solve documents it.
const LEAST_DRAW: f64 = 1e-3;

/// What of a circuit is decided between two runs: relays, modules, and references short of volts.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Standing {
    /// Modules that are awake.
    pub awake: Vec<PartId>,
    /// Coils that have pulled in.
    pub pulled: Vec<BranchId>,
    /// References that give what one of their module's feeds brings, with that feed; `None` if all bring less than nothing.
    pub held: Vec<(BranchId, Option<BranchId>)>,
}

impl Standing {
    /// Relays at rest, every module awake that wants to be.
    pub fn at_rest(case: &Case) -> Standing {
        let (circuit, state) = (&*case.circuit, &case.state);
        let mut modules: Vec<PartId> = circuit
            .branches
            .iter()
            .filter(|b| {
                matches!(
                    b.kind,
                    BranchKind::Feed { .. } | BranchKind::Reference { .. } | BranchKind::Driver { .. }
                )
            })
            .map(|b| b.part)
            .collect();
        modules.sort_unstable();
        modules.dedup();
        modules.retain(|&module| wants(circuit, state, module));
        Standing { awake: modules, ..Standing::default() }
    }
}

/// Whether a module wants to be awake: while `when` of a waking feed holds, of any feed if none
/// wakes it; a module without feeds while the battery is on.
pub fn wants(circuit: &Circuit, state: &State, module: PartId) -> bool {
    let feeds: Vec<_> = circuit
        .branches_of(module)
        .filter_map(|(_, b)| match &b.kind {
            BranchKind::Feed { wakes, when, .. } => Some((wakes.is_some(), when)),
            _ => None,
        })
        .collect();
    let any_wakes = feeds.iter().any(|(wakes, _)| *wakes);
    if feeds.is_empty() {
        return state.battery;
    }
    let held = feeds.iter().any(|(wakes, when)| *wakes == any_wakes && circuit.holds(when, module, state));
    held && (any_wakes || state.battery)
}

/// Writes a case out with its relays and modules standing so.
///
/// # Errors
/// What the case holds that no element stands for.
pub fn netlist(case: &Case, standing: &Standing) -> Result<Netlist, String> {
    let circuit = &*case.circuit;
    let source = circuit.branches.iter().find(|b| matches!(b.kind, BranchKind::Source { .. }));
    let ground = circuit.negative.or(source.map(|b| b.b)).map_or(0, |point| point.index());
    let list = Netlist { nodes: circuit.points.len(), ground, full_scale: 1.0, ..Netlist::default() };
    let mut writer = Writer { case, standing, list, touching: Vec::new() };
    for (id, branch) in circuit.branches() {
        if !case.state.pulled.contains(&branch.part) {
            writer.branch(id, branch)?;
        }
    }
    for fault in &case.faults {
        match fault.kind {
            FaultKind::Bridge { a, b, ohms } => writer.resistor(a.index(), b.index(), ohms),
            FaultKind::Sink { point, volts, ohms, unpowered } => {
                if case.state.battery && case.state.key != Key::Off {
                    writer.push(point.index(), ground, Law::Source { volts: Own::Volts(volts), ohms });
                    writer.list.full_scale = writer.list.full_scale.max(volts);
                } else {
                    writer.resistor(point.index(), ground, unpowered);
                }
            }
            _ => {}
        }
    }
    writer.hold_down();
    writer.meter();
    let mut list = writer.list;
    list.tie();
    Ok(list)
}

struct Writer<'c> {
    case: &'c Case,
    standing: &'c Standing,
    list: Netlist,
    /// Faults of two wires whose first wire is written, with the node where it touches.
    touching: Vec<(usize, usize)>,
}

/// What a wire is rubbed through to.
enum To {
    Point(usize),
    /// Another wire, by the number of the fault.
    Wire(usize),
}

/// What the faults do to one branch.
#[derive(Default)]
struct Change {
    added: f64,
    dead: bool,
    stuck: Option<f64>,
    chafe: Option<(f64, To, f64)>,
}

impl Writer<'_> {
    fn push(&mut self, a: usize, b: usize, law: Law) {
        self.list.elements.push(Element { a, b, law });
    }

    fn resistor(&mut self, a: usize, b: usize, ohms: f64) {
        if ohms.is_finite() {
            self.push(a, b, Law::Resistor(ohms));
        }
    }

    fn node(&mut self) -> usize {
        self.list.nodes += 1;
        self.list.nodes - 1
    }

    fn change(&self, id: BranchId) -> Change {
        let mut change = Change::default();
        for (number, fault) in self.case.faults.iter().enumerate() {
            match fault.kind {
                FaultKind::Series { branch, ohms } if branch == id => change.added += ohms,
                FaultKind::Dead { branch } if branch == id => change.dead = true,
                FaultKind::StuckClosed { branch, ohms } if branch == id => change.stuck = Some(ohms),
                FaultKind::Chafe { branch, along, to, ohms } if branch == id => {
                    change.chafe = Some((along, To::Point(to.index()), ohms));
                }
                FaultKind::Touch { one, ohms, .. } if one.0 == id => {
                    change.chafe = Some((one.1, To::Wire(number), ohms));
                }
                FaultKind::Touch { other, ohms, .. } if other.0 == id => {
                    change.chafe = Some((other.1, To::Wire(number), ohms));
                }
                _ => {}
            }
        }
        change
    }

    fn branch(&mut self, id: BranchId, branch: &Branch) -> Result<(), String> {
        let Change { added, dead, stuck, chafe } = self.change(id);
        let (mut a, b) = (branch.a.index(), branch.b.index());
        // Added resistance sits at `a`, before the part; a chafed wire's behind the spot.
        if added > 0.0 && chafe.is_none() {
            let inside = self.node();
            self.resistor(a, inside, added);
            a = inside;
        }
        let (circuit, state) = (&*self.case.circuit, &self.case.state);
        let holds = |when| circuit.holds(when, branch.part, state);
        let awake = self.standing.awake.contains(&branch.part);
        match &branch.kind {
            BranchKind::Wire { ohms, .. } => {
                let own = ohms.unwrap_or(UNKNOWN_WIRE);
                match chafe {
                    None => self.resistor(a, b, own),
                    Some((along, to, touch)) => {
                        let spot = self.node();
                        self.resistor(a, spot, own * along);
                        self.resistor(spot, b, own * (1.0 - along) + added);
                        match to {
                            To::Point(to) => self.resistor(spot, to, touch),
                            To::Wire(fault) => {
                                match self.touching.iter().find(|(other, _)| *other == fault) {
                                    Some(&(_, first)) => self.resistor(spot, first, touch),
                                    None => self.touching.push((fault, spot)),
                                }
                            }
                        }
                    }
                }
            }
            BranchKind::Mated { connector, ohms } => {
                if !state.unplugged.contains(connector) {
                    self.resistor(a, b, *ohms);
                }
            }
            BranchKind::Joint { ohms } | BranchKind::Fuse { ohms, .. } => self.resistor(a, b, *ohms),
            BranchKind::Switch { ohms, closed } => {
                if let Some(ohms) = stuck {
                    self.resistor(a, b, ohms);
                } else if !dead && holds(closed) {
                    self.resistor(a, b, *ohms);
                }
            }
            BranchKind::RelayContact { ohms, coil, closed_at_rest } => {
                if let Some(ohms) = stuck {
                    self.resistor(a, b, ohms);
                } else if !dead && self.standing.pulled.contains(coil) != *closed_at_rest {
                    self.resistor(a, b, *ohms);
                }
            }
            BranchKind::Coil { ohms, .. } => {
                self.resistor(a, b, *ohms);
                self.list.coils.push((id, a, b));
            }
            BranchKind::Load { ohms, active } => {
                if let (Some(ohms), true) = (ohms, holds(active)) {
                    self.resistor(a, b, *ohms);
                }
            }
            BranchKind::Lamp { hot, rated } => {
                if self.case.filament {
                    self.push(a, b, Law::Filament { hot: *hot, rated: *rated });
                } else {
                    self.resistor(a, b, *hot);
                }
            }
            BranchKind::Diode { forward, ohms } => {
                let law = Law::Limited {
                    volts: Own::Volts(*forward),
                    ohms: *ohms,
                    least: f64::NEG_INFINITY,
                    most: 0.0,
                };
                self.push(a, b, law);
            }
            BranchKind::Source { volts, inner } => {
                if state.battery {
                    let measured =
                        state.supply().filter(|_| circuit.positive.is_none_or(|post| post == branch.a));
                    let volts = measured.unwrap_or(*volts);
                    self.push(a, b, Law::Source { volts: Own::Volts(volts), ohms: *inner });
                    self.list.full_scale = self.list.full_scale.max(volts);
                }
            }
            // At rest it gives and takes nothing; turning, its sense point is beyond a two-terminal element.
            BranchKind::Generator { turning, .. } => {
                if state.battery && holds(turning) {
                    return Err("a generator that turns".to_owned());
                }
            }
            BranchKind::Reference { latches: true, .. } => {
                return Err("a reference that trips until the key is cycled".to_owned());
            }
            BranchKind::Reference { volts, inner, limit, unpowered, sinks, .. } => {
                if awake && !dead {
                    let most = limit.unwrap_or(f64::INFINITY);
                    let least = if *sinks { -most } else { 0.0 };
                    let element = self.list.elements.len();
                    self.push(a, b, Law::Limited { volts: Own::Volts(*volts), ohms: *inner, least, most });
                    let (reference, module) = (id, branch.part);
                    self.list.references.push(Giving { reference, module, element, volts: *volts });
                    self.list.full_scale = self.list.full_scale.max(*volts);
                } else {
                    self.resistor(a, b, *unpowered);
                }
            }
            BranchKind::Feed { awake: running, standby, wakes, .. } => {
                let now = if awake { *running } else { *standby }.unwrap_or(f64::INFINITY);
                self.resistor(a, b, now);
                let least = wakes.map_or(0.0, |wakes| LEAST_DRAW / wakes);
                let more = (least.min(1.0 / running.unwrap_or(0.0)) - 1.0 / now).max(0.0);
                // Behind an open nothing is brought.
                let a = if added.is_finite() { a } else { b };
                self.list.feeds.push(Fed { feed: id, module: branch.part, a, b, wakes: *wakes, more });
            }
            BranchKind::Driver { saturation, ohms, on } => {
                if let Some(ohms) = stuck {
                    self.resistor(a, b, ohms);
                } else if awake && !dead && circuit.commanded(id, on, state) {
                    let (volts, least) = (Own::Volts(*saturation), f64::NEG_INFINITY);
                    self.push(a, b, Law::Limited { volts, ohms: *ohms, least, most: 0.0 });
                }
            }
        }
        Ok(())
    }

    /// Has every reference that is short of volts give what its feed brings.
    fn hold_down(&mut self) {
        let Netlist { references, feeds, elements, .. } = &mut self.list;
        for (reference, feed) in &self.standing.held {
            let Some(giving) = references.iter().find(|it| it.reference == *reference) else { continue };
            if let Law::Limited { volts, .. } = &mut elements[giving.element].law {
                let fed = feeds.iter().find(|fed| Some(fed.feed) == *feed);
                *volts = fed.map_or(Own::Volts(0.0), |fed| Own::Across(fed.a, fed.b));
            }
        }
    }

    fn meter(&mut self) {
        let Some(meter) = self.case.meter else { return };
        let (red, black) = (meter.red.index(), meter.black.index());
        match meter.measure {
            // A clamp adds nothing to the circuit.
            Measure::Amps(_) => return,
            Measure::Ohms => return self.push(red, black, Law::Current(1.0)),
            Measure::Volts(Load::None) => {}
            Measure::Volts(Load::Lamp) if self.case.filament => {
                self.push(red, black, Law::Filament { hot: TEST_LAMP, rated: 12.0 });
            }
            Measure::Volts(Load::Lamp) => self.resistor(red, black, TEST_LAMP),
            Measure::Volts(Load::Reference) => self.resistor(red, black, REFERENCE_LOAD),
            Measure::Inject { volts, through } => {
                self.push(red, black, Law::Source { volts: Own::Volts(volts), ohms: through });
            }
        }
        self.resistor(red, black, METER_INPUT);
    }
}
