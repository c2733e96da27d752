//! From facts to a circuit: first everything that has a name, then everything that joins.

mod applicable;
mod cases;
mod connect;
mod connectors;
mod declare;
mod ends;
mod expects;
mod inside;
mod kinds;
mod together;
mod uses;
mod wires;

pub(crate) use self::uses::Sources;

use std::collections::{BTreeMap, HashMap, HashSet};

use halfsplit_base::{FileId, Files, Span};
use halfsplit_circuit::{
    Branch, BranchId, BranchKind, Caution, Circuit, ConnectorId, Hazard, Part, PartId, PartKind, Point,
    PointId, PointKind,
};
use halfsplit_syntax::{Fact, SyntaxError};

use crate::{
    Allow, Car, Condition, Entity, Facts, Kind, KindUse, Mention, Model, PinRole, Place, Problem,
    ProblemKind, SupplyKind, Vehicle, Wire,
    expect::Expect,
    names::{NameError, Names, look},
};

/// Turns the circuit of a root file into a model. Never fails: what does not
/// add up is listed in [`Model::problems`], and the rest is lowered all the same.
///
/// Every option is taken to be there and the build serial to be unknown, as [`Car::default`] has it.
/// A case file gives the circuit of its own car, with the [`Case`](crate::case::Case).
pub fn lower(files: &Files, file: FileId) -> Model {
    cases::lower_case(files, file).unwrap_or_else(|| lower_for(files, file, &Car::default()))
}

/// As [`lower`], for a car of which options and build serial are known: lines that do not hold for
/// it are left out.
pub fn lower_for(files: &Files, file: FileId, car: &Car) -> Model {
    lower_with_overlay(files, file, &[], car)
}

/// As [`lower_for`], with equipment that was added to this one car. The overlays' facts join those
/// of the circuit as if they stood in it; the circuit's own file stays as it is.
pub fn lower_with_overlay(files: &Files, file: FileId, overlays: &[FileId], car: &Car) -> Model {
    let own: Vec<FileId> = std::iter::once(file).chain(overlays.iter().copied()).collect();
    lower_sources(Sources::of(files, &own), car)
}

/// Lowers the first text with the facts of the others.
pub(crate) fn lower_sources(sources: Sources, car: &Car) -> Model {
    let root = sources.texts.first().map_or(FileId(0), |(file, _)| *file);
    let mut lowering = Lowering::new(root);
    lowering.problems.extend(sources.problems.iter().cloned());
    let mut syntax: Vec<(FileId, SyntaxError)> = Vec::new();
    let mut parsed: Vec<(FileId, Vec<Fact>)> = Vec::new();
    for (at, (file, text)) in sources.texts.iter().enumerate() {
        let parse = text.parse();
        syntax.extend(parse.errors.iter().map(|error| (*file, error.clone())));
        let mut facts = parse.facts.clone();
        if at >= sources.own {
            // What a used file says of itself as a whole, it does not say of those that use it.
            facts.retain(|fact| !of_the_file(fact));
        }
        parsed.push((*file, facts));
    }
    lowering.library = parsed.first().is_some_and(|(_, facts)| is_library(facts));
    let mut known = lowering.kinds(&sources);
    lowering.in_each(&mut parsed, |lowering, facts| lowering.expand(&mut known, facts));
    lowering.try_kinds(&mut known);
    let useful = known.useful().collect();
    lowering.unused(&sources, &parsed, useful);
    lowering.in_each(&mut parsed, |lowering, facts| lowering.options(facts));
    lowering.in_each(&mut parsed, |lowering, facts| lowering.applicable(facts, car));
    lowering.in_each(&mut parsed, |lowering, facts| lowering.declare_all(facts));
    lowering.mate_connectors();
    lowering.in_each(&mut parsed, |lowering, facts| lowering.connect_all(facts));
    lowering.in_each(&mut parsed, |lowering, facts| facts.iter().for_each(|fact| lowering.together(fact)));
    lowering.posts();
    let (own, added): (Vec<_>, Vec<_>) = syntax.into_iter().partition(|(file, _)| *file == root);
    let mut model = lowering.finish(own.into_iter().map(|(_, error)| error).collect());
    model.overlay_syntax = added;
    model.car = car.clone();
    model.sources = sources;
    model
}

