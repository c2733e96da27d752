//! What stands beside each symbol: name, value, volts in the chosen state, and what is wrong there.

use std::collections::BTreeSet;

use halfsplit_circuit::{
    BranchId, BranchKind, Circuit, Fault, Meter, PartId, PartKind, PointId, PointKind, Solution, Solver,
    State,
};

use super::{
    graph::{Graph, Thing, inner_ground, is_body},
    symbol::{Look, Shape},
    text,
};
use crate::value;

/// One line beside a symbol: what stands out, and what follows it.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub(super) struct Line {
    /// In bold.
    pub bold: String,
    /// Behind it.
    pub plain: String,
}

/// What is said of one node.
#[derive(Clone, Default, Debug)]
pub(super) struct Words {
    /// Beside the symbol, from the top.
    pub lines: Vec<Line>,
    /// How the symbol looks.
    pub look: Look,
    /// Colour letters of a wire.
    pub colour: Option<String>,
    /// All of it in one sentence.
    pub title: String,
}

/// What the words are about.
pub(super) struct Speaker<'a> {
    pub circuit: &'a Circuit,
    pub state: &'a State,
    pub faults: &'a [Fault],
    /// The faults as typed, one for each.
    pub written: &'a [String],
    solver: Solver<'a>,
    sound: Option<Solution>,
    solution: Option<Solution>,
}

