//! What is known about the word under the pointer. The first lines say what matters at the car: what a meter
//! reads there, what shares the wire, what parts it. The rest stands below a line.

mod words;

use std::fmt::Write as _;

use halfsplit_circuit::net::feed_path;
use halfsplit_circuit::{
    BranchId, BranchKind, Caution, Cavity, Circuit, Connector, ConnectorId, Part, PartId, PartKind, PointId,
    PointKind, healthy,
};
use halfsplit_model::{Entity, Kind, Model};
use halfsplit_render::{self as render, net::Sheet};

use crate::naming::{Thing, naming_at};
use crate::pin::wire_side;
use crate::scene::Scene;
use crate::sound::in_run;
use crate::{Analysis, Hover};

pub(crate) use words::of_word;

/// Pins that a hover lists before it only counts them.
const MOST_PINS: usize = 24;

/// Pins that the line at the top names.
const FIRST_PINS: usize = 6;

/// What is known about the word at an offset.
pub(crate) fn hover(analysis: &Analysis, scene: Scene, offset: u32) -> Option<Hover> {
    let model = scene.model;
    if let Some((kind, span)) = model.kind_at(scene.file, offset) {
        let mut card = Card::of(scene);
        card.kind(kind);
        return Some(card.hover(span));
    }
    if let Some((entity, span)) = scene.entity_at(offset).or_else(|| words::cavity_at(scene, offset)) {
        let mut card = Card::of(scene);
        card.entity(entity);
        return Some(card.hover(span));
    }
    if let Some(here) = naming_at(scene.files, model, scene.file, offset)
        && let Thing::Entity(entity) = here.thing
    {
        let mut card = Card::of(scene);
        card.entity(entity);
        return Some(card.hover(here.span));
    }
    words::hover(analysis, scene, offset)
}

/// A Markdown text that grows.
struct Card<'a> {
    scene: Scene<'a>,
    model: &'a Model,
    circuit: &'a Circuit,
    text: String,
}

