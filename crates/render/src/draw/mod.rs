//! A pin's net as a drawing: the supply at the top, through protection and switching, wires, splices and
//! connectors down to the parts and their returns.
//!
//! The order of the work: `scope` says what belongs on it, `graph` what is above what, `words` what is said beside
//! each symbol, `layer`, `place` and `route` where it all stands, `svg` writes it down. The same circuit and state
//! give the same drawing to the last byte.

mod faulty;
mod graph;
mod layer;
#[cfg(test)]
mod layout_tests;
mod place;
mod route;
mod scope;
mod svg;
mod symbol;
mod text;
mod words;

use std::collections::BTreeSet;

use halfsplit_circuit::{BranchKind, Circuit, Fault, Hazard, PointId, State};
use halfsplit_model::Model;

use self::{graph::Thing, place::Size, symbol::Shape, words::Words};

/// What is to be drawn.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// The pin.
    pub pin: PointId,
    /// Key, switches, what is unplugged.
    pub state: &'a State,
    /// What is wrong.
    pub faults: &'a [Fault],
    /// The same as it was typed, one text for each fault.
    pub written: &'a [String],
}

/// An upright rectangle, in pixels.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Area {
    /// Left side.
    pub left: i32,
    /// Upper side.
    pub top: i32,
    /// Right side.
    pub right: i32,
    /// Lower side.
    pub bottom: i32,
}

/// A line of a drawing from corner to corner.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Run {
    /// Its corners.
    pub corners: Vec<(i32, i32)>,
    /// The symbols it joins, by their places in [`Picture::symbols`].
    pub ends: (usize, usize),
    /// Colour letters, empty where it is no wire.
    pub colour: String,
}

/// A symbol with its words.
#[derive(Clone, Debug)]
pub struct Symbol {
    /// Where the symbol is, without its words.
    pub shape_area: Area,
    /// Where its words are, line by line.
    pub word_areas: Vec<Area>,
    /// The line on which it stands.
    x: i32,
    shape: Shape,
    words: Words,
    asked: bool,
}

/// A drawing with everything in its place.
#[derive(Clone, Debug)]
pub struct Picture {
    /// Every symbol.
    pub symbols: Vec<Symbol>,
    /// Every line.
    pub runs: Vec<Run>,
    /// Width in pixels.
    pub width: i32,
    /// Height in pixels.
    pub height: i32,
    title: String,
    head: Vec<(String, bool)>,
    foot: Vec<String>,
    id: String,
}

/// White around a drawing.
const BORDER: i32 = 16;
/// A drawing is at least as wide as its heading wants.
const NARROWEST: i32 = 380;
/// From the symbol to its words.
const BESIDE: i32 = 5;

