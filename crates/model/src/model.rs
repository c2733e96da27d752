//! A circuit together with the places in the text that say it.

use std::collections::{BTreeMap, HashMap};

use halfsplit_base::{FileId, Span};
use halfsplit_circuit::{BranchId, Circuit, ConnectorId, PartId, PointId};
use halfsplit_syntax::SyntaxError;

use crate::{
    Car, Condition, Facts, case::Case, expect::Expect, lower::Sources, names::Names, problem::Problem,
};

/// The circuit that a file describes, and the way back from every id to the text.
#[derive(Clone, Debug)]
pub struct Model {
    /// The root file.
    pub file: FileId,
    /// Whether the root file is a library: it has no title of its own and serves other files.
    pub library: bool,
    /// The circuit's own title, `reference A, five sensors`.
    pub title: String,
    /// The vehicle.
    pub vehicle: Vehicle,
    /// The circuit as numbers.
    pub circuit: Circuit,
    /// Every name that a file or a person may write.
    pub names: Names,
    /// What the parser could not read.
    pub syntax: Vec<SyntaxError>,
    /// Everything in the text that does not add up while lowering it.
    pub problems: Vec<Problem>,
    /// Findings that the author accepts, with the reason.
    pub allows: Vec<Allow>,
    /// Every wire as written.
    pub wires: Vec<Wire>,
    /// What a part uses each of its pins for.
    pub roles: BTreeMap<PointId, PinRole>,
    /// What sort of supply each one is.
    pub supplies: BTreeMap<PartId, SupplyKind>,
    /// Volts for which a load is made, where its line says so.
    pub rated: BTreeMap<BranchId, f64>,
    /// What the circuit says beyond the current that flows.
    pub facts: Facts,
    /// What its lines demand of the car they hold for.
    pub conditions: Vec<Condition>,
    /// What its author expects to come out.
    pub expects: Vec<Expect>,
    /// The job, where the file is a case.
    pub case: Option<Box<Case>>,
    /// The car it was lowered for.
    pub car: Car,
    /// What the parser could not read in the overlays of this car and in the files that are used.
    pub overlay_syntax: Vec<(FileId, SyntaxError)>,
    /// Every kind that is known here, in the order of the files.
    pub kinds: Vec<Kind>,
    /// Where parts say of which kind they are.
    pub kind_uses: Vec<KindUse>,
    pub(crate) sources: Sources,
    pub(crate) said: HashMap<(Entity, &'static str), Place>,
    pub(crate) part_places: HashMap<PartId, Place>,
    pub(crate) connector_places: HashMap<ConnectorId, Place>,
    pub(crate) point_places: HashMap<PointId, Place>,
    pub(crate) branch_places: HashMap<BranchId, Place>,
    pub(crate) mentions: Vec<Mention>,
}

/// What many parts have in common.
#[derive(Clone, PartialEq, Debug)]
pub struct Kind {
    /// Its name: `PRESSURE`.
    pub name: String,
    /// The statement that its parts are written with: `sensor`.
    pub sort: String,
    /// The author's words.
    pub label: String,
    /// What a part can set.
    pub parameters: Vec<Parameter>,
    /// Its name where it is declared.
    pub place: Place,
}

/// What a part can set of its kind.
#[derive(Clone, PartialEq, Debug)]
pub struct Parameter {
    /// Its name: `PLUG`.
    pub name: String,
    /// What it stands for where a part says nothing, as written.
    pub default: String,
    /// The author's words.
    pub about: String,
}

/// A place where a part says of which kind it is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct KindUse {
    /// The kind's name there.
    pub place: Place,
    /// Its number in [`Model::kinds`].
    pub kind: usize,
}

/// What sort of supply one is.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum SupplyKind {
    /// A battery.
    Battery,
    /// A generator, which works beside a battery.
    Generator,
    /// A supply on the bench.
    Bench,
}

/// The vehicle a circuit belongs to.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Vehicle {
    /// `Brantwick Tern 1.8`.
    pub name: String,
    /// System volts.
    pub system: Option<f64>,
    /// First and last model year.
    pub years: Option<(u32, u32)>,
    /// Options that not every one has: name and the author's words.
    pub options: Vec<(String, String)>,
}