/// Whether a file without a title is one that serves others.
fn is_library(facts: &[Fact]) -> bool {
    let has = |keyword| facts.iter().any(|fact: &Fact| fact.keyword() == keyword);
    !has("circuit") && (has("library") || has("kind"))
}

/// Whether a statement holds for its whole file.
fn of_the_file(fact: &Fact) -> bool {
    match fact.keyword() {
        "source" | "traced" => true,
        "allow" => !fact.has("item"),
        _ => false,
    }
}

/// How many names are looked through for a likely slip before they are only called
/// unknown: a file with more wrong names than this is wrong in another way.
const MOST_SEARCHES: usize = 100;

struct Lowering {
    file: FileId,
    library: bool,
    title: Option<String>,
    vehicle: Vehicle,
    vehicle_file: Option<FileId>,
    circuit: Circuit,
    names: Names,
    problems: Vec<Problem>,
    allows: Vec<Allow>,
    wires: Vec<Wire>,
    roles: BTreeMap<PointId, PinRole>,
    part_places: HashMap<PartId, Place>,
    connector_places: HashMap<ConnectorId, Place>,
    point_places: HashMap<PointId, Place>,
    branch_places: HashMap<BranchId, Place>,
    said: HashMap<(Entity, &'static str), Place>,
    supplies: BTreeMap<PartId, SupplyKind>,
    rated: BTreeMap<BranchId, f64>,
    mentions: Vec<Mention>,
    /// `allow` lines in the blocks of connectors, until every name is declared.
    waiting: Vec<(Entity, Fact)>,
    /// How often every name was looked through for a likely slip.
    searches: usize,
    /// Cavities of all connectors.
    cavities: usize,
    /// Declared names by the form in which look-alikes are equal.
    looks: HashMap<String, (String, Place)>,
    /// The part that a top-level statement declared, by the statement's start.
    declared: HashMap<Start, PartId>,
    facts: Facts,
    conditions: Vec<Condition>,
    expects: Vec<Expect>,
    /// Parts that the car lacks although its loom has their plugs.
    lacking: HashSet<Start>,
    /// Contact resistance where the file gives it: of a connector, and of single cavities.
    contacts: HashMap<(ConnectorId, Option<String>), f64>,
    kinds: Vec<Kind>,
    kind_uses: Vec<KindUse>,
    kind_places: HashSet<Place>,
    /// Those of a kind that has a mistake of its own.
    faulty_uses: HashSet<Place>,
}

/// Where a statement begins.
type Start = (FileId, u32);

impl Lowering {
    fn new(file: FileId) -> Lowering {
        Lowering {
            file,
            library: false,
            title: None,
            vehicle: Vehicle::default(),
            vehicle_file: None,
            circuit: Circuit::default(),
            names: Names::default(),
            problems: Vec::new(),
            allows: Vec::new(),
            wires: Vec::new(),
            roles: BTreeMap::new(),
            part_places: HashMap::new(),
            connector_places: HashMap::new(),
            point_places: HashMap::new(),
            branch_places: HashMap::new(),
            said: HashMap::new(),
            supplies: BTreeMap::new(),
            rated: BTreeMap::new(),
            mentions: Vec::new(),
            waiting: Vec::new(),
            searches: 0,
            cavities: 0,
            looks: HashMap::new(),
            declared: HashMap::new(),
            facts: Facts::default(),
            conditions: Vec::new(),
            expects: Vec::new(),
            lacking: HashSet::new(),
            contacts: HashMap::new(),
            kinds: Vec::new(),
            kind_uses: Vec::new(),
            kind_places: HashSet::new(),
            faulty_uses: HashSet::new(),
        }
    }

