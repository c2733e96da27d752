//! What the rules look at: the model, with the ways from point to point indexed once.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use halfsplit_base::{FileId, Files};
use halfsplit_circuit::{
    Branch, BranchId, BranchKind, CavityRole, Circuit, ConnectorId, Key, PartId, PointId, PointKind,
    ReadError, Solution, Solver, State,
    net::{self, Net},
};
use halfsplit_model::{Entity, Model, Place, Term, Wire, WireEnd};
use halfsplit_syntax::Fact;

use crate::{
    doubt::{self, Crowd, Lonely},
    expect::Expectation,
    reach::Reach,
    short::{self, Short},
    wrong_pin::{self, WrongPin},
};

/// Statements are shorter than this; what is longer is no line of a circuit.
const LONGEST_LINE: usize = 500;

/// A model and everything about it that more than one rule asks for.
pub(crate) struct Survey<'m> {
    pub(crate) model: &'m Model,
    /// What came of its `expect` blocks, once they are run.
    pub(crate) expectations: Vec<Expectation>,
    files: &'m Files,
    wires_at: Vec<Vec<u32>>,
    branches_at: Vec<Vec<BranchId>>,
    wire_of: HashMap<BranchId, u32>,
    names: HashMap<Entity, Place>,
    points_of: HashMap<PartId, Vec<PointId>>,
    nets: Vec<Net>,
    net_of: Vec<u32>,
    outputs: HashMap<BranchId, u32>,
    /// What a line asks of the car.
    terms: HashMap<Place, &'m [Term]>,
    doubted: Vec<bool>,
    doubtful_nets: Vec<bool>,
    /// Cavities that hold more wires than they say.
    pub(crate) crowds: Vec<Crowd>,
    /// The points of those cavities.
    pub(crate) crowded: BTreeSet<PointId>,
    /// Cavities of inline connectors that are wired on one half only.
    pub(crate) lonely: Vec<Lonely>,
    /// Which branch supplies each net, where one does.
    pub(crate) suppliers: BTreeMap<usize, BranchId>,
    /// Loads of which a pin is where it can't be.
    pub(crate) wrong_pins: Vec<WrongPin>,
    /// Supplies and references joined to ground, with the wire that is left out of every further walk.
    pub(crate) shorts: Vec<Short>,
    /// Where current can come from and go to.
    pub(crate) reach: Reach,
    /// Volts and currents with the key at `run`, everything mated and every switch at rest, once they are asked for.
    pub(crate) sound: Option<Result<Solution, ReadError>>,
}