impl Vehicle {
    /// The system's volts; 12 where the file does not say.
    pub fn system_volts(&self) -> f64 {
        self.system.unwrap_or(12.0)
    }
}

/// A stretch of one file.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Place {
    /// The file.
    pub file: FileId,
    /// Where in it.
    pub span: Span,
}

/// What a name in the text stands for.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Entity {
    /// A part.
    Part(PartId),
    /// A connector.
    Connector(ConnectorId),
    /// A pin, splice, bar or terminal.
    Point(PointId),
    /// A named output of a module.
    Output(BranchId),
}

/// A place where the text names something.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Mention {
    /// Where.
    pub place: Place,
    /// What.
    pub entity: Entity,
    /// Whether this is the declaration.
    pub declares: bool,
}

/// A wire as written.
#[derive(Clone, Debug)]
pub struct Wire {
    /// The part.
    pub part: PartId,
    /// The conductor; `None` if an end could not be resolved.
    pub branch: Option<BranchId>,
    /// Both ends in the order written.
    pub ends: [WireEnd; 2],
    /// The whole statement.
    pub place: Place,
    /// Colour as written, with its place.
    pub colour: Option<(String, Place)>,
    /// Section in mm², `None` inside for `unknown`.
    pub section: Option<(Option<f64>, Place)>,
    /// Length in metres, `None` inside for `unknown`.
    pub length: Option<(Option<f64>, Place)>,
    /// Pieces of other wire let in.
    pub repairs: Vec<Repair>,
    /// Why an end hangs free, where the file says so.
    pub stub: Option<String>,
}

/// A piece of other wire let in.
#[derive(Clone, PartialEq, Debug)]
pub struct Repair {
    /// Metres from the end written first.
    pub at: Option<f64>,
    /// Metres.
    pub length: Option<f64>,
    /// Section in mm², where it differs.
    pub section: Option<f64>,
    /// Base/tracer letters, empty where nothing is said.
    pub colour: String,
    /// The author's words.
    pub label: String,
    /// The statement.
    pub place: Place,
}

/// One end of a wire.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum WireEnd {
    /// Joined to a point.
    Point(PointId, Place),
    /// Declared to end nowhere.
    Stub(Place),
    /// Not written, or not to be resolved; that has been reported.
    Lost,
}

/// What a part uses a pin for.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum PinRole {
    /// Supply of a module.
    Feed,
    /// Ground of a module.
    Return,
    /// Reference output.
    Reference,
    /// Sensor ground that belongs to a reference.
    ReferenceReturn,
    /// Switched output.
    Driver,
    /// Signal.
    Signal,
    /// Supply side of a load.
    LoadFeed,
    /// Ground side of a load.
    LoadReturn,
    /// Contact or coil of a switch or relay.
    Switching,
}

/// A finding that the author accepts.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Allow {
    /// The rule's id.
    pub rule: String,
    /// Why.
    pub reason: String,
    /// The item it is about; `None` for the whole file.
    pub on: Option<Entity>,
    /// The statement.
    pub place: Place,
    /// Where the rule is named.
    pub rule_place: Place,
}

impl Wire {
    /// Whether both its ends could be read, be it as `stub`.
    pub fn is_whole(&self) -> bool {
        !self.ends.contains(&WireEnd::Lost)
    }
}