/// Lays out what belongs to a pin.
pub fn picture(model: &Model, asked: &Asked) -> Picture {
    let circuit = &model.circuit;
    let scope = scope::of(circuit, asked.state, asked.pin);
    let apart: BTreeSet<_> = (asked.faults.iter())
        .flat_map(faulty::touched_branches)
        .filter(|id| matches!(circuit.branch(*id).kind, BranchKind::Joint { .. }))
        .collect();
    let speaker = words::Speaker::new(circuit, asked.state, asked.faults, asked.written);
    let graph = graph::of(circuit, &scope, asked.pin, &apart, &|id| speaker.is_open(id));
    let mut said = speaker.all(&graph, &scope.open_ends);
    for (at, node) in graph.nodes.iter().enumerate() {
        let Thing::Site(points) = &node.thing else { continue };
        let goes_on = points.iter().any(|point| scope.open_ends.contains(point));
        said[at].look.first = !goes_on && graph.edges.iter().all(|(_, lower)| *lower != at);
        said[at].look.last = !goes_on && graph.edges.iter().all(|(upper, _)| *upper != at);
    }

    let rows = layer::rows(graph.nodes.len(), &graph.edges, &graph.roots);
    let mut sizes: Vec<Size> =
        graph.nodes.iter().zip(&said).map(|(node, words)| size(node.shape, words)).collect();
    sizes.resize(rows.vertices, Size { left: 5, right: 5, height: 0 });
    let x = place::across(&rows, &sizes, graph.nodes.len());
    let placed = route::route(&rows, &sizes, &x, graph.edges.len());

    let right = (0..rows.vertices).map(|v| x[v] + sizes[v].right).max().unwrap_or(0);
    let width = (right + 2 * BORDER).max(NARROWEST);
    let room = width - 2 * BORDER;
    let (title, head) = head(model, asked, &scope, &speaker, room);
    let shift = (BORDER, BORDER + 8 + text::LINE * (head.len() as i32 + 1));
    let symbols: Vec<Symbol> = (graph.nodes.iter().zip(said).enumerate())
        .map(|(at, (node, words))| {
            let asked = matches!(&node.thing, Thing::Site(points) if points.contains(&asked.pin));
            symbol(node.shape, words, asked, x[at] + shift.0, placed.top[at] + shift.1, sizes[at].height)
        })
        .collect();
    let runs = (graph.edges.iter().zip(placed.lines))
        .map(|(&(upper, lower), corners)| {
            let wire = [upper, lower].into_iter().find_map(|end| symbols[end].words.colour.clone());
            let corners = corners.into_iter().map(|(x, y)| (x + shift.0, y + shift.1)).collect();
            Run { corners: straightened(corners), ends: (upper, lower), colour: wire.unwrap_or_default() }
        })
        .collect();
    let foot = text::wrapped(
        "Outlined: the pin asked about. Dashed: parted, pulled, disconnected or faulty. A dot joins, a plain \
         crossing does not. Volts against battery negative, computed at declared values, not measured. Letters: base \
         and tracer after IEC 60757. The maker's instructions come first.",
        false,
        room,
        12,
    );
    let height = shift.1 + placed.total + 12 + text::LINE * foot.len() as i32 + BORDER;
    let id = circuit.point(asked.pin).name.chars().filter(char::is_ascii_alphanumeric).take(40).collect();
    Picture { symbols, runs, width, height, title, head, foot, id }
}

/// How much room a symbol and its words take.
fn size(shape: Shape, words: &Words) -> Size {
    let (half, height) = shape.size();
    let lines = words.lines.iter().map(line_width).max();
    Size {
        left: half + 2,
        right: half + lines.map_or(2, |width| BESIDE + width + 2),
        height: height.max(words.lines.len() as i32 * text::LINE + 6),
    }
}

fn line_width(line: &words::Line) -> i32 {
    let gap = if line.bold.is_empty() || line.plain.is_empty() { 0 } else { 6 };
    text::width(&line.bold, true) + gap + text::width(&line.plain, false)
}

fn symbol(shape: Shape, words: Words, asked: bool, x: i32, top: i32, height: i32) -> Symbol {
    let half = shape.size().0;
    let shape_area = Area { left: x - half, top, right: x + half, bottom: top + height };
    let first = top + (height - words.lines.len() as i32 * text::LINE) / 2;
    let left = x + half + BESIDE;
    let word_areas = (words.lines.iter().enumerate())
        .map(|(at, line)| {
            let top = first + at as i32 * text::LINE;
            Area { left, top, right: left + line_width(line), bottom: top + text::LINE }
        })
        .collect();
    Symbol { shape_area, word_areas, x, shape, words, asked }
}

/// Corners without those that lie on a straight line.
fn straightened(corners: Vec<(i32, i32)>) -> Vec<(i32, i32)> {
    let mut out: Vec<(i32, i32)> = Vec::with_capacity(corners.len());
    for corner in corners {
        if out.last() == Some(&corner) {
            continue;
        }
        if let [.., before, last] = out.as_slice()
            && (before.0 == last.0 && last.0 == corner.0 || before.1 == last.1 && last.1 == corner.1)
        {
            out.pop();
        }
        out.push(corner);
    }
    out
}