impl<'a> Card<'a> {
    fn of(scene: Scene<'a>) -> Card<'a> {
        Card { scene, model: scene.model, circuit: &scene.model.circuit, text: String::new() }
    }

    fn hover(self, span: halfsplit_base::Span) -> Hover {
        Hover { span, markdown: self.text.trim_end().to_owned() }
    }

    fn entity(&mut self, entity: Entity) {
        match entity {
            Entity::Point(point) => self.point(point),
            Entity::Part(part) => self.part(part),
            Entity::Connector(connector) => self.connector(connector),
            Entity::Output(output) => self.output(output),
        }
        self.proof(entity);
    }

    /// The line below which stands what one looks up, not what one looks at.
    fn rest(&mut self) {
        self.text.push_str("---\n\n");
    }

    fn title(&mut self, name: &str, words: &str) {
        let dash = if words.is_empty() { "" } else { " · " };
        let _ = writeln!(self.text, "**{name}**{dash}{words}\n");
    }

    fn line(&mut self, what: &str, words: &str) {
        if !words.is_empty() {
            let _ = writeln!(self.text, "{what}: {words}\n");
        }
    }

    /// Who followed the thing on a car, or that nobody did: what nobody traced is only as good as its drawing.
    fn proof(&mut self, entity: Entity) {
        let traces = &self.model.facts.traces;
        let own = traces.iter().find(|trace| trace.item == Some(entity));
        let words = match own.or_else(|| traces.iter().find(|trace| trace.item.is_none())) {
            Some(trace) => format!("traced on a car by {}, {}", trace.by, trace.on),
            None => "nobody traced this circuit on a car".to_owned(),
        };
        self.line("Proof", &words);
    }

    fn kind(&mut self, kind: &Kind) {
        let words = format!("kind of {}", kind.sort);
        let words = [words.as_str(), kind.label.as_str()];
        let words: Vec<&str> = words.into_iter().filter(|words| !words.is_empty()).collect();
        self.title(&kind.name, &words.join(", "));
        if kind.parameters.is_empty() {
            return;
        }
        let _ = writeln!(self.text, "A part may set\n");
        for parameter in &kind.parameters {
            let dash = if parameter.about.is_empty() { "" } else { ", " };
            let _ =
                writeln!(self.text, "- {} ({}){dash}{}", parameter.name, parameter.default, parameter.about);
        }
        self.text.push('\n');
    }

    fn kind_of(&mut self, item: Entity) {
        if let Some(kind) = self.model.kind_of(item) {
            self.line("Of kind", &kind.name);
        }
    }

    fn point(&mut self, point: PointId) {
        let sheet = Sheet::of(self.circuit, &in_run(), point);
        let own = sheet.pins.iter().find(|pin| pin.name == sheet.pin);
        self.title(&sheet.pin, own.map_or("", |pin| &pin.label));
        let part = self.model.names.find_part(&self.circuit.point(point).name);
        if let PointKind::Cavity { connector, .. } = self.circuit.point(point).kind {
            self.cautions(&self.circuit.connector(connector).cautions);
        }
        if let Some(part) = part {
            self.cautions(&self.circuit.part(part).cautions);
        }
        self.net_of(&sheet, point, &sheet.returns);
        if let PointKind::Cavity { connector, .. } = self.circuit.point(point).kind {
            self.place_of(connector);
        }
        // A splice, bar or ground point is a part and a point in one.
        if let Some(part) = part {
            self.remarks(self.circuit.part(part));
        }
    }

    fn output(&mut self, id: BranchId) {
        let branch = self.circuit.branch(id);
        let name = self.circuit.outputs.iter().find(|(_, output)| *output == id);
        self.title(name.map_or("", |(name, _)| name), &self.circuit.part(branch.part).label);
        let pins = [branch.a, branch.b].map(|end| wire_side(self.circuit, end));
        let names = pins.map(|pin| self.circuit.point(pin)).map(|pin| pin.name.as_str());
        self.line("Pins", &names.join(" → "));
        match branch.kind {
            BranchKind::Reference { volts, limit, sinks, latches, .. } => {
                let limit = or_unknown(limit.map(|amps| format!("{} mA", amps * 1000.0)));
                let after = if latches { "stays off until the key is cycled" } else { "recovers" };
                self.line(
                    "Gives",
                    &format!("{}, at most {limit}; after a short it {after}", render::volts(volts)),
                );
                self.line("Sinks", if sinks { "yes" } else { "no" });
            }
            BranchKind::Driver { saturation, .. } => self.line("Drops", &render::volts(saturation)),
            _ => {}
        }
        // What the output feeds returns to the module's own pin; from there the way is this.
        let returns = Sheet::of(self.circuit, &in_run(), pins[1]).returns;
        self.net_of(&Sheet::of(self.circuit, &in_run(), pins[0]), pins[0], &returns);
    }

    /// What a meter reads, what shares the wire, what parts it; below a line the whole list and the ways.
    fn net_of(&mut self, sheet: &Sheet, point: PointId, returns: &[String]) {
        self.line("Reads on a sound car, key run", &self.expected(point));
        let others: Vec<_> = sheet.pins.iter().filter(|pin| pin.name != sheet.pin).collect();
        let first: Vec<&str> = others.iter().take(FIRST_PINS).map(|pin| pin.name.as_str()).collect();
        let words = match others.len().checked_sub(FIRST_PINS).filter(|more| *more > 0) {
            _ if others.is_empty() => "nothing".to_owned(),
            Some(more) => format!("{} and {more} more", first.join(", ")),
            None => first.join(", "),
        };
        self.line("Shares its wire with", &words);
        self.line("Parts at", &sheet.connectors.join(", "));
        self.rest();
        self.line("Colour", &self.scene.colours(point).join(", "));
        for pin in others.iter().take(MOST_PINS) {
            let point = self.model.names.find_point(&pin.name);
            let colours = point.map(|point| self.scene.colours(point).join(", ")).unwrap_or_default();
            let words = [colours.as_str(), pin.label.as_str()];
            let words: Vec<&str> = words.into_iter().filter(|words| !words.is_empty()).collect();
            let _ = writeln!(self.text, "{}", format!("- {} {}", pin.name, words.join(", ")).trim_end());
        }
        if let Some(more) = others.len().checked_sub(MOST_PINS).filter(|&more| more > 0) {
            let _ = writeln!(self.text, "- and {more} more");
        }
        if !others.is_empty() {
            self.text.push('\n');
        }
        let way = |steps: &[String]| match steps {
            [] => "none in this state".to_owned(),
            steps => steps.join(" → "),
        };
        self.line("Feed", &way(&sheet.feed));
        let many = self.loads_from(point);
        let of_many = if many > 1 { format!("over {many} loads, one of them ") } else { String::new() };
        self.line("Return", &format!("{of_many}{}", way(returns)));
    }

    /// How many loads hang on a net, seen from a place that belongs to none of them.
    fn loads_from(&self, point: PointId) -> usize {
        if let PointKind::Cavity { connector, .. } = self.circuit.point(point).kind
            && self.circuit.connector(connector).owner.is_some()
        {
            return 0;
        }
        // On the ground side nothing is left to be passed.
        if self.scene.sound().volts(self.circuit, point).is_none_or(|volts| volts.abs() < 0.5) {
            return 0;
        }
        let net = self.scene.sound().net(point);
        let ends = net.iter().flat_map(|point| self.scene.sound().branches_at(*point));
        let draws = |id: &&BranchId| self.circuit.branch(**id).kind.draws();
        ends.filter(draws).collect::<std::collections::BTreeSet<_>>().len()
    }

    /// The reading against battery negative, everything mated, the key in run.
    fn expected(&self, point: PointId) -> String {
        let Some(black) = self.circuit.negative else {
            return "unknown: the file has no battery".into();
        };
        match healthy(self.circuit, &in_run(), point, black) {
            Ok(reading) if reading.floating => "floats: no part of this file drives it".into(),
            Ok(reading) => format!("**{}**", render::reading(&reading)),
            Err(error) => format!("unknown: {error}"),
        }
    }

    fn part(&mut self, id: PartId) {
        let part = self.circuit.part(id);
        if let Some(point) = self.model.names.find_point(&part.name) {
            return self.point(point);
        }
        self.title(&part.name, &part.label);
        self.cautions(&part.cautions);
        self.kind_of(Entity::Part(id));
        if part.kind == PartKind::Wire {
            self.wire(id);
        } else {
            self.rating(id);
            self.terminals(&part.name);
            let connectors = self.circuit.connectors.iter();
            for connector in connectors.filter(|connector| connector.owner == Some(id)) {
                let _ = writeln!(self.text, "{}\n", connector.name);
                self.cavities(connector);
            }
        }
        self.remarks(part);
    }

    fn remarks(&mut self, part: &Part) {
        self.line("Place", &part.place);
        self.line("Reach", &part.reach.map(render::minutes).unwrap_or_default());
        self.line("Note", &part.note);
    }

    /// A wire is seen from its far end: the one that it feeds.
    fn wire(&mut self, id: PartId) {
        let wire = self.model.wires.iter().find(|wire| wire.part == id);
        let Some(branch) = wire.and_then(|wire| wire.branch) else { return };
        let is_passed =
            |point| feed_path(self.circuit, &in_run(), point).iter().any(|step| step.branch == branch);
        let of = self.circuit.branch(branch);
        let far = [of.b, of.a].into_iter().find(|point| is_passed(*point)).unwrap_or(of.b);
        let near = if far == of.b { of.a } else { of.b };
        let name = |point| self.circuit.point(point).name.as_str();
        if let BranchKind::Wire { colour, section, metres, ohms } = &of.kind {
            let section = or_unknown(section.map(|section| format!("{section} mm²")));
            let metres = or_unknown(metres.map(|metres| format!("{metres} m")));
            let ohms = or_unknown(ohms.map(render::value::ohms));
            self.line("From", &format!("{} to {}", name(near), name(far)));
            self.line("Copper", &format!("{colour}, section {section}, length {metres}, resistance {ohms}"));
        }
        let sheet = Sheet::of(self.circuit, &in_run(), far);
        self.net_of(&sheet, far, &sheet.returns);
    }

    fn rating(&mut self, id: PartId) {
        for (_, branch) in self.circuit.branches_of(id) {
            if let BranchKind::Fuse { rating, .. } = branch.kind {
                self.line("Rating", &format!("{rating} A"));
            }
        }
    }

    /// What a meter reads at each terminal of a part without a connector.
    fn terminals(&mut self, part: &str) {
        let mut any = false;
        for (at, point) in self.circuit.points.iter().enumerate() {
            let is_own = point.name.strip_prefix(part).is_some_and(|rest| rest.starts_with(':'));
            if is_own && point.kind == PointKind::Terminal {
                any = true;
                let point_id = PointId(at as u32);
                let _ = writeln!(
                    self.text,
                    "- {}: {}",
                    point.name,
                    self.with_expected(&self.scene.colours(point_id).join(", "), point_id)
                );
            }
        }
        if any {
            self.text.push('\n');
        }
    }

    fn connector(&mut self, id: ConnectorId) {
        let connector = self.circuit.connector(id);
        let owner = connector.owner.map(|part| self.circuit.part(part));
        let owner = owner.map(|part| format!("{} {}", part.name, part.label)).unwrap_or_default();
        self.title(&connector.name, &owner);
        self.cautions(&connector.cautions);
        self.kind_of(Entity::Connector(id));
        self.cavities(connector);
        self.place_of(id);
    }

    /// The cavities that hold a wire of this file: colours, purpose, expected volts.
    fn cavities(&mut self, connector: &Connector) {
        let wired = |cavity: &&Cavity| cavity.colours.iter().any(|colour| !colour.is_empty());
        for cavity in connector.cavities.iter().filter(wired).take(MOST_PINS) {
            let [one, other] = &cavity.colours;
            let colours =
                if one == other || other.is_empty() { one.clone() } else { format!("{one} to {other}") };
            let words = [colours.as_str(), cavity.label.as_str()].map(str::trim);
            let words: Vec<&str> = words.into_iter().filter(|words| !words.is_empty()).collect();
            let words = words.join(", ");
            let words = cavity.points[0].map_or(words.clone(), |point| self.with_expected(&words, point));
            let _ = writeln!(self.text, "- {}: {words}", cavity.name);
        }
        self.text.push('\n');
    }

    fn with_expected(&self, words: &str, point: PointId) -> String {
        let comma = if words.is_empty() { "" } else { ", " };
        format!("{words}{comma}{}", self.expected(point))
    }

    fn place_of(&mut self, id: ConnectorId) {
        let connector = self.circuit.connector(id);
        self.line(&format!("{} sits", connector.name), &connector.place);
        self.line("Reach", &or_unknown(connector.reach.map(render::minutes)));
    }

    fn cautions(&mut self, cautions: &[Caution]) {
        for caution in cautions {
            self.line("**Caution**", &caution.words);
        }
    }
}

fn or_unknown(words: Option<String>) -> String {
    words.unwrap_or_else(|| "unknown".into())
}

#[cfg(test)]
mod tests {
    use crate::{FilePosition, Host};

