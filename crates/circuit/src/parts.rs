//! What a circuit is made of: points, parts, connectors and branches.

use crate::{
    Amps, Minutes, Ohms, Volts,
    state::{State, When},
};

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub struct $name(pub u32);

        impl $name {
            /// The position in the circuit's list of its kind.
            pub fn index(self) -> usize {
                self.0 as usize
            }
        }
    };
}

id!(
    /// A place where a probe can rest or two branches meet.
    PointId
);
id!(
    /// Something that can be repaired or replaced on its own.
    PartId
);
id!(
    /// A connector: a plug and socket that part as one.
    ConnectorId
);
id!(
    /// A conductor, load, source or contact between two points.
    BranchId
);

/// A whole circuit. Ids index the lists.
#[derive(Clone, Debug, Default)]
pub struct Circuit {
    /// Every point.
    pub points: Vec<Point>,
    /// Every part.
    pub parts: Vec<Part>,
    /// Every connector.
    pub connectors: Vec<Connector>,
    /// Every branch.
    pub branches: Vec<Branch>,
    /// Named outputs of modules, `A10.REF_A`: a [`BranchKind::Reference`] or [`BranchKind::Driver`] and its name.
    pub outputs: Vec<(String, BranchId)>,
    /// Battery negative post: where the black lead rests unless told otherwise.
    pub negative: Option<PointId>,
    /// Battery positive post.
    pub positive: Option<PointId>,
    /// The vehicle body, if any ground point is declared.
    pub body: Option<PointId>,
}

/// A place where a probe can rest or two branches meet.
#[derive(Clone, Debug)]
pub struct Point {
    /// As the author writes it, owner included where the file has one: `X34:2`, `X21.body:6`, `SP10`.
    pub name: String,
    /// Where it is.
    pub kind: PointKind,
}

/// Where a point is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum PointKind {
    /// A cavity of a connector. Half 0 is the wire side of a part's
    /// connector or the first half of an inline; half 1 is the part side or the second half.
    Cavity {
        /// The connector.
        connector: ConnectorId,
        /// 0 or 1.
        half: u8,
        /// Position in [`Connector::cavities`].
        cavity: u16,
    },
    /// A splice.
    Splice,
    /// A bus bar.
    Bar,
    /// A ground point or the body itself.
    Ground,
    /// A stud, post, fuse blade or relay terminal.
    Terminal,
    /// A node inside a part that no probe reaches.
    Inside,
}

/// What sort of thing a part is.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum PartKind {
    /// Battery or other supply.
    Supply,
    /// Ground point with its joint.
    GroundPoint,
    /// Rigid bus bar.
    Bar,
    /// Blade fuse.
    Fuse,
    /// Fusible link, strip fuse.
    Link,
    /// Relay.
    Relay,
    /// Hand or key switch.
    Switch,
    /// Electronic module.
    Module,
    /// Sensor.
    Sensor,
    /// Lamp.
    Lamp,
    /// Motor or pump.
    Motor,
    /// Any other load.
    Load,
    /// Wire.
    Wire,
    /// Splice.
    Splice,
    /// A connector itself, as the thing whose contacts can fail.
    Connector,
}

/// Something that can be repaired or replaced on its own.
#[derive(Clone, Debug)]
pub struct Part {
    /// `B4`, `W7`, `F12`.
    pub name: String,
    /// The author's words: `A/C pressure`.
    pub label: String,
    /// What sort of thing it is.
    pub kind: PartKind,
    /// Relative chance that this is the fault, before any reading; `None` where the file says nothing.
    pub suspicion: Option<f64>,
    /// Minutes to reach it from the open bonnet, where that is not a connector's matter (fuses, relays, ground points).
    pub reach: Option<Minutes>,
    /// Words for the person who has to find it.
    pub place: String,
    /// Remarks printed with it.
    pub note: String,
    /// Dangers at this part.
    pub cautions: Vec<Caution>,
    /// Positions of a switch, the resting one first; empty for everything else.
    pub positions: Vec<String>,
    /// Whether it pulls out of a socket by hand (fuse, relay).
    pub pulls: bool,
}