impl<'m> Survey<'m> {
    pub(crate) fn new(files: &'m Files, model: &'m Model) -> Survey<'m> {
        let circuit = &model.circuit;
        let points = circuit.points.len();
        let mut survey = Survey {
            model,
            expectations: Vec::new(),
            files,
            wires_at: vec![Vec::new(); points],
            branches_at: vec![Vec::new(); points],
            wire_of: HashMap::new(),
            names: HashMap::new(),
            points_of: HashMap::new(),
            nets: net::nets(circuit, &State::default()),
            net_of: vec![0; points],
            outputs: HashMap::new(),
            terms: model.conditions.iter().map(|c| (c.place, c.terms.as_slice())).collect(),
            doubted: vec![false; points],
            doubtful_nets: Vec::new(),
            crowds: Vec::new(),
            crowded: BTreeSet::new(),
            lonely: Vec::new(),
            suppliers: BTreeMap::new(),
            wrong_pins: Vec::new(),
            shorts: Vec::new(),
            reach: Reach::default(),
            sound: None,
        };
        survey.index();
        doubt::reported(&mut survey);
        doubt::misplaced(&mut survey);
        survey.suppliers = wrong_pin::suppliers(&survey);
        survey.wrong_pins = wrong_pin::find(&survey);
        doubt::wrong_pins(&mut survey);
        survey.doubtful_nets =
            survey.nets.iter().map(|net| net.points.iter().any(|&p| survey.doubts(p))).collect();
        survey.shorts = short::find(&survey);
        survey.reach = Reach::of(&survey);
        survey
    }

    /// Solves the sound circuit, where it has a supply.
    pub(crate) fn solve(&mut self) {
        if self.reach.has_supply {
            self.sound = Some(Solver::new(self.circuit()).solve(&State::with_key(Key::Run), &[]));
        }
    }

    /// Volts and currents of the sound circuit, where there are any.
    pub(crate) fn solution(&self) -> Option<&Solution> {
        self.sound.as_ref()?.as_ref().ok()
    }

    /// What the texts say, each with the file that says it: the root file first.
    pub(crate) fn facts(&self) -> impl Iterator<Item = (FileId, &[Fact])> {
        self.model.files().map(|file| (file, self.files.get(file).parse().facts.as_slice()))
    }

    fn index(&mut self) {
        let circuit = &self.model.circuit;
        for (index, wire) in self.model.wires.iter().enumerate() {
            for (point, _) in ends(wire) {
                let here = &mut self.wires_at[point.index()];
                if here.last() != Some(&(index as u32)) {
                    here.push(index as u32);
                }
            }
            if let Some(branch) = wire.branch {
                self.wire_of.insert(branch, index as u32);
            }
        }
        for (id, branch) in circuit.branches() {
            self.branches_at[branch.a.index()].push(id);
            if branch.b != branch.a {
                self.branches_at[branch.b.index()].push(id);
            }
        }
        for (index, (_, output)) in circuit.outputs.iter().enumerate() {
            self.outputs.insert(*output, index as u32);
        }
        for mention in self.model.all_mentions().filter(|m| m.declares) {
            self.names.entry(mention.entity).or_insert(mention.place);
        }
        for (index, net) in self.nets.iter().enumerate() {
            for point in &net.points {
                self.net_of[point.index()] = index as u32;
            }
        }
        for (index, point) in circuit.points.iter().enumerate() {
            let owner = match point.kind {
                PointKind::Cavity { connector, .. } => circuit.connector(connector).owner,
                PointKind::Inside => None,
                _ => self.model.names.find_part(point.name.split(':').next().unwrap_or_default()),
            };
            if let Some(part) = owner {
                self.points_of.entry(part).or_default().push(PointId(index as u32));
            }
        }
    }

    pub(crate) fn circuit(&self) -> &'m Circuit {
        &self.model.circuit
    }

    /// All that a file says.
    pub(crate) fn whole_text(&self, file: FileId) -> &str {
        &self.files.get(file).text
    }

    /// The text of a place.
    pub(crate) fn text(&self, place: Place) -> &str {
        self.files.get(place.file).text.get(place.span.range()).unwrap_or_default()
    }

    /// The line in which a place begins, or what of it is near enough to be about it.
    pub(crate) fn line(&self, place: Place) -> &str {
        let text = &self.files.get(place.file).text;
        let at = (place.span.start as usize).min(text.len());
        let mut first = at.saturating_sub(LONGEST_LINE);
        let mut last = (at + LONGEST_LINE).min(text.len());
        while !text.is_char_boundary(first) {
            first += 1;
        }
        while !text.is_char_boundary(last) {
            last -= 1;
        }
        let (Some(before), Some(after)) = (text.get(first..at), text.get(at..last)) else { return "" };
        let start = before.rfind('\n').map_or(first, |i| first + i + 1);
        let end = after.find('\n').map_or(last, |i| at + i);
        &text[start..end]
    }

    pub(crate) fn part_name(&self, part: PartId) -> &'m str {
        &self.circuit().part(part).name
    }

    pub(crate) fn point_name(&self, point: PointId) -> &'m str {
        &self.circuit().point(point).name
    }

    pub(crate) fn wire_name(&self, wire: &Wire) -> &'m str {
        self.part_name(wire.part)
    }

    /// Where the name of a thing is declared.
    pub(crate) fn name_place(&self, entity: Entity) -> Option<Place> {
        let own = self.names.get(&entity).copied();
        own.or_else(|| match entity {
            // A splice, bar or ground point is a part and a point of the same name.
            Entity::Point(point) => {
                let part = self.model.names.find_part(self.point_name(point))?;
                self.names.get(&Entity::Part(part)).copied()
            }
            _ => None,
        })
        .or_else(|| self.model.declaration(entity))
    }

    /// Where the name of a wire is declared.
    pub(crate) fn wire_place(&self, wire: &Wire) -> Place {
        self.names.get(&Entity::Part(wire.part)).copied().unwrap_or(wire.place)
    }

    /// The statement that says a branch, or the part that it belongs to.
    pub(crate) fn branch_place(&self, branch: BranchId) -> Option<Place> {
        let part = self.circuit().branch(branch).part;
        self.model.branch_place(branch).or_else(|| self.model.declaration(Entity::Part(part)))
    }

    /// The wires that end at a point, in text order.
    pub(crate) fn wires_at(&self, point: PointId) -> impl Iterator<Item = &'m Wire> + '_ {
        self.wires_at[point.index()].iter().map(|&i| &self.model.wires[i as usize])
    }

    /// The wire that a branch is.
    pub(crate) fn wire(&self, branch: BranchId) -> Option<&'m Wire> {
        self.wire_of.get(&branch).map(|&i| &self.model.wires[i as usize])
    }

    /// Whether no car has both of two wires: their options or build serials exclude each other.
    pub(crate) fn never_together(&self, one: &Wire, two: &Wire) -> bool {
        let terms = |wire: &Wire| self.terms.get(&wire.place).copied().unwrap_or_default();
        terms(one).iter().any(|a| terms(two).iter().any(|b| exclude(a, b)))
    }

    /// The branches that end at a point.
    pub(crate) fn branches_at(&self, point: PointId) -> impl Iterator<Item = (BranchId, &'m Branch)> + '_ {
        self.branches_at[point.index()].iter().map(|&id| (id, self.circuit().branch(id)))
    }

    /// The pins, terminals and points of a part.
    pub(crate) fn points_of(&self, part: PartId) -> &[PointId] {
        self.points_of.get(&part).map_or(&[], Vec::as_slice)
    }

    /// Every net with everything mated.
    pub(crate) fn nets(&self) -> &[Net] {
        &self.nets
    }

    /// Which net a point is in, as an index of [`Survey::nets`].
    pub(crate) fn net_of(&self, point: PointId) -> usize {
        self.net_of[point.index()] as usize
    }

    /// The wires of a net, in text order.
    pub(crate) fn wires_of(&self, net: &Net) -> Vec<&'m Wire> {
        net.branches.iter().filter_map(|&branch| self.wire(branch)).collect()
    }

    /// Whether another finding already speaks of a point, so that what seems to be missing there may not be.
    pub(crate) fn doubts(&self, point: PointId) -> bool {
        self.doubted[point.index()]
    }

    /// Whether another finding already speaks of something in the net of a point.
    pub(crate) fn doubts_net_of(&self, point: PointId) -> bool {
        self.doubtful_nets[self.net_of(point)]
    }

    /// The name of a module's output.
    pub(crate) fn output_name(&self, output: BranchId) -> Option<&'m str> {
        self.outputs.get(&output).map(|&i| self.circuit().outputs[i as usize].0.as_str())
    }

    /// How many wires end at a point.
    pub(crate) fn wire_count(&self, point: PointId) -> usize {
        self.wires_at[point.index()].len()
    }

    /// Whether some wire of a net is of one of these colours.
    pub(crate) fn has_colour(&self, net: usize, colours: &BTreeSet<String>) -> bool {
        let of = |wire: &Wire| wire.colour.as_ref().is_some_and(|(colour, _)| colours.contains(colour));
        !colours.is_empty() && self.wires_of(&self.nets[net]).into_iter().any(of)
    }

    /// Whether a net has any wire.
    pub(crate) fn is_wired(&self, net: &Net) -> bool {
        net.branches.iter().any(|branch| self.wire_of.contains_key(branch))
    }

    /// The same, but for the loose ends of wires.
    pub(crate) fn doubts_but_loose(&self, point: PointId) -> bool {
        self.doubts(point) && !doubt::is_loose_end(self, point)
    }

    pub(crate) fn doubt(&mut self, point: PointId) {
        self.doubted[point.index()] = true;
    }

    /// The points of a connector, both halves.
    pub(crate) fn points_in(&self, connector: ConnectorId) -> impl Iterator<Item = PointId> + use<'m> {
        self.circuit().connector(connector).cavities.iter().flat_map(|c| c.points).flatten()
    }

    /// Whether the wire at a point is drawn in another file.
    pub(crate) fn is_elsewhere(&self, point: PointId) -> bool {
        self.cavity_role(point) == Some(CavityRole::Elsewhere)
    }

    /// The role of a point's cavity.
    pub(crate) fn cavity_role(&self, point: PointId) -> Option<CavityRole> {
        match self.circuit().point(point).kind {
            PointKind::Cavity { connector, cavity, .. } => {
                self.circuit().connector(connector).cavities.get(cavity as usize).map(|c| c.role)
            }
            _ => None,
        }
    }

    /// The branches that draw current, and those whose current a rule has to account for.
    pub(crate) fn loads(&self) -> impl Iterator<Item = (BranchId, &'m Branch)> + use<'m> {
        let passive = &self.model.facts.passive;
        self.circuit().branches().filter(move |(id, b)| !passive.contains(id) && b.kind.draws())
    }

    /// The wires of a net in words: `W7 and SP10`'s wires, the first few.
    pub(crate) fn wires_in_words(&self, wires: &[&Wire]) -> String {
        let mut names: Vec<&str> = wires.iter().take(4).map(|w| self.wire_name(w)).collect();
        let rest = format!("{} more", wires.len().saturating_sub(4));
        if wires.len() > 4 {
            names.push(&rest);
        }
        list(&names)
    }
}