    /// The hover where `$0` would stand behind `before`, in the reference circuit.
    fn hover(before: &str) -> String {
        let text = include_str!("../../../examples/tern/reference-a.circuit");
        let mut host = Host::default();
        let file = host.set("reference-a.circuit".into(), text);
        let offset = text.find(before).map(|at| at + before.len()).unwrap() as u32;
        let hover = host.analysis().hover(FilePosition { file, offset });
        hover.map(|hover| format!("{}\n\n{}", &text[hover.span.range()], hover.markdown)).unwrap_or_default()
    }

    #[test]
    fn a_pin_tells_its_net() {
        insta::assert_snapshot!(hover("SP10          to X34"));
    }

    #[test]
    fn a_wire_tells_its_copper_and_its_net() {
        insta::assert_snapshot!(hover("wire W3"));
    }

    #[test]
    fn a_connector_tells_its_cavities() {
        insta::assert_snapshot!(hover("inline X21"));
    }

    #[test]
    fn a_part_tells_where_it_is() {
        insta::assert_snapshot!(hover("fuse F12"));
    }

    #[test]
    fn a_module_tells_its_pins() {
        insta::assert_snapshot!(hover("module A10"));
    }

    #[test]
    fn a_splice_tells_its_net_where_it_is_declared_and_where_it_is_used() {
        insta::assert_snapshot!(hover("splice SP10"));
        assert_eq!(hover("to SP10"), hover("splice SP10"));
    }

    #[test]
    fn a_reference_tells_its_pin() {
        insta::assert_snapshot!(hover("reference  REF_A"));
    }

    #[test]
    fn a_ground_point_tells_who_ends_there() {
        insta::assert_snapshot!(hover("ground-point GP102"));
    }

    #[test]
    fn a_place_without_a_word_tells_nothing() {
        assert_eq!(hover("supply G1 battery {\n "), "");
    }
}