impl Part {
    /// A part of which nothing more is known. Fuses and relays pull out of their sockets.
    pub fn new(name: &str, label: &str, kind: PartKind) -> Part {
        Part {
            name: name.to_owned(),
            label: label.to_owned(),
            kind,
            suspicion: None,
            reach: None,
            place: String::new(),
            note: String::new(),
            cautions: Vec::new(),
            positions: Vec::new(),
            pulls: matches!(kind, PartKind::Fuse | PartKind::Relay),
        }
    }
}

/// A danger, and what to do about it before working there.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Caution {
    /// What can hurt.
    pub hazard: Hazard,
    /// The author's words.
    pub words: String,
}

/// What can hurt.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Hazard {
    /// Airbag or pretensioner: disable, wait, never ohm.
    Airbag,
    /// Above 60 V DC: trained people, isolate, lock out, prove dead.
    HighVoltage,
    /// Fuel or vapour.
    Fuel,
    /// Exhaust, lamps, resistors.
    Hot,
    /// A fan that starts by itself.
    Fan,
    /// Belts, starters, mechanisms.
    Moving,
}

/// A plug and socket that part as one.
#[derive(Clone, Debug)]
pub struct Connector {
    /// `X34`, `A10.X2`, `X21`.
    pub name: String,
    /// The part it sits on; `None` for an inline connector.
    pub owner: Option<PartId>,
    /// The connector itself as a part that can fail.
    pub part: PartId,
    /// Names of the halves: `["wire", "part"]` on a part, the author's two names on an inline.
    pub halves: [String; 2],
    /// Cavities in numbering order.
    pub cavities: Vec<Cavity>,
    /// Where it is.
    pub place: String,
    /// Minutes to get to it from the open bonnet; `None` is unknown, never zero.
    pub reach: Option<Minutes>,
    /// Minutes to part it once reached; `None` where `reach` includes the parting.
    pub parting: Option<Minutes>,
    /// Minutes to part it again once it has been reached and remated; `None` is the planner's default.
    pub repart: Option<Minutes>,
    /// Connectors that share an access share its reach: pay once. Empty for none.
    pub access: String,
    /// Which face the numbering is read from.
    pub view: View,
    /// Number of rows.
    pub rows: u8,
    /// Dangers here.
    pub cautions: Vec<Caution>,
}

/// One cavity of a connector.
#[derive(Clone, Debug)]
pub struct Cavity {
    /// `14`, `A`, `B2`.
    pub name: String,
    /// Colour on each half as base/tracer, empty where no wire is.
    pub colours: [String; 2],
    /// The author's words for its purpose.
    pub label: String,
    /// Wired, or why not.
    pub role: CavityRole,
    /// The point on each half, where something is there.
    pub points: [Option<PointId>; 2],
}

/// Whether a cavity is wired, or why not.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum CavityRole {
    /// Nothing said: wired if a wire names it.
    Plain,
    /// Sealed with a plug.
    Blank,
    /// Terminal present, not used.
    Spare,
    /// Wired, but drawn in another file.
    Elsewhere,
    /// Two wires crimped in one terminal, on purpose.
    DoubleCrimp,
}

/// The face from which cavities are counted.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum View {
    /// Not said.
    Unknown,
    /// Looking at the side where the wires enter.
    WireSide,
    /// Looking at the face that mates.
    MatingFace,
}

/// A conductor, load, source or contact between two points.
#[derive(Clone, Debug)]
pub struct Branch {
    /// The part it belongs to.
    pub part: PartId,
    /// First end; for sources, references and diodes the positive end or anode.
    pub a: PointId,
    /// Second end.
    pub b: PointId,
    /// What it does.
    pub kind: BranchKind,
}