/// Title, and the lines under it; those that warn are marked.
fn head(
    model: &Model,
    asked: &Asked,
    scope: &scope::Scope,
    speaker: &words::Speaker,
    room: i32,
) -> (String, Vec<(String, bool)>) {
    let circuit = &model.circuit;
    let pin = text::plain(&circuit.point(asked.pin).name, 40);
    let title = format!("{pin}: {}", text::plain(&model.title, 120));
    let mut out = Vec::new();
    let mut say = |words: &str, warns: bool, lines: usize| {
        out.extend(text::wrapped(words, true, room, lines).into_iter().map(|line| (line, warns)));
    };
    say(&title, false, 3);
    if !model.vehicle.name.is_empty() {
        say(&model.vehicle.name, false, 2);
    }
    say(&crate::state::words(circuit, asked.state), false, 4);
    for fault in asked.written {
        say(&format!("fault: {fault}"), true, 3);
    }
    if !speaker.is_solved() {
        say("The volts could not be computed in this state, so none are shown.", true, 2);
    }
    let on_ground = circuit
        .negative
        .is_some_and(|post| halfsplit_circuit::net(circuit, &mated(asked.state), post).contains(asked.pin));
    match (scope.fed || on_ground, scope.leads_up) {
        (true, _) => {}
        (false, true) => say("No way from the supply is closed in this state.", true, 2),
        (false, false) => say("No supply feeds this net by itself: a signal, a bus or a spare.", false, 2),
    }
    let unknown = speaker.unknowns(&scope.branches, asked.pin);
    if !unknown.is_empty() {
        let values = if unknown.len() == 1 { "value is" } else { "values are" };
        say(&format!("Not counted: {}, whose {values} unknown.", crate::state::list(&unknown)), false, 3);
    }
    if scope.left_out > 0 {
        say(&format!("Not drawn for want of room: {} more of this net.", scope.left_out), true, 2);
    }
    for (items, hazard, words) in cautions(circuit, scope).into_iter().take(6) {
        say(&format!("caution, {items}, {hazard}: {words}"), true, 3);
    }
    (title, out)
}

fn mated(state: &State) -> State {
    let mut state = state.clone();
    state.unplugged.clear();
    state.pulled.clear();
    state
}

/// Dangers at what is drawn, the gravest first.
fn cautions(circuit: &Circuit, scope: &scope::Scope) -> Vec<(String, &'static str, String)> {
    let mut found = BTreeSet::new();
    for &id in &scope.branches {
        let branch = circuit.branch(id);
        let part = circuit.part(branch.part);
        found.extend(part.cautions.iter().map(|c| (c.hazard, part.name.as_str(), c.words.as_str())));
        if let BranchKind::Mated { connector, .. } = branch.kind {
            let connector = circuit.connector(connector);
            let owner = connector.owner.map(|id| circuit.part(id));
            let owned =
                owner.into_iter().flat_map(|part| part.cautions.iter().map(|c| (part.name.as_str(), c)));
            let own = connector.cautions.iter().map(|c| (connector.name.as_str(), c));
            found.extend(own.chain(owned).map(|(name, c)| (c.hazard, name, c.words.as_str())));
        }
    }
    let word = |hazard| match hazard {
        Hazard::Airbag => "airbag",
        Hazard::HighVoltage => "high voltage",
        Hazard::Fuel => "fuel",
        Hazard::Hot => "hot",
        Hazard::Fan => "fan",
        Hazard::Moving => "moving parts",
    };
    // What is said of several things is said once.
    let mut told: Vec<(Hazard, &str, Vec<String>)> = Vec::new();
    for (hazard, name, words) in found {
        let name = text::plain(name, 30);
        match told.iter_mut().find(|(known, said, _)| *known == hazard && *said == words) {
            Some((_, _, names)) if names.len() < 5 => names.push(name),
            Some(_) => {}
            None => told.push((hazard, words, vec![name])),
        }
    }
    let line = |(hazard, words, names): (Hazard, &str, Vec<String>)| {
        (crate::state::list(&names), word(hazard), text::plain(words, 120))
    };
    told.into_iter().map(line).collect()
}