impl Model {
    /// The files that the circuit is made of: the root file first, then overlays, then what they use.
    pub fn files(&self) -> impl Iterator<Item = FileId> + '_ {
        self.sources.texts.iter().map(|(file, _)| *file)
    }

    /// The file that a `use` line names at an offset, and the words that name it.
    pub fn used_at(&self, file: FileId, offset: u32) -> Option<(FileId, Span)> {
        let mut uses = self.sources.uses.iter();
        let (place, _, used) = uses.find(|(place, ..)| place.file == file && place.span.touches(offset))?;
        Some((*used, place.span))
    }

    /// The kind whose name is under an offset, where it is declared or where a part says it; and its stretch of text.
    pub fn kind_at(&self, file: FileId, offset: u32) -> Option<(&Kind, Span)> {
        let here = |place: &Place| place.file == file && place.span.touches(offset);
        let used = self.kind_uses.iter().find(|used| here(&used.place));
        let used = used.and_then(|used| Some((self.kinds.get(used.kind)?, used.place.span)));
        used.or_else(|| {
            let kind = self.kinds.iter().find(|kind| here(&kind.place))?;
            Some((kind, kind.place.span))
        })
    }

    /// The kind that a part or connector is of.
    pub fn kind_of(&self, item: Entity) -> Option<&Kind> {
        let statement = self.declaration(item)?;
        let inside = |place: &Place| {
            let (outer, inner) = (statement.span, place.span);
            place.file == statement.file && outer.start <= inner.start && inner.end <= outer.end
        };
        let plug = matches!(item, Entity::Connector(_));
        let sort = |kind: &&Kind| kind.sort == "inline" || (kind.sort == "connector") == plug;
        let kinds = self.kind_uses.iter().filter(|used| inside(&used.place));
        kinds.filter_map(|used| self.kinds.get(used.kind)).find(sort)
    }

    /// The kind that is named at a place: what a part does not say itself is said there.
    pub fn said_by_kind(&self, place: Place) -> Option<&Kind> {
        self.kinds.get(self.kind_uses.iter().find(|used| used.place == place)?.kind)
    }

    /// Whether somebody traced the circuit on a car. What nobody traced is only as good as its
    /// drawing, and says so.
    pub fn proven(&self) -> bool {
        self.facts.traces.iter().any(|trace| trace.item.is_none())
    }

    /// What the name under an offset stands for, and its stretch of text.
    pub fn entity_at(&self, file: FileId, offset: u32) -> Option<(Entity, Span)> {
        let until = self.mentions.partition_point(|m| (m.place.file, m.place.span.start) <= (file, offset));
        self.mentions[..until]
            .iter()
            .rev()
            .take_while(|m| m.place.file == file)
            .find(|m| m.place.span.touches(offset))
            .map(|m| (m.entity, m.place.span))
    }

    /// Every place that names anything, in text order.
    pub fn all_mentions(&self) -> impl Iterator<Item = &Mention> {
        self.mentions.iter()
    }

    /// Every place that names an entity, declarations included, in text order.
    pub fn mentions(&self, entity: Entity) -> impl Iterator<Item = &Mention> {
        self.mentions.iter().filter(move |m| m.entity == entity)
    }

    /// Where an entity is declared. A pin of a connector is declared at its
    /// cavity's line, or where the connector is if no line speaks of it.
    pub fn declaration(&self, entity: Entity) -> Option<Place> {
        match entity {
            Entity::Part(id) => self.part_places.get(&id).copied(),
            Entity::Connector(id) => self.connector_places.get(&id).copied(),
            Entity::Output(id) => self.branch_places.get(&id).copied(),
            Entity::Point(id) => {
                self.point_places.get(&id).copied().or_else(|| match self.circuit.point(id).kind {
                    halfsplit_circuit::PointKind::Cavity { connector, .. } => {
                        self.connector_places.get(&connector).copied()
                    }
                    _ => None,
                })
            }
        }
    }

    /// Where a line opening with a keyword speaks of an item: `reach` of a connector, `limit` of a reference.
    pub fn said(&self, item: Entity, keyword: &'static str) -> Option<Place> {
        self.said.get(&(item, keyword)).copied()
    }

    /// The statement that says a branch.
    pub fn branch_place(&self, branch: BranchId) -> Option<Place> {
        self.branch_places.get(&branch).copied()
    }

    /// The wires whose end is at a point.
    pub fn wires_at(&self, point: PointId) -> impl Iterator<Item = &Wire> {
        self.wires
            .iter()
            .filter(move |w| w.ends.iter().any(|e| matches!(e, WireEnd::Point(p, _) if *p == point)))
    }
}