impl<'a> Speaker<'a> {
    pub(super) fn new(
        circuit: &'a Circuit,
        state: &'a State,
        faults: &'a [Fault],
        written: &'a [String],
    ) -> Speaker<'a> {
        let solver = Solver::new(circuit);
        let sound = if faults.is_empty() { None } else { solver.solve(state, &[]).ok() };
        let solution = solver.solve(state, faults).ok();
        Speaker { circuit, state, faults, written, solver, sound, solution }
    }

    /// Whether volts could be computed.
    pub(super) fn is_solved(&self) -> bool {
        self.solution.is_some()
    }

    /// Parts whose unknown value the volts of a drawing go through: those that are drawn, and those that the reading
    /// at the pin itself names.
    pub(super) fn unknowns(&self, drawn: &BTreeSet<BranchId>, pin: PointId) -> Vec<String> {
        let mut parts: BTreeSet<PartId> = (drawn.iter())
            .map(|id| self.circuit.branch(*id))
            .filter(|branch| {
                matches!(
                    branch.kind,
                    BranchKind::Wire { ohms: None, .. }
                        | BranchKind::Load { ohms: None, .. }
                        | BranchKind::Feed { awake: None, .. }
                        | BranchKind::Coil { assumed: true, .. }
                )
            })
            .map(|branch| branch.part)
            .collect();
        if let Some(negative) = self.circuit.negative {
            let meter = Meter::volts(pin, negative);
            let reading = self.solver.read(self.state, self.faults, &meter);
            parts.extend(reading.map(|reading| reading.unknowns).unwrap_or_default());
        }
        parts.into_iter().map(|id| text::name(&self.circuit.part(id).name)).collect()
    }

    /// Whether a contact or a driver does not lead in this state.
    pub(super) fn is_open(&self, id: BranchId) -> bool {
        let branch = self.circuit.branch(id);
        let solution = self.solution.as_ref();
        match &branch.kind {
            BranchKind::Switch { closed, .. } => !self.circuit.holds(closed, branch.part, self.state),
            BranchKind::RelayContact { coil, closed_at_rest, .. } => {
                solution.is_some_and(|s| s.pulled_in(*coil)) == *closed_at_rest
            }
            BranchKind::Driver { on, .. } => {
                let commanded = self.circuit.commanded(id, on, self.state);
                !(commanded && solution.is_some_and(|s| s.awake(branch.part)))
            }
            _ => false,
        }
    }

    /// Words of every node.
    pub(super) fn all(&self, graph: &Graph, open_ends: &BTreeSet<PointId>) -> Vec<Words> {
        let upper = |node: usize| {
            let above = graph.edges.iter().filter(move |(_, lower)| *lower == node);
            above.filter_map(|(above, _)| match graph.nodes[*above].thing {
                Thing::Branch(id) => Some(self.circuit.branch(id)),
                _ => None,
            })
        };
        (graph.nodes.iter().enumerate())
            .map(|(at, node)| match &node.thing {
                Thing::Site(points) => {
                    let above: BTreeSet<PointId> = upper(at).flat_map(|b| [b.a, b.b]).collect();
                    self.site(points, node.shape, &above, open_ends)
                }
                Thing::Branch(id) | Thing::Source(id) => self.branch(*id, node.shape, graph, at),
                Thing::Link(id) => self.branch(*id, node.shape, graph, at),
            })
            .collect()
    }

    fn site(
        &self,
        points: &[PointId],
        shape: Shape,
        above: &BTreeSet<PointId>,
        open_ends: &BTreeSet<PointId>,
    ) -> Words {
        let mut words = Words::default();
        if shape == Shape::Through {
            return words;
        }
        if let Some(module) = inner_ground(self.circuit, points) {
            let part = self.circuit.part(module);
            words.lines.push(Line { bold: text::name(&part.name), plain: "ground inside".to_owned() });
            let labels = text::label(&part.label).into_iter();
            words.lines.extend(labels.map(|plain| Line { bold: String::new(), plain }));
            words.title = sentence(&words.lines, "");
            return words;
        }
        let parted = points.iter().find_map(|point| match self.circuit.point(*point).kind {
            PointKind::Cavity { connector, .. } if self.state.unplugged.contains(&connector) => {
                Some(connector)
            }
            _ => None,
        });
        // The half that hangs on what is above comes first.
        let mut shown: Vec<PointId> = match shape {
            Shape::Bar => {
                let bars = points.iter().filter(|p| self.circuit.point(**p).kind == PointKind::Bar);
                let bar = bars.copied().next().or_else(|| self.circuit.body.filter(|b| points.contains(b)));
                vec![bar.unwrap_or(points[0])]
            }
            _ => points.to_vec(),
        };
        shown.sort_by_key(|point| (!above.contains(point), *point));
        if shape == Shape::Pin && parted.is_none() {
            // A pin is called by its wire side, also where only the part's side is drawn.
            shown = shown
                .into_iter()
                .map(|point| self.wire_side(point))
                .collect::<BTreeSet<_>>()
                .into_iter()
                .collect();
        }
        for point in shown {
            let mut name = text::name(&self.circuit.point(point).name);
            if is_body(self.circuit, &[point]) {
                name = "body".to_owned();
            }
            words.lines.push(Line { bold: name, plain: self.volts(point) });
            if let Some(sound) = self.sound_volts(point) {
                words.lines.push(Line { bold: String::new(), plain: format!("sound: {sound}") });
            }
            if self.circuit.point(point).kind == PointKind::Inside {
                words.lines.clear();
            }
        }
        if let Some(connector) = parted {
            let name = text::name(&self.circuit.connector(connector).name);
            words.lines.push(Line { bold: format!("{name} parted"), plain: String::new() });
            words.look = Look { open: true, dashed: true, ..Look::default() };
        }
        let faults = self.faults_at(points, &[]);
        self.tell(&mut words, &faults);
        if points.iter().any(|point| open_ends.contains(point)) {
            words.lines.push(Line { bold: String::new(), plain: "goes on, not drawn".to_owned() });
        }
        let mut labels = points.iter().filter_map(|point| match self.circuit.point(*point).kind {
            PointKind::Cavity { connector, cavity, .. } => {
                Some(self.circuit.connector(connector).cavities.get(cavity as usize)?.label.as_str())
            }
            _ => None,
        });
        let label = labels.find(|label| !label.is_empty());
        words.title = sentence(&words.lines, label.unwrap_or_default());
        words
    }

    fn wire_side(&self, point: PointId) -> PointId {
        let PointKind::Cavity { connector, half: 1, cavity } = self.circuit.point(point).kind else {
            return point;
        };
        let connector = self.circuit.connector(connector);
        let cavity = connector.cavities.get(cavity as usize).filter(|_| connector.owner.is_some());
        cavity.and_then(|cavity| cavity.points[0]).unwrap_or(point)
    }

    /// What a meter shows from a point to battery negative.
    fn volts(&self, point: PointId) -> String {
        let (Some(negative), true) = (self.circuit.negative, self.is_solved()) else { return String::new() };
        match self.solver.nominal(self.state, self.faults, &Meter::volts(point, negative)) {
            Ok(reading) if reading.floating => "floats".to_owned(),
            Ok(reading) => value::volts(reading.value),
            Err(_) => String::new(),
        }
    }

    /// What it would show without the faults, where that is something else.
    fn sound_volts(&self, point: PointId) -> Option<String> {
        self.sound.as_ref()?;
        let meter = Meter::volts(point, self.circuit.negative?);
        let sound = self.solver.nominal(self.state, &[], &meter).ok()?;
        let now = self.solver.nominal(self.state, self.faults, &meter).ok()?;
        let moved = (sound.value - now.value).abs() > 0.005_f64.max(0.01 * sound.value.abs());
        let said = if sound.floating { "floats".to_owned() } else { value::volts(sound.value) };
        (moved || sound.floating != now.floating).then_some(said)
    }

    fn branch(&self, id: BranchId, shape: Shape, graph: &Graph, node: usize) -> Words {
        let branch = self.circuit.branch(id);
        let part = self.circuit.part(branch.part);
        let mut words = Words::default();
        let name = text::name(&part.name);
        let mut say = |bold: String, plain: String| {
            let long = bold.chars().count() + plain.chars().count() > 26;
            if long && !bold.is_empty() {
                words.lines.push(Line { bold, plain: String::new() });
                words.lines.push(Line { bold: String::new(), plain });
            } else {
                words.lines.push(Line { bold, plain });
            }
        };
        let output = self.circuit.outputs.iter().find(|(_, output)| *output == id);
        let output = output.map_or_else(|| name.clone(), |(name, _)| text::name(name));
        let solution = self.solution.as_ref();
        let mut look = Look::default();
        let mut colour = None;
        match &branch.kind {
            BranchKind::Wire { section, metres, colour: letters, .. } => {
                let letters = text::plain(letters, 12);
                say(name, if letters.is_empty() { "colour?".to_owned() } else { letters.clone() });
                let section = section.map_or("? mm²".to_owned(), |mm2| format!("{mm2} mm²"));
                let metres = metres.map_or("? m".to_owned(), |m| format!("{m} m"));
                say(String::new(), format!("{section}, {metres}"));
                colour = Some(letters);
            }
            BranchKind::Fuse { rating, .. } => say(name, format!("{rating} A")),
            BranchKind::Switch { .. } => {
                look.open = self.is_open(id);
                say(name, if look.open { "open" } else { "closed" }.to_owned());
            }
            BranchKind::RelayContact { coil, .. } => {
                let pulled = solution.is_some_and(|s| s.pulled_in(*coil));
                look.open = self.is_open(id);
                say(name, if look.open { "contact open" } else { "contact closed" }.to_owned());
                say(String::new(), if pulled { "coil pulled in" } else { "coil at rest" }.to_owned());
            }
            BranchKind::Coil { ohms, assumed, .. } => {
                let about = if *assumed { "about " } else { "" };
                say(format!("{name} coil"), format!("{about}{}", value::ohms(*ohms)));
                let pulled = solution.is_some_and(|s| s.pulled_in(id));
                say(String::new(), if pulled { "pulled in" } else { "at rest" }.to_owned());
            }
            BranchKind::Load { .. } | BranchKind::Lamp { .. } => {
                let resistance = match branch.kind {
                    BranchKind::Load { ohms: Some(ohms), .. } if shape != Shape::Sensor => value::ohms(ohms),
                    _ => String::new(),
                };
                // Through a faulty part goes more than its own current: that is left to the clamp.
                let whole = self.faults_at(&[branch.a, branch.b], &[id]).is_empty();
                let amps = solution.filter(|_| whole).map(|s| s.current(id).abs());
                let amps = amps.filter(|amps| *amps >= 1e-4);
                say(name, amps.map_or(resistance, amperes));
            }
            BranchKind::Source { volts, .. } => {
                say(
                    name,
                    format!(
                        "{} supply",
                        value::volts(self.state.supply().filter(|_| self.alone()).unwrap_or(*volts))
                    ),
                );
                if !self.state.battery {
                    look.dashed = true;
                    say("disconnected".to_owned(), String::new());
                }
            }
            BranchKind::Generator { .. } => say(name, "generator".to_owned()),
            BranchKind::Reference { volts, .. } => {
                say(output, format!("{} reference", value::volts(*volts)));
                let awake = solution.is_some_and(|s| s.awake(branch.part));
                say(String::new(), if awake { "module awake" } else { "module not awake" }.to_owned());
            }
            BranchKind::Feed { .. } => {
                let awake = solution.is_some_and(|s| s.awake(branch.part));
                say(name, if awake { "feed, awake" } else { "feed, not awake" }.to_owned());
            }
            BranchKind::Driver { .. } => {
                say(output, if self.is_open(id) { "driver off" } else { "driver on" }.to_owned());
            }
            BranchKind::Joint { .. } if shape == Shape::Module => say(name, "ground inside".to_owned()),
            BranchKind::Joint { .. } if shape == Shape::Ground => say(name, String::new()),
            BranchKind::Diode { .. } => {
                say(name, "diode".to_owned());
                let above = graph.edges.iter().find(|(_, lower)| *lower == node).map(|(above, _)| *above);
                look.upwards = above.is_some_and(|above| match &graph.nodes[above].thing {
                    Thing::Site(points) => points.contains(&branch.b),
                    _ => false,
                });
            }
            // What is more than a bolted terminal has a name: a spiral contact, a strap.
            BranchKind::Joint { ohms } if !matches!(part.kind, PartKind::Bar | PartKind::Module) => {
                let on_bar =
                    [branch.a, branch.b].map(|end| self.circuit.point(end).kind).contains(&PointKind::Bar);
                if !on_bar {
                    say(name, value::ohms(*ohms));
                }
            }
            BranchKind::Joint { .. } | BranchKind::Mated { .. } => {}
        }
        if shape != Shape::Wire && !words.lines.is_empty() {
            let labels = text::label(&part.label).into_iter();
            words.lines.extend(labels.map(|plain| Line { bold: String::new(), plain }));
        }
        if self.state.pulled.contains(&branch.part) {
            look = Look { open: true, dashed: true, ..look };
            words
                .lines
                .push(Line { bold: format!("{} pulled", text::name(&part.name)), plain: String::new() });
        }
        words.look = look;
        words.colour = colour;
        let faults = self.faults_at(&[branch.a, branch.b], &[id]);
        self.tell(&mut words, &faults);
        words.title = sentence(&words.lines, &part.note);
        words
    }

    fn alone(&self) -> bool {
        self.circuit.branches.iter().filter(|b| matches!(b.kind, BranchKind::Source { .. })).count() == 1
    }
}

/// A current as a clamp shows it.
fn amperes(amps: f64) -> String {
    if amps < 0.1 { format!("{:.1} mA", amps * 1000.0) } else { format!("{amps:.2} A") }
}

fn sentence(lines: &[Line], more: &str) -> String {
    let mut parts: Vec<String> = (lines.iter())
        .map(|line| format!("{} {}", line.bold, line.plain).trim().to_owned())
        .filter(|line| !line.is_empty())
        .collect();
    let more = text::plain(more, 120);
    if !more.is_empty() {
        parts.push(more);
    }
    parts.join(", ")
}
