//! The circuit as conductances and Norton currents.

use crate::{Amps, Ohms, PartId, PointId, Volts};

use super::NOT_A_MODULE;

/// What an output or diode that is shut still lets through, 1 TΩ: beyond any meter, and only
/// there so that a wire which it alone feeds takes its volts.
pub(crate) const LEAK: f64 = 1e-12;

/// Below this conductance two points do not count as joined: 1 GΩ, a hundred meters in series.
pub(crate) const JOINED: f64 = 1e-9;

/// An edge that is no branch of the circuit: a fault's path or a meter's.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Extra {
    pub(crate) a: PointId,
    pub(crate) b: PointId,
    pub(crate) conductance: f64,
    /// Volts in series, positive at `a`.
    pub(crate) volts: Volts,
    /// Rated volts, if it is a filament lamp.
    pub(crate) rated: Option<Volts>,
}

impl Extra {
    /// A plain resistance.
    pub(crate) fn plain(a: PointId, b: PointId, conductance: f64) -> Extra {
        Extra { a, b, conductance, volts: 0.0, rated: None }
    }
}

/// What a whole set of parts is taken at, for one corner of the tolerances.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Corner {
    /// Factor on every load's resistance.
    pub(crate) load: f64,
    /// Factor on every reference's volts.
    pub(crate) reference: f64,
    /// Factor on every reference's current limit.
    pub(crate) limit: f64,
    /// Volts added to every supply.
    pub(crate) supply: Volts,
    /// Lamps follow the filament law instead of their hot resistance.
    pub(crate) filament: bool,
}

impl Corner {
    /// Everything as declared.
    pub(crate) const NOMINAL: Corner =
        Corner { load: 1.0, reference: 1.0, limit: 1.0, supply: 0.0, filament: false };
}

/// A source behind a resistance whose current stays between two bounds; outside
/// them it holds the bound. References, diodes and drivers are all of this shape:
/// current out of `a` = (`volts` − V) × `conductance`, kept within `least..=most`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Device {
    pub(crate) edge: u32,
    pub(crate) volts: Volts,
    pub(crate) conductance: f64,
    pub(crate) least: Amps,
    pub(crate) most: Amps,
    /// Module that has to be awake; [`NOT_A_MODULE`] for a diode.
    pub(crate) module: u32,
    /// Conductance while the module sleeps.
    pub(crate) asleep: f64,
    pub(crate) latches: bool,
    pub(crate) piece: Piece,
}

/// Which piece of its characteristic a device works on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Piece {
    /// Holds the lower bound.
    Least,
    /// Within bounds.
    Linear,
    /// Holds the upper bound.
    Most,
    /// Tripped by a short until the key is cycled.
    Latched,
}

/// A relay contact.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Contact {
    pub(crate) edge: u32,
    pub(crate) conductance: f64,
    pub(crate) coil: u32,
    pub(crate) closed_at_rest: bool,
}

/// A relay coil.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Coil {
    pub(crate) edge: u32,
    pub(crate) pull_in: Volts,
    pub(crate) drop_out: Volts,
    /// Share of the branch's volts that stands across the winding itself.
    pub(crate) share: f64,
    pub(crate) pulled: bool,
}

/// A module's feed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct FeedEdge {
    pub(crate) edge: u32,
    pub(crate) module: u32,
    pub(crate) awake: f64,
    pub(crate) standby: f64,
    pub(crate) wakes: Option<Volts>,
    pub(crate) added: Ohms,
}

/// A filament lamp.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LampEdge {
    pub(crate) edge: u32,
    pub(crate) hot: Ohms,
    pub(crate) rated: Volts,
    pub(crate) ohms: Ohms,
    pub(crate) added: Ohms,
}

/// A generator's regulator; the current it drives is the device's of the same place.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Regulator {
    /// Place of its device.
    pub(crate) device: usize,
    /// Position of the sense point.
    pub(crate) sense: u32,
    pub(crate) wanted: Volts,
    pub(crate) lost: Volts,
    pub(crate) fallback: Volts,
    pub(crate) ceiling: Volts,
    pub(crate) sensing: bool,
    /// Excitation and shortfall of the step before, for the slope.
    pub(crate) before: Option<(Volts, Volts)>,
}