/// Whether no car meets both.
fn exclude(one: &Term, two: &Term) -> bool {
    match (one, two) {
        (Term::Option { name, present }, Term::Option { name: other, present: wanted }) => {
            name == other && present != wanted
        }
        (Term::Serial { first, last }, Term::Serial { first: from, last: to }) => {
            last.is_some_and(|last| last < *from) || to.is_some_and(|to| to < *first)
        }
        _ => false,
    }
}

/// Whether something gives current of its own: a battery, a bench supply, a generator with or without a sense wire.
pub(crate) fn is_source(kind: &BranchKind) -> bool {
    matches!(kind, BranchKind::Source { .. } | BranchKind::Generator { .. })
}

/// The ends of a wire that are joined to something.
pub(crate) fn ends(wire: &Wire) -> impl Iterator<Item = (PointId, Place)> + '_ {
    wire.ends.iter().filter_map(|end| match end {
        WireEnd::Point(point, place) => Some((*point, *place)),
        WireEnd::Stub(_) | WireEnd::Lost => None,
    })
}

/// `W1`, `W1 and W2`, `W1, W2 and W3`.
pub(crate) fn list<S: AsRef<str>>(names: &[S]) -> String {
    match names {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", first.join(", "), last.as_ref())
        }
    }
}

/// A number as people write it: at most two digits behind the point, none that say nothing.
pub(crate) fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