/// What a branch does.
#[derive(Clone, Debug)]
pub enum BranchKind {
    /// A wire.
    Wire {
        /// At 20 °C; `None` where section or length is unknown. An unknown wire
        /// conducts as [`UNKNOWN_WIRE`] and every reading through it says so.
        ohms: Option<Ohms>,
        /// Section in mm², where known.
        section: Option<f64>,
        /// Length in metres, where known.
        metres: Option<f64>,
        /// Base/tracer letters.
        colour: String,
    },
    /// A mated cavity; open while its connector is parted.
    Mated {
        /// The connector.
        connector: ConnectorId,
        /// Contact resistance.
        ohms: Ohms,
    },
    /// A rigid bar, a ground joint, a crimp: copper that is not a wire.
    Joint {
        /// Its resistance; never zero.
        ohms: Ohms,
    },
    /// A fuse or link, in series; `a` is the feed side, `b` the load side.
    Fuse {
        /// Cold resistance.
        ohms: Ohms,
        /// Rating.
        rating: Amps,
    },
    /// A contact moved by hand or key.
    Switch {
        /// Resistance when closed.
        ohms: Ohms,
        /// When it is closed.
        closed: When,
    },
    /// A relay contact.
    RelayContact {
        /// Resistance when closed.
        ohms: Ohms,
        /// The coil that moves it.
        coil: BranchId,
        /// Whether it is closed while the coil is at rest (87a).
        closed_at_rest: bool,
    },
    /// A relay coil.
    Coil {
        /// Winding resistance.
        ohms: Ohms,
        /// Whether nobody knows that resistance and a usual one stands for it: every reading near it says so.
        assumed: bool,
        /// Volts that pull it in.
        pull_in: Volts,
        /// Volts below which it drops out.
        drop_out: Volts,
    },
    /// A plain resistance: sensor draw, heater, suppression resistor, motor equivalent.
    Load {
        /// Its resistance; `None` is unknown and draws nothing, and every reading near it says so.
        ohms: Option<Ohms>,
        /// When it draws; outside it is open.
        active: When,
    },
    /// A filament lamp: its resistance grows from cold to hot.
    Lamp {
        /// Hot resistance, volts squared over watts.
        hot: Ohms,
        /// Volts at which it is hot.
        rated: Volts,
    },
    /// A diode from `a` to `b`.
    Diode {
        /// Forward volts.
        forward: Volts,
        /// Slope resistance.
        ohms: Ohms,
    },
    /// A battery or generator: `a` positive, `b` negative.
    Source {
        /// Open-circuit volts; [`State::supply`](crate::State::supply) overrides it.
        volts: Volts,
        /// Internal resistance; never zero.
        inner: Ohms,
    },
    /// A generator with its regulator: `a` positive, `b` negative. It holds its sense point at
    /// `volts` against `b`, but never its own terminal above `ceiling`; a sense point that reads less
    /// than `lost` is taken for a broken sense wire, and the regulator holds its own
    /// terminal at `fallback` instead. It never takes current.
    Generator {
        /// Volts wanted at the sense point.
        volts: Volts,
        /// Inner resistance; never zero.
        inner: Ohms,
        /// Most current it gives; `None` is unlimited.
        limit: Option<Amps>,
        /// Where the volts are sensed.
        sense: PointId,
        /// Volts at the sense point under which sensing counts as lost.
        lost: Volts,
        /// Volts at its own terminal once sensing is lost.
        fallback: Volts,
        /// Most volts at its own terminal, whatever the sense point reads.
        ceiling: Volts,
        /// When it turns; it has to have a battery to start on.
        turning: When,
    },
    /// A regulated reference output: sources through `inner` up to `limit`, never sinks
    /// unless `sinks`. Without power it is `unpowered` ohms from `a` to `b`.
    Reference {
        /// Nominal volts.
        volts: Volts,
        /// Source resistance; never zero.
        inner: Ohms,
        /// Constant-current limit; `None` is unlimited.
        limit: Option<Amps>,
        /// Resistance from output to return when not powered.
        unpowered: Ohms,
        /// Whether it pulls down a wire that something else lifts.
        sinks: bool,
        /// Whether it stays off after a short until the key is cycled.
        latches: bool,
    },
    /// A module's feed: its draw awake and asleep. The module is awake while
    /// `when` holds and at least `wakes` volts stand across one of its waking feeds.
    Feed {
        /// Resistance awake, nominal volts over declared draw; `None` is unknown and draws nothing.
        awake: Option<Ohms>,
        /// Resistance asleep or starved; `None` draws nothing.
        standby: Option<Ohms>,
        /// Volts that wake the module through this feed; `None` if this feed does not wake it.
        wakes: Option<Volts>,
        /// Key states in which the module wants to be awake.
        when: When,
    },
    /// A module output that switches to ground (`b`) or to a feed (`a`).
    Driver {
        /// Volts across it when on.
        saturation: Volts,
        /// Resistance when on; never zero.
        ohms: Ohms,
        /// When the module commands it; it acts only while the module is awake.
        on: When,
    },
}