/// A reference that stands no higher than what feeds its module.
#[derive(Clone, Copy, Debug)]
pub(crate) struct HeldReference {
    /// Place of its device.
    pub(crate) device: usize,
    pub(crate) wanted: Volts,
    /// Volts and shortfall of the step before, for the slope.
    pub(crate) before: Option<(Volts, Volts)>,
}

/// A module's standing in one state.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ModuleState {
    pub(crate) wants: bool,
    pub(crate) awake: bool,
    pub(crate) falls: u8,
}

/// Everything in one state, reused from solve to solve.
#[derive(Clone, Debug, Default)]
pub(crate) struct Network {
    /// Conductance of each edge: branches, then extras.
    pub(crate) conductance: Vec<f64>,
    /// Norton current of each edge into its `a`.
    pub(crate) current: Vec<f64>,
    pub(crate) devices: Vec<Device>,
    pub(crate) contacts: Vec<Contact>,
    pub(crate) coils: Vec<Coil>,
    pub(crate) feeds: Vec<FeedEdge>,
    pub(crate) lamps: Vec<LampEdge>,
    pub(crate) modules: Vec<ModuleState>,
    /// Edges that are sources, with the part to name.
    pub(crate) sources: Vec<(u32, PartId)>,
    pub(crate) extras: Vec<Extra>,
    pub(crate) regulators: Vec<Regulator>,
    pub(crate) references: Vec<HeldReference>,
    kept: Kept,
}

/// Where everything stood at the end of the last run from rest.
#[derive(Clone, Debug, Default)]
struct Kept {
    pieces: Vec<Piece>,
    pulled: Vec<bool>,
    awake: Vec<bool>,
}

impl Network {
    /// Remembers where everything stands.
    pub(crate) fn keep(&mut self) {
        let kept = &mut self.kept;
        kept.pieces.clear();
        kept.pieces.extend(self.devices.iter().map(|d| d.piece));
        kept.pulled.clear();
        kept.pulled.extend(self.coils.iter().map(|c| c.pulled));
        kept.awake.clear();
        kept.awake.extend(self.modules.iter().map(|m| m.awake));
    }

    /// Puts a fresh network where the kept one stood; false, and nothing done, if
    /// it is of another shape or if an output would stay tripped for no reason of its own.
    pub(crate) fn take_up(&mut self) -> bool {
        let kept = &self.kept;
        let same = kept.pieces.len() == self.devices.len()
            && kept.pulled.len() == self.coils.len()
            && kept.awake.len() == self.modules.len();
        if !same || kept.pieces.contains(&Piece::Latched) {
            return false;
        }
        for (device, &piece) in self.devices.iter_mut().zip(&kept.pieces) {
            device.piece = piece;
        }
        for (coil, &pulled) in self.coils.iter_mut().zip(&kept.pulled) {
            coil.pulled = pulled;
        }
        for (module, &awake) in self.modules.iter_mut().zip(&kept.awake) {
            module.awake = awake && module.wants;
        }
        true
    }
}

/// The filament law of the worked scenarios: hot resistance times (V / rated)^0.45, not below 9 %.
pub(crate) fn filament_ohms(hot: Ohms, rated: Volts, volts: Volts) -> Ohms {
    hot * (volts.abs() / rated).powf(0.45).max(0.09)
}

/// A conductance from a resistance: zero for one beyond any that matters, `None` for nonsense.
pub(crate) fn siemens(ohms: Ohms) -> Option<f64> {
    const OPEN: Ohms = 1e15;
    (ohms >= 1e-9).then(|| if ohms > OPEN { 0.0 } else { 1.0 / ohms })
}

/// Whether volts or amperes are a number that a vehicle can have.
pub(crate) fn is_sane(value: f64) -> bool {
    value.abs() <= 1e9
}

impl Device {
    /// A one-way path from `a` to `b` that opens above some volts.
    pub(crate) fn valve(edge: u32, volts: Volts, conductance: f64, module: u32) -> Device {
        Device {
            edge,
            volts,
            conductance,
            least: f64::NEG_INFINITY,
            most: 0.0,
            module,
            asleep: 0.0,
            latches: false,
            piece: if module == NOT_A_MODULE { Piece::Most } else { Piece::Linear },
        }
    }
}