    fn finish(mut self, syntax: Vec<SyntaxError>) -> Model {
        if self.library {
            // Names that are for the files that use it to declare.
            self.problems.retain(|problem| !matches!(problem.kind, ProblemKind::UnknownName { .. }));
        } else if self.title.is_none() {
            let place = self.place(Span::new(0, 0));
            self.problem(place, ProblemKind::NoTitle);
        }
        // What is wrong with a kind is said where it is declared, not again of every part.
        let faulty = &self.faulty_uses;
        self.problems.retain(|problem| {
            let of_the_kind = matches!(
                problem.kind,
                ProblemKind::NoSuchCavity { .. }
                    | ProblemKind::CavityTwice { .. }
                    | ProblemKind::TooManyCavities { .. }
                    | ProblemKind::UnknownName { wanted: "pin", .. }
            );
            !(of_the_kind && faulty.contains(&problem.place))
        });
        self.mentions.sort_by_key(|m| (m.place.file, m.place.span.start));
        self.problems.sort_by_key(|p| p.place);
        Model {
            file: self.file,
            library: self.library,
            syntax,
            title: self.title.unwrap_or_default(),
            vehicle: self.vehicle,
            circuit: self.circuit,
            names: self.names,
            problems: self.problems,
            allows: self.allows,
            wires: self.wires,
            roles: self.roles,
            part_places: self.part_places,
            connector_places: self.connector_places,
            point_places: self.point_places,
            branch_places: self.branch_places,
            said: self.said,
            supplies: self.supplies,
            rated: self.rated,
            mentions: self.mentions,
            facts: self.facts,
            conditions: self.conditions,
            expects: self.expects,
            overlay_syntax: Vec::new(),
            case: None,
            car: Car::default(),
            kinds: self.kinds,
            kind_uses: self.kind_uses,
            sources: Sources::default(),
        }
    }

    /// Goes through the facts of every file, each under its own name.
    fn in_each(
        &mut self,
        parsed: &mut [(FileId, Vec<Fact>)],
        mut work: impl FnMut(&mut Lowering, &mut Vec<Fact>),
    ) {
        let root = self.file;
        for (file, facts) in parsed {
            self.file = *file;
            work(self, facts);
        }
        self.file = root;
    }

    fn place(&self, span: Span) -> Place {
        Place { file: self.file, span }
    }

    fn problem(&mut self, place: Place, kind: ProblemKind) {
        self.problems.push(Problem { place, kind });
    }

    fn mention(&mut self, span: Span, entity: Entity, declares: bool) {
        let place = self.place(span);
        // The kind's name in a part is the kind's, not that of all its pins.
        if !declares && self.kind_places.contains(&place) {
            return;
        }
        self.mentions.push(Mention { place, entity, declares });
    }

    /// Remembers where a statement says something about an item.
    fn say(&mut self, item: Entity, fact: &Fact) {
        let place = self.place(fact.span);
        self.said.entry((item, fact.keyword())).or_insert(place);
    }

    fn add_part(&mut self, name: &str, kind: PartKind, label: &str) -> PartId {
        let id = PartId(self.circuit.parts.len() as u32);
        self.circuit.parts.push(Part::new(name, label, kind));
        self.names.add_part(name, id);
        id
    }

    fn add_point(&mut self, name: &str, spellings: &[String], kind: PointKind) -> PointId {
        let id = PointId(self.circuit.points.len() as u32);
        self.circuit.points.push(Point { name: name.to_owned(), kind });
        self.names.add_point(name, spellings, id);
        id
    }

    /// A node that no probe reaches and no text names.
    fn add_inside(&mut self, name: String) -> PointId {
        let id = PointId(self.circuit.points.len() as u32);
        self.circuit.points.push(Point { name, kind: PointKind::Inside });
        id
    }

    fn add_branch(&mut self, part: PartId, a: PointId, b: PointId, kind: BranchKind, span: Span) -> BranchId {
        let place = self.place(span);
        self.add_branch_at(part, a, b, kind, place)
    }

    fn add_branch_at(
        &mut self,
        part: PartId,
        a: PointId,
        b: PointId,
        kind: BranchKind,
        place: Place,
    ) -> BranchId {
        let id = BranchId(self.circuit.branches.len() as u32);
        self.circuit.branches.push(Branch { part, a, b, kind });
        self.branch_places.insert(id, place);
        id
    }