/// What an unknown wire is taken for, in ohms: half a metre of 0.5 mm².
pub const UNKNOWN_WIRE: Ohms = 0.0186;

impl BranchKind {
    /// Whether the branch is copper: part of one net whatever the state, but for parted connectors.
    pub fn is_copper(&self) -> bool {
        matches!(self, Self::Wire { .. } | Self::Mated { .. } | Self::Joint { .. })
    }

    /// Whether it is there to draw current: a load, a lamp, a coil, a module's feed.
    pub fn draws(&self) -> bool {
        matches!(self, Self::Load { .. } | Self::Lamp { .. } | Self::Coil { .. } | Self::Feed { .. })
    }
}

impl Circuit {
    /// The point of an id.
    pub fn point(&self, id: PointId) -> &Point {
        &self.points[id.index()]
    }

    /// The part of an id.
    pub fn part(&self, id: PartId) -> &Part {
        &self.parts[id.index()]
    }

    /// The connector of an id.
    pub fn connector(&self, id: ConnectorId) -> &Connector {
        &self.connectors[id.index()]
    }

    /// The branch of an id.
    pub fn branch(&self, id: BranchId) -> &Branch {
        &self.branches[id.index()]
    }

    /// All branches with their ids.
    pub fn branches(&self) -> impl Iterator<Item = (BranchId, &Branch)> {
        self.branches.iter().enumerate().map(|(i, b)| (BranchId(i as u32), b))
    }

    /// The branches that belong to a part.
    pub fn branches_of(&self, part: PartId) -> impl Iterator<Item = (BranchId, &Branch)> {
        self.branches().filter(move |(_, b)| b.part == part)
    }

    /// The point with this full name.
    pub fn point_named(&self, name: &str) -> Option<PointId> {
        self.points.iter().position(|p| p.name == name).map(|i| PointId(i as u32))
    }

    /// Whether a driver is commanded on: as the state commands it, else by its own condition.
    pub fn commanded(&self, driver: BranchId, on: &When, state: &State) -> bool {
        let own = || self.holds(on, self.branch(driver).part, state);
        state.commands.get(&driver).copied().unwrap_or_else(own)
    }

    /// Whether `when` holds for a part in a state. A part that the state does
    /// not list stands in the first of its [`Part::positions`].
    pub fn holds(&self, when: &When, part: PartId, state: &State) -> bool {
        if !when.keys.is_empty() && !when.keys.contains(&state.key) {
            return false;
        }
        if when.positions.is_empty() {
            return true;
        }
        let stands = state
            .positions
            .get(&part)
            .or_else(|| self.parts.get(part.index()).and_then(|p| p.positions.first()));
        stands.is_some_and(|position| when.positions.contains(position))
    }

    /// The part with this full name.
    pub fn part_named(&self, name: &str) -> Option<PartId> {
        self.parts.iter().position(|p| p.name == name).map(|i| PartId(i as u32))
    }

    /// The named output, `A10.REF_A`.
    pub fn output_named(&self, name: &str) -> Option<BranchId> {
        self.outputs.iter().find(|(n, _)| n == name).map(|&(_, id)| id)
    }

    /// The connector with this full name.
    pub fn connector_named(&self, name: &str) -> Option<ConnectorId> {
        self.connectors.iter().position(|c| c.name == name).map(|i| ConnectorId(i as u32))
    }
}