    /// Takes a name for a declaration, or reports that it is taken. Names that
    /// differ only in case, or in O and 0, are as good as taken.
    fn claim(&mut self, name: &str, span: Span) -> bool {
        let place = self.place(span);
        match self.looks.get(&look(name)) {
            Some((other, first)) => {
                let (other, first) = (other.clone(), *first);
                let same = other == name;
                self.problem(place, ProblemKind::DuplicateName { name: name.into(), other, first });
                !same
            }
            None => {
                self.looks.insert(look(name), (name.into(), place));
                true
            }
        }
    }

    /// Finds the point that a pin stands for. Inside a part, its own
    /// connectors and terminals come first.
    fn pin(&mut self, owner: Option<PartId>, written: &str, span: Span) -> Option<PointId> {
        let own = owner.map(|id| self.circuit.part(id).name.as_str());
        let found = own
            .and_then(|own| {
                let by_connector = self.names.find_point(&format!("{own}.{written}"));
                by_connector.or_else(|| self.names.find_point(&format!("{own}:{written}")))
            })
            .or_else(|| self.names.find_point(written));
        match found {
            Some(point) => {
                self.mention(span, Entity::Point(point), false);
                Some(point)
            }
            None => {
                let error = self.pin_error(written);
                self.report_pin(written, span, error);
                None
            }
        }
    }

    fn pin_error(&mut self, written: &str) -> NameError {
        let called = self.names.points_called(written);
        if called.len() > 1 {
            let candidates = called.iter().map(|&id| self.circuit.point(id).name.clone()).collect();
            return NameError::Ambiguous { candidates };
        }
        let near = self.near(|names| names.point(written).err());
        NameError::Unknown { near }
    }

    /// The likely slip, unless too many were looked for already.
    fn near(&mut self, search: impl FnOnce(&Names) -> Option<NameError>) -> Option<String> {
        self.searches += 1;
        if self.searches > MOST_SEARCHES {
            return None;
        }
        match search(&self.names)? {
            NameError::Unknown { near } => near,
            NameError::Ambiguous { .. } => None,
        }
    }

    fn report_pin(&mut self, written: &str, span: Span, error: NameError) {
        let place = self.place(span);
        let connector = written.rsplit_once(':').and_then(|(connector, cavity)| {
            let whole = connector.rsplit_once('.').map_or(connector, |(whole, _)| whole);
            let id = self.names.find_connector(connector).or_else(|| self.names.find_connector(whole))?;
            Some((id, cavity.to_owned()))
        });
        let kind = match (error, connector) {
            (NameError::Ambiguous { candidates }, Some((id, _)))
                if self.circuit.connector(id).owner.is_none() && candidates.len() == 2 =>
            {
                let [a, b] = [candidates[0].clone(), candidates[1].clone()];
                ProblemKind::HalfMissing { written: written.into(), halves: [a, b] }
            }
            (NameError::Ambiguous { candidates }, _) => {
                ProblemKind::AmbiguousName { written: written.into(), candidates }
            }
            (NameError::Unknown { .. }, Some((id, cavity)))
                if !self.circuit.connector(id).cavities.iter().any(|c| c.name == cavity) =>
            {
                let connector = self.circuit.connector(id);
                ProblemKind::NoSuchCavity {
                    connector: connector.name.clone(),
                    cavity,
                    count: connector.cavities.len(),
                    declared: self.connector_places.get(&id).copied().unwrap_or(place),
                }
            }
            (NameError::Unknown { near }, _) => {
                ProblemKind::UnknownName { written: written.into(), wanted: "pin", near }
            }
        };
        self.problem(place, kind);
    }

    fn cautions(facts: &[Fact]) -> Vec<Caution> {
        facts
            .iter()
            .filter(|fact| fact.keyword() == "caution")
            .filter_map(|fact| {
                let hazard = hazard(fact.word("hazard")?.value)?;
                Some(Caution { hazard, words: declare::text(fact, "text") })
            })
            .collect()
    }
}

fn hazard(word: &str) -> Option<Hazard> {
    Some(match word {
        "airbag" => Hazard::Airbag,
        "high-voltage" => Hazard::HighVoltage,
        "fuel" => Hazard::Fuel,
        "hot" => Hazard::Hot,
        "fan" => Hazard::Fan,
        "moving" => Hazard::Moving,
        _ => return None,
    })
}
